"""Units of the storm core, the error of an input that cannot be, and facts that reasons are made of."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from types import MappingProxyType
from typing import Annotated, Final

from doors.mechanics.wind_data import FASTEST_GUST
from doors.sizing import Unit
from farm.lengths import gettext_noop

MINUTE: Final = 60.0  # s
HOUR: Final = 3600.0  # s
DAY: Final = 86_400.0  # s
MPH: Final = 0.44704  # m/s, exact: 1609.344 m in an hour
KNOT: Final = 1852 / 3600  # m/s, exact: the nautical mile of 1852 m in an hour
KELVIN: Final = 273.15  # K at 0 °C, exact

Speed = Annotated[float, Unit("mps", 1.0)]
Duration = Annotated[float, Unit("minutes", 1 / MINUTE)]
Temperature = Annotated[float, Unit("k", 1.0)]
Pressure = Annotated[float, Unit("pa", 1.0)]

MESSAGES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "finite": gettext_noop("%(field)s is %(value)s but must be a number."),
        "at_least": gettext_noop("%(field)s is %(value)s but must be at least %(limit)s."),
        "above": gettext_noop("%(field)s is %(value)s but must be above %(limit)s."),
        "at_most": gettext_noop("%(field)s is %(value)s but must be at most %(limit)s."),
        "after": gettext_noop("%(field)s is %(value)s but must be later than %(limit)s."),
        "not_before": gettext_noop("%(field)s is %(value)s but the one before it ends at %(limit)s."),
        "utc": gettext_noop("%(field)s is %(value)s but must be a time in UTC."),
        "known": gettext_noop("%(field)s is %(value)s but must be one of %(limit)s."),
        "rising": gettext_noop("%(field)s is %(value)s but must be above the level before it, %(limit)s."),
    }
)


class StormError(ValueError):
    """An input no forecast, farm or crew can have.

    Attributes
    ----------
    field : str
        Path of the input.
    value, limit : object
        What was given, and what it had to stand to. [SI]
    code : str
        Key into ``MESSAGES``.
    """

    def __init__(self, field: str, value: object, code: str, limit: object = None) -> None:
        super().__init__(MESSAGES[code] % {"field": field, "value": value, "limit": limit})
        self.field, self.value, self.code, self.limit = field, value, code, limit


@dataclass(frozen=True, slots=True)
class Fact:
    """One reason: what it is, the figure and the limit it stands to, when, and where. [SI]"""

    key: str
    value: float | None = None
    limit: float | None = None
    at: datetime | None = None
    place: str = ""


@dataclass(frozen=True, slots=True)
class Interval:
    """Time from ``start`` up to, not including, ``end``; both in UTC."""

    start: datetime
    end: datetime

    def __post_init__(self) -> None:
        check_order("interval", self.start, self.end)

    @property
    def length(self) -> timedelta:
        return self.end - self.start


def check_number(
    field: str, value: float | None, *, least: float = -math.inf, most: float = math.inf, above: float = -math.inf
) -> None:
    """Refuse a number that is not finite or outside its range; None, not known, passes.

    Raises
    ------
    StormError
        Naming field, value and limit.
    """
    if value is None:
        return
    if not math.isfinite(value):
        raise StormError(field, value, "finite")
    if value < least:
        raise StormError(field, value, "at_least", least)
    if value <= above:
        raise StormError(field, value, "above", above)
    if value > most:
        raise StormError(field, value, "at_most", most)


def check_speed(field: str, value: float | None) -> None:
    """Refuse a speed below zero or above any wind on record. [m/s]"""
    check_number(field, value, least=0.0, most=FASTEST_GUST)


def check_moment(field: str, moment: datetime) -> None:
    """Refuse a time in any zone but UTC: there alone differences are elapsed time."""
    if moment.tzinfo is not UTC:
        raise StormError(field, moment.isoformat(), "utc")


def check_order(field: str, start: datetime, end: datetime) -> None:
    """Refuse a stretch of time that ends before it begins."""
    check_moment(f"{field}.start", start)
    check_moment(f"{field}.end", end)
    if end <= start:
        raise StormError(f"{field}.end", end.isoformat(), "after", start.isoformat())
