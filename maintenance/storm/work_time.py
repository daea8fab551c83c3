"""When people can work before a storm, and the latest start that leaves enough of that time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from maintenance.storm.quantity import Interval, StormError, check_number, check_order


@dataclass(frozen=True, slots=True)
class Shift:
    """Time from ``start`` up to ``end`` in which a number of people work; shifts may overlap."""

    start: datetime
    end: datetime
    people: int = 1

    def __post_init__(self) -> None:
        check_order("shift", self.start, self.end)
        check_number("shift.people", self.people, least=0)


@dataclass(frozen=True, slots=True)
class Stop:
    """Time in which nobody can work, and why."""

    start: datetime
    end: datetime
    key: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """Time in which a number of people work."""

    start: datetime
    end: datetime
    people: int


def stretches(
    shifts: Sequence[Shift], daylight: Sequence[Interval], stops: Sequence[Stop], until: datetime
) -> tuple[Stretch, ...]:
    """Return when how many people work: within shift and daylight, outside stops, before ``until``.

    Parameters
    ----------
    shifts, daylight, stops : sequence
        In any order; each may overlap.
    until : datetime
        The storm's onset.

    Returns
    -------
    tuple of Stretch
        In order, none with nobody in it.
    """
    edges = {shift.start for shift in shifts} | {shift.end for shift in shifts}
    edges |= {edge for light in daylight for edge in (light.start, light.end)}
    edges |= {edge for stop in stops for edge in (stop.start, stop.end)}
    marks = sorted({edge for edge in edges if edge < until} | {until})
    found = []
    for start, end in pairwise(marks):
        people = sum(shift.people for shift in shifts if shift.start <= start < shift.end)
        if people and _covers(daylight, start) and not _covers(stops, start):
            found.append(Stretch(start, end, people))
    return tuple(found)


def what_stops(
    at: datetime, shifts: Sequence[Shift], daylight: Sequence[Interval], stops: Sequence[Stop]
) -> tuple[str, ...]:
    """Return the keys of all that keeps people from working at a moment."""
    keys = [] if any(shift.people and shift.start <= at < shift.end for shift in shifts) else ["shift"]
    keys += [] if _covers(daylight, at) else ["daylight"]
    return (*keys, *dict.fromkeys(stop.key for stop in stops if stop.start <= at < stop.end))


def in_pairs(time: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Return the part of work time in which people can stand in pairs; an odd one waits."""
    paired = (replace(one, people=one.people - one.people % 2) for one in time)
    return tuple(one for one in paired if one.people)


def capacity(time: Sequence[Stretch], since: datetime) -> float:
    """Return the person-seconds of work time from a moment on. [s]"""
    return sum((one.end - max(one.start, since)).total_seconds() * one.people for one in time if one.end > since)


def latest_start(time: Sequence[Stretch], work: float) -> datetime | None:
    """Return the last moment from which work time still holds an amount of work.

    Parameters
    ----------
    time : sequence of Stretch
        In order.
    work : float
        With its reserve. [person-seconds]

    Returns
    -------
    datetime or None
        Counted backwards, through nights and other shifts; the end of the last stretch for no work at all; None
        where all the time together is not enough.

    Raises
    ------
    StormError
        If the work is negative or not finite.
    """
    check_number("work", work, least=0.0)
    left = work
    for one in reversed(time):
        held = (one.end - one.start).total_seconds() * one.people
        if left <= held:
            return one.end - timedelta(seconds=left / one.people)
        left -= held
    return None


def check_reserve(reserve: float) -> None:
    """Refuse a reserve that makes work shorter than planned."""
    if not reserve >= 1.0:
        raise StormError("reserve", reserve, "at_least", 1.0)


def _covers(intervals: Sequence[Interval] | Sequence[Stop], moment: datetime) -> bool:
    return any(one.start <= moment < one.end for one in intervals)
