"""Tunnels on the ground: corners, bearings, and where an opening stands.

Positions are metres east (x) and north (y); bearings are degrees clockwise from
north.
"""

from __future__ import annotations

import math
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from farm.geometry.limits import SLACK, Floats, GeometryError, check_choice, check_finite, check_size, floats, require

End = Literal["A", "B"]

_COMPASS: Final = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)


def footprint(x: ArrayLike, y: ArrayLike, width: ArrayLike, length: ArrayLike, axis_bearing: ArrayLike) -> Floats:
    """Return the corners of a tunnel on the plan.

    Parameters
    ----------
    x, y : array_like, shape (...)
        Middle of the tunnel, east and north. [m]
    width, length : array_like, shape (...)
        Across and along the axis. [m]
    axis_bearing : array_like, shape (...)
        Where the axis points, from end A to end B. [degrees clockwise from north]

    Returns
    -------
    ndarray, shape (..., 4, 2)
        East and north of A left, A right, B right, B left, as seen facing along the
        axis. [m]

    Raises
    ------
    GeometryError
        If a value is not finite or a size not above 0.
    """
    east, north, across, along, bearing = np.broadcast_arrays(*floats(x, y, width, length, axis_bearing))
    for name, values in (("x", east), ("y", north), ("axis_bearing", bearing)):
        check_finite(name, values)
    check_size("width", across)
    check_size("length", along)
    angle = np.deg2rad(bearing)[..., np.newaxis, np.newaxis]
    ahead = np.concatenate([np.sin(angle), np.cos(angle)], axis=-1)
    right = np.concatenate([np.cos(angle), -np.sin(angle)], axis=-1)
    sideways = np.array([-0.5, 0.5, 0.5, -0.5]) * across[..., np.newaxis]
    lengthways = np.array([-0.5, -0.5, 0.5, 0.5]) * along[..., np.newaxis]
    middle = np.stack([east, north], axis=-1)[..., np.newaxis, :]
    return np.asarray(middle + sideways[..., np.newaxis] * right + lengthways[..., np.newaxis] * ahead)


def opening_on_plan(corners: ArrayLike, end: End, offset: float, width: float) -> Floats:
    """Return where the two jambs of an opening stand on the plan.

    Parameters
    ----------
    corners : array_like, shape (4, 2)
        A tunnel's ``footprint``. [m]
    end : {"A", "B"}
        The end wall.
    offset : float
        From the wall's left corner to the opening's left jamb, seen from outside. [m]
    width : float
        Width of the opening; it must fit in the wall. [m]

    Returns
    -------
    ndarray, shape (2, 2)
        East and north of the left and the right jamb, seen from outside. [m]

    Raises
    ------
    GeometryError
        If the opening is not within the wall or ``end`` is neither A nor B.
    """
    (points,) = floats(corners)
    # Seen from outside, B's left corner is on the right of someone facing along the axis.
    left, right = points[[0, 1]] if _is_end_a(end) else points[[2, 3]]
    wall = float(np.hypot(*(right - left)))
    check_size("width", width)
    require(width <= wall * (1 + SLACK), "width", width, "at_most", wall)
    if not 0 <= offset <= wall - width + SLACK * wall:
        raise GeometryError("offset", offset, "in_wall", wall - width)
    return np.asarray(left + np.array([[offset], [offset + width]]) / wall * (right - left))


def wall_bearing(axis_bearing: float, end: End) -> float:
    """Return where an end wall faces: B along the axis, A the opposite way. [degrees]

    From 0 up to but excluding 360. Raises GeometryError if the bearing is not finite
    or ``end`` is neither A nor B.
    """
    check_finite("axis_bearing", axis_bearing)
    # Once is not enough: -1e-20 % 360 is 360.0.
    return (axis_bearing + (180 if _is_end_a(end) else 0)) % 360 % 360


def compass_point(bearing: float, *, points: Literal[8, 16] = 8) -> str:
    """Return the nearest compass point, such as ``"NE"``; a tie goes clockwise.

    Parameters
    ----------
    bearing : float
        Any finite angle. [degrees clockwise from north]
    points : {8, 16}
        How many points the compass has.

    Raises
    ------
    GeometryError
        If the bearing is not finite or ``points`` is neither 8 nor 16.
    """
    check_finite("bearing", bearing)
    check_choice("points", points, (8, 16))
    return _COMPASS[:: 16 // points][math.floor(bearing % 360 * points / 360 + 0.5) % points]


def angle_between(bearing_1: ArrayLike, bearing_2: ArrayLike) -> Floats:
    """Return the smaller angle between two bearings, 0 to 180. [degrees]

    Arrays are broadcast. Raises GeometryError if a bearing is not finite.
    """
    first, second = floats(bearing_1, bearing_2)
    check_finite("bearing_1", first)
    check_finite("bearing_2", second)
    return np.asarray(np.abs((first - second + 180) % 360 - 180))


def _is_end_a(end: str) -> bool:
    check_choice("end", end, ("A", "B"))
    return end == "A"
