"""The crew's plan of a storm, written into its tasks; what people placed by hand stays where they put it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import copy
from datetime import datetime
from typing import Final

from django.db import transaction

from maintenance.ages.ageing import FILMS
from maintenance.blow.facts import moment
from maintenance.blow.rules import FarmRules, Weights, rules_of
from maintenance.hands.crew import plan_work
from maintenance.hands.people import Crew, crew_of
from maintenance.hands.places import place_of
from maintenance.models import Storm, StormTask
from maintenance.storm.crew import Assignment, Job, Outcome, Visit, evaluate
from maintenance.storm.quantity import MINUTE

TRIES: Final = 3
FLAGS: Final[Mapping[str, Callable[[StormTask], bool]]] = {
    "windward_critical": lambda task: task.is_windward and task.is_critical,
    "windward": lambda task: task.is_windward,
    "critical": lambda task: task.is_critical,
}
PLANNED: Final = ("assigned_to", "second", "position", "begins_at", "is_left_out", "is_pinned")
COLUMNS: Final = ("assigned_to_id", "second_id", *PLANNED[2:])
TAPED: Final = frozenset({"torn", "holed"})  # mended with tape, which needs dry film


def write_plan(*, storm: Storm, now: datetime) -> None:
    """Give out a storm's open tasks anew; where the rows changed while it was worked out, work it out again."""
    for _ in range(TRIES):
        before = _open(storm)
        if not before:
            return
        planned = planned_rows(storm=storm, tasks=before, now=now)
        with transaction.atomic():
            if _marks(_open(storm)) == _marks(before):
                changed = [new for new, old in zip(planned, before, strict=True) if _differs(new, old)]
                StormTask.objects.bulk_update(changed, PLANNED)
                return


def planned_rows(*, storm: Storm, tasks: Sequence[StormTask], now: datetime) -> list[StormTask]:
    """Return copies of open tasks as they are to be done, in the order they came; nothing is saved."""
    rules = rules_of(storm.farm)
    crew = crew_of(storm=storm, now=now)
    here = {person.code for person in crew.people}
    jobs = [_job(task, storm, rules) for task in tasks]
    fixed = _with_seconds(_fixed(tasks, here), jobs, crew)
    found = plan_work(jobs, crew.people, now=crew.begins_at, fixed=fixed)
    visits = {visit.job: visit for visit in found.outcome.visits if not visit.is_late}
    rank = {job.code: job.rank for job in jobs}
    order = sorted(visits, key=lambda code: (visits[code].start, rank[code], code))
    late = sorted((job for job in jobs if job.code not in visits), key=lambda job: (job.rank, -job.weight, job.code))
    position = {code: number for number, code in enumerate([*order, *(job.code for job in late)], 1)}
    return [_planned(task, visits.get(task.key), position[task.key], here) for task in tasks]


def weight_of(task: StormTask, weights: Weights) -> float:
    """Return what it costs to leave a task undone, beside other tasks of the same storm."""
    if task.is_windward and task.is_critical:
        return weights.windward_critical
    if task.is_windward:
        return weights.windward
    return weights.critical if task.is_critical else weights.other


def _open(storm: Storm) -> list[StormTask]:
    return list(
        storm.tasks.filter(state=StormTask.State.OPEN).for_list().select_related("repair__end_wall").order_by("pk")
    )


def _marks(tasks: Iterable[StormTask]) -> list[tuple[object, ...]]:
    """Return what a plan is made of; the rest may change while it is worked out."""
    return [(task.pk, task.minutes, task.people, task.is_pinned, task.assigned_to_id, task.position) for task in tasks]


def _differs(new: StormTask, old: StormTask) -> bool:
    return any(getattr(new, name) != getattr(old, name) for name in COLUMNS)


def _job(task: StormTask, storm: Storm, rules: FarmRules) -> Job:
    flags = [not FLAGS[rule](task) for rule in rules.order.rules if rule in FLAGS]
    return Job(
        code=task.key, time=task.minutes * MINUTE, people=min(max(task.people, 1), 2), skill=task.kind,
        deadline=_dry_by(task, storm), weight=weight_of(task, rules.weights), position=place_of(task),
        rank=(*flags, task.kind == StormTask.Kind.WALK),  # whoever walks round looks at what was shut
    )  # fmt: skip


def _dry_by(task: StormTask, storm: Storm) -> datetime | None:
    """Return by when a taped mend must be done: tape does not stick to wet film."""
    repair = task.repair
    if repair is None or repair.part not in FILMS or repair.mode not in TAPED:
        return None
    return moment(storm.facts.get("dry_by"))


def _fixed(tasks: Sequence[StormTask], here: set[str]) -> list[Assignment]:
    """Return what was placed by hand with somebody who is here, in its order."""
    placed = sorted((task for task in tasks if task.is_pinned and str(task.assigned_to_id) in here), key=_in_order)
    return [Assignment(task.key, _people(task, here)) for task in placed]


def _in_order(task: StormTask) -> tuple[int, int]:
    return task.position, task.pk


def _people(task: StormTask, here: set[str]) -> tuple[str, ...]:
    first, second = str(task.assigned_to_id), str(task.second_id)
    has_second = task.people > 1 and second in here and second != first
    return (first, second) if has_second else (first,)


def _with_seconds(fixed: Sequence[Assignment], jobs: Sequence[Job], crew: Crew) -> list[Assignment]:
    """Return what was placed by hand, each job for two with the second person who is there first.

    What one person alone cannot begin, or whom it was given to may not do, is planned as the rest.
    """
    known, people = {job.code: job for job in jobs}, {person.code: person for person in crew.people}
    kept: list[Assignment] = []
    for each in fixed:
        job = known[each.job]
        if not all(people[code].can(job) for code in each.people):
            continue
        if len(each.people) == job.people:
            kept.append(each)
            continue
        others = [code for code in people if code not in each.people and people[code].can(job)]
        ways = [[*kept, Assignment(each.job, (*each.people, other))] for other in others]
        if ways:
            kept = min(ways, key=lambda way: _soonest(evaluate(way, jobs, crew.people, now=crew.begins_at)))
    return kept


def _soonest(outcome: Outcome) -> tuple[int, float]:
    return len(outcome.undone), outcome.visits[-1].end.timestamp() if outcome.visits else 0.0


def _planned(task: StormTask, visit: Visit | None, position: int, here: set[str]) -> StormTask:
    """Return a copy of a task as it is to be done: by whom and when, or left out."""
    new = copy(task)
    new.position, new.is_left_out = position, visit is None
    new.begins_at = visit.start if visit else None
    new.is_pinned = task.is_pinned and str(task.assigned_to_id) in here
    people = [int(code) for code in visit.people] if visit else []
    if visit is None and new.is_pinned:
        people = [pk for pk in (task.assigned_to_id, task.second_id) if pk is not None]
    new.assigned_to_id, new.second_id = (*people, None, None)[:2]
    return new
