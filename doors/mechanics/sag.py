"""How far the turning bar sags between its clamps and beyond them, with and without the strip at the drive."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from doors.mechanics.beam import Bent, LineLoad, PointLoad, Support, bend
from doors.mechanics.stretch import distinct
from doors.sizing.quantity import Floats, require

ROUNDS = 4  # -, most changes of mind for each clamp
NOTHING = 1e-9  # -, share of the load or of the length that does not count


@dataclass(frozen=True, slots=True)
class Overhang:
    """The bar's free length at the drive. [m, N m]"""

    tip: float  # m, down, where the gearbox hangs; infinite where the bar tips over its last clamp
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
    below: float = 0.0,
) -> Overhang:
    """Return how far the drive end of a bar sags under its own weight and the gearbox's.

    Parameters
    ----------
    bar_length : float
        [m]
    clamps : ndarray, shape (n,)
        Places of the clamps on the bar, from its left end. The film holds the bar there: it can pull up, but
        not press down. [m]
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
    below : float, default 0
        What hangs under the bar between the outer clamps, per length: film and sill bar. [N/m]

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
    several hundred times stiffer over a clamp's width than the bar is over the overhang. Where a heavy overhang
    lifts the bar off its next clamps the film there goes slack; which clamps still pull is found in rounds.
    """
    for name, value in (("weight", weight), ("gearbox_weight", gearbox_weight), ("below", below)):
        require(name, value, "at least", 0.0)
    loads = _Loads(bar_length, stiffness, PointLoad(drive_place, gearbox_weight), tuple(
        LineLoad(start, end, load) for start, end, load in
        ((0.0, bar_length, weight), (float(clamps[0]), float(clamps[-1]), below)) if load and start < end
    ))  # fmt: skip
    places = [float(place) for place in clamps]
    bare = _hung(loads, places)
    held = _hung(loads, places if strip_place is None else [*places, strip_place])
    last = places[-1] if drive_place > places[-1] else places[0]
    reach = bar_length - last if drive_place > last else last
    return Overhang(
        tip=_at(bare, drive_place),
        tip_with_strip=_at(held, drive_place),
        moment=weight * reach**2 / 2 + gearbox_weight * abs(drive_place - last),
        moment_with_strip=np.inf if held is None else held.worst_moment,
    )


@dataclass(frozen=True, slots=True)
class _Loads:
    """The bar and what hangs on it."""

    length: float
    stiffness: float
    gearbox: PointLoad
    lines: tuple[LineLoad, ...]

    def bend(self, tight: list[float], slack: list[float]) -> Bent:
        """Return the bar on stiff supports, with its exact sag where there are others. [m]"""
        unloaded = tuple(PointLoad(place, 0.0) for place in slack)
        supports = tuple(Support(place) for place in tight)
        return bend(self.length, self.stiffness, supports, (self.gearbox, *unloaded), self.lines)


def _hung(loads: _Loads, places: list[float]) -> Bent | None:
    """Return the bar hung on those films that are tight, or None where it tips over the last of them."""
    tight = distinct(places)
    slack: list[float] = []
    for _ in range(ROUNDS * len(places)):
        if len(tight) < 2:
            return None
        bent = loads.bend(tight, slack)
        pushing = int(np.argmin(bent.reactions))
        low = [_at(bent, place) for place in slack]
        if bent.reactions[pushing] < -NOTHING * float(np.sum(np.abs(bent.reactions))):
            slack.append(tight.pop(pushing))
        elif low and max(low) > NOTHING * loads.length:
            tight = sorted([*tight, slack.pop(int(np.argmax(low)))])
        else:
            return bent
    raise ArithmeticError("which clamps pull was not settled")


def _at(bent: Bent | None, place: float) -> float:
    return np.inf if bent is None else float(np.interp(place, bent.places, bent.deflection))
