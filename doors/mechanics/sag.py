"""How far the turning bar sags between its clamps and beyond them, with and without the strip at the drive."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from doors.mechanics.beam import Bent, LineLoad, PointLoad, Support, bend
from doors.sizing.quantity import Floats, require


@dataclass(frozen=True, slots=True)
class Overhang:
    """The bar's free length at the drive. [m, N m]"""

    tip: float  # m, down, where the gearbox hangs
    tip_with_strip: float  # m
    moment: float  # N m at the last clamp
    moment_with_strip: float  # N m, the largest anywhere


def drive_overhang(
    bar_length: float,
    clamps: Floats,
    *,
    drive_place: float,
    strip_place: float | None,
    stiffness: float,
    weight: float,
    gearbox_weight: float,
) -> Overhang:
    """Return how far the drive end of a bar sags under its own weight and the gearbox's.

    Parameters
    ----------
    bar_length : float
        [m]
    clamps : ndarray, shape (n,)
        Places of the clamps on the bar, from its left end. The film holds the bar there: it can pull up, and
        the film below it can pull down. [m]
    drive_place : float
        Where the gearbox hangs, from the bar's left end. [m]
    strip_place : float or None
        Middle of the strip that would carry the bar near the drive. [m]
    stiffness : float
        E I of the bar. [N m²]
    weight : float
        Bar and what is wound on it, per length. [N/m]
    gearbox_weight : float
        [N]

    Returns
    -------
    Overhang
        Sag of the tip and moments, without and with the strip.

    Raises
    ------
    SizingError
        If a place is off the bar or a weight is negative.

    Notes
    -----
    The guide post keeps the gearbox from swinging but does not carry it. The film is taken as stiff: it is
    several hundred times stiffer over a clamp's width than the bar is over the overhang.
    """
    require("weight", weight, "at least", 0.0)
    require("gearbox_weight", gearbox_weight, "at least", 0.0)
    bare = _bent(bar_length, clamps, drive_place, None, stiffness, weight, gearbox_weight)
    held = _bent(bar_length, clamps, drive_place, strip_place, stiffness, weight, gearbox_weight)
    last = float(clamps[-1] if drive_place > clamps[-1] else clamps[0])
    return Overhang(
        tip=_at(bare, drive_place),
        tip_with_strip=_at(held, drive_place),
        moment=float(np.interp(last, bare.places, np.abs(bare.moment))),
        moment_with_strip=held.worst_moment,
    )


def _bent(
    length: float,
    clamps: Floats,
    drive: float,
    strip: float | None,
    stiffness: float,
    weight: float,
    gearbox: float,
) -> Bent:
    held = [*clamps, strip] if strip is not None else list(clamps)
    supports = tuple(Support(float(place)) for place in held)
    loads = (PointLoad(drive, gearbox),) if gearbox else ()
    return bend(length, stiffness, supports, loads, (LineLoad(0.0, length, weight),) if weight else ())


def _at(bent: Bent, place: float) -> float:
    return float(np.interp(place, bent.places, bent.deflection))
