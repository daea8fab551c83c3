"""Arch profiles and the site plan; the core's public names."""

from farm.geometry.globe import MOST_LATITUDE, metres_per_degree, on_globe
from farm.geometry.limits import MAX_SIZE, GeometryError
from farm.geometry.profile import (
    GOTHIC_CODE,
    GOTHIC_EXPONENT,
    ROUND_CODE,
    SHAPE_CODES,
    TAPE_TOLERANCE,
    Profile,
    Shape,
    arch_half_width,
    arch_height,
    check_arches,
    clear_height,
    end_wall_area,
    half_width_at,
    outline,
)
from farm.geometry.siteplan import End, angle_between, compass_point, footprint, opening_on_plan, wall_bearing

__all__ = [
    "GOTHIC_CODE",
    "GOTHIC_EXPONENT",
    "MAX_SIZE",
    "MOST_LATITUDE",
    "ROUND_CODE",
    "SHAPE_CODES",
    "TAPE_TOLERANCE",
    "End",
    "GeometryError",
    "Profile",
    "Shape",
    "angle_between",
    "arch_half_width",
    "arch_height",
    "check_arches",
    "clear_height",
    "compass_point",
    "end_wall_area",
    "footprint",
    "half_width_at",
    "metres_per_degree",
    "on_globe",
    "opening_on_plan",
    "outline",
    "wall_bearing",
]
