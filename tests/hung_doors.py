"""Hung film doors for the tests of the mechanics: as the load path takes them, and as openings with a design."""

from dataclasses import fields, replace

import numpy as np

from doors.mechanics.assess import Site
from doors.mechanics.built import Built
from doors.mechanics.post import Soil
from doors.sizing import FOOT, INCH, Design, DoorKind, Film, Opening, Rod, Side, Tube, Wall
from farm.geometry import Shape

SIZES = {
    "width": 4.0,
    "height": 2.4,
    "threshold": 0.1,
    "stud_face": 0.1,
    "stud_height": 2.8,
    "inner": 0.0,
    "billow_spacing": 3.85,
    "hole_height": 2.6,
    "belly": 0.1,
    "screw_spacing": 0.3,
    "clamp_spacing": 0.4,
    "roll_diameter": 0.06,
    "hold_down_spacing": 1.5,
}


def make_built(**changes):
    """Return a door of round numbers; every capacity is 1, so that a link's effect is what its pressure is one over."""
    values = {field.name: 1.0 for field in fields(Built)} | SIZES | changes
    return Built(**{name: np.asarray(value, dtype=np.float64) for name, value in values.items()})


def make_tube(inches, wall=0.065, name=""):
    return Tube(diameter=inches * INCH, wall=wall * INCH, stock_length=24 * FOOT, name=name)


def make_door(width=12, height=10, kind=DoorKind.MID_BAR, **changes):
    """Return an opening of so many feet with every part chosen."""
    design = Design(
        drive_side=Side.RIGHT,
        turning_tube=make_tube(1.66),
        sill_tube=make_tube(1.315),
        post_tube=make_tube(1.66),
        anti_billow_tube=make_tube(1.66),
        film=Film(thickness=0.006 * INCH, roll_widths=(16 * FOOT,)),
        rod=Rod(diameter=0.375 * INCH, length=12 * INCH, nut_height=0.01, washer_thickness=0.002),
        gear_ratio=4.0,
    )
    wall = Wall(
        width=34 * FOOT, shape=Shape.GOTHIC, ridge=16 * FOOT, side=5 * FOOT, stud_face=3.5 * INCH,
        header_thickness=3 * INCH,
    )  # fmt: skip
    opening = Opening(
        kind=kind, rough_width=width * FOOT, rough_height=height * FOOT, offset=(34 - width) / 2 * FOOT,
        threshold=0.1, header_depth=9.25 * INCH, wall=wall, design=design,
    )  # fmt: skip
    return replace(opening, **changes)


def make_site(**changes):
    site = Site(stud_depth=3.5 * INCH, soil=Soil.SAND, hold_down_spacing=4 * FOOT)
    return replace(site, **changes)
