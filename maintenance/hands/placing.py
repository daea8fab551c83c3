"""What a manager places by hand: who does a task and in which order; the plan is then made anew around it.

What stands first on somebody's sheet up to the task that was moved stays in that order; what follows may change.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from maintenance.hands.people import workers_of
from maintenance.hands.plan import write_plan
from maintenance.models import Storm, StormTask
from maintenance.words.said import person

OPEN = StormTask.State.OPEN


class PlacingError(Exception):
    """A task cannot be placed there; the message says why and what to do."""


def move(*, task: StormTask, up: bool, now: datetime) -> None:
    """Let a task change places with the one before or after it on its person's sheet."""
    if task.assigned_to is None:
        raise PlacingError(_("Nobody has this task yet. Give it to somebody first."))
    with transaction.atomic():
        tasks = tasks_of(task.storm, task.assigned_to)
        at = next((index for index, one in enumerate(tasks) if one.pk == task.pk), None)
        to = None if at is None else at + (-1 if up else 1)
        if at is None or to is None or not 0 <= to < len(tasks):
            raise PlacingError(_("It cannot go further that way, or is done by now. Look at the list again."))
        tasks[at], tasks[to] = tasks[to], tasks[at]
        _pin(tasks, max(at, to) + 1)
    write_plan(storm=task.storm, now=now)


def place(*, task: StormTask, to: User, before: int, now: datetime) -> None:
    """Put a task into a person's sheet before another task, by its id, or at the end where there is no such task."""
    if to.pk not in {one.membership.user_id for one in workers_of(task.storm)}:
        raise PlacingError(_("%(who)s is not here before this storm.") % {"who": person(to)})
    with transaction.atomic():
        given = StormTask.objects.filter(pk=task.pk, state=OPEN)
        is_theirs = to.pk in (task.assigned_to_id, task.second_id) and not task.is_left_out
        if not given.update(**({} if is_theirs else {"assigned_to": to, "second": None}), is_left_out=False):
            raise PlacingError(_("This task is done by now, or cannot be done. Look at the list again."))
        task.refresh_from_db()
        others = [one for one in tasks_of(task.storm, to) if one.pk != task.pk]
        at = next((index for index, one in enumerate(others) if one.pk == before), len(others))
        _pin([*others[:at], task, *others[at:]], at + 1)
    write_plan(storm=task.storm, now=now)


def give(*, task: StormTask, to: User, now: datetime) -> None:
    """Give a task to somebody who is here, among tasks as urgent as it."""
    if to.pk not in {one.membership.user_id for one in workers_of(task.storm)}:
        raise PlacingError(_("%(who)s is not here before this storm.") % {"who": person(to)})
    with transaction.atomic():
        given = StormTask.objects.filter(pk=task.pk, state=OPEN)
        if not given.update(assigned_to=to, second=None, is_left_out=False):
            raise PlacingError(_("This task is done by now, or cannot be done. Look at the list again."))
        task.refresh_from_db()
        others = [one for one in tasks_of(task.storm, to) if one.pk != task.pk]
        pinned = max((index for index, one in enumerate(others, 1) if one.is_pinned), default=0)
        urgent = sum(_urgency(one) <= _urgency(task) for one in others)
        at = max(pinned, urgent)
        _pin([*others[:at], task, *others[at:]], at + 1)
    write_plan(storm=task.storm, now=now)


def release(*, storm: Storm, now: datetime) -> None:
    """Give up all that was placed by hand."""
    storm.tasks.filter(state=OPEN, is_pinned=True).update(is_pinned=False)
    write_plan(storm=storm, now=now)


def tasks_of(storm: Storm, user: User) -> list[StormTask]:
    """Return the open tasks of a person that fit, in their order."""
    return list(
        storm.tasks.filter(Q(assigned_to=user) | Q(second=user), state=OPEN, is_left_out=False)
        .for_list()
        .order_by("begins_at", "position", "pk")
    )


def _urgency(task: StormTask) -> tuple[bool, bool, bool]:
    return not (task.is_windward and task.is_critical), not task.is_windward, not task.is_critical


def _pin(tasks: Sequence[StormTask], count: int) -> None:
    """Keep the first tasks in their order, with the positions they have between them."""
    kept = tasks[:count]
    for task, position in zip(kept, sorted(one.position for one in kept), strict=True):
        task.position, task.is_pinned = position, True
    for index in range(1, len(kept)):  # equal positions would fall back on who was entered first
        kept[index].position = max(kept[index].position, kept[index - 1].position + 1)
    StormTask.objects.bulk_update(kept, ["position", "is_pinned"])
