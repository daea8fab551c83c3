"""The whole reading of one door in the wind: every link in every closing state, and which gives first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from doors.mechanics.built import Link, State
from doors.mechanics.post import Soil
from doors.mechanics.strength import Hanging, Stand, Strengths, at_least, built_of, coefficients, limit_gust, stands
from doors.mechanics.wind import links
from doors.mechanics.wind_data import Enclosure
from doors.sizing.figures import Given, work_out
from doors.sizing.frame import frame_of
from doors.sizing.opening import DoorKind, Opening
from doors.sizing.quantity import Length, number
from doors.sizing.rules import Rules
from doors.sizing.size import given_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What the wind reading needs beside the opening and its design."""

    stud_depth: Length | None = None
    soil: Soil | None = None
    hold_down_spacing: Length | None = None
    film_left: float = 1.0
    enclosure: Enclosure = Enclosure.ENCLOSED


@dataclass(frozen=True, slots=True, kw_only=True)
class StateReading:
    """One closing state: its links and the gusts at the door that use up the weakest. [m/s]

    A state is never read as weaker than the one before it: what fastens the door further can only give and leave it
    as before. The link that gives first then belongs to that state, and is not among ``links``.
    """

    state: State
    links: tuple[Link, ...]
    stand: Stand
    inward_gust: float
    outward_gust: float
    flap_gust: float
    inward_link: Link
    outward_link: Link

    @property
    def limit(self) -> float:
        """Gust at which the first link gives, whichever way; NaN where one way is not known. [m/s]"""
        return float(np.minimum(self.inward_gust, self.outward_gust))

    @property
    def governing(self) -> Link:
        """The link that gives first; where one way is not known, the link that is not."""
        unknown = np.isnan(self.inward_gust)
        return self.inward_link if unknown or self.inward_gust <= self.outward_gust else self.outward_link

    @property
    def falls_back(self) -> bool:
        """Whether the state before decides, because what fastens this one further gives sooner."""
        return self.governing not in self.links


def read_wind(opening: Opening, site: Site, strengths: Strengths, rules: Rules) -> tuple[StateReading, ...]:
    """Return what a film door stands in each closing state, wind from its worst direction.

    Parameters
    ----------
    opening : Opening
        A film roll-up door. [m]
    site : Site
        Soil, hold-downs, film's strength left. [SI]
    strengths : Strengths
        The farm's planning values. [SI]
    rules : Rules
        The farm's sizing rules.

    Returns
    -------
    tuple of StateReading
        One for each state, least secured first; gusts are NaN where a part of the load path is not known.

    Raises
    ------
    SizingError
        For sizes no door can have.
    """
    given = given_of(opening, frame_of(opening.wall))
    return _read(opening, given, site, strengths, rules)


def _read(opening: Opening, given: Given, site: Site, strengths: Strengths, rules: Rules) -> tuple[StateReading, ...]:
    mid = opening.kind == DoorKind.MID_BAR
    figures = work_out(given, rules, winds_at_mid_height=mid)
    built = built_of(given, figures, _hanging(opening, site), strengths, rules, winds_at_mid_height=mid)
    worst = coefficients(opening.rough_width * opening.rough_height, np.nan, site.enclosure)
    readings: list[StateReading] = []
    for state in State:
        if state == State.TIED and site.hold_down_spacing is None:
            continue
        parts = links(built, state, winds_at_mid_height=mid)
        before = readings[-1] if state in (State.WIRED, State.TIED) else None
        stand = at_least(stands(parts), before.stand) if before else stands(parts)
        readings.append(
            StateReading(
                state=state,
                links=parts,
                stand=stand,
                inward_gust=float(limit_gust(stand.inward, worst.inward)),
                outward_gust=float(limit_gust(stand.outward, worst.outward)),
                flap_gust=float(limit_gust(stand.flaps, np.maximum(worst.inward, worst.outward))),
                inward_link=before.inward_link if before and stand.inward_link < 0 else parts[int(stand.inward_link)],
                outward_link=before.outward_link
                if before and stand.outward_link < 0
                else parts[int(stand.outward_link)],
            )
        )
    return tuple(readings)


def _hanging(opening: Opening, site: Site) -> Hanging:
    design = opening.design
    return Hanging(
        turning_wall=number(design.turning_tube.wall if design.turning_tube else None),
        sill_wall=number(design.sill_tube.wall if design.sill_tube else None),
        billow_wall=number(design.anti_billow_tube.wall if design.anti_billow_tube else None),
        rod_diameter=number(design.rod.diameter if design.rod else None),
        stud_depth=number(site.stud_depth),
        soil=site.soil,
        hold_down_spacing=number(site.hold_down_spacing),
        film_left=number(site.film_left),
    )
