"""Gust and pressure at a door, by the direction of the wind. Planning estimates to rank doors and order work.

The local code and a licensed engineer have the last word on any structure.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics import wind_data as data
from doors.mechanics.pressure_asce import exposure_coefficient, require_gust
from doors.mechanics.walls_asce import internal_coefficient, wall_coefficients
from doors.mechanics.wind_data import Edition, Enclosure, Exposure
from doors.sizing.quantity import Floats, require

# Our own planning rule. In a wind tunnel the end wall of a single-span plastic house was pressed at 0 and 45 degrees,
# sucked all over at 90 and 180, most at 105 (HortTechnology 23(5), 622, 2013, abstract); push and suction overlap here.
PUSH_FADES = (60.0, 90.0)  # degrees
SUCTION_GROWS = (45.0, 75.0)  # degrees
SUCTION_EASES = (120.0, 180.0)  # degrees


class NetPressures(NamedTuple):
    """Greatest net pressure pushing a door in and sucking it out, neither below zero. [Pa]"""

    inward: Floats
    outward: Floats


class Shares(NamedTuple):
    """Parts of a wall's greatest push and suction that a wind direction brings, 0 to 1. [-]"""

    push: Floats
    suction: Floats


def gust_pressure(gust: ArrayLike) -> Floats:
    r"""Return the velocity pressure of a gust at the door itself, with no other factor.

    Parameters
    ----------
    gust : array_like, shape (...)
        At the door, as from `gust_at_door`. [m/s]

    Returns
    -------
    ndarray, shape (...)
        :math:`q = 0.613 V^2`. [Pa]

    Raises
    ------
    SizingError
        If a gust is negative or above any wind on record.

    Notes
    -----
    In customary units 0.00256 V², psf and mph, common in texts for growers. The exposure of the site is in the
    gust at the door: do not also take it from `velocity_pressure`.

    References
    ----------
    ASCE 7-16, Eq. (26.10-1.si), all factors 1.
    """
    require_gust("gust", gust)
    return np.asarray(data.VELOCITY_CONSTANT * np.asarray(gust, dtype=np.float64) ** 2)


def gust_at_door(
    gust: ArrayLike,
    height: ArrayLike,
    exposure: ArrayLike = Exposure.C,
    *,
    local: ArrayLike = 1.0,
    edition: Edition | str = Edition.ASCE_7_22,
    cladding: bool = True,
) -> Floats:
    r"""Return the gust at a door from a gust 10 m up in open country.

    Parameters
    ----------
    gust : array_like, shape (...)
        3 s gust at 10 m in exposure C, as forecast or on a wind map. [m/s]
    height : array_like, shape (...)
        Of the door's top or the roof above ground. [m]
    exposure : array_like of str, shape (...), default C
        Of the site, upwind: B, C or D.
    local : array_like, shape (...), default 1
        What the farm knows better, up to 2: below 1 behind a windbreak, above 1 on a ridge or in a gap. [-]
    edition : {"7-16", "7-22"}
        Whose profile.
    cladding : bool, default True
        As in `exposure_coefficient`: no credit for lying low among trees and houses.

    Returns
    -------
    ndarray, shape (...)
        [m/s]

    Raises
    ------
    ValueError
        If a gust, height, exposure or the local factor is outside its limits.

    Notes
    -----
    :math:`V f \sqrt{K_z / K_{10,C}}`: pressure grows with the square of speed, so the speed with the root of
    the exposure coefficient. The profile is of strong winds over long reaches of like ground; squalls from
    thunderstorms do not follow it.

    References
    ----------
    ASCE 7-16 and 7-22, 26.2 and Table 26.10-1.
    """
    require_gust("gust", gust)
    require("local", local, "above", 0.0)
    require("local", local, "at most", 2.0)
    profile = exposure_coefficient(height, exposure, edition=edition, cladding=cladding)
    reference = exposure_coefficient(data.REFERENCE_HEIGHT, Exposure.C, edition=edition)
    return np.asarray(np.asarray(gust, dtype=np.float64) * np.asarray(local) * np.sqrt(profile / reference))


def direction_shares(angle: ArrayLike) -> Shares:
    r"""Return how much of a wall's greatest push and suction a wind direction brings.

    Parameters
    ----------
    angle : array_like, shape (...)
        Between the way the wall faces and where the wind comes from; either side. [degrees]

    Returns
    -------
    Shares
        Each of the angle's shape; 1 and 1 where the angle is NaN, not known. [-]

    Raises
    ------
    SizingError
        If an angle is infinite.

    Notes
    -----
    Our own planning rule, not a standard's: a standard gives the greatest values over all directions only. The
    push is full up to 60 degrees and gone from 90. The suction begins at 45, is full from 75 to 120 (a side
    wall) and eases to 0.5/0.7 at 180 (the leeward over the side wall coefficient). Each step is half a cosine
    wave, so that the load has no jumps.

    References
    ----------
    ASCE 7-16, Fig. 27.3-1, side and leeward walls. HortTechnology 23(5), 622 (2013), for the end walls.
    """
    turned = np.asarray(angle, dtype=np.float64)
    require("angle", np.where(np.isnan(turned), 0.0, turned), "finite")
    off = np.abs((turned + 180) % 360 - 180)
    push = 1 - _step(off, *PUSH_FADES)
    easing = (1 - data.LEEWARD_WALL / data.SIDE_WALL) * _step(off, *SUCTION_EASES)
    suction = _step(off, *SUCTION_GROWS) * (1 - easing)
    unknown = np.isnan(off)
    return Shares(np.asarray(np.where(unknown, 1.0, push)), np.asarray(np.where(unknown, 1.0, suction)))


def net_pressures(
    q: ArrayLike,
    angle: ArrayLike,
    area: ArrayLike,
    enclosure: ArrayLike = Enclosure.ENCLOSED,
    *,
    zone: ArrayLike = 4,
    low_slope: ArrayLike = False,
) -> NetPressures:
    r"""Return the greatest net pressures on a shut door in the wind's direction.

    Parameters
    ----------
    q : array_like, shape (...)
        Velocity pressure: `gust_pressure` of the gust at the door, or ``effective`` of `velocity_pressure`. [Pa]
    angle : array_like, shape (...)
        Between the way the wall faces and where the wind comes from; NaN where not known. [degrees]
    area : array_like, shape (...)
        Effective wind area of the part. [m²]
    enclosure : array_like of str, shape (...), default enclosed
        How open the house is with this door shut.
    zone : array_like of int, shape (...), default 4
        4, or 5 near the wall's corners.
    low_slope : array_like of bool, shape (...), default False
        True where the roof rises by 10 degrees or less.

    Returns
    -------
    NetPressures
        Inward and outward, each of the inputs' common shape. [Pa]

    Raises
    ------
    ValueError
        If q is negative, an area is not above zero, or a name is unknown.

    Notes
    -----
    With push :math:`U = u (GC_p)^+`, suction :math:`S = s |(GC_p)^-|` (`direction_shares`) and internal
    pressure :math:`I = |(GC_{pi})|` of either sign, inward :math:`q (U + \max(0, I - S))` and outward
    :math:`q (S + \max(0, I - U))`: the internal pressure first has to overcome what the wind outside holds
    against it. Head on and along the wall these are the standard's own values, and with the angle not known
    both are :math:`U + I` and :math:`S + I`, its envelope. Between them they are our own planning rule.

    References
    ----------
    ASCE 7-16, Eq. (30.3-1), and 7-22, the same with the directionality factor outside q.
    """
    pressure = np.asarray(q, dtype=np.float64)
    require("q", pressure, "at least", 0.0)
    shares = direction_shares(angle)
    greatest_in, greatest_out = wall_coefficients(area, zone, low_slope=low_slope)
    push, suction = shares.push * greatest_in, shares.suction * np.abs(greatest_out)
    inside = internal_coefficient(enclosure)
    known = np.where(np.isnan(np.asarray(angle, dtype=np.float64)), 0.0, 1.0)
    inward = pressure * (push + np.maximum(0.0, inside - known * suction))
    outward = pressure * (suction + np.maximum(0.0, inside - known * push))
    return NetPressures(np.asarray(inward), np.asarray(outward))


def _step(angle: Floats, start: float, end: float) -> Floats:
    """Rise from 0 at ``start`` to 1 at ``end`` along half a cosine wave."""
    share = np.clip((angle - start) / (end - start), 0.0, 1.0)
    return np.asarray((1 - np.cos(np.pi * share)) / 2)
