"""Storms for other programs: what comes, what is to do before it, and that it is done."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from ninja import Query
from pydantic import Field

from farm.api.entry import ApiRequest
from farm.api.forming import told
from farm.api.paging import Page, PageQuery, page_of
from farm.api.routing import FARM, Routes
from farm.api.shapes import Body, Maybe, PathId, Shown, among, whole
from maintenance.hands import ticking
from maintenance.hands.sheet import may_say
from maintenance.hands.texts import what_of, where_of
from maintenance.hands.ticking import MOST_MINUTES, TickError
from maintenance.models import Storm, StormTask
from maintenance.views.jobs import is_manager
from maintenance.words.said import person

routes = Routes("storms")
router = routes.router
PATH = f"{FARM}/storms"


class TaskShown(Shown):
    """One thing to do before a storm, at one place."""

    id: int
    kind: str
    what: str
    where: str
    tunnel_id: int
    opening_id: int | None
    repair_id: int | None
    side: Maybe
    minutes_planned: int
    people: int
    is_windward: bool
    is_critical: bool
    is_left_out: bool
    position: int
    begins_at: datetime | None
    assigned_to: str | None
    second: str | None
    state: str
    done_at: datetime | None
    done_by: str | None
    reason: str
    checked_at: datetime | None
    minutes_spent: int | None


class StormShown(Shown):
    """A storm. Its figures are planning estimates: where the radio says worse, believe the radio."""

    id: int
    state: str
    level: int
    begins_at: datetime
    ends_at: datetime
    peak_at: datetime
    peak_gust_m_s: float
    deadline_at: Annotated[datetime | None, Field(description="By when everything must be shut.")]
    start_by_at: datetime | None
    assessed_at: datetime
    actual_gust_m_s: float | None
    cost: float | None
    note: str
    closed_at: datetime | None


class StormWithTasks(StormShown):
    """A storm with its tasks in their order."""

    tasks: list[TaskShown]


class StormPage(Page):
    """A page of storms."""

    items: list[StormShown]


class StormQuery(PageQuery):
    """Which storms."""

    state: Annotated[str, among(Storm.State.values)] | None = None


class TaskDone(Body):
    """That a task is done; how long it took, if somebody counted."""

    minutes: Annotated[int, whole(0, MOST_MINUTES)] | None = None


@routes.reads(PATH, StormPage, summary="Storms")
def listed(request: ApiRequest, query: Query[StormQuery]) -> StormPage:
    """List the storms of the farm, in a state."""
    rows = Storm.objects.of(request.farm)
    rows = rows.filter(state=query.state) if query.state else rows
    return page_of(StormPage, request, rows, query, StormShown.model_validate)


@routes.reads(PATH + "/{int:pk}", StormWithTasks, summary="One storm with its tasks")
def one(request: ApiRequest, pk: PathId) -> StormWithTasks:
    """Show it, with what is to do in its order."""
    storm = get_object_or_404(Storm.objects.of(request.farm), pk=pk)
    head = StormShown.model_validate(storm).model_dump()
    return StormWithTasks(**head, tasks=[shown(task) for task in storm.tasks.for_list()])


@routes.changes(PATH + "/{int:pk}/tasks/{int:task_pk}/tick", TaskShown, role="crew", summary="Tick a task")
def tick(request: ApiRequest, pk: PathId, task_pk: PathId, body: TaskDone) -> TaskShown:
    """Say that a task is done; with every task the work must begin later."""
    tasks = StormTask.objects.for_list().select_related("storm__farm")
    task = get_object_or_404(tasks, pk=task_pk, storm_id=pk, storm__farm=request.farm)
    if not may_say(task, request.person, is_manager=is_manager(request)):
        raise PermissionDenied(_("This task is somebody else's. A manager may tick it."))
    now = timezone.now()
    with told(TickError):
        ticking.tick(task=task, by=request.person, now=now, minutes=body.minutes, works_out=False)
    # Working the storm out takes a while, and the tick must not wait for it, nor fail with it.
    transaction.on_commit(lambda: ticking.work_out(storm=task.storm, now=now), robust=True)
    return shown(tasks.get(pk=task_pk))


def shown(task: StormTask) -> TaskShown:
    """Return a task as programs see it."""
    people = {name: person(user) if (user := getattr(task, name)) else None for name in PEOPLE}
    columns = {name: getattr(task, name) for name in COLUMNS}
    said = {"what": what_of(task), "where": where_of(task), "minutes_planned": task.minutes}
    return TaskShown.model_validate({**columns, **people, **said})


PEOPLE = ("assigned_to", "second", "done_by")
COLUMNS = tuple(set(TaskShown.model_fields) - {*PEOPLE, "what", "where", "minutes_planned"})
