"""What people say of a task before a storm: done, cannot be done, not so after all, looked at by a second person.

Each is a conditional update, so of two people who press at the same moment one is told what the other did. Then the
storm is worked out anew: with every task done, the work must begin later.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final

from django.contrib.auth.models import User
from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _

from farm.models import Membership
from maintenance.blow.assess import assess
from maintenance.hands.texts import what_of, where_of
from maintenance.messages.contacts import addressees, reading_as
from maintenance.messages.outbox import Notice, write
from maintenance.models import Reminder, Repair, Storm, StormTask
from maintenance.words.said import person
from maintenance.work.faults import mend, reopen

MOST_MINUTES: Final = 600
LONGEST_REASON: Final = 300
State = StormTask.State
AHEAD: Final = (Storm.State.COMING, Storm.State.BLOWING)


class TickError(Exception):
    """What somebody said of a task cannot be; the message says why and what to do."""


def tick(
    *, task: StormTask, by: User, now: datetime, minutes: int | None = None, at: datetime | None = None,
    works_out: bool = True,
) -> None:  # fmt: skip
    """Mark an open task as done, now or ``at`` a moment before; who ticks many works the storm out once, afterwards."""
    if minutes is not None and not 0 <= minutes <= MOST_MINUTES:
        raise TickError(_("Minutes are a number from 0 to %(most)s.") % {"most": MOST_MINUTES})
    with transaction.atomic():
        _change(task, from_states=(State.OPEN,), state=State.DONE, done_at=at or now, done_by=by,
                minutes_spent=minutes, is_left_out=False)  # fmt: skip
        _mend(task, by, at or now, now)
    if works_out:
        work_out(storm=task.storm, now=now)


def cannot(
    *, task: StormTask, by: User, now: datetime, reason: str, at: datetime | None = None, works_out: bool = True
) -> None:
    """Say that an open task cannot be done, and why; the managers are told at once."""
    reason = " ".join(reason.split())[:LONGEST_REASON]
    if not reason:
        raise TickError(_("Say why it cannot be done: your manager has to find another way."))
    with transaction.atomic():
        _change(task, from_states=(State.OPEN,), state=State.CANNOT, done_at=at or now, done_by=by, reason=reason)
        write(_notices(task, by, now), now=now)
    if works_out:
        work_out(storm=task.storm, now=now)


def take_back(*, task: StormTask, now: datetime, by: User | None = None) -> None:
    """Make a task open again that was done, or said to be impossible; a look at it counts no more."""
    cleared: dict[str, Any] = {"done_at": None, "done_by": None, "reason": "", "minutes_spent": None,
                               "checked_at": None, "checked_by": None}  # fmt: skip
    was_done = task.state == State.DONE
    with transaction.atomic():
        _change(task, from_states=(State.DONE, State.CANNOT), state=State.OPEN, **cleared)
        if was_done and (repair := _repair(task)) is not None and repair.state == Repair.State.TEMPORARY:
            reopen(repair=repair, by=by, now=now)
    work_out(storm=task.storm, now=now)


def check_round(*, task: StormTask, by: User, now: datetime, at: datetime | None = None) -> None:
    """Say that a second person has looked at what was done: the eyes that find the side half closed."""
    if task.state == State.DONE and by.pk in (task.done_by_id, task.second_id):
        raise TickError(_("You did this yourself. The second look is for somebody else."))
    found = StormTask.objects.filter(pk=task.pk, state=State.DONE, checked_at=None)
    if not found.exclude(done_by=by).update(checked_at=at or now, checked_by=by):
        raise TickError(_overtaken(task))
    task.refresh_from_db()


def _mend(task: StormTask, by: User, at: datetime, now: datetime) -> None:
    """Let the fault that a task mends hold for now: for good is said on its own page, with the parts it took."""
    repair = _repair(task)
    if repair is None or repair.state != Repair.State.OPEN:
        return
    on = max(min(at, now).astimezone(repair.farm.zone).date(), repair.found_on)  # a phone's clock may be wrong
    mend(repair=repair, by=by, now=now, on=on, for_now=True, note=_("Done before the storm."))


def _repair(task: StormTask) -> Repair | None:
    if task.kind != StormTask.Kind.REPAIR or task.repair_id is None:
        return None
    found = Repair.objects.select_for_update(of=["self"]).select_related("farm", "job__plan__routine")
    return found.filter(pk=task.repair_id).first()


def _change(task: StormTask, *, from_states: tuple[StormTask.State, ...], **values: Any) -> None:
    """Change a task that is still as it was; else say what somebody did."""
    if not StormTask.objects.filter(pk=task.pk, state__in=from_states).update(**values):
        raise TickError(_overtaken(task))
    task.refresh_from_db()


def _overtaken(task: StormTask) -> str:
    now = StormTask.objects.for_list().filter(pk=task.pk).first()
    if now is None:
        return _("This task is no longer needed. Look at your sheet again.")
    said = {"place": where_of(now), "what": what_of(now), "who": person(now.done_by)}
    if now.state == State.OPEN:
        return _("%(place)s: %(what)s. It is still to do; somebody took it back.") % said
    if now.state == State.CANNOT:
        return _("%(place)s: %(what)s. %(who)s has already said that it cannot be done.") % said
    if now.checked_at is not None:
        said["who"] = person(now.checked_by)
        return _("%(place)s: %(what)s. %(who)s has already looked at it.") % said
    return _("%(place)s: %(what)s. %(who)s has already done it.") % said


def _notices(task: StormTask, by: User, now: datetime) -> list[Notice]:
    """Return what the managers are told; whoever says it knows it already."""
    task = StormTask.objects.for_list().select_related("storm__farm").get(pk=task.pk)
    farm = task.storm.farm
    managers = addressees().filter(farm=farm, role=Membership.Role.MANAGER).exclude(user=by)
    return [_notice(task, manager, now) for manager in managers]


def _notice(task: StormTask, manager: Membership, now: datetime) -> Notice:
    with reading_as(manager):
        said = {"place": where_of(task), "what": what_of(task), "who": person(task.done_by), "why": task.reason}
        subject = _("Before the storm: %(place)s cannot be done") % said
        body = _("%(place)s: %(what)s. %(who)s cannot do it: %(why)s") % said
    return Notice(
        membership=manager, kind=Reminder.Kind.NOW, key=f"storm-{task.storm_id}-cannot-{task.pk}-{now:%Y%m%dT%H%M%S}",
        subject=subject, body=body, path=reverse("storm-plan", args=[task.storm.farm.slug, task.storm_id]),
        expires_at=task.storm.ends_at if task.storm.ends_at > now else None, is_danger=True,
    )  # fmt: skip


def work_out(*, storm: Storm, now: datetime) -> None:
    """Work a storm out anew after something was said of its tasks."""
    assess(farm=storm.farm, now=now, replans=True)
    storm.refresh_from_db()
