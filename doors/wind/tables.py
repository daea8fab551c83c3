"""What the wind page prints in tables: the links of each closing state, and utilisation against gust."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext

from doors.mechanics.wind import Direction, State
from doors.wind.path import STATIONS, LoadPath
from doors.wind.reading import SHUT, LinkReading, StateResult, WindReading
from doors.words.wind import LINK_NOTES, STATE_NOTES, gust_text, limit_text, link_name, share_text, state_name
from farm.units import US, format_measure, measure_from

STEPS: Final = {US: 10.0, "metric": 5.0}  # from one row of the gust table to the next, in the reader's unit


@dataclass(frozen=True, slots=True)
class LinkRow:
    """One link as a table prints it."""

    key: str
    name: str
    what: str
    way: str
    share: str
    gust: str
    gives_first: bool
    only_flaps: bool
    is_over: bool


@dataclass(frozen=True, slots=True)
class StateTable:
    """One closing state with its links, weakest first."""

    key: str
    letter: str
    name: str
    note: str
    limit: str
    first: str
    is_known: bool
    is_over: bool  # the gust looked at is more than it stands
    rows: list[LinkRow]


@dataclass(frozen=True, slots=True)
class GustRow:
    """Utilisation of every closing state at one gust."""

    gust: float  # m/s
    shares: list[str]
    is_looked_at: bool


@dataclass(frozen=True, slots=True)
class StationRow:
    """One station of the load path as a table prints it."""

    name: str
    load: str
    weakest: str
    share: str
    gives_first: bool
    only_flaps: bool


def station_rows(path: LoadPath, units: str) -> list[StationRow]:
    """Return the stations of a load path in its order, which is also their numbers on the drawing."""
    return [
        StationRow(
            name=str(STATIONS[one.key]),
            load=format_measure("line_load" if one.is_spread else "force", one.load, units),
            weakest=link_name(one.weakest.link.name),
            share=share_text(one.weakest.utilisation),
            gives_first=one.gives_first,
            only_flaps=not one.weakest.link.breaks,
        )
        for one in path.stations
    ]


def state_tables(reading: WindReading, units: str) -> list[StateTable]:
    """Return a table for each closing state, least secured first."""
    return [_table(state, letter, reading, units) for state, letter in zip(reading.states, "abcde", strict=False)]


def gust_rows(reading: WindReading, fastest: float, units: str) -> list[GustRow]:
    """Return utilisation against gust up to the chart's right end, with the gust looked at among the rows. [m/s]"""
    step = measure_from("speed", STEPS[US if units == US else "metric"], units)
    gusts = {round(step * count, 9) for count in range(1, int(fastest / step + 1e-6) + 1)}
    near = {gust for gust in gusts if abs(gust - reading.gust) < 1e-6}
    return [
        GustRow(gust, [_share(state, gust) for state in reading.states], gust == reading.gust)
        for gust in sorted((gusts - near) | {reading.gust})
    ]


def _share(state: StateResult, gust: float) -> str:
    return share_text(state.utilisation(gust)) if state.state in SHUT else "–"


def _table(state: StateResult, letter: str, reading: WindReading, units: str) -> StateTable:
    is_known = state.is_known
    is_shut = state.state in SHUT
    return StateTable(
        key=str(state.state),
        letter=letter,
        name=state_name(state.state),
        note=str(STATE_NOTES[state.state]),
        limit=limit_text(state, units),
        first=link_name(state.weakest.link.name) if state.weakest and is_known and is_shut else "",
        is_known=is_known,
        is_over=is_known and is_shut and reading.gust > state.limit,
        rows=[_row(one, state, units) for one in _ordered(state.links)],
    )


def _ordered(links: Sequence[LinkReading]) -> list[LinkReading]:
    """Return links that break before those that only flap, each weakest first, what is not known at the end."""
    return sorted(links, key=lambda one: (math.isnan(one.gust), not one.link.breaks))


def _row(one: LinkReading, state: StateResult, units: str) -> LinkRow:
    ways = {Direction.INWARD: gettext("pushed in"), Direction.OUTWARD: gettext("sucked out")}
    return LinkRow(
        key=one.link.name,
        name=link_name(one.link.name),
        what=str(LINK_NOTES.get(one.link.name, "")),
        way=ways.get(one.link.direction, gettext("either way")),
        share=share_text(one.utilisation),
        gust=gust_text(one.gust, units),
        gives_first=state.gives_first(one),
        only_flaps=not one.link.breaks,
        is_over=one.link.breaks and one.utilisation > 1,
    )


def shown_state(reading: WindReading, asked: str) -> StateResult:
    """Return the closing state that is drawn: the one asked for where the door has it, else the most secured."""
    return (reading.state(State(asked)) if asked else None) or reading.secured
