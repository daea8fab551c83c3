"""Instants and intervals as the sources write them (ISO 8601), always given back in UTC."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from typing import Final
from zoneinfo import ZoneInfo

HOUR: Final = timedelta(hours=1)
LONGEST: Final = timedelta(days=31)  # of one entry; longer is a slip
BACK, AHEAD = timedelta(days=100), timedelta(days=40)  # what may be asked of any source, with room to spare

_INSTANT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:?\d\d)", re.ASCII)
_LOCAL: Final = re.compile(r"\d{4}-\d\d-\d\d([T ]\d\d:\d\d(:\d\d)?)?", re.ASCII)
_DURATION: Final = re.compile(
    r"P(?:(\d{1,4})Y)?(?:(\d{1,4})M)?(?:(\d{1,4})W)?(?:(\d{1,5})D)?(?:T(?=\d)(?:(\d{1,6})H)?(?:(\d{1,6})M)?(?:(\d{1,8})S)?)?",
    re.ASCII,
)


def instant(text: object) -> datetime | None:
    """Return the instant a text with an offset names, in UTC, or None."""
    if not isinstance(text, str) or not _INSTANT.fullmatch(text):
        return None
    try:
        return datetime.fromisoformat(text).astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def local(text: object) -> datetime | None:
    """Return the wall-clock time of a text without an offset, or None."""
    if not isinstance(text, str) or not _LOCAL.fullmatch(text):
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def unix(seconds: object) -> datetime | None:
    """Return the instant so many seconds after 1970 began, or None."""
    if isinstance(seconds, bool) or not isinstance(seconds, int | float):
        return None
    try:
        return datetime.fromtimestamp(seconds, UTC)
    except (ValueError, OverflowError, OSError):
        return None


def duration(text: str) -> timedelta | None:
    """Return an ISO 8601 duration, or None; months and years have no fixed length and are refused."""
    match = _DURATION.fullmatch(text)
    if match is None or text in ("P", "PT"):
        return None
    years, months, weeks, days, hours, minutes, seconds = (int(part or 0) for part in match.groups())
    if years or months:
        return None
    return timedelta(weeks=weeks, days=days, hours=hours, minutes=minutes, seconds=seconds)


def interval(text: object, *, now: datetime) -> tuple[datetime, datetime] | None:
    """Return start and end of ``start/end``, ``start/duration`` or ``duration/end``, or None.

    ``NOW`` may stand for either end. An interval without length, one that runs backwards and one longer than
    31 days are none.
    """
    if not isinstance(text, str) or len(text) > 100 or text.count("/") != 1:
        return None
    first, _, second = text.partition("/")
    start, end = (now.astimezone(UTC) if part == "NOW" else instant(part) for part in (first, second))
    try:
        if start is None and end is not None:
            start = end - (duration(first) or timedelta())
        elif end is None and start is not None:
            end = start + (duration(second) or timedelta())
    except OverflowError:
        return None
    if start is None or end is None or not timedelta() < end - start <= LONGEST:
        return None
    return start, end


def is_near(when: datetime, now: datetime) -> bool:
    """Tell whether a time is one that a forecast of today can speak of."""
    return now - BACK <= when <= now + AHEAD


def hours(start: datetime, end: datetime) -> Iterator[tuple[datetime, float]]:
    """Yield the clock hours an interval touches, and the share of the interval in each."""
    whole = (end - start).total_seconds()
    hour = start.replace(minute=0, second=0, microsecond=0)
    while hour < end:
        following = hour + HOUR
        yield hour, (min(end, following) - max(start, hour)).total_seconds() / whole
        hour = following


def readings_of(wall: datetime, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the two instants a wall-clock time can mean; they are equal except where clocks change."""
    first, second = (wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    return first.astimezone(UTC), second.astimezone(UTC)


def is_skipped(wall: datetime, zone: ZoneInfo) -> bool:
    """Tell whether no clock of the zone ever showed this time."""
    return all(found.astimezone(zone).replace(tzinfo=None) != wall for found in readings_of(wall, zone))


def at_offset(wall: datetime, seconds: float) -> datetime:
    """Return the instant of a wall-clock time at a fixed offset from UTC."""
    return wall.replace(tzinfo=timezone(timedelta(seconds=seconds))).astimezone(UTC)
