"""Posts set in earth: how deep for a side load, and what load a depth stands."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from doors.sizing.quantity import FOOT, POUND_FORCE, Floats, require

PSF = POUND_FORCE / FOOT**2  # Pa
PSF_PER_FOOT = PSF / FOOT  # Pa/m
DEEPEST_BEARING = 12 * FOOT  # m, IBC 2021, 1807.3.2.1, definition of d
ISOLATED_POLE = 2.0  # -, IBC 2021, 1806.3.4: poles that 1/2 in of motion at grade does not harm; from memory
_FREE_AREA = 2.34  # -, IBC 2021, Eq. 18-1
_FREE_LEVER = 4.36  # -, IBC 2021, Eq. 18-1
_HELD = 4.25  # -, IBC 2021, Eq. 18-2 and 18-3
_NEWTON_STEPS = 12  # from an upper bound at most twice the root, 7 reach the last digit


class Soil(StrEnum):
    """Classes of ground of IBC 2021, Table 1806.2."""

    BEDROCK = "bedrock"  # crystalline
    ROCK = "rock"  # sedimentary and foliated
    GRAVEL = "gravel"  # sandy gravel, gravel
    SAND = "sand"  # sand, silty or clayey sand, silty or clayey gravel
    CLAY = "clay"  # clay, sandy or silty clay, clayey silt, silt


@dataclass(frozen=True, slots=True)
class Bearing:
    """What a class of ground may be loaded with where nobody has tested it."""

    lateral: float  # Pa/m, allowable side pressure per metre below grade
    vertical: float  # Pa, allowable pressure under a footing


BEARING = {  # IBC 2021, Table 1806.2; not for mud, organic silt or clay, peat or unprepared fill (its note)
    Soil.BEDROCK: Bearing(1200 * PSF_PER_FOOT, 12_000 * PSF),
    Soil.ROCK: Bearing(400 * PSF_PER_FOOT, 4000 * PSF),
    Soil.GRAVEL: Bearing(200 * PSF_PER_FOOT, 3000 * PSF),
    Soil.SAND: Bearing(150 * PSF_PER_FOOT, 2000 * PSF),
    Soil.CLAY: Bearing(100 * PSF_PER_FOOT, 1500 * PSF),
}


def needed_depth(
    load: ArrayLike,
    height: ArrayLike,
    width: ArrayLike,
    lateral: ArrayLike,
    *,
    constrained: ArrayLike = False,
    factor: ArrayLike = 1.0,
) -> Floats:
    r"""Return how deep a post must stand in earth to carry a side load.

    Parameters
    ----------
    load : array_like, shape (...)
        Side load on the post. [N]
    height : array_like, shape (...)
        Of the load above grade; 0 where the post leans on something higher and only its foot is pushed. [m]
    width : array_like, shape (...)
        Diameter of the post or of its concrete footing; diagonal of a square one. [m]
    lateral : array_like, shape (...)
        Allowable side pressure per metre below grade, such as ``BEARING[Soil.SAND].lateral``. [Pa/m]
    constrained : array_like of bool, default False
        Whether a rigid floor or pavement holds the post at grade.
    factor : array_like, default 1
        ``ISOLATED_POLE`` where half an inch of motion at grade does no harm. [-]

    Returns
    -------
    ndarray, shape (...)
        Depth below grade; 0 without load. [m]

    Raises
    ------
    SizingError
        If load or height is negative, width or lateral is not above zero, the factor is not from 1 to 2, or
        a constrained post has its load at grade, where the floor takes it.

    Notes
    -----
    Not constrained: :math:`d = \frac{A}{2}(1 + \sqrt{1 + 4.36h/A})`, :math:`A = 2.34P/(S_1 b)`,
    :math:`S_1` the pressure allowed at :math:`d/3`; so :math:`d` is the root of a cubic. Constrained:
    :math:`d^2 = 4.25Ph/(S_3 b)`, :math:`S_3` at :math:`d`. The pressure stops growing 12 ft below grade: the
    limit is put on the depth at which it is taken, :math:`d/3` or :math:`d`. Others put it on :math:`d` before
    dividing by three; up to 12 ft of embedment both are the same. Allowable stress design. Loose, frozen
    or saturated topsoil carries nothing: measure height and depth from sound ground. A post designed so may
    not brace plaster, masonry or concrete (1807.3.1).

    References
    ----------
    IBC 2021, 1806.3.4, 1807.3.2.1 and 1807.3.2.2.
    """
    require("load", load, "at least", 0.0)
    load = np.asarray(load, dtype=np.float64)
    height, width, pressure = _ground(height, width, lateral, constrained, factor)
    free = _free_depth(load / (pressure * width), height)
    held = _HELD * load * height / (pressure * width)
    held = np.maximum(np.minimum(np.cbrt(held), DEEPEST_BEARING), np.sqrt(held / DEEPEST_BEARING))
    return np.asarray(np.where(constrained, held, free))


def lateral_load(
    depth: ArrayLike,
    height: ArrayLike,
    width: ArrayLike,
    lateral: ArrayLike,
    *,
    constrained: ArrayLike = False,
    factor: ArrayLike = 1.0,
) -> Floats:
    r"""Return the side load that a post of known depth carries: the inverse of `needed_depth`.

    Parameters
    ----------
    depth : array_like, shape (...)
        Below grade. [m]
    height, width, lateral, constrained, factor : array_like, shape (...)
        As in `needed_depth`.

    Returns
    -------
    ndarray, shape (...)
        Allowable load at that height. [N]

    Raises
    ------
    SizingError
        If the depth is negative, or as `needed_depth`.

    Notes
    -----
    Solved for the load, the formula of a post that is not constrained is closed:
    :math:`P = \frac{S_1 b}{2.34} \cdot \frac{d^2}{d + 1.09h}`; the other is :math:`P = S_3 b d^2 / 4.25h`.

    References
    ----------
    IBC 2021, 1806.3.4, 1807.3.2.1 and 1807.3.2.2.
    """
    require("depth", depth, "at least", 0.0)
    depth = np.asarray(depth, dtype=np.float64)
    height, width, pressure = _ground(height, width, lateral, constrained, factor)
    upper, bottom = np.minimum(depth / 3, DEEPEST_BEARING), np.minimum(depth, DEEPEST_BEARING)
    free = pressure * upper * width / _FREE_AREA * depth**2 / (depth + _FREE_LEVER / 4 * height)
    moment = pressure * bottom * width * depth**2 / _HELD
    held = np.divide(moment, height, out=np.zeros(np.broadcast(moment, height).shape), where=height != 0)
    return np.asarray(np.where(constrained, held, free))


def _ground(
    height: ArrayLike, width: ArrayLike, lateral: ArrayLike, constrained: ArrayLike, factor: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    require("height", height, "at least", 0.0)
    require("height", np.where(constrained, height, np.nan), "above", 0.0)
    require("width", width, "above", 0.0)
    require("lateral", lateral, "above", 0.0)
    require("factor", factor, "at least", 1.0)
    require("factor", factor, "at most", ISOLATED_POLE)
    height, width, lateral, factor = (np.asarray(value, dtype=np.float64) for value in (height, width, lateral, factor))
    return height, width, np.asarray(lateral * factor)


def _free_depth(area: Floats, height: Floats) -> Floats:
    """Solve Eq. 18-1 for the depth; ``area`` is load over width and pressure per depth.

    While the pressure grows with depth, d³ = B (d + 1.09 h). Seen from above the root the cubic is convex,
    so Newton's steps come down on it and cannot overshoot.
    """
    growth = 3 * _FREE_AREA * area
    depth = np.asarray(np.sqrt(growth) + np.cbrt(growth * _FREE_LEVER / 4 * height))
    for _ in range(_NEWTON_STEPS):
        error = depth**3 - growth * (depth + _FREE_LEVER / 4 * height)
        slope = 3 * depth**2 - growth
        depth = depth - np.divide(error, slope, out=np.zeros_like(depth), where=slope != 0)  # no load, no depth
    even = _FREE_AREA * area / DEEPEST_BEARING  # A under the pressure that no longer grows
    deep = even / 2 + np.sqrt(even**2 / 4 + _FREE_LEVER / 4 * height * even)
    return np.where(depth <= 3 * DEEPEST_BEARING, depth, deep)
