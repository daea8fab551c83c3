"""What the wind does to one door: its closing states, each link's utilisation, and what is not known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from doors.mechanics.assess import StateReading, read_wind
from doors.mechanics.pressure import gust_at_door, gust_pressure
from doors.mechanics.strength import Coefficients, coefficients, limit_gust
from doors.mechanics.wind import Direction, Link, State
from doors.mechanics.wind_data import HIGHEST_ROOF
from doors.wind.gaps import Gap, gaps
from doors.wind.inputs import DoorInWind

FASTEST_SHOWN = 67.0  # m/s, 150 mph: beyond it the house is gone before the link; larger limits are not printed
SHUT = (State.CLOSED, State.WIRED, State.TIED)


@dataclass(frozen=True, slots=True)
class LinkReading:
    """One link at the gust looked at; NaN where a part of it is not known."""

    link: Link
    pressure: float  # Pa, net, at that gust
    utilisation: float  # -
    gust: float  # m/s that uses it up


@dataclass(frozen=True, slots=True)
class StateResult:
    """One closing state: its links, weakest first, and the gusts that count. [m/s]"""

    reading: StateReading
    links: tuple[LinkReading, ...]
    limit: float  # NaN where a link that could be the weakest is not known
    weakest: LinkReading | None  # what gives first; while the limit is not known, the weakest that is
    first_added: LinkReading | None  # where the state before decides: what gives of this one's own
    flaps: float  # infinite where the door does not flap
    flapping: LinkReading | None

    @property
    def state(self) -> State:
        """Which closing state."""
        return self.reading.state

    @property
    def is_known(self) -> bool:
        """Whether every link that could be the weakest is known."""
        return not math.isnan(self.limit)

    def gives_first(self, one: LinkReading) -> bool:
        """Tell whether a link is the one that is known to give first."""
        return self.is_known and one is self.weakest

    def utilisation(self, gust: float) -> float:
        """Return the share of the weakest link's strength a gust at the door takes. [-]"""
        return (gust / self.limit) ** 2 if self.limit > 0 else math.nan if math.isnan(self.limit) else math.inf

    def find(self, name: str) -> LinkReading | None:
        """Return a link by its key."""
        return next((one for one in self.links if one.link.name == name), None)


@dataclass(frozen=True, slots=True)
class WindReading:
    """The whole answer for one door and one gust."""

    door: DoorInWind
    gust: float  # m/s at the door, looked at
    velocity_pressure: float  # Pa
    coefficients: Coefficients
    forecast_factor: float  # -, gust at the door over the gust forecast 10 m up in open country
    states: tuple[StateResult, ...]
    gaps: tuple[Gap, ...]

    @property
    def secured(self) -> StateResult:
        """The most secured state the door can be brought into."""
        return self.states[-1]

    def state(self, state: State) -> StateResult | None:
        """Return one closing state, None where the door has no hold-downs for it."""
        return next((one for one in self.states if one.state == state), None)

    def forecast(self, gust: float) -> float:
        """Return the gust forecast that brings a gust at the door. [m/s]"""
        return gust / self.forecast_factor


def read(door: DoorInWind, gust: float) -> WindReading:
    """Return what a film door stands, and what a gust at the door does to it, wind from its worst direction.

    Raises
    ------
    SizingError
        For sizes no door can have.
    """
    worst = coefficients(door.opening.rough_width * door.opening.rough_height, np.nan, door.enclosure)
    pressure = float(gust_pressure(gust))
    states = read_wind(door.opening, door.site, door.strengths, door.rules)
    return WindReading(
        door=door,
        gust=gust,
        velocity_pressure=pressure,
        coefficients=worst,
        forecast_factor=forecast_factor(door),
        states=tuple(_result(state, worst, pressure) for state in states),
        gaps=gaps(door),
    )


def forecast_factor(door: DoorInWind) -> float:
    """Return the gust at the door over a 3 s gust 10 m up in open country. [-]"""
    head = (door.opening.threshold or 0.0) + door.opening.rough_height
    return float(gust_at_door(1.0, min(head, HIGHEST_ROOF), door.exposure))


def coefficient_of(link: Link, worst: Coefficients) -> float:
    """Return the net pressure coefficient that loads a link. [-]"""
    if link.direction == Direction.INWARD:
        return float(worst.inward)
    if link.direction == Direction.OUTWARD:
        return float(worst.outward)
    return max(float(worst.inward), float(worst.outward))


def _result(reading: StateReading, worst: Coefficients, velocity_pressure: float) -> StateResult:
    links = tuple(sorted((_link(link, worst, velocity_pressure) for link in reading.links), key=_weakest_first))
    known = [one for one in links if not math.isnan(one.gust)]
    own = next((one for one in known if one.link.breaks), None)
    falls_back = not math.isnan(reading.limit) and reading.falls_back
    return StateResult(
        reading=reading,
        links=links,
        limit=reading.limit,
        weakest=_link(reading.governing, worst, velocity_pressure) if falls_back else own,
        first_added=own if falls_back else None,
        flaps=reading.flap_gust,
        flapping=next((one for one in known if not one.link.breaks), None),
    )


def _link(link: Link, worst: Coefficients, velocity_pressure: float) -> LinkReading:
    coefficient = coefficient_of(link, worst)
    pressure = velocity_pressure * coefficient
    limit = float(link.pressure)
    return LinkReading(
        link=link,
        pressure=pressure,
        utilisation=pressure / limit if limit else math.inf,
        gust=float(limit_gust(np.asarray(limit), np.asarray(coefficient))),
    )


def _weakest_first(one: LinkReading) -> tuple[bool, float]:
    return math.isnan(one.gust), one.gust
