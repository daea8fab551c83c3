"""A forecast as its page prints it: days, and in each day its hours."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import groupby
from typing import Final

from django.utils import timezone

from farm.geometry import compass_point
from farm.models import Farm
from farm.units import format_gust, format_measure
from maintenance.calm import Spell
from maintenance.models import WeatherSource
from maintenance.skies.calmness import spells_of
from maintenance.weather import Spell as Forecast
from maintenance.words.conditions import format_warmth

AHEAD: Final = timedelta(days=7)
ARROWS: Final = "↓↙←↖↑↗→↘"  # where the wind blows to, from north on


@dataclass(frozen=True, slots=True)
class Hour:
    """A spell as a row; what is not known is an empty text."""

    start: datetime
    gust: str
    upper: str
    wind: str
    arrow: str
    point: str
    rain: str
    snow: str
    warmth: str
    has_thunder: bool


@dataclass(frozen=True, slots=True)
class Day:
    """A day of the farm's calendar: its worst, and its hours."""

    on: date
    gust: str
    gust_at: datetime | None
    arrow: str
    point: str
    rain: str
    snow: str
    coldest: str
    warmest: str
    has_thunder: bool
    hours: tuple[Hour, ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """A spell as it was forecast, and as work on the farm meets it."""

    forecast: Forecast
    here: Spell


def ahead(spells: Sequence[Forecast], source: WeatherSource, now: datetime) -> list[Pair]:
    """Return the spells of the next seven days, the one that has begun included."""
    wanted = [spell for spell in spells if spell.end > now and spell.start < now + AHEAD]
    return [Pair(*both) for both in zip(wanted, spells_of(wanted, source), strict=True)]


def days_of(pairs: Iterable[Pair], farm: Farm) -> list[Day]:
    """Return spells by the days of the farm's calendar."""

    def day(pair: Pair) -> date:
        return timezone.localtime(pair.forecast.start, farm.zone).date()

    return [_day(on, list(rows), farm) for on, rows in groupby(pairs, day)]


def compass(bearing: float | None) -> tuple[str, str]:
    """Return the arrow the wind blows along, and the point it comes from; both empty where it is not known."""
    if bearing is None:
        return "", ""
    return ARROWS[round(bearing / 45) % 8], compass_point(bearing, points=16)


def _day(on: date, pairs: Sequence[Pair], farm: Farm) -> Day:
    known = [pair for pair in pairs if pair.here.gust is not None]
    worst = max(known, key=lambda pair: pair.here.gust or 0.0, default=None)
    arrow, point = compass(worst.forecast.bearing_deg if worst else None)
    warmths = [pair.forecast.temperature for pair in pairs if pair.forecast.temperature is not None]
    return Day(
        on=on, gust=_gust(worst.here.gust if worst else None, farm), gust_at=worst.forecast.start if worst else None,
        arrow=arrow, point=point, rain=_depth(_sum(pair.forecast.rain for pair in pairs), farm),
        snow=_depth(_sum(pair.forecast.snow for pair in pairs), farm),
        coldest=_warmth(min(warmths, default=None), farm), warmest=_warmth(max(warmths, default=None), farm),
        has_thunder=any(pair.forecast.thunder for pair in pairs), hours=tuple(_hour(pair, farm) for pair in pairs),
    )  # fmt: skip


def _hour(pair: Pair, farm: Farm) -> Hour:
    spell = pair.forecast
    arrow, point = compass(spell.bearing_deg)
    return Hour(
        start=spell.start, gust=_gust(pair.here.gust, farm), upper=_gust(spell.upper_gust, farm),
        wind=_gust(spell.wind, farm), arrow=arrow, point=point, rain=_depth(spell.rain, farm),
        snow=_depth(spell.snow, farm), warmth=_warmth(spell.temperature, farm), has_thunder=bool(spell.thunder),
    )  # fmt: skip


def _gust(speed: float | None, farm: Farm) -> str:
    return "" if speed is None else format_gust(speed, farm.units)


def _depth(depth: float | None, farm: Farm) -> str:
    return "" if depth is None else format_measure("small_length", round(depth, 4), farm.units) if depth else "0"


def _warmth(kelvin: float | None, farm: Farm) -> str:
    return "" if kelvin is None else format_warmth(Decimal(str(kelvin)), farm.units)


def _sum(figures: Iterable[float | None]) -> float | None:
    known = [figure for figure in figures if figure is not None]
    return sum(known) if known else None
