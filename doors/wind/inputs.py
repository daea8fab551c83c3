"""From the farm's rows to what the wind reading is told: the door as it hangs, its site, the age of its film."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from doors import sizing
from doors.codec import from_plain
from doors.mechanics.assess import Site
from doors.mechanics.film import YEAR, strength_left
from doors.mechanics.post import Soil
from doors.mechanics.strength import Strengths
from doors.mechanics.wind_data import Enclosure, Exposure
from doors.models import Component, Door, Sizing
from farm.fields import metres
from farm.models import Farm, Opening

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True, kw_only=True)
class DoorInWind:
    """All that the wind reading of one door depends on. [SI, ages in years]

    ``film_years`` and ``rated_years`` are None where nobody noted them.
    """

    opening: sizing.Opening
    rules: sizing.Rules
    strengths: Strengths
    exposure: Exposure
    stud_depth: float | None = None
    soil: Soil | None = None
    hold_down_spacing: float | None = None
    enclosure: Enclosure = Enclosure.ENCLOSED
    film_years: float | None = None
    rated_years: float | None = None

    @property
    def is_mid_bar(self) -> bool:
        """Whether the bar rests at half height."""
        return self.opening.kind == sizing.DoorKind.MID_BAR

    @property
    def film_left(self) -> float | None:
        """Share of its strength the film still has; new film has all of it, whatever its rating."""
        if self.film_years == 0:
            return 1.0
        if self.film_years is None or self.rated_years is None:
            return None
        return float(strength_left(self.film_years * YEAR, self.rated_years * YEAR))

    @property
    def site(self) -> Site:
        """What the reading needs beside the opening."""
        left = self.film_left
        return Site(
            stud_depth=self.stud_depth,
            soil=self.soil,
            hold_down_spacing=self.hold_down_spacing,
            film_left=np.nan if left is None else left,
            enclosure=self.enclosure,
        )

    @cached_property
    def given(self) -> sizing.Given:
        """The opening's numbers as the core's formulas take them."""
        return sizing.given_of(self.opening, sizing.frame_of(self.opening.wall))

    @cached_property
    def figures(self) -> sizing.Figures:
        """What follows from them.

        Raises
        ------
        SizingError
            For a size no door can have.
        """
        return sizing.work_out(self.given, self.rules, winds_at_mid_height=self.is_mid_bar)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmInService:
    """The film that hangs in a door: since when, by what record, and the life its maker rates it for."""

    fitted_on: date | None
    is_recorded: bool
    years: float | None
    rated_years: float | None


def door_in_wind(
    *, farm: Farm, opening: Opening, door: Door, kept: Sizing, strengths: Strengths, film: FilmInService
) -> DoorInWind:
    """Return a door as the wind meets it: sizes by the sheet it hangs by, the rest as it is today.

    Parameters
    ----------
    farm, opening, door : Farm, Opening, Door
        The opening with ``end_wall``, the door with its materials.
    kept : Sizing
        The sheet the door was hung by, or else the newest: its inputs and rules are read.
    strengths : Strengths
        The farm's planning values.
    film : FilmInService
        From `film_in_service`.
    """
    return DoorInWind(
        opening=from_plain(sizing.Opening, kept.inputs["opening"]),
        rules=from_plain(sizing.Rules, kept.inputs["rules"]),
        strengths=strengths,
        exposure=Exposure(farm.exposure),
        stud_depth=metres(opening.end_wall.stud_depth_mm),
        soil=Soil(farm.soil) if farm.soil else None,
        hold_down_spacing=metres(door.hold_down_spacing_mm),
        film_years=film.years,
        rated_years=film.rated_years,
    )


def film_in_service(*, farm: Farm, opening: Opening, door: Door, on: date) -> FilmInService:
    """Return the film of a door on a day.

    With no film in the list of parts it is taken to be as old as the door; one that does not hang yet gets new film.
    """
    part = Component.objects.of(farm).door_films_of(opening, on).first()
    fitted_on = part.fitted_on if part else door.hung_on
    material = (part.material if part else None) or door.film
    rated = material.rated_life_years if material else None
    return FilmInService(
        fitted_on=fitted_on,
        is_recorded=part is not None,
        years=max((on - fitted_on).days, 0) / DAYS_PER_YEAR if fitted_on else 0.0,
        rated_years=float(rated) if rated is not None else None,
    )
