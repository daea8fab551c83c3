"""Forecasts as arrays of gusts from a moment on, for the pass over all farms."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any, Final

import numpy as np

from maintenance.models import Forecast
from maintenance.storm.fleet import Floats, gusts_to_reckon_with
from maintenance.storm.quantity import StormError, check_order

READ_AT_ONCE: Final = 50  # forecasts; a week of hours is large as objects
UNREADABLE: Final = (KeyError, TypeError, ValueError, AttributeError, OverflowError)


@dataclass(frozen=True, slots=True)
class Strip:
    """The gusts of one forecast from now on, and when each begins; NaN where not known. [m/s]"""

    starts: tuple[datetime, ...]
    expected: Floats
    upper: Floats
    has_thunder: bool

    def gusts(self, *, upper: bool) -> Floats:
        """Return the gusts to act on."""
        return self.upper if upper else self.expected

    def worst(self, *, upper: bool) -> tuple[float, datetime | None]:
        """Return the highest gust, NaN where none is known, and when it begins."""
        gusts = self.gusts(upper=upper)
        if not gusts.size or np.isnan(gusts).all():
            return np.nan, None
        place = int(np.nanargmax(gusts))
        return float(gusts[place]), self.starts[place]


def strips_of(forecasts: Iterable[int], now: datetime) -> Iterator[tuple[int, Strip | None]]:
    """Yield forecasts by id as strips; None for one that cannot be read, which is no calm."""
    rows = Forecast.objects.filter(pk__in=forecasts).values_list("pk", "spells")
    for pk, spells in rows.iterator(chunk_size=READ_AT_ONCE):
        try:
            yield pk, strip_of(spells, now)
        except UNREADABLE:
            yield pk, None


def strip_of(spells: Sequence[Mapping[str, Any]], now: datetime) -> Strip:
    """Return the gusts of the spells that are not over.

    Raises
    ------
    KeyError, TypeError, ValueError, AttributeError, OverflowError
        For spells that the storm core would not take.
    """
    coming = [(start, row) for row in spells for start in _begins(row, now)]
    coming.sort(key=lambda pair: pair[0])
    for (before, row), (after, _) in pairwise(coming):
        if after < datetime.fromisoformat(row["end"]):
            raise StormError("spell.start", after.isoformat(), "not_before", before.isoformat())
    wind, gust, upper = (_speeds([row.get(name) for _, row in coming]) for name in ("wind", "gust", "upper_gust"))
    return Strip(
        starts=tuple(start for start, _ in coming),
        expected=gusts_to_reckon_with(wind, gust),
        upper=gusts_to_reckon_with(wind, gust, upper),
        has_thunder=any(row.get("thunder") for _, row in coming),
    )


def _begins(row: Mapping[str, Any], now: datetime) -> Iterator[datetime]:
    """Yield the start of a spell that is not over."""
    end = datetime.fromisoformat(row["end"]).astimezone(UTC)
    if end > now:
        start = datetime.fromisoformat(row["start"]).astimezone(UTC)
        check_order("spell", start, end)
        yield start


def _speeds(values: list[float | None]) -> Floats:
    return np.array(values, dtype=np.float64)  # None becomes NaN
