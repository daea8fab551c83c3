"""What gust each film door is expected to stand, shut as well as it can be."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Final

from doors import sizing
from doors.mechanics.strength import Strengths
from doors.mechanics.wind_data import FASTEST_GUST
from doors.models import Component, Door
from doors.services import strengths_of
from doors.wind.inputs import DAYS_PER_YEAR, FilmInService, door_in_wind
from doors.wind.reading import forecast_factor, read
from farm.models import Farm
from maintenance.blow.rules import FarmRules
from maintenance.plans.places import FILM_DOORS

MOST_KNOWN: Final = 20_000  # doors
KNOWN: Final[dict[Hashable, float]] = {}  # m/s, by all that a door's limit depends on


@dataclass(frozen=True, slots=True)
class DoorLimit:
    """The forecast gust that a shut door is expected to stand. [m/s]"""

    code: str
    gust: float


def door_limits(farm: Farm, doors: Iterable[Door], parts: Sequence[Component], on: date) -> dict[int, DoorLimit]:
    """Return what gust each film door is expected to stand as shut as it can be; NaN where that cannot be told."""
    strengths = strengths_of(farm)
    films = {part.opening_id: part for part in parts if part.kind == Component.Kind.DOOR_FILM}
    place = (strengths, farm.exposure, farm.soil)
    found = {}
    for door in doors:
        kept = door.as_built or door.sizing
        if door.opening.kind not in FILM_DOORS:
            continue
        gust = math.nan
        if kept is not None:
            film = _door_film(door, films.get(door.opening_id), on)
            wall = door.opening.end_wall
            alike = (kept.inputs_digest, wall.stud_depth_mm, door.hold_down_spacing_mm, film.years, film.rated_years)
            gust = _known(place + alike, partial(_stands, farm, door, strengths, film))
        found[door.opening_id] = DoorLimit(door.opening.code, gust)
    return found


def _known(alike: Hashable, stands: Callable[[], float]) -> float:
    """Return what doors alike stand; each process reads them once, for as long as there is room."""
    if alike not in KNOWN:
        if len(KNOWN) >= MOST_KNOWN:
            KNOWN.clear()
        KNOWN[alike] = stands()
    return KNOWN[alike]


def _stands(farm: Farm, door: Door, strengths: Strengths, film: FilmInService) -> float:
    kept = door.as_built or door.sizing
    assert kept is not None  # noqa: S101
    try:
        one = door_in_wind(farm=farm, opening=door.opening, door=door, kept=kept, strengths=strengths, film=film)
        limit = read(one, 0.0).secured.limit
        return limit / forecast_factor(one)
    except sizing.SizingError:  # a size no door can have: the door's own sheet says so
        return math.nan


def _door_film(door: Door, part: Component | None, on: date) -> FilmInService:
    """Return the film of a door from parts already loaded, as ``film_in_service`` does for one door."""
    fitted_on = part.fitted_on if part else door.hung_on
    material = (part.material if part else None) or door.film
    rated = material.rated_life_years if material else None
    return FilmInService(
        fitted_on=fitted_on,
        is_recorded=part is not None,
        years=max((on - fitted_on).days, 0) / DAYS_PER_YEAR if fitted_on else 0.0,
        rated_years=float(rated) if rated is not None else None,
    )


def any_unknown(limits: Iterable[DoorLimit]) -> bool:
    """Return whether any limit could not be told."""
    return any(math.isnan(one.gust) for one in limits)


def counted(weakest: DoorLimit | None, rules: FarmRules) -> float | None:
    """Return the limit that moves a tunnel's levels: the door's own where the farm counts it. [m/s]"""
    if weakest is None:
        return None
    return min(weakest.gust, FASTEST_GUST) if rules.door_limits_count else FASTEST_GUST
