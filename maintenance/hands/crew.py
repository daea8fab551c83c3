"""A crew's plan, the better of two: the core's own, and one whose rounds an optimiser shortened.

The work goes class by class, so that what the storm can open first is shut first. Within a class the jobs for two
are given out by the core, which pairs people; then the optimiser lays the rounds of the jobs for one around them.
Nobody is to finish a class later than in the core's own plan: of shorter ways alone, one person would do it all.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from typing import Final, Literal

from maintenance.hands.optimise import NoRoundsError, Place, Rounds, Stop, Walker, rounds
from maintenance.storm.crew import Assignment, Job, Outcome, Person, evaluate, plan_crew
from maintenance.storm.quantity import Interval

LIMIT: Final = 1.6  # s; with reading and writing rows a plan takes less than two
FEWEST: Final = 2  # jobs in which there is an order to choose
UNITS: Final = 100  # of distance in a metre: whole centimetres
WALKED: Final = 10_000_000  # cm; no crew walks more in a day, so that no way outweighs a job
MOST: Final = 1e4  # a job counts as much as so many of the least; more would not fit the optimiser's sums

Plan = tuple[Assignment, ...]


@dataclass(frozen=True, slots=True)
class CrewPlan:
    """The better plan, what becomes of it, which of the two it is, and what became of the core's own."""

    plan: Plan
    outcome: Outcome
    by: Literal["rules", "optimiser"]
    by_rules: Outcome


def plan_work(
    jobs: Sequence[Job],
    people: Sequence[Person],
    *,
    now: datetime,
    fixed: Sequence[Assignment] = (),
    limit: float = LIMIT,
) -> CrewPlan:
    """Return the better of the two plans: first by what is late or undone, then by the way walked.

    Parameters
    ----------
    jobs, people : sequence
        All there are.
    now : datetime
        Nobody begins earlier. [UTC]
    fixed : sequence of Assignment
        What somebody has already given out, in its order; all else comes after it.
    limit : float
        The longest search for a better plan; none for no search. [s]
    """
    given = {each.job for each in fixed}
    free = [job for job in jobs if job.code not in given]
    ruled = (*fixed, *plan_crew(free, _after(fixed, jobs, people, now), now=now))
    outcome = evaluate(ruled, jobs, people, now=now)
    better = None
    if limit > 0 and people and len(free) >= FEWEST:
        better = _optimised(tuple(fixed), free, jobs, people, now, limit)
    if better is not None:
        other = evaluate(better, jobs, people, now=now)
        if _is_better(other, outcome):
            return CrewPlan(better, other, "optimiser", outcome)
    return CrewPlan(ruled, outcome, "rules", outcome)


def _is_better(one: Outcome, other: Outcome) -> bool:
    """Return whether a plan leaves less harm, or walks less without finishing later."""
    if not math.isclose(one.late_weight, other.late_weight):
        return one.late_weight < other.late_weight
    is_no_later = one.finish is None or other.finish is None or one.finish <= other.finish
    return is_no_later and one.walking < other.walking


def _after(plan: Sequence[Assignment], jobs: Sequence[Job], people: Sequence[Person], now: datetime) -> list[Person]:
    """Return people as a plan leaves them: where they end, and what is left of their shifts."""
    last = {code: visit for visit in evaluate(plan, jobs, people, now=now).visits for code in visit.people}
    places = {job.code: job.position for job in jobs}
    return [
        _moved(person, places[last[person.code].job], last[person.code].end) if person.code in last else person
        for person in people
    ]


def _moved(person: Person, position: Place, free: datetime) -> Person:
    left = tuple(Interval(max(shift.start, free), shift.end) for shift in person.shifts if shift.end > free)
    return replace(person, position=position, shifts=left)


def _optimised(
    fixed: Plan, free: Sequence[Job], jobs: Sequence[Job], people: Sequence[Person], now: datetime, limit: float
) -> Plan | None:
    """Return the plan with shorter rounds; None where the optimiser found no better rounds for any class."""
    plan, ends_at, is_other = fixed, time.monotonic() + limit, False
    for rank in sorted({job.rank for job in free}):
        here = [job for job in free if job.rank == rank]
        crew = _after(plan, jobs, people, now)
        usual = _in_time(plan_crew(here, crew, now=now), here, crew, now)
        pairs = [job for job in here if job.people > 1]
        paired = _in_time(plan_crew(pairs, crew, now=now), pairs, crew, now)
        try:
            other = (*paired, *_alone(here, crew, paired, now, usual, ends_at))
        except NoRoundsError:
            other = usual
        first, second = (evaluate(each, here, crew, now=now) for each in (other, usual))
        is_better = _is_better(first, second)
        plan, is_other = (*plan, *(other if is_better else usual)), is_other or is_better
    if not is_other:
        return None
    done = {each.job for each in plan}
    rest = [job for job in free if job.code not in done]
    return (*plan, *plan_crew(rest, _after(plan, jobs, people, now), now=now))


def _in_time(plan: Plan, jobs: Sequence[Job], people: Sequence[Person], now: datetime) -> Plan:
    late = {visit.job for visit in evaluate(plan, jobs, people, now=now).visits if visit.is_late}
    return tuple(each for each in plan if each.job not in late)


def _alone(
    jobs: Sequence[Job], crew: Sequence[Person], paired: Plan, now: datetime, usual: Plan, ends_at: float
) -> Plan:
    """Return the rounds of a class's jobs for one, laid around its pairs."""
    alone = [job for job in jobs if job.people == 1]
    if len(alone) < FEWEST:
        raise NoRoundsError("There is no order to choose.")
    if (seconds := ends_at - time.monotonic()) <= 0:
        raise NoRoundsError("The time is up.")
    people = _after(paired, jobs, crew, now)
    finish = evaluate(usual, jobs, crew, now=now).finish if len(usual) == len(jobs) else None
    walkers = [
        (person, shift) for person in people for shift in person.shifts if finish is None or shift.start < finish
    ]
    if not walkers:
        raise NoRoundsError("Nobody works then.")
    found = _rounds(alone, walkers, now, finish, seconds)
    legs = [(leg, walkers[index][0]) for index, each in enumerate(found.legs) for leg in each]
    in_order = sorted(legs, key=lambda pair: (pair[0].begins, pair[1].code))
    return tuple(Assignment(alone[leg.stop].code, (person.code,)) for leg, person in in_order)


def _rounds(
    jobs: Sequence[Job],
    walkers: Sequence[tuple[Person, Interval]],
    now: datetime,
    finish: datetime | None,
    seconds: float,
) -> Rounds:
    """Ask the optimiser, in whole seconds from now and centimetres; every rounding is to the slow side."""
    ends = [min(shift.end, finish) if finish else shift.end for _, shift in walkers]
    least = min((job.weight for job in jobs if job.weight), default=1.0)
    stops = [
        Stop(
            place=job.position, service=math.ceil(job.time), opens=0, closes=_closes(job, max(ends), now),
            prize=round(max(1.0, min(job.weight / least, MOST)) * WALKED),
            walkers=frozenset(index for index, (person, _) in enumerate(walkers) if person.can(job)) or frozenset({-1}),
        )
        for job in jobs
    ]  # fmt: skip
    starts = [
        Walker(
            place=person.position, opens=max(0, math.ceil((shift.start - now).total_seconds())),
            closes=max(0, math.floor((end - now).total_seconds())),
        )
        for (person, shift), end in zip(walkers, ends, strict=True)
    ]  # fmt: skip
    return rounds(
        stops, starts, distance=_distance, seconds=seconds,
        durations=[partial(_duration, speed=person.speed) for person, _ in walkers],
    )  # fmt: skip


def _closes(job: Job, last: datetime, now: datetime) -> int:
    """Return by when a job must be begun to end in time."""
    end = last if job.deadline is None else min(last, job.deadline)
    return max(0, math.floor((end - now - timedelta(seconds=job.time)).total_seconds()))


def _distance(start: Place, end: Place) -> int:
    return round(math.dist(start, end) * UNITS)


def _duration(start: Place, end: Place, *, speed: float) -> int:
    return math.ceil(math.dist(start, end) / speed)
