"""Outlines of end walls: how high the frame stands, how wide, how large.

Lengths are metres, areas square metres. An end wall is measured along x from its
left corner as seen from outside, and along y up from grade.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from farm.geometry.limits import (
    SLACK,
    Floats,
    GeometryError,
    check_choice,
    check_finite,
    check_size,
    floats,
    require,
)

GOTHIC_EXPONENT: Final = 1.7  # planning shape of a gothic arch; common practice, no source
ROUND_CODE: Final = 0
GOTHIC_CODE: Final = 1
TAPE_TOLERANCE: Final = 0.001  # m; how well a measured outline must close


class Shape(StrEnum):
    """Kind of outline."""

    ROUND = "round"
    GOTHIC = "gothic"
    MEASURED = "measured"


SHAPE_CODES: Final = {Shape.ROUND: ROUND_CODE, Shape.GOTHIC: GOTHIC_CODE}


@dataclass(frozen=True, slots=True)
class Profile:
    """Outline of an end wall; symmetric unless measured.

    Parameters
    ----------
    shape : Shape
        Round and gothic arches stand on straight vertical sides; a measured outline
        goes straight from point to point.
    width : float
        Width at grade, at most 10 km. [m]
    ridge : float
        Height of the highest point above grade, at most 10 km. [m]
    side : float
        Height of the straight vertical side, 0 for none; below the ridge. [m]
    points : tuple of (float, float)
        Measured outlines only, otherwise not read: x and y from the left corner to
        the right, x rising, closing with the width and the ridge within 1 mm. [m]

    Raises
    ------
    GeometryError
        If a size is not finite or beyond its limit, a round arch rises by more than
        half its width, or measured points do not close.
    """

    shape: Shape
    width: float
    ridge: float
    side: float
    points: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        check_choice("shape", self.shape, tuple(Shape))
        _check_sizes(self.width, self.ridge, self.side, is_round=self.shape == Shape.ROUND)
        if self.shape == Shape.MEASURED:
            _check_points(self.points, self.width, self.ridge)


def arch_height(
    shape_code: ArrayLike,
    width: ArrayLike,
    ridge: ArrayLike,
    side: ArrayLike,
    x: ArrayLike,
    *,
    is_checked: bool = False,
) -> Floats:
    r"""Return the height of round and gothic arches above grade, for many at once.

    Parameters
    ----------
    shape_code : array_like of int
        ``ROUND_CODE`` or ``GOTHIC_CODE``.
    width, ridge, side : array_like
        Sizes of the arches, as in ``Profile``. [m]
    x : array_like
        Distance from the left corner. [m]
    is_checked : bool, default False
        True where `check_arches` has passed the sizes already.

    Returns
    -------
    ndarray, shape of all the inputs broadcast together
        Height of the frame, 0 outside the wall. [m]

    Raises
    ------
    GeometryError
        As ``Profile``; also if a code is unknown or ``x`` is not finite.

    Notes
    -----
    With half width :math:`h`, rise :math:`r` above the sides and distance
    :math:`d \le h` from the middle: a round arch is the circle through both springing
    points and the ridge, of radius :math:`R = (h^2 + r^2) / 2r`, so that
    :math:`y = s + (h^2 - d^2) / (\sqrt{R^2 - d^2} + R - r)`; a gothic arch is
    :math:`y = s + r (1 - (d / h)^{1.7})`, a planning shape that is common practice
    and has no source. A circle is single-valued only while :math:`r \le h`.

    References
    ----------
    Circle from chord and rise: Euclid, Elements, III.35 (intersecting chords).
    """
    code, width, ridge, side, x = np.broadcast_arrays(shape_code, *floats(width, ridge, side, x))
    is_round = code == ROUND_CODE
    if not is_checked:
        check_arches(code, width, ridge, side)
    check_finite("x", x)
    half, rise, distance = width / 2, ridge - side, np.abs(x - width / 2)
    inside = (x >= 0) & (x <= width)
    above = np.zeros(x.shape)
    for chosen, rise_at in ((inside & is_round, _round_rise), (inside & ~is_round, _gothic_rise)):
        above[chosen] = rise_at(half[chosen], rise[chosen], distance[chosen])
    return np.where(inside, side + above, 0.0)


def clear_height(profile: Profile, x: ArrayLike) -> Floats:
    """Return the height of the frame above grade at ``x`` from the left corner.

    Parameters
    ----------
    profile : Profile
        The end wall.
    x : array_like, shape (...)
        Distance from the left corner as seen from outside. [m]

    Returns
    -------
    ndarray, shape of ``x``
        Height, 0 outside the wall. [m]

    Raises
    ------
    GeometryError
        If ``x`` is not finite.
    """
    if profile.shape == Shape.MEASURED:
        (position,) = floats(x)
        check_finite("x", position)
        xs, ys = np.array(profile.points).T
        inside = (position >= 0) & (position <= profile.width)
        return np.where(inside, np.interp(position, xs, ys), 0.0)
    return arch_height(SHAPE_CODES[profile.shape], profile.width, profile.ridge, profile.side, x)


def half_width_at(profile: Profile, y: float, side: Literal["left", "right"]) -> float:
    """Return how far the wall reaches from its middle at height ``y``.

    Parameters
    ----------
    profile : Profile
        The end wall.
    y : float
        Height above grade, from 0 to the height of the frame over the middle. [m]
    side : {"left", "right"}
        Which way to go from the middle, seen from outside.

    Returns
    -------
    float
        Distance to where the frame first comes down below ``y``, or to the corner
        if it does not. [m]

    Raises
    ------
    GeometryError
        If ``y`` is outside its limits or ``side`` is neither left nor right.
    """
    check_choice("side", side, ("left", "right"))
    top = float(clear_height(profile, profile.width / 2))
    if not 0 <= y <= top * (1 + SLACK):
        raise GeometryError("y", y, "under_frame", top)
    if profile.shape == Shape.MEASURED:
        return _measured_half_width(profile, y, side)
    code = SHAPE_CODES[profile.shape]
    return float(arch_half_width(code, profile.width, profile.ridge, profile.side, y))


def arch_half_width(shape_code: ArrayLike, width: ArrayLike, ridge: ArrayLike, side: ArrayLike, y: ArrayLike) -> Floats:
    r"""Return how far round and gothic arches reach from their middle at height ``y``, for many at once.

    Parameters
    ----------
    shape_code : array_like of int
        ``ROUND_CODE`` or ``GOTHIC_CODE``.
    width, ridge, side : array_like
        Sizes of the arches, as in ``Profile``; not checked again. [m]
    y : array_like
        Height above grade; above the ridge the answer is 0. [m]

    Returns
    -------
    ndarray, shape of all the inputs broadcast together
        Distance from the middle to the frame. [m]

    Notes
    -----
    The inverse of `arch_height`. With drop :math:`p = ridge - y`, kept within 0 and the rise :math:`r`:
    gothic :math:`d = h (p / r)^{1/1.7}`, round :math:`d = \sqrt{p (2R - p)}`, at most :math:`h`.
    """
    width, ridge, side, y = floats(width, ridge, side, y)
    half, rise = width / 2, ridge - side
    drop = np.clip(ridge - y, 0, rise)
    gothic = half * (drop / rise) ** (1 / GOTHIC_EXPONENT)
    circle = np.minimum(half, np.sqrt(np.maximum(drop * (2 * _radius(half, rise) - drop), 0)))
    above = np.where(np.equal(shape_code, GOTHIC_CODE), gothic, circle)
    # Along the straight side exactly half: a square root would fall short by a rounding error.
    return np.where(y <= side, half, above)


def end_wall_area(profile: Profile) -> float:
    r"""Return the area of the end wall. [m²]

    Notes
    -----
    Below the springing a rectangle. Above it, for a round arch, the circular segment
    :math:`R^2 \theta - h (R - r)` of half angle :math:`\theta = 2 \arctan(r / h)`;
    for a gothic arch the integral of its curve, :math:`2 h r (1 - 1 / 2.7)`. A
    measured outline is a row of trapezoids.
    """
    if profile.shape == Shape.MEASURED:
        xs, ys = np.array(profile.points).T
        return float(np.trapezoid(ys, xs))
    half, rise = profile.width / 2, profile.ridge - profile.side
    if profile.shape == Shape.GOTHIC:
        return profile.width * (profile.side + rise * (1 - 1 / (GOTHIC_EXPONENT + 1)))
    radius = float(_radius(half, rise))
    segment = 2 * radius**2 * math.atan(rise / half) - half * (radius - rise)
    return profile.width * profile.side + segment


def outline(profile: Profile, count: int = 49) -> Floats:
    """Return the outline from the left corner over the top to the right corner.

    Parameters
    ----------
    profile : Profile
        The end wall.
    count : int, default 49
        Points along a round or gothic arch; odd, so that the ridge is one of them.

    Returns
    -------
    ndarray, shape (n, 2)
        x and y, beginning and ending at grade. [m]

    Raises
    ------
    GeometryError
        If ``count`` is even or below 3.
    """
    if count < 3 or count % 2 == 0:
        raise GeometryError("count", count, "odd", 3)
    if profile.shape == Shape.MEASURED:
        arch = np.array(profile.points, dtype=np.float64)
    else:
        # Equal steps of angle, not of x: close together where the arch is steep.
        x = profile.width / 2 * (1 - np.cos(np.linspace(0, np.pi, count)))
        arch = np.column_stack([x, clear_height(profile, x)])
    feet = [np.array([[x, 0.0]]) if y > 0 else np.empty((0, 2)) for x, y in (arch[0], arch[-1])]
    return np.concatenate([feet[0], arch, feet[1]])


# Shapes --------------------------------------------------------------------------


def _radius(half: ArrayLike, rise: ArrayLike) -> Floats:
    half, rise = floats(half, rise)
    return np.asarray((half**2 + rise**2) / (2 * rise))


def _round_rise(half: Floats, rise: Floats, distance: Floats) -> Floats:
    radius = _radius(half, rise)
    # The difference of squares keeps flat arches exact; at the springing of a half
    # circle both parts of the quotient are 0, and so is the height.
    over = np.maximum((half - distance) * (half + distance), 0)
    under = np.sqrt(np.maximum((radius - distance) * (radius + distance), 0)) + np.maximum(radius - rise, 0)
    return np.asarray(np.divide(over, under, out=np.zeros_like(over), where=over > 0))


def _gothic_rise(half: Floats, rise: Floats, distance: Floats) -> Floats:
    return np.asarray(rise * (1 - np.minimum(distance / half, 1) ** GOTHIC_EXPONENT))


def _measured_half_width(profile: Profile, y: float, side: str) -> float:
    xs, ys = np.array(profile.points).T
    if side == "left":
        xs, ys = profile.width - xs[::-1], ys[::-1]
    half = profile.width / 2
    outside = xs > half
    distance = np.concatenate([[0.0], xs[outside] - half])
    height = np.concatenate([[np.interp(half, xs, ys)], ys[outside]])
    below = np.flatnonzero(height[1:] < y) + 1
    if not below.size:
        return half
    end = int(below[0])
    share = max(height[end - 1] - y, 0) / (height[end - 1] - height[end])
    return float(distance[end - 1] + share * (distance[end] - distance[end - 1]))


# Limits --------------------------------------------------------------------------


def check_arches(shape_code: ArrayLike, width: ArrayLike, ridge: ArrayLike, side: ArrayLike) -> None:
    """Refuse round and gothic arches of sizes they cannot have, or of another shape.

    Raises
    ------
    GeometryError
        As ``Profile``; also if a code is unknown.
    """
    is_round = np.equal(shape_code, ROUND_CODE)
    is_gothic = np.equal(shape_code, GOTHIC_CODE)
    require(is_round | is_gothic, "shape_code", shape_code, "one_of", "0 (round), 1 (gothic)")
    _check_sizes(width, ridge, side, is_round=is_round)


def _check_sizes(width: ArrayLike, ridge: ArrayLike, side: ArrayLike, *, is_round: ArrayLike) -> None:
    check_size("width", width)
    check_size("ridge", ridge)
    require(np.greater_equal(side, 0), "side", side, "at_least", 0)
    require(np.less(side, ridge), "side", side, "below_ridge", ridge)
    highest = np.add(side, np.divide(width, 2))
    fits = np.less_equal(ridge, highest * (1 + SLACK)) | ~np.asarray(is_round)
    require(fits, "ridge", ridge, "round_rise", highest)


def _check_points(points: Sequence[tuple[float, float]], width: float, ridge: float) -> None:
    require(len(points) >= 2, "points", len(points), "at_least", 2)
    xs, ys = np.array(points, dtype=np.float64).T
    check_finite("points", np.concatenate([xs, ys]))
    require(np.diff(xs) > 0, "points", xs[1:], "rising", xs[:-1])
    require(ys >= 0, "points", ys, "at_least", 0)
    for code, value, limit in (("starts", xs[0], 0.0), ("ends", xs[-1], width), ("peaks", ys.max(), ridge)):
        require(abs(value - limit) <= TAPE_TOLERANCE, "points", value, code, limit)
