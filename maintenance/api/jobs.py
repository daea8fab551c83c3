"""Jobs for other programs: what is due, begun, done, skipped."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Annotated, Any

from django.shortcuts import get_object_or_404
from django.utils import timezone
from ninja import Query
from pydantic import Field

from doors.models import Component, FailureCause, FailureMode
from doors.views.shared import today
from farm.api.entry import ApiRequest
from farm.api.etags import require_match
from farm.api.forming import require_valid, told
from farm.api.paging import Page, PageQuery, page_of
from farm.api.routing import FARM, Routes
from farm.api.shapes import Body, Day, Id, Minutes, Note, PathId, Quantity, QueryId, Shown, among, whole
from maintenance.api.used import PartsUsed, parts_of
from maintenance.models import Job, Routine, ScrewCheck
from maintenance.querysets import JobQuerySet
from maintenance.views.job_changes import require_own
from maintenance.words.places import place_of_job, repair_of
from maintenance.words.said import lines_in_units, person
from maintenance.work import working
from maintenance.work.closing import WorkError
from maintenance.work.jobcard import book_of
from maintenance.work.workforms import DoneForm, SkipForm
from maintenance.work.worklist import what_of

routes = Routes("jobs")
router = routes.router
PATH = f"{FARM}/jobs"


class ScrewSaid(Body):
    """What one screw did."""

    spot: Annotated[str, Field(min_length=1, max_length=80)]
    outcome: Annotated[str, among(ScrewCheck.Outcome.values)]


class NewPartSaid(Body):
    """Why the old part came out and what came in."""

    reason: Annotated[str, among(Component.Reason.values)]
    mode: Annotated[str, among(FailureMode.values, blank=True)] = ""
    cause: Annotated[str, among(FailureCause.values, blank=True)] = ""
    material: Annotated[Id | None, Field(alias="material_id")] = None
    quantity: Quantity = Field(default=1, validate_default=True)
    lot: Annotated[str, Field(max_length=60)] = ""
    from_store: Quantity | None = None


class JobDone(Body):
    """What a finished job is asked; ``screws`` and ``replacement`` only where its ``answer`` says so."""

    on: Annotated[Day | None, Field(description="Today where it is left out.")] = None
    minutes: Minutes | None = None
    ticks: Annotated[list[Annotated[int, whole(0, 999)]], Field(max_length=1000)] = []
    note: Note = ""
    parts: PartsUsed = []
    screws: Annotated[list[ScrewSaid], Field(max_length=200)] = []
    replacement: NewPartSaid | None = None


class JobSkipped(Body):
    """Why a job is left undone."""

    reason: Annotated[str, Field(min_length=1, max_length=500)]


class JobShown(Shown):
    """A job: what, where, by when, and what became of it."""

    id: int
    state: str
    what: str
    where: str
    routine: str
    rhythm: str
    answer: Annotated[str, Field(description="What finishing it asks for: done, screws or replaced.")]
    tunnel_id: int | None
    end_wall_id: int | None
    opening_id: int | None
    component_id: int | None
    repair_id: int | None
    due_on: date
    until_on: date
    is_held: Annotated[bool, Field(description="Another job comes first.")]
    assigned_to: str | None
    minutes_planned: int
    people: int
    checklist: list[str]
    ticks: list[int]
    ended_on: date | None
    minutes_spent: int | None
    note: str


class JobPage(Page):
    """A page of jobs."""

    items: list[JobShown]


class JobQuery(PageQuery):
    """Which jobs."""

    state: Annotated[str, among([*Job.State.values, "undone"])] | None = None
    rhythm: Annotated[str, among(Routine.Rhythm.values)] | None = None
    tunnel_id: QueryId | None = None
    opening_id: QueryId | None = None
    until_by: Annotated[Day | None, Field(description="Only those that have to be done by this day.")] = None


@routes.reads(PATH, JobPage, summary="Jobs")
def listed(request: ApiRequest, query: Query[JobQuery]) -> JobPage:
    """List the jobs in a state (``undone``: to do or begun), of a rhythm, at a place, to be done by a day."""
    rows = _rows(request)
    if query.state == "undone":
        rows = rows.undone()
    asked: dict[str, Any] = {
        "state": None if query.state == "undone" else query.state, "plan__routine__rhythm": query.rhythm,
        "plan__tunnel": query.tunnel_id, "plan__opening": query.opening_id, "until_on__lte": query.until_by,
    }  # fmt: skip
    rows = rows.filter(**{name: value for name, value in asked.items() if value is not None})
    return page_of(JobPage, request, rows, query, shown)


@routes.reads(PATH + "/{int:pk}", JobShown, summary="One job")
def one(request: ApiRequest, pk: PathId) -> JobShown:
    """Show it."""
    return shown(_job(request, pk))


@routes.changes(PATH + "/{int:pk}/start", JobShown, role="crew", summary="Begin a job")
def start(request: ApiRequest, pk: PathId) -> JobShown:
    """Begin a job; whoever begins one that nobody had has it."""
    return _worked(request, pk, lambda job: working.start(job=job, by=request.person, now=timezone.now()))


@routes.changes(PATH + "/{int:pk}/done", JobShown, role="crew", summary="Finish a job")
def done(request: ApiRequest, pk: PathId, body: JobDone) -> JobShown:
    """Finish a job with the answer that its routine asks for; what was used is taken out of the store."""

    def finish(job: Job) -> None:
        form = _form(request, job, body)
        working.finish(
            job=job, by=request.person, now=timezone.now(), parts=parts_of(request.farm, body.parts),
            outcomes=form.outcomes, replacement=form.replacement if body.replacement else None,
            **{name: form.cleaned_data[name] for name in ("on", "minutes", "ticks", "note")},
        )  # fmt: skip

    return _worked(request, pk, finish)


@routes.changes(PATH + "/{int:pk}/skip", JobShown, role="crew", summary="Skip a job")
def skip(request: ApiRequest, pk: PathId, body: JobSkipped) -> JobShown:
    """Leave a job undone for good, for a reason; the crew skips only what is its own or nobody's."""
    form = SkipForm({"skip-reason": body.reason})
    require_valid(form)

    def leave(job: Job) -> None:
        require_own(request, job)
        reason = form.cleaned_data["reason"]
        working.skip(job=job, by=request.person, now=timezone.now(), on=today(request.farm), reason=reason)

    return _worked(request, pk, leave)


def shown(job: Job) -> JobShown:
    """Return a job as programs see it."""
    plan, routine, repair = job.plan, job.plan.routine, repair_of(job)
    return JobShown(
        what=what_of(job, "metric"), where=place_of_job(job), routine=routine.code, rhythm=routine.rhythm,
        answer=routine.answer, tunnel_id=plan.tunnel_id, end_wall_id=plan.end_wall_id, opening_id=plan.opening_id,
        component_id=plan.component_id, repair_id=repair.pk if repair else None, is_held=getattr(job, "is_held", False),
        assigned_to=person(job.assigned_to) if job.assigned_to else None, minutes_planned=routine.minutes,
        people=routine.crew, checklist=lines_in_units(routine.checklist, "metric"),
        **{name: getattr(job, name) for name in COLUMNS},
    )  # fmt: skip


COLUMNS = ("id", "state", "due_on", "until_on", "ticks", "ended_on", "minutes_spent", "note")


def _worked(request: ApiRequest, pk: int, work: Callable[[Job], object]) -> JobShown:
    """Do something with a job, and show it as it is then."""
    job = _job(request, pk)
    require_match(request, shown(job), is_needed=False)
    with told(WorkError):
        work(job)
    return one(request, pk)


def _form(request: ApiRequest, job: Job, body: JobDone) -> DoneForm:
    """Return the form that people fill in, filled in with a body; parts have no fixed rows here."""
    data: dict[str, Any] = {
        "on": (body.on or today(request.farm)).isoformat(), "minutes": "" if body.minutes is None else body.minutes,
        "note": body.note, "ticks": [str(tick) for tick in body.ticks], "known_spots": str(len(body.screws)),
    }  # fmt: skip
    for row, screw in enumerate(body.screws):
        data |= {f"spot_{row}": screw.spot, f"outcome_{row}": screw.outcome}
    how: dict[str, Any] = {
        "job": job, "today": today(request.farm), "materials": [], "spots": [],
        "lines": lines_in_units(job.plan.routine.checklist, request.farm.units),
    }  # fmt: skip
    if body.replacement is not None:
        how["materials"] = book_of(request.farm)
        data |= {f"new_{name}": "" if value is None else str(value) for name, value in body.replacement}
    form = DoneForm(data, **how)
    if body.replacement is None:  # the service says that one is lacking, where it is
        for name in [name for name in form.fields if name.startswith("new_")]:
            del form.fields[name]
    names = {"new_material": "replacement/material_id"}
    names |= {f"new_{name}": f"replacement/{name}" for name in NewPartSaid.model_fields if name != "material"}
    require_valid(form, names | {f"spot_{row}": f"screws/{row}/spot" for row in range(len(body.screws))})
    return form


def _rows(request: ApiRequest) -> JobQuerySet:
    rows: JobQuerySet = Job.objects.of(request.farm).for_list().select_related("farm")
    return rows


def _job(request: ApiRequest, pk: int) -> Job:
    return get_object_or_404(_rows(request), pk=pk)
