"""What it takes to crank a film door, and how far its bar sags at the drive."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from doors.mechanics.film import areal_mass
from doors.mechanics.lift import Cranking, Weights, bottom_bar_pull, crank, mid_bar_pull
from doors.mechanics.sag import Overhang, drive_overhang
from doors.mechanics.strength import CHANNEL_MASS, CLAMP_MASS
from doors.mechanics.tube import STANDARD_GRAVITY, STEEL_MODULUS, section
from doors.sizing import Side
from doors.wind.inputs import DoorInWind


@dataclass(frozen=True, slots=True)
class CrankReading:
    """Weights, effort and sag of one door; a part is None where an input it needs is not known. [SI]"""

    weights: Weights | None
    total: float | None  # N, bars, fixings and film
    crank: Cranking | None
    turns: float | None  # of the crank, from closed to open
    sag: Overhang | None
    overhang: float | None  # m, from the last clamp to the drive
    has_strip: bool  # whether the rules ask for the strip at the drive
    stiffness: float | None  # N m², of the turning bar
    bar_weight: float | None  # N/m


def read_crank(door: DoorInWind) -> CrankReading:
    """Return weights, effort and sag of a film door.

    Raises
    ------
    SizingError
        For sizes no door can have.
    """
    figures, tube = door.figures, door.opening.design.turning_tube
    weights = weights_of(door)
    one = section(tube.diameter, tube.wall) if tube else None
    stiffness = STEEL_MODULUS * float(one.second_moment) if one else None
    bar_weight = float(one.weight) if one else None
    has_strip = float(np.nan_to_num(figures.strip_length)) > 0
    overhang = float(figures.drive_overhang)
    return CrankReading(
        weights=weights,
        total=_total(door, weights),
        crank=_crank(door, weights),
        turns=_known(float(figures.crank_turns)),
        sag=None if stiffness is None or bar_weight is None else _sag(door, stiffness, bar_weight),
        overhang=_known(overhang),
        has_strip=has_strip,
        stiffness=stiffness,
        bar_weight=bar_weight,
    )


def weights_of(door: DoorInWind) -> Weights | None:
    """Return what hangs on the film, or None where a bar or the film is not chosen or not as long as known."""
    figures, design = door.figures, door.opening.design
    if design.turning_tube is None or design.film is None or (door.is_mid_bar and design.sill_tube is None):
        return None
    clamps = CLAMP_MASS * float(figures.clamps.count) * STANDARD_GRAVITY
    bar = float(section(design.turning_tube.diameter, design.turning_tube.wall).weight * figures.turning_bar.length)
    bar += door.strengths.gearbox_mass * STANDARD_GRAVITY  # it hangs on the bar's end and goes up with it
    sill = 0.0
    if design.sill_tube is not None and door.is_mid_bar:
        tube = float(section(design.sill_tube.diameter, design.sill_tube.wall).weight)
        length = float(figures.sill_bar.length)
        sill = (tube + CHANNEL_MASS * STANDARD_GRAVITY) * length + clamps
    film = float(areal_mass(design.film.thickness)) * STANDARD_GRAVITY * float(figures.panel.width)
    if not all(math.isfinite(value) for value in (bar, sill, film, clamps)):
        return None
    return Weights(np.asarray(bar + clamps), np.asarray(sill), np.asarray(film))


def _total(door: DoorInWind, weights: Weights | None) -> float | None:
    if weights is None:
        return None
    film = float(weights.film_per_height) * door.opening.rough_height
    return float(weights.turning_bar) + float(weights.sill_bar) + film


def _crank(door: DoorInWind, weights: Weights | None) -> Cranking | None:
    """Return the effort, or None where the weights, the roll or the drive's ratio are not known."""
    winding, ratio, values = door.figures.winding, door.opening.design.gear_ratio, door.strengths
    if weights is None or ratio is None or math.isnan(float(winding.turns_to_open)):
        return None
    if door.is_mid_bar:
        closed = opened = mid_bar_pull(weights, door.opening.rough_height)
    else:
        closed, opened = (bottom_bar_pull(weights, wound) for wound in (0.0, float(winding.film_wound)))
    return crank(
        closed, opened, winding.diameter_closed, winding.diameter_open, winding.bar_rise, winding.turns_to_open,
        ratio=ratio, handle_radius=values.handle_radius, efficiency=values.efficiency,
        turns_per_second=values.turns_per_second,
    )  # fmt: skip


def _sag(door: DoorInWind, stiffness: float, weight: float) -> Overhang | None:
    """Return the sag at the drive, or None where the drive's side or the bar's place in the wall is not known."""
    figures, side = door.figures, door.opening.design.drive_side
    length, start = float(figures.turning_bar.length), float(figures.turning_bar.start)
    clamps = figures.clamps
    if side is None or not all(math.isfinite(value) for value in (length, start, float(clamps.first))):
        return None
    places = np.linspace(float(clamps.first), float(clamps.last), int(clamps.count)) - start
    return drive_overhang(
        length,
        places,
        drive_place=length if side == Side.RIGHT else 0.0,
        strip_place=float(figures.strip_place) - start,
        stiffness=stiffness,
        weight=weight,
        gearbox_weight=door.strengths.gearbox_mass * STANDARD_GRAVITY,
        below=_below(door, float(clamps.last - clamps.first)),
    )


def _below(door: DoorInWind, length: float) -> float:
    """Return what hangs under the turning bar between its outer clamps, per length; nothing on a bottom bar. [N/m]"""
    weights = weights_of(door)
    if weights is None or not door.is_mid_bar:
        return 0.0
    film = float(weights.film_per_height) * door.opening.rough_height / 2
    return (float(weights.sill_bar) + film) / length


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
