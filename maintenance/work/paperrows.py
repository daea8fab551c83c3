"""What a paper sheet asks for again at the desk: one row for each job or storm task, and how it stands by now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final

from django.utils.translation import gettext as _

from farm.models import Farm, Membership
from maintenance.hands.texts import fault_of, what_of, where_of
from maintenance.models import Job, JobEvent, Storm, StormTask
from maintenance.querysets import UNDONE
from maintenance.words.places import place_of_job
from maintenance.words.said import person
from maintenance.work import jobcard
from maintenance.work.papercards import PartBox, narrowed, parts_of, standing_on
from maintenance.work.sheetnumbers import SheetNumber
from maintenance.work.worklist import what_of as what_of_job

MOST_ROWS: Final = 150


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperRow:
    """One row: a job or a task, and what stands of it already, which nothing typed changes."""

    key: str  # "job-12" or "task-5"
    job: Job | None = None
    task: StormTask | None = None
    where: str
    what: str
    standing: str  # who did what and when; empty while it is to do
    who: int | None  # whose it is
    spots: tuple[str, ...] = ()
    parts: tuple[PartBox, ...] = ()
    asks: str = ""

    @property
    def number(self) -> int:
        """The row's number on paper."""
        row = self.job or self.task
        assert row is not None  # noqa: S101 - a row has one of the two
        return int(row.pk)

    @property
    def is_open(self) -> bool:
        """Whether something can be typed."""
        return not self.standing


def rows_of_sheet(*, farm: Farm, number: SheetNumber, today: date) -> list[PaperRow]:
    """Return the rows of a sheet: what was printed on it, and what came to it since; empty where there is no such.

    Raises
    ------
    SheetNumberError
        If the sheet's day is none.
    """
    if number.kind == "S":
        member = Membership.objects.of(farm).filter(pk=number.second).first()
        storm = Storm.objects.of(farm).filter(pk=number.first).first()
        return task_rows(_tasks_of(storm, member)) if storm and member else []
    day = number.day(today)
    return job_rows(list(narrowed(standing_on(farm=farm, day=day), number, farm)[:MOST_ROWS]), farm)


def rows_of_day(*, farm: Farm, day: date, member: Membership | None) -> list[PaperRow]:
    """Return the jobs that stood on a day, everybody's or one member's, and the storm's tasks of that day."""
    jobs = standing_on(farm=farm, day=day)
    morning = datetime.combine(day, time.min, tzinfo=farm.zone)
    tasks = StormTask.objects.for_list().select_related("storm__farm").filter(
        storm__farm=farm, storm__opened_at__lt=morning + timedelta(days=1), storm__ends_at__gte=morning
    ).exclude(storm__state=Storm.State.GONE)  # fmt: skip
    if member is not None:
        jobs = jobs.filter(assigned_to=member.user_id)
        tasks = tasks.filter(assigned_to=member.user_id)
    return [*task_rows(tasks[:MOST_ROWS]), *job_rows(list(jobs[:MOST_ROWS]), farm)]


def rows_by_key(*, farm: Farm, keys: Sequence[str]) -> list[PaperRow]:
    """Return the rows that a form was sent with, in its order; those that are gone, or not this farm's, are missing."""
    pks: dict[str, list[int]] = {"job": [], "task": []}
    for key in keys[:MOST_ROWS]:
        kind, _dash, pk = key.partition("-")
        if kind in pks and pk.isascii() and pk.isdecimal() and len(pk) < 18:
            pks[kind].append(int(pk))
    jobs = Job.objects.of(farm).filter(pk__in=pks["job"]).for_list().select_related("farm")
    tasks = StormTask.objects.for_list().filter(pk__in=pks["task"], storm__farm=farm).select_related("storm__farm")
    found = {row.key: row for row in [*job_rows(list(jobs), farm), *task_rows(tasks)]}
    return [found[key] for key in dict.fromkeys(keys) if key in found]


def job_rows(jobs: Sequence[Job], farm: Farm) -> list[PaperRow]:
    """Return jobs as rows; the queries do not grow with them."""
    spots, materials = jobcard.spots_of_many(jobs, farm), jobcard.book_of(farm)
    ended = _endings([job for job in jobs if job.state not in UNDONE])
    return [
        PaperRow(
            key=f"job-{job.pk}", job=job, where=place_of_job(job), what=what_of_job(job, farm.units),
            standing="" if job.state in UNDONE else _standing(job, ended.get(job.pk)), who=job.assigned_to_id,
            spots=tuple(spots.get(job.pk, ())), parts=parts_of(job.plan.routine, materials),
            asks=job.plan.routine.answer,
        )
        for job in jobs
    ]  # fmt: skip


def task_rows(tasks: Iterable[StormTask]) -> list[PaperRow]:
    """Return storm tasks as rows."""
    return [
        PaperRow(
            key=f"task-{task.pk}", task=task, where=where_of(task),
            what=": ".join(filter(None, (what_of(task), fault_of(task)))), standing=_said_of(task),
            who=task.assigned_to_id,
        )
        for task in tasks
    ]  # fmt: skip


def _tasks_of(storm: Storm, member: Membership) -> list[StormTask]:
    """Return a person's tasks, those that are done by now included, in the order of the printed sheet."""
    tasks = storm.tasks.for_list().select_related(
        "storm__farm", "repair__opening", "repair__end_wall__tunnel", "repair__tunnel"
    )
    ordered = tasks.order_by("is_left_out", "begins_at", "position", "pk")
    return [task for task in ordered if member.user_id in (task.assigned_to_id, task.second_id, task.done_by_id)]


def _endings(jobs: Sequence[Job]) -> dict[int, JobEvent]:
    """Return by what each job ended last."""
    kinds = (JobEvent.Kind.DONE, JobEvent.Kind.SKIPPED)
    events = JobEvent.objects.filter(job__in=jobs, kind__in=kinds).select_related("by").order_by("pk")
    return {event.job_id: event for event in events}


def _standing(job: Job, event: JobEvent | None) -> str:
    said = {"what": job.get_state_display(), "who": person(event.by) if event and event.by_id else "",
            "day": job.ended_on.isoformat() if job.ended_on else ""}  # fmt: skip
    return _("%(what)s on %(day)s by %(who)s") % said if said["who"] else _("%(what)s on %(day)s") % said


def _said_of(task: StormTask) -> str:
    if task.state == StormTask.State.OPEN or task.done_at is None:
        return ""
    local = task.done_at.astimezone(task.storm.farm.zone)
    said = {"what": task.get_state_display(), "who": person(task.done_by), "when": f"{local:%H:%M}"}
    text = _("%(what)s at %(when)s by %(who)s") % said
    return f"{text}: {task.reason}" if task.reason else text
