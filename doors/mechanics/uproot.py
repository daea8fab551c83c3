"""The side load that tears a short driven post out of the earth, for the wind's last word."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics.post import Soil
from doors.sizing.quantity import Floats, require

DEAD_ZONE = 1.5  # -, diameters below grade in which clay gives no hold, Broms (1964a), from memory
CLAY_HOLD = 9.0  # -, times shear strength and diameter, Broms (1964a), from memory


@dataclass(frozen=True, slots=True)
class Earth:
    """Strength of a class of ground, common values from memory: friction with weight, or the shear of clay."""

    friction: float = np.nan  # rad, angle
    weight: float = np.nan  # N/m³
    shear: float = np.nan  # Pa, undrained


EARTHS = {
    Soil.GRAVEL: Earth(friction=np.radians(36.0), weight=19_000.0),
    Soil.SAND: Earth(friction=np.radians(32.0), weight=18_000.0),
    Soil.CLAY: Earth(shear=25_000.0),
    Soil.ROCK: Earth(shear=250_000.0),
    Soil.BEDROCK: Earth(shear=1_000_000.0),
}


def uproot_sand(
    depth: ArrayLike, height: ArrayLike, width: ArrayLike, *, friction: ArrayLike, weight: ArrayLike
) -> Floats:
    r"""Return the side load that overturns a short post in sand or gravel. [N]

    Parameters
    ----------
    depth, height, width : array_like, shape (...)
        Depth in the ground, height of the load above grade, width or diameter. [m]
    friction : array_like
        Angle of internal friction. [rad]
    weight : array_like
        Of the soil. [N/m³]

    Raises
    ------
    SizingError
        If a size is not above zero or the friction lies outside 20 to 45 degrees.

    Notes
    -----
    :math:`H = \tfrac12 \gamma b L^3 K_p / (e + L)` with :math:`K_p = (1+\sin\phi)/(1-\sin\phi)`; the post
    turns as a rigid body about its tip.

    References
    ----------
    Broms, B. B. (1964), Lateral resistance of piles in cohesionless soils, J. Soil Mech. Found. Div. 90 (SM3),
    from memory.
    """
    _check(depth, height, width)
    require("friction", friction, "at least", np.radians(20.0))
    require("friction", friction, "at most", np.radians(45.0))
    require("weight", weight, "above", 0.0)
    depth, height, width, friction, weight = (
        np.asarray(value, dtype=np.float64) for value in (depth, height, width, friction, weight)
    )
    passive = (1 + np.sin(friction)) / (1 - np.sin(friction))
    return np.asarray(0.5 * weight * width * depth**3 * passive / (height + depth))


def uproot_clay(depth: ArrayLike, height: ArrayLike, width: ArrayLike, *, shear: ArrayLike) -> Floats:
    r"""Return the side load that overturns a short post in clay. [N]

    Parameters
    ----------
    depth, height, width : array_like, shape (...)
        Depth in the ground, height of the load above grade, width or diameter. [m]
    shear : array_like
        Undrained shear strength. [Pa]

    Notes
    -----
    No hold down to :math:`1.5b`, then :math:`9 c_u b`. With :math:`f = H/(9 c_u b)`, :math:`e' = e + 1.5b` and
    :math:`l = L - 1.5b`, balance of forces and moments gives :math:`f^2 + 2(2e' + l) f - l^2 = 0`.

    References
    ----------
    Broms, B. B. (1964), Lateral resistance of piles in cohesive soils, J. Soil Mech. Found. Div. 90 (SM2), from
    memory.
    """
    _check(depth, height, width)
    require("shear", shear, "above", 0.0)
    depth, height, width, shear = (np.asarray(value, dtype=np.float64) for value in (depth, height, width, shear))
    hold = np.maximum(depth - DEAD_ZONE * width, 0.0)
    lever = 2 * (height + DEAD_ZONE * width) + hold
    return np.asarray(CLAY_HOLD * shear * width * (np.sqrt(lever**2 + hold**2) - lever))


def uproot(depth: ArrayLike, height: ArrayLike, width: ArrayLike, soil: Soil) -> Floats:
    """Return the side load that overturns a short post in a class of ground. [N]"""
    earth = EARTHS[soil]
    if np.isfinite(earth.shear):
        return uproot_clay(depth, height, width, shear=earth.shear)
    return uproot_sand(depth, height, width, friction=earth.friction, weight=earth.weight)


def _check(depth: ArrayLike, height: ArrayLike, width: ArrayLike) -> None:
    require("depth", depth, "above", 0.0)
    require("height", height, "at least", 0.0)
    require("width", width, "above", 0.0)
