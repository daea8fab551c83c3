"""Core: hours of a farm's clock as instants, also on the nights when the clock changes."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

DAY = timedelta(days=1)
SECOND = timedelta(seconds=1)


def moment(day: date, wall: time, zone: ZoneInfo, *, last: bool = False) -> datetime:
    """Return the instant at which a clock shows a time on a day.

    Parameters
    ----------
    day : date
        Day of the clock.
    wall : time
        Time that the clock shows, without a zone.
    zone : ZoneInfo
        Where the clock hangs.
    last : bool, default False
        Of a time that is shown twice, return the second; by default the first.

    Returns
    -------
    datetime
        In UTC. Of a time that the clock jumps over, the instant of the jump.
    """
    shown = datetime.combine(day, wall)
    first, second = (shown.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first.astimezone(zone).replace(tzinfo=None) != shown:
        return _jump(second, first, zone)
    return second if last else first


def after_quiet(now: datetime, start: time, end: time, zone: ZoneInfo) -> datetime:
    """Return ``now``, or the end of the quiet hours that hold it.

    Parameters
    ----------
    now : datetime
        Aware instant.
    start, end : time
        Quiet from, up to but excluding; an end at or before the start is the next day's, and the same time twice
        is no quiet at all.
    zone : ZoneInfo
        Whose clock counts. Where it repeats an hour, quiet begins with the first and ends with the last.
    """
    if start == end:
        return now
    today = now.astimezone(zone).date()
    for day in (today - DAY, today):
        begins = moment(day, start, zone)
        ends = moment(day if start < end else day + DAY, end, zone, last=True)
        if begins <= now < ends:
            return ends
    return now


def _jump(low: datetime, high: datetime, zone: ZoneInfo) -> datetime:
    """Return the instant between two at which the clock is put forward, to the second."""
    before = low.astimezone(zone).utcoffset()
    while high - low > SECOND:
        middle = low + (high - low) // 2
        middle = middle.replace(microsecond=0)
        low, high = (middle, high) if middle.astimezone(zone).utcoffset() == before else (low, middle)
    return high
