"""What each measurement may be, and the refusal of an opening that breaks a limit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from numpy.typing import ArrayLike

from doors.sizing.opening import Opening
from doors.sizing.quantity import Relation, require

LONGEST = 60.0  # m; no end wall is wider, and a slip of the unit shows up here
THICKEST_TUBE = 0.5  # m
THICKEST_FILM = 0.005  # m; mils taken for millimetres show up here
SHORTEST_STOCK = 0.1  # m; less is no stock
MOST_TURNS = 1000.0  # -; crank turns per turn of the bar


@dataclass(frozen=True, slots=True)
class Limit:
    """A range that includes ``most``, and ``least`` where ``relation`` says so."""

    least: float = 0.0
    most: float = LONGEST
    relation: Relation = "above"


SIZE = Limit()
PLACE = Limit(relation="at least")
TUBE = Limit(most=THICKEST_TUBE)
STOCK = Limit(least=SHORTEST_STOCK, relation="at least")
LIMITS = {
    "rough_width": SIZE,
    "rough_height": SIZE,
    "offset": PLACE,
    "threshold": PLACE,
    "header_depth": SIZE,
    "wall.width": SIZE,
    "wall.ridge": SIZE,
    "wall.side": PLACE,
    "wall.points": PLACE,
    "wall.stud_face": SIZE,
    "wall.header_thickness": SIZE,
    "wall.side_operators.travel_top": PLACE,
    "design.drive_side": Limit(most=1.0, relation="at least"),  # 0 left, 1 right
    "design.channel.stock_length": STOCK,
    "design.wire.stock_length": STOCK,
    "design.film.thickness": Limit(most=THICKEST_FILM),
    "design.film.roll_widths": SIZE,
    "design.rod.diameter": TUBE,
    "design.rod.length": SIZE,
    "design.rod.nut_height": TUBE,
    "design.rod.washer_thickness": TUBE,
    "design.gear_ratio": Limit(most=MOST_TURNS),
    "machine.width": SIZE,
    "machine.height": SIZE,
    "site.diagonal_1": SIZE,
    "site.diagonal_2": SIZE,
    "site.storm_angle": Limit(most=math.pi, relation="at least"),
    "neighbours.left": PLACE,
    "neighbours.width": SIZE,
    "neighbours.head": SIZE,
} | {
    f"design.{name}.{part}": limit
    for name in ("turning_tube", "sill_tube", "post_tube", "anti_billow_tube")
    for part, limit in (("diameter", TUBE), ("wall", TUBE), ("stock_length", STOCK))
}


def check(path: str, value: ArrayLike) -> None:
    """Refuse the first value outside the limit of its path; NaN, a measurement not taken, passes.

    Raises
    ------
    SizingError
        Naming field, value and limit.
    """
    limit = LIMITS[path]
    if isinstance(value, float) and limit.least < value <= limit.most:
        return  # one sound number, by far the most common case
    require(path, value, limit.relation, limit.least)
    require(path, value, "at most", limit.most)


def check_opening(opening: Opening) -> None:
    """Refuse an opening one of whose measurements is not a number or outside its limit.

    Raises
    ------
    SizingError
        Naming field, value and limit.
    """
    for path, given in _measurements(opening):
        if given is not None:
            value = float(given)
            require(path, value, "finite")
            check(path, value)
    for name in ("turning_tube", "sill_tube", "post_tube", "anti_billow_tube"):
        tube = getattr(opening.design, name)
        if tube is not None:
            require(f"design.{name}.wall", tube.wall, "below", tube.diameter / 2)


def _measurements(opening: Opening) -> Iterator[tuple[str, float | None]]:
    """Yield every measurement an opening can carry, given or not."""
    wall, design, machine = opening.wall, opening.design, opening.machine
    for name in ("rough_width", "rough_height", "offset", "threshold", "header_depth"):
        yield name, getattr(opening, name)
    for name in ("width", "ridge", "side", "stud_face", "header_thickness"):
        yield f"wall.{name}", getattr(wall, name)
    for point in wall.points:
        for place in point:
            yield "wall.points", place
    for operator in wall.side_operators:
        yield "wall.side_operators.travel_top", operator.travel_top
    yield "design.gear_ratio", design.gear_ratio
    for name in ("channel", "wire"):
        stock = getattr(design, name)
        yield f"design.{name}.stock_length", None if stock is None else stock.stock_length
    for name in ("turning_tube", "sill_tube", "post_tube", "anti_billow_tube"):
        tube = getattr(design, name)
        for part in ("diameter", "wall", "stock_length") if tube is not None else ():
            yield f"design.{name}.{part}", getattr(tube, part)
    if design.film is not None:
        yield "design.film.thickness", design.film.thickness
        for width in design.film.roll_widths:
            yield "design.film.roll_widths", width
    if design.rod is not None:
        for name in ("diameter", "length", "nut_height", "washer_thickness"):
            yield f"design.rod.{name}", getattr(design.rod, name)
    if machine is not None:
        yield "machine.width", machine.width
        yield "machine.height", machine.height
    for name in ("diagonal_1", "diagonal_2", "storm_angle"):
        yield f"site.{name}", getattr(opening.site, name)
    for other in opening.neighbours:
        for name in ("left", "width", "head"):
            yield f"neighbours.{name}", getattr(other, name)
