"""Who does what before a storm: a plan, a judge of plans, and a planner that needs no solver.

Jobs are for one person or two; two begin together. A job is not broken off: it lies within one shift of each.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import combinations

from maintenance.storm.quantity import Interval, Speed, StormError, check_moment, check_number

Position = tuple[float, float]  # east and north [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One job of a plan.

    Attributes
    ----------
    time : float
        Of each person at it. [s]
    people : int
        1 or 2.
    skill : str
        That everybody at it must have; empty for none.
    deadline : datetime or None
        [UTC]
    weight : float
        What it costs when the job is late or left undone; larger is worse. [-]
    rank : tuple
        Its class, the first class lowest, `order.class_of`: no job of a later class is given out before it.
    """

    code: str
    time: float
    people: int = 1
    skill: str = ""
    deadline: datetime | None = None
    weight: float = 1.0
    rank: tuple[bool, ...] = ()
    position: Position = (0.0, 0.0)

    def __post_init__(self) -> None:
        check_number("job.time", self.time, least=0.0)
        check_number("job.weight", self.weight, least=0.0)
        if self.people not in (1, 2):
            raise StormError("job.people", self.people, "known", "1, 2")
        if self.deadline is not None:
            check_moment("job.deadline", self.deadline)


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody of the crew; begins each shift where the one before ended."""

    code: str
    shifts: tuple[Interval, ...]
    skills: frozenset[str] = field(default_factory=frozenset)
    position: Position = (0.0, 0.0)
    speed: Speed = 1.2  # m/s, on foot over a farm with tools; common practice, no source

    def __post_init__(self) -> None:
        check_number("person.speed", self.speed, above=0.0)

    def can(self, job: Job) -> bool:
        """Return whether this person has the skill a job asks for."""
        return not job.skill or job.skill in self.skills


@dataclass(frozen=True, slots=True)
class Assignment:
    """A job given to people; a plan is a sequence of them, in the order they are given out."""

    job: str
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Visit:
    """A job as it will be done."""

    job: str
    people: tuple[str, ...]
    start: datetime
    end: datetime
    is_late: bool


@dataclass(frozen=True, slots=True)
class Outcome:
    """What becomes of a plan.

    Attributes
    ----------
    visits : tuple of Visit
        In the order given out.
    undone : tuple of str
        Jobs not in the plan, or in no shift of those given them.
    late_weight : float
        Of the jobs late or undone. [-]
    walking : float
        Of all people together. [m]
    finish : datetime or None
        Of the last job.
    """

    visits: tuple[Visit, ...]
    undone: tuple[str, ...]
    late_weight: float
    walking: float
    finish: datetime | None

    @property
    def cost(self) -> tuple[float, float]:
        """What plans are compared by: first what is late, then the way walked."""
        return self.late_weight, self.walking


def evaluate(plan: Sequence[Assignment], jobs: Sequence[Job], people: Sequence[Person], *, now: datetime) -> Outcome:
    """Return what becomes of a plan, each job begun as soon as all its people are there.

    Parameters
    ----------
    plan : sequence of Assignment
        In the order given out; nobody takes a later job before an earlier one of theirs.
    jobs, people : sequence
        All there are.
    now : datetime
        Nobody begins earlier. [UTC]

    Raises
    ------
    StormError
        If the plan names a job or person that is not there, a job twice, too few or too many people or the same one
        twice, or somebody without the skill.
    """
    check_moment("now", now)
    known, crew = {job.code: job for job in jobs}, {person.code: person for person in people}
    _check_plan(plan, known, crew)
    state = {person.code: _Place(now, person.position) for person in people}
    visits, walking = [], 0.0
    for given in plan:
        job = known[given.job]
        visit = _visit(job, [crew[code] for code in given.people], state)
        if visit is None:
            continue
        visits.append(visit)
        walking += sum(math.dist(state[code].position, job.position) for code in given.people)
        state |= {code: _Place(visit.end, job.position) for code in given.people}
    done = {visit.job: visit for visit in visits}
    undone = tuple(job.code for job in jobs if job.code not in done)
    late = [job.weight for job in jobs if job.code not in done or done[job.code].is_late]
    finish = max((visit.end for visit in visits), default=None)
    return Outcome(tuple(visits), undone, math.fsum(late), walking, finish)


def plan_crew(jobs: Sequence[Job], people: Sequence[Person], *, now: datetime) -> tuple[Assignment, ...]:
    """Return a plan: class by class, each time the job that is due first, then the one somebody reaches first.

    Parameters
    ----------
    jobs, people : sequence
        All there are.
    now : datetime
        [UTC]

    Returns
    -------
    tuple of Assignment
        Jobs that fit in nobody's shifts, or that would be late whoever did them, come after all that can be in time.

    Notes
    -----
    Greedy: good where the order is fixed by what the storm can open first and the ways are short. It neither looks
    ahead nor changes what is given out.
    """
    check_moment("now", now)
    state = {person.code: _Place(now, person.position) for person in people}
    plan: list[Assignment] = []
    late: list[Job] = []
    for rank in sorted({job.rank for job in jobs}):
        left = [job for job in jobs if job.rank == rank]
        while left:
            job, visit = _next(left, people, state)
            left.remove(job)
            if visit is None or visit.is_late:
                late.append(job)
                continue
            _give(plan, state, job, visit)
    for job in late:
        visit = _soonest(job, people, state)
        if visit is not None:
            _give(plan, state, job, visit)
    return tuple(plan)


@dataclass(frozen=True, slots=True)
class _Place:
    free: datetime
    position: Position


def _give(plan: list[Assignment], state: dict[str, _Place], job: Job, visit: Visit) -> None:
    plan.append(Assignment(job.code, visit.people))
    state.update({code: _Place(visit.end, job.position) for code in visit.people})


def _next(jobs: Sequence[Job], people: Sequence[Person], state: Mapping[str, _Place]) -> tuple[Job, Visit | None]:
    """Return the job that is due first, among those the one begun first, and the visit that ends first."""
    due = min((job.deadline for job in jobs if job.deadline is not None), default=None)
    first = [(job, _soonest(job, people, state)) for job in jobs if job.deadline == due]
    possible = [(job, visit) for job, visit in first if visit is not None]
    return min(possible, key=lambda pair: (pair[1].start, pair[0].code)) if possible else first[0]


def _soonest(job: Job, people: Sequence[Person], state: Mapping[str, _Place]) -> Visit | None:
    able = [person for person in people if person.can(job)]
    visits = (_visit(job, team, state) for team in combinations(able, job.people))
    return min((visit for visit in visits if visit is not None), key=lambda visit: visit.end, default=None)


def _visit(job: Job, team: Sequence[Person], state: Mapping[str, _Place]) -> Visit | None:
    """Return the first time a whole team has for a job after walking there; None where no shifts hold it."""
    there = max(_arrival(person, job, state[person.code]) for person in team)
    length = timedelta(seconds=job.time)
    for start in sorted({there, *_openings(team, there)}):
        if all(any(s.start <= start and start + length <= s.end for s in person.shifts) for person in team):
            end = start + length
            is_late = job.deadline is not None and end > job.deadline
            return Visit(job.code, tuple(person.code for person in team), start, end, is_late)
    return None


def _arrival(person: Person, job: Job, place: _Place) -> datetime:
    """Return when a person can be there; who is off walks over before the next shift begins."""
    return place.free + timedelta(seconds=math.dist(place.position, job.position) / person.speed)


def _openings(team: Sequence[Person], after: datetime) -> Iterator[datetime]:
    return (shift.start for person in team for shift in person.shifts if shift.start > after)


def _check_plan(plan: Sequence[Assignment], jobs: Mapping[str, Job], people: Mapping[str, Person]) -> None:
    seen: set[str] = set()
    for given in plan:
        if given.job not in jobs or given.job in seen:
            raise StormError("plan.job", given.job, "known", ", ".join(sorted(jobs.keys() - seen)))
        seen.add(given.job)
        job = jobs[given.job]
        if len(given.people) != job.people or len(set(given.people)) != job.people:
            raise StormError(f"plan.{job.code}.people", len(set(given.people)), "known", job.people)
        able = sorted(code for code, person in people.items() if person.can(job))
        for code in given.people:
            if code not in able:
                raise StormError(f"plan.{job.code}.people", code, "known", ", ".join(able))
