"""Whether an alert is for a place: by its outlines and circles, on a round Earth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from maintenance.weather.shapes import Alert, Area, Point

RADIUS: Final = 6_371_008.8  # m, mean radius of the Earth (IUGG), good to half a percent


def reaches(alert: Alert, place: Point | None) -> bool | None:
    """Return whether an alert is for a place.

    Parameters
    ----------
    place : tuple of float or None
        Latitude and longitude. [°]

    Returns
    -------
    bool or None
        None where it cannot be told: the place is not known, or part of the alert has no outline and goes by codes
        or words alone.

    Notes
    -----
    A place on the line is within: an alert too many harms less than one too few.

    References
    ----------
    CAP 1.2, 3.2.4: areas are united; ``polygon`` is in WGS 84, its first point also its last; ``circle`` is a centre
    and a radius.
    """
    if place is None:
        return None
    if any(_covers(area, place) for area in alert.areas):
        return True
    has_outlines = alert.areas and all(area.polygons or area.circles for area in alert.areas)
    return False if has_outlines else None


def distance(one: Point, other: Point) -> float:
    """Return the way between two places along a great circle, by the haversine formula. [m]"""
    (latitude, longitude), (to_latitude, to_longitude) = (tuple(map(math.radians, point)) for point in (one, other))
    across = math.sin((to_latitude - latitude) / 2) ** 2
    along = math.sin((to_longitude - longitude) / 2) ** 2
    half = across + math.cos(latitude) * math.cos(to_latitude) * along
    return 2 * RADIUS * math.asin(math.sqrt(min(1.0, half)))


def _covers(area: Area, place: Point) -> bool:
    return any(_is_within(outline, place) for outline in area.polygons) or any(
        distance(centre, place) <= radius for centre, radius in area.circles
    )


def _is_within(outline: Sequence[Point], place: Point) -> bool:
    """Return whether a place is within an outline: a ray to the east crosses its edges an odd number of times.

    Each longitude is taken from the one before, so that an outline across 180° is one.
    """
    flat, x, before = [], 0.0, place[1]
    for latitude, longitude in outline:
        x, before = x + _turn(longitude - before), longitude
        flat.append((latitude - place[0], x))
    is_within = False
    for (y, x), (next_y, next_x) in zip(flat, flat[1:] + flat[:1], strict=True):
        if _is_between(y, x, next_y, next_x):
            return True
        if (y > 0) != (next_y > 0) and x + (next_x - x) * -y / (next_y - y) > 0:
            is_within = not is_within
    return is_within


def _is_between(y: float, x: float, next_y: float, next_x: float) -> bool:
    """Return whether the origin lies on an edge."""
    return x * next_y == next_x * y and min(x, next_x) <= 0 <= max(x, next_x) and min(y, next_y) <= 0 <= max(y, next_y)


def _turn(degrees: float) -> float:
    """Return a difference of longitudes from -180 up to 180. [°]"""
    return (degrees + 180) % 360 - 180
