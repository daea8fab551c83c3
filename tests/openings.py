"""Openings for tests of the sizing core: plain functions, sizes in inches, keyword overrides."""

from dataclasses import replace
from typing import Any

from doors.sizing import (
    INCH,
    Design,
    DoorKind,
    Film,
    Machine,
    Opening,
    Rod,
    Side,
    Stock,
    Tube,
    Wall,
)
from farm.geometry import Shape

FEET = 12.0  # in


def inches(metres: float | None) -> float:
    """Return metres as inches, to compare with sizes worked out by hand."""
    assert metres is not None
    return metres / INCH


def tube(diameter: float, *, wall: float = 0.065, stock: float | None = 24 * FEET, name: str = "tube") -> Tube:
    return Tube(
        diameter=diameter * INCH, wall=wall * INCH, stock_length=None if stock is None else stock * INCH, name=name
    )


def film(*roll_widths: float, mils: float = 6.0) -> Film:
    return Film(thickness=mils / 1000 * INCH, roll_widths=tuple(width * INCH for width in roll_widths), name="film")


def make_wall(**changes: Any) -> Wall:
    """A gothic end wall 30 ft wide, 14 1/2 ft to the ridge, with 5 ft sides and 3 1/2 in studs."""
    sizes: dict[str, Any] = {
        "width": 30 * FEET * INCH,
        "shape": Shape.GOTHIC,
        "ridge": 14.5 * FEET * INCH,
        "side": 5 * FEET * INCH,
        "stud_face": 3.5 * INCH,
        "header_thickness": 3 * INCH,
    }
    return Wall(**(sizes | changes))


def make_design(**changes: Any) -> Design:
    """A drive on the right; 1.660 in bar and post, 1.315 in sill bar and anti-billow tubes, 24 ft stock; 6 mil film."""
    parts: dict[str, Any] = {
        "drive_side": Side.RIGHT,
        "turning_tube": tube(1.66),
        "sill_tube": tube(1.315),
        "post_tube": tube(1.66),
        "anti_billow_tube": tube(1.315),
        "film": film(*(feet * FEET for feet in (14, 16, 20, 24, 28, 32))),
        "channel": Stock(stock_length=78 * INCH, name="aluminium channel"),
        "wire": Stock(stock_length=78 * INCH, name="coated wire"),
        "rod": Rod(diameter=0.375 * INCH, length=12 * INCH, nut_height=0.328125 * INCH, washer_thickness=0.065 * INCH),
        "gear_ratio": 1.0,
    }
    return Design(**(parts | changes))


def make_opening(**changes: Any) -> Opening:
    """A mid-height bar door 144 x 108 in, 84 in from the left corner, whose diagonal is a 3-4-5 triangle's: 180 in.

    ``wall`` and ``design`` may be mappings of changes; the other lengths are metres.
    """
    sizes: dict[str, Any] = {
        "kind": DoorKind.MID_BAR,
        "rough_width": 144 * INCH,
        "rough_height": 108 * INCH,
        "offset": 84 * INCH,
        "threshold": 1 * INCH,
        "header_depth": 9.25 * INCH,
        "wall": make_wall(),
        "design": make_design(),
        "machine": Machine(width=60 * INCH, height=72 * INCH, name="tractor"),
        "code": "T1-E",
    }
    if isinstance(changes.get("wall"), dict):
        changes["wall"] = replace(make_wall(), **changes["wall"])
    if isinstance(changes.get("design"), dict):
        changes["design"] = replace(make_design(), **changes["design"])
    return Opening(**(sizes | changes))
