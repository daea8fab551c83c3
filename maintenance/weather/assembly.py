"""The last look at a forecast, whatever its source: no holes, no gust below its mean, no silence about either."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from maintenance.weather.reasons import ForecastError, Notes
from maintenance.weather.shapes import Forecast, Place, Spell

STALE: Final = timedelta(hours=18)  # caches have been seen to hand out forecasts of that age: weather-gov/api issue 71
AHEAD_OF_US: Final = timedelta(hours=1)  # clocks differ


def assemble(
    spells: Iterable[Spell],
    notes: Notes,
    *,
    source: str,
    issued_at: datetime | None,
    fetched_at: datetime,
    place: Place,
) -> Forecast:
    """Return a forecast of spells that follow each other.

    Raises
    ------
    ForecastError
        If no spell has a wind or a gust.
    """
    whole = tuple(_settled(spell, notes) for spell in _without_holes(spells, notes))
    if all(spell.wind is None and spell.gust is None for spell in whole):
        raise ForecastError("no_wind")
    for spell in whole:
        if spell.gust is None:
            notes.add("gust_unknown", spell.start.isoformat(), "gust")
    _look_at_age(issued_at, fetched_at, notes)
    return Forecast(source, issued_at, fetched_at, place, whole, notes.remarks())


def _without_holes(spells: Iterable[Spell], notes: Notes) -> Iterator[Spell]:
    previous: Spell | None = None
    for spell in spells:
        if previous is not None and previous.end < spell.start:
            notes.add("gap", previous.end.isoformat())
            yield Spell(previous.end, spell.start)
        yield spell
        previous = spell


def _settled(spell: Spell, notes: Notes) -> Spell:
    """Return a spell whose gust is not below its mean, nor its upper gust below its gust."""
    gust, wind = spell.gust, spell.wind
    if gust is not None and wind is not None and gust < wind:
        # The first hour of a model run often has a gust of zero: nothing was computed yet, it is not calm.
        notes.add("gust_below_mean" if gust > 0 else "gust_zero", spell.start.isoformat())
        gust = wind if gust > 0 else None
    upper = spell.upper_gust
    if upper is not None and gust is not None:
        upper = max(upper, gust)
    return spell if (gust, upper) == (spell.gust, spell.upper_gust) else replace(spell, gust=gust, upper_gust=upper)


def _look_at_age(issued_at: datetime | None, fetched_at: datetime, notes: Notes) -> None:
    if issued_at is not None and issued_at > fetched_at + AHEAD_OF_US:
        notes.add("issue_future", issued_at.isoformat())
    elif issued_at is not None and fetched_at - issued_at > STALE:
        notes.add("stale", issued_at.isoformat())
