"""The way of the wind's load through a shut door: from the film to the bars, and on to studs, tubes, rods and soil."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from django.utils.translation import gettext_lazy as _

from doors.mechanics.film import strip
from doors.mechanics.membrane import arc
from doors.mechanics.wind import Direction, State
from doors.names import Words
from doors.sizing import SizingError
from doors.wind_reading import LinkReading, StateResult, WindReading, coefficient_of

# What each station of the path is called, its links, weakest counted, and the term of the first that loads it.
STATIONS: Words = {
    "film": _("film, pulled tight"),
    "header": _("film's edge on the header"),
    "bar": _("film on the turning bar"),
    "sill_bar": _("film on the sill bar"),
    "stud": _("turning bar on the stud loaded most"),
    "stud_foot": _("stud on the ground"),
    "stud_top": _("stud on the frame"),
    "tube": _("turning bar on the tube loaded most"),
    "rod": _("tube on its tie rod"),
    "soil": _("tube's foot on the soil"),
    "lower": _("film lifting the lower bar"),
    "jambs": _("film pulling the jambs together"),
}
LINKS_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "film": ("film",),
    "header": ("header_outward", "header_screws"),
    "bar": ("bar_inward", "bar_outward", "bar_clamps"),
    "sill_bar": ("sill_bar_inward", "sill_bar_outward", "sill_screws"),
    "stud": ("stud_inward",),
    "tube": ("billow_tube",),
    "rod": ("tie_rod",),
    "soil": ("tube_in_soil",),
    "lower": ("lower_bar_bends_up", "hold_down_up", "hold_down_sideways", "lower_bar_lifts", "lower_bar_bows"),
    "jambs": ("jamb_pulled_in", "jamb_screws"),
}
INWARD: Final = ("film", "bar", "sill_bar", "stud", "stud_top", "stud_foot", "lower", "jambs")
OUTWARD: Final = ("film", "header", "bar", "sill_bar", "tube", "rod", "soil", "lower", "jambs")


@dataclass(frozen=True, slots=True)
class Station:
    """One station of the load path: the load that arrives there, and the weakest of its links."""

    key: str
    load: float  # N, or N/m where it is spread along the width
    is_spread: bool
    weakest: LinkReading | None
    gives_first: bool


@dataclass(frozen=True, slots=True)
class LoadPath:
    """The stations of one closing state under one gust, and the film's belly."""

    direction: Direction
    pressure: float  # Pa, net
    belly: float | None  # m, None where the film is not known
    is_over_yield: bool  # the film is stretched for good: a real belly is deeper
    stations: tuple[Station, ...]


def load_path(reading: WindReading, state: StateResult) -> LoadPath:
    """Return the load path of a shut door in the direction that its weakest link is loaded in."""
    direction = _direction(reading, state)
    worst = reading.coefficients
    coefficient = worst.inward if direction == Direction.INWARD else worst.outward
    pressure = reading.velocity_pressure * float(coefficient)
    belly, is_over = _belly(reading, state, pressure)
    keys = INWARD if direction == Direction.INWARD else OUTWARD
    stations = (_station(key, state, direction, pressure) for key in keys)
    return LoadPath(direction, pressure, belly, is_over, tuple(one for one in stations if one is not None))


def span_of(reading: WindReading) -> float:
    """Return the height of film between two of its held edges. [m]"""
    return reading.door.opening.rough_height / (2 if reading.door.is_mid_bar else 1)


def _direction(reading: WindReading, state: StateResult) -> Direction:
    if state.weakest is not None and state.weakest.link.direction != Direction.BOTH:
        return state.weakest.link.direction
    worst = reading.coefficients
    return Direction.INWARD if worst.inward > worst.outward else Direction.OUTWARD


def _belly(reading: WindReading, state: StateResult, pressure: float) -> tuple[float | None, bool]:
    """Return how far the film bellies out: its slack, and what the pressure stretches it. [m]"""
    film, share = reading.door.opening.design.film, state.find("film")
    if film is None or share is None:
        return None, False
    span = span_of(reading)
    slack = arc(span, reading.door.strengths.belly * span).strain
    carried = pressure * float(share.link.terms["share"])
    try:
        stretched = strip(carried, span, film.thickness, slack=slack)
    except SizingError:  # so thin that it would blow out to more than half a circle
        return None, True
    return float(stretched.sag), bool(stretched.tension > share.link.capacity)


def _station(key: str, state: StateResult, direction: Direction, pressure: float) -> Station | None:
    found = [state.find(name) for name in LINKS_OF.get(key, ())]
    links = [one for one in found if one is not None and one.link.direction in (direction, Direction.BOTH)]
    load = _load(key, state, direction)
    if load is None or (not links and key in LINKS_OF):
        return None
    weakest = min(links, key=lambda one: (not one.gust >= 0, one.gust), default=None)
    gives = state.weakest is not None and any(one is state.weakest for one in links)
    return Station(key, load * pressure, key in SPREAD, state.weakest if gives else weakest, gives)


SPREAD: Final = frozenset({"film", "header", "bar", "sill_bar", "lower"})


def _load(key: str, state: StateResult, direction: Direction) -> float | None:
    """Return a station's load for a net pressure of 1 Pa; None where the state has no such station."""

    def term(link: str, name: str) -> float | None:
        one = state.find(link)
        return None if one is None or name not in one.link.terms else float(one.link.terms[name])

    way = "inward" if direction == Direction.INWARD else "outward"
    if key in ("stud_top", "stud_foot"):
        force, at, height = (term("stud_inward", name) for name in ("force", "at", "height"))
        if force is None or at is None or height is None:
            return None
        top = force * at / height
        return top if key == "stud_top" else force - top
    if key == "jambs":
        share, radius = term("jamb_pulled_in", "share"), term("jamb_pulled_in", "radius")
        height = term("jamb_pulled_in", "height")
        return None if share is None or radius is None or height is None else share * radius * height
    foot = state.find("tube_in_soil")
    places: dict[str, float | None] = {
        "film": None if (film := state.find("film")) is None else float(film.link.effect),
        "header": term("header_outward", "film"),
        "bar": term(f"bar_{way}", "film"),
        "sill_bar": term(f"sill_bar_{way}", "film"),
        "stud": term("stud_inward", "force"),
        "tube": term("billow_tube", "force"),
        "rod": term("tube_in_soil", "top"),
        "soil": None if foot is None else float(foot.link.effect),
        "lower": next(
            (lift for name in LINKS_OF["lower"] if (lift := term(name, "lift")) is not None and np.isfinite(lift)), None
        ),
    }
    return places[key]


def looked_at(state: State) -> bool:
    """Tell whether a state's load path can be drawn: only a shut door's."""
    return state in (State.CLOSED, State.WIRED, State.TIED)


__all__ = ["LoadPath", "Station", "coefficient_of", "load_path", "looked_at", "span_of"]
