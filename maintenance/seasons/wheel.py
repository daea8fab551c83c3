"""A farm's year of upkeep: what is due in which month, how many hours it takes, and what became of it."""

from __future__ import annotations

import calendar
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

import numpy as np

from farm.models import Farm
from maintenance.drawn.wheel import Share, Window
from maintenance.film.plan import Replacement, film_plan, film_routines
from maintenance.models import Routine
from maintenance.seasons.yearly import Recorded, Recurring, Single, recorded, recurring, singles
from maintenance.sunlight import daylight

MINUTES_PER_HOUR: Final = 60
SECONDS_PER_HOUR: Final = 3600
RECURRING: Final = frozenset({Routine.Trigger.SEASON, Routine.Trigger.CALENDAR})
SUBJECTS: Final = ("tunnel", "end_wall", "opening", "component", "farm")  # rings of the wheel, from the outside in


@dataclass(slots=True, kw_only=True)
class Entry:
    """One routine in one month: how often and where it is due, and what became of its jobs."""

    routine: Routine
    first: date
    last: date
    times: int = 0  # days on which it falls due
    places: int = 0
    jobs: int = 0
    share: Share = field(default_factory=Share)
    minutes_spent: int = 0

    @property
    def person_hours(self) -> float:
        """What all of it takes. [h]"""
        return person_hours(self.jobs, self.routine)

    def reach(self, first: date, last: date) -> None:
        """Take in the days of more jobs."""
        self.first, self.last = min(self.first, first), max(self.last, last)


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """A month's work."""

    first: date
    entries: tuple[Entry, ...]
    film: tuple[Replacement, ...]
    daylight: float | None  # h, in the middle of the month

    @property
    def person_hours(self) -> float:
        """What it takes, film as far as known. [h]"""
        return sum(entry.person_hours for entry in self.entries) + sum(row.person_hours or 0 for row in self.film)

    @property
    def share(self) -> Share:
        """What became of the jobs that were opened."""
        parts = [entry.share for entry in self.entries]
        return Share(*(sum(getattr(part, name) for part in parts) for name in ("done", "late", "to_do", "dropped")))

    @property
    def hours_spent(self) -> float:
        """What was written down when jobs were done. [h]"""
        return sum(entry.minutes_spent for entry in self.entries) / MINUTES_PER_HOUR


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A line of the year's arithmetic: so often, in so many places, so long, so many people."""

    routine: Routine
    times: int
    places: int
    number: int | None = None  # beside its windows on the wheel

    @property
    def person_hours(self) -> float:
        """[h]"""
        return person_hours(self.times * self.places, self.routine)


@dataclass(frozen=True, slots=True, kw_only=True)
class Year:
    """A year of upkeep."""

    year: int
    months: tuple[Month, ...]
    rounds: tuple[Work, ...]  # what comes round by itself
    once: tuple[Work, ...]
    film_work: tuple[Work, ...]
    rings: tuple[tuple[Window, ...], ...]  # by subject
    numbers: Mapping[int, int]  # by routine
    routines_by_number: Mapping[int, Routine]
    daylight: tuple[float, ...]  # h, by day; empty where the latitude is not known

    @property
    def person_hours(self) -> float:
        """All of it. [h]"""
        return sum(line.person_hours for line in (*self.rounds, *self.once, *self.film_work))

    @property
    def film(self) -> tuple[Replacement, ...]:
        """The sheets best replaced in it."""
        return tuple(row for month in self.months for row in month.film)


def person_hours(jobs: int, routine: Routine) -> float:
    """Return what so many jobs of a routine take: jobs x minutes x people. [h]"""
    return jobs * routine.minutes * routine.crew / MINUTES_PER_HOUR


def year_of(*, farm: Farm, year: int, on: date) -> Year:
    """Return a year as the plans foresee it on a day and the jobs record it, in a fixed number of queries.

    Film is in it as the film plan foresees it, and not as the end of a sheet's rated life.
    """
    routines = {routine.pk: routine for routine in Routine.objects.of(farm)}
    film_ids = {routine.pk for routine in film_routines(farm).values()}
    rounds = recurring(farm, year)
    once = [each for each in singles(farm, year) if each.routine_id not in film_ids]
    jobs = [_without_film_to_do(each, film_ids) for each in recorded(farm, year, on)]
    film = [row for row in film_plan(farm=farm, on=on).rows if row.replace_on and row.replace_on.year == year]
    entries = _entries(routines, rounds, once, jobs)
    numbers = _numbers(routines, rounds)
    hours = _daylight(farm, year)
    return Year(
        year=year, months=tuple(_month(date(year, month, 1), entries, film, hours) for month in range(1, 13)),
        rounds=tuple(_rounds(routines, rounds, numbers)), once=tuple(_once(routines, once, jobs)),
        film_work=tuple(_film_work(farm, film)), numbers=numbers, daylight=hours,
        routines_by_number={number: routines[pk] for pk, number in numbers.items()},
        rings=tuple(tuple(_windows(routines, rounds, numbers, subject)) for subject in SUBJECTS),
    )  # fmt: skip


def _without_film_to_do(jobs: Recorded, film_ids: Iterable[int]) -> Recorded:
    """Leave out open jobs of film: the film plan has every sheet that is still up."""
    if jobs.routine_id not in film_ids:
        return jobs
    return Recorded(
        routine_id=jobs.routine_id, month=jobs.month, places=jobs.places, first=jobs.first,
        last=jobs.last, share=Share(done=jobs.share.done, dropped=jobs.share.dropped),
        minutes_spent=jobs.minutes_spent,
    )  # fmt: skip


def _entries(
    routines: Mapping[int, Routine], rounds: Iterable[Recurring], once: Iterable[Single], jobs: Iterable[Recorded]
) -> dict[tuple[int, int], Entry]:  # fmt: skip
    """Return what falls due by routine and month."""
    entries: dict[tuple[int, int], Entry] = {}

    def entry(routine_id: int, month: int, first: date, last: date) -> Entry:
        key = (routine_id, month)
        held = entries.setdefault(key, Entry(routine=routines[routine_id], first=first, last=last))
        held.reach(first, last)
        return held

    for group in rounds:
        for month, days in _by_month(group.days):
            held = entry(group.routine_id, month, days[0], days[-1] + timedelta(days=group.window_days))
            held.times, held.places = max(held.times, len(days)), held.places + group.places
            held.jobs += len(days) * group.places
    for single in once:
        held = entry(single.routine_id, single.month, single.first, single.last)
        held.times, held.places, held.jobs = 1, held.places + single.places, held.jobs + single.places
    foreseen = {(group.routine_id, day.month) for group in rounds for day in group.days}
    for each in jobs:
        if each.share.total:
            held = entry(each.routine_id, each.month, each.first, each.last)
            held.share, held.minutes_spent = _add(held.share, each.share), held.minutes_spent + each.minutes_spent
            if (each.routine_id, each.month) not in foreseen:
                held.times, held.places = max(held.times, 1), held.places + each.places
                held.jobs += each.share.total
    return entries


def _by_month(days: Iterable[date]) -> Iterator[tuple[int, list[date]]]:
    for month in range(1, 13):
        if found := [day for day in days if day.month == month]:
            yield month, found


def _add(one: Share, other: Share) -> Share:
    both = zip(one.parts(), other.parts(), strict=True)
    return Share(*(mine + theirs for (_style, mine), (_same, theirs) in both))


def _month(
    first: date, entries: Mapping[tuple[int, int], Entry], film: Iterable[Replacement], hours: Sequence[float]
) -> Month:  # fmt: skip
    due = [entry for (_routine, month), entry in entries.items() if month == first.month]
    middle = first.timetuple().tm_yday + calendar.monthrange(first.year, first.month)[1] // 2 - 1
    return Month(
        first=first, entries=tuple(sorted(due, key=lambda entry: (entry.first, entry.routine.code))),
        film=tuple(row for row in film if row.replace_on and row.replace_on.month == first.month),
        daylight=hours[middle] if hours else None,
    )  # fmt: skip


def _numbers(routines: Mapping[int, Routine], rounds: Iterable[Recurring]) -> dict[int, int]:
    """Number the routines that have windows: by ring, then by the day of their first."""
    first: dict[int, date] = {}
    for group in rounds:
        first[group.routine_id] = min(first.get(group.routine_id, date.max), group.reaching[0])
    ordered = sorted(first, key=lambda pk: (SUBJECTS.index(routines[pk].target), first[pk], routines[pk].code))
    return {pk: number for number, pk in enumerate(ordered, 1)}


def _windows(
    routines: Mapping[int, Routine], rounds: Iterable[Recurring], numbers: Mapping[int, int], subject: str
) -> Iterator[Window]:  # fmt: skip
    for group in rounds:
        if routines[group.routine_id].target == subject:
            for day in group.reaching:
                yield Window(numbers[group.routine_id], day, day + timedelta(days=group.window_days))


def _rounds(
    routines: Mapping[int, Routine], rounds: Iterable[Recurring], numbers: Mapping[int, int]
) -> Iterator[Work]:  # fmt: skip
    groups = [group for group in rounds if group.days]
    for group in sorted(groups, key=lambda group: numbers[group.routine_id]):
        pk = group.routine_id
        yield Work(routine=routines[pk], number=numbers[pk], times=len(group.days), places=group.places)


def _once(routines: Mapping[int, Routine], once: Iterable[Single], jobs: Iterable[Recorded]) -> Iterator[Work]:
    """Yield what is due once in a place: what is still to come, and the jobs there were."""
    counts: Counter[int] = Counter()
    for single in once:
        counts[single.routine_id] += single.places
    for each in jobs:
        if routines[each.routine_id].trigger not in RECURRING:
            counts[each.routine_id] += each.share.total
    for pk in sorted(counts, key=lambda pk: routines[pk].code):
        if counts[pk]:
            yield Work(routine=routines[pk], times=1, places=counts[pk])


def _film_work(farm: Farm, film: Iterable[Replacement]) -> Iterator[Work]:
    counts = Counter(row.part.kind for row in film)
    for kind, routine in film_routines(farm).items():
        if counts[kind]:
            yield Work(routine=routine, times=1, places=counts[kind])


def _daylight(farm: Farm, year: int) -> tuple[float, ...]:
    if farm.latitude_deg is None:
        return ()
    days = 366 if calendar.isleap(year) else 365
    lasting = daylight(math.radians(farm.latitude_deg), np.arange(1, days + 1), days)
    return tuple((lasting / SECONDS_PER_HOUR).tolist())
