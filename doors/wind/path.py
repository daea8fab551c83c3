"""The way of the wind's load through a shut door: from the film to the bars, and on to studs, tubes, rods and soil."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext_lazy as _

from doors.mechanics.film import strip
from doors.mechanics.membrane import arc
from doors.mechanics.wind import Direction
from doors.sizing import SizingError
from doors.wind.reading import LinkReading, StateResult, WindReading
from doors.words.names import Words

# What each station of the path is called, and its links; the weakest of them is shown.
STATIONS: Words = {
    "film": _("film, pulled tight"),
    "header": _("film on the header"),
    "bar": _("film on the turning bar"),
    "sill_bar": _("film on the sill bar"),
    "stud": _("bars on the inner stud or jamb loaded most"),
    "tube": _("bars on the anti-billow tube loaded most"),
    "rod": _("tube on its tie rod"),
    "soil": _("tube's foot on the soil"),
    "lower": _("film lifting the lower bar"),
    "jambs": _("film pulling on the jambs"),
}
SHORT: Words = {  # beside a drawing: at most 15 letters
    "film": _("film"),
    "header": _("header"),
    "bar": _("turning bar"),
    "sill_bar": _("sill bar"),
    "stud": _("stud"),
    "tube": _("anti-billow tube"),
    "rod": _("tie rod"),
    "soil": _("soil"),
    "lower": _("lower edge"),
    "jambs": _("jambs"),
}
LINKS_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "film": ("film",),
    "header": ("header_inward", "header_outward", "header_screws", "jamb_at_header"),
    "bar": ("bar_inward", "bar_outward", "bar_clamps"),
    "sill_bar": ("sill_bar_inward", "sill_bar_outward", "sill_screws"),
    "stud": ("stud_inward",),
    "tube": ("billow_tube",),
    "rod": ("tie_rod",),
    "soil": ("tube_in_soil",),
    "lower": ("lower_bar_bends_up", "hold_down_up", "hold_down_sideways", "lower_bar_lifts", "lower_bar_bows"),
    "jambs": ("jamb_pulled_in", "jamb_outward", "jamb_screws"),
}
INWARD: Final = ("film", "header", "bar", "sill_bar", "stud", "lower", "jambs")
OUTWARD: Final = ("film", "header", "bar", "sill_bar", "tube", "rod", "soil", "lower", "jambs")
SPREAD: Final = frozenset({"film", "header", "bar", "sill_bar", "lower", "jambs"})


@dataclass(frozen=True, slots=True)
class Station:
    """One station of the load path: the load that arrives there, and the weakest of its links."""

    key: str
    load: float  # N, or N/m where it is spread along the width
    is_spread: bool
    weakest: LinkReading
    gives_first: bool


@dataclass(frozen=True, slots=True)
class LoadPath:
    """The stations of one closing state under one gust, and the film's belly."""

    direction: Direction
    pressure: float  # Pa, net
    belly: float | None  # m, None where the film is not known
    is_over_yield: bool  # the film is stretched for good: a real belly is deeper
    stations: tuple[Station, ...]
    on_tube: tuple[float, float, float, float]  # N: upper bar, lower bar, rod, soil; NaN where not known


def load_path(reading: WindReading, state: StateResult) -> LoadPath:
    """Return the load path of a shut door in the direction that its weakest link is loaded in."""
    direction = _direction(reading, state)
    worst = reading.coefficients
    coefficient = worst.inward if direction == Direction.INWARD else worst.outward
    pressure = reading.velocity_pressure * float(coefficient)
    belly, is_over = _belly(reading, state, pressure)
    keys = INWARD if direction == Direction.INWARD else OUTWARD
    stations = (_station(key, state, direction, pressure) for key in keys)
    return LoadPath(
        direction,
        pressure,
        belly,
        is_over,
        tuple(one for one in stations if one is not None),
        _on_tube(state, pressure),
    )


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


def _on_tube(state: StateResult, pressure: float) -> tuple[float, float, float, float]:
    tube, soil = state.find("billow_tube"), state.find("tube_in_soil")
    if tube is None or soil is None:
        return (math.nan,) * 4
    terms = tube.link.terms
    upper, lower, rod = (float(terms[name]) * pressure for name in ("upper", "lower", "top"))
    return upper, lower, rod, float(soil.link.effect) * pressure


def _station(key: str, state: StateResult, direction: Direction, pressure: float) -> Station | None:
    """Return a station, or None where the state has no such link in this direction."""
    found = [state.find(name) for name in LINKS_OF[key]]
    links = [one for one in found if one is not None and one.link.direction in (direction, Direction.BOTH)]
    load = _load(key, links)
    if load is None:
        return None
    weakest = min(links, key=lambda one: (math.isnan(one.gust), not one.link.breaks, one.gust))
    gives = any(state.gives_first(one) for one in links)
    return Station(key, load * pressure, key in SPREAD, weakest, gives)


def _load(key: str, links: list[LinkReading]) -> float | None:
    """Return a station's load for a net pressure of 1 Pa. [N or N/m]"""
    terms = next((one.link.terms for one in links), None)
    if terms is None:
        return None
    if key in ("rod", "soil", "film"):
        return float(links[0].link.effect)
    names = {"stud": ("upper", "lower"), "tube": ("upper", "lower"), "lower": ("lift",), "jambs": ("pull",)}
    return sum(float(terms[name]) for name in names.get(key, ("film",)))
