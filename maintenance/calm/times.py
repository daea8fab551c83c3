"""Stretches of time, half-open and in UTC: joined, common to two lists, and what is left."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import TypeAlias

Interval: TypeAlias = tuple[datetime, datetime]  # from, up to but excluding

EVER: Interval = (datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC))


def in_utc(time: Interval) -> Interval:
    """Return a time in UTC: two clocks of one zone differ by what they show, not by what has passed.

    Raises
    ------
    ValueError
        If it has no zone, or its end is not after its start.
    """
    start, end = time
    if start.utcoffset() is None or end.utcoffset() is None:
        raise ValueError(f"times need a zone, such as UTC: {start} to {end}")
    start, end = start.astimezone(UTC), end.astimezone(UTC)
    if end <= start:
        raise ValueError(f"a time must end after it starts: {start} to {end}")
    return start, end


def joined(times: Iterable[Interval]) -> list[Interval]:
    """Return the times that some of others cover, in order and apart from each other."""
    found: list[Interval] = []
    for start, end in sorted(times):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


def rest(times: list[Interval]) -> list[Interval]:
    """Return all other time; the times in order and apart from each other."""
    ends = [EVER[0], *(end for _, end in times)]
    starts = [*(start for start, _ in times), EVER[1]]
    return list(zip(ends, starts, strict=True))


def common(one: list[Interval], other: list[Interval]) -> list[Interval]:
    """Return the times that lie in both; each in order and apart."""
    found, first, second = [], 0, 0
    while first < len(one) and second < len(other):
        start, end = max(one[first][0], other[second][0]), min(one[first][1], other[second][1])
        if start < end:
            found.append((start, end))
        if one[first][1] < other[second][1]:
            first += 1
        else:
            second += 1
    return found


def total(times: Iterable[Interval]) -> timedelta:
    """Return how long times apart from each other are together."""
    return sum((end - start for start, end in times), timedelta(0))
