"""How a job ends, what its plan expects next, and what an undo needs to know of both."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from doors.models import Material, StockMove
from maintenance.models import Job, JobEvent, JobPart, Plan, Routine, Turn
from maintenance.plans.laying import next_window
from maintenance.plans.turns import drop_turns, set_turns, turn_of
from maintenance.querysets import UNDONE
from maintenance.stores import store
from maintenance.words.places import place_of_job
from maintenance.words.said import person, plan_name

COUNTED: Final = (Routine.Trigger.STORMS, Routine.Trigger.CYCLES, Routine.Trigger.GUST)
REPAIR_KEY: Final = "repair-"  # a plan made by one fault ends with it
PLAN_COLUMNS: Final = ("counted_from", "ended_on")
TURN_COLUMNS: Final = ("due_on", "until_on", "cause", "cadence")
JOB_COLUMNS: Final = ("state", "assigned_to_id", "minutes_spent", "ticks", "note", "until_on")
Facts = dict[str, Any]


class WorkError(Exception):
    """Why a job cannot be changed so: a sentence for the person who tried."""


def claim(job: Job, states: Sequence[str] = UNDONE, **columns: Any) -> None:
    """Change a job that is in one of ``states``; where somebody was quicker, say who and when."""
    if not Job.objects.filter(pk=job.pk, state__in=states).update(**columns):
        raise WorkError(overtaken(job))
    for name, value in columns.items():
        setattr(job, name, value)


def overtaken(job: Job) -> str:
    """Return who changed a job meanwhile, and when."""
    kinds = (JobEvent.Kind.DONE, JobEvent.Kind.SKIPPED, JobEvent.Kind.STARTED, JobEvent.Kind.UNDONE)
    last = job.events.filter(kind__in=kinds).select_related("by").order_by("-pk").first()
    if Job.objects.filter(pk=job.pk, state=Job.State.LAPSED).exists():
        return _("This job has lapsed: a newer one took its place. Look at the list again.")
    if last is None:
        return _("This job is no longer on the list. Look at the list again.")
    words = {"who": person(last.by), "when": local_time(job, last.at)}
    return {
        JobEvent.Kind.DONE: _("%(who)s finished this job on %(when)s. Nothing was changed."),
        JobEvent.Kind.SKIPPED: _("%(who)s skipped this job on %(when)s. Nothing was changed."),
        JobEvent.Kind.STARTED: _("%(who)s began this job on %(when)s. Nothing was changed."),
        JobEvent.Kind.UNDONE: _("%(who)s took this job back on %(when)s. Nothing was changed."),
    }[JobEvent.Kind(last.kind)] % words


def day_of(job: Job, now: datetime) -> date:
    """Return the day it is on a job's farm."""
    return now.astimezone(job.farm.zone).date()


def local_time(job: Job, at: datetime) -> str:
    """Return a moment by the farm's clock."""
    return f"{at.astimezone(job.farm.zone):%Y-%m-%d %H:%M}"


def note_event(job: Job, kind: JobEvent.Kind, *, by: User | None, now: datetime, note: str, facts: Facts) -> JobEvent:
    """Write down who did what with a job."""
    return JobEvent.objects.create(job=job, kind=kind, by=by, at=now, note=note, facts=facts)


def end_job(
    job: Job, state: Job.State, *, by: User | None, now: datetime, on: date, note: str, facts: Facts, **columns: Any
) -> JobEvent:
    """End an undone job, set what its plan expects next, and keep what an undo needs."""
    require_passed(job, on, now)
    before = kept(job, JOB_COLUMNS)
    claim(job, state=state, ended_on=on, note=note, **columns)
    facts = {**facts, "job": before, "plan": expect_next(job.plan, on)}
    kind = JobEvent.Kind.DONE if state == Job.State.DONE else JobEvent.Kind.SKIPPED
    return note_event(job, kind, by=by, now=now, note=note, facts=facts)


def require_passed(job: Job, on: date, now: datetime) -> None:
    """Refuse a day that has not come yet on the farm."""
    if on > day_of(job, now):
        raise WorkError(_("%(day)s has not come yet. Write today or an earlier day.") % {"day": on.isoformat()})


def refuse_while_waiting(job: Job) -> None:
    """Refuse to end a job before those it waits for."""
    before = list(job.waits_for.undone().for_list().order_by("until_on", "pk"))
    if before:
        names = "; ".join(f"{place_of_job(first)}: {plan_name(first.plan, job.farm.units)}" for first in before)
        raise WorkError(_("First comes %(jobs)s. Finish or skip it, then come back.") % {"jobs": names})


def expect_next(plan: Plan, on: date) -> Facts:
    """Set what a plan expects after a job that ended; return what it held before, or nothing where it stays."""
    trigger, turn = plan.routine.trigger, turn_of(plan)
    before = {**kept(plan, PLAN_COLUMNS), "turn": kept(turn, TURN_COLUMNS) if turn else None}
    if plan.ended_on is not None:
        return {}
    if window := next_window(plan.routine, on) if plan.routine.is_active else None:
        due_on, until_on = window
        set_turns([Turn(plan=plan, due_on=due_on, until_on=until_on, cause={"done_on": on.isoformat()})])
    elif trigger in COUNTED:
        plan.counted_from = max(on, plan.counted_from)
        drop_turns(plans=[plan.pk])
    elif plan.key.startswith(REPAIR_KEY):
        plan.ended_on = on
    else:  # by season, calendar or age: moved on when the job was opened
        return {}
    plan.save(update_fields=PLAN_COLUMNS)
    return before


def kept(row: Job | Plan | Turn, columns: Sequence[str]) -> Facts:
    """Return columns of a row as JSON keeps them."""
    values = {name: getattr(row, name) for name in columns}
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in values.items()}


def take_parts(
    job: Job, parts: Sequence[tuple[Material, Decimal]], *, by: User | None, on: date
) -> tuple[list[int], Decimal | None]:
    """Take what a job used out of the store; return the moves, and what it cost where every price is known."""
    moves = [_take(job, material, quantity, by, on) for material, quantity in parts]
    JobPart.objects.bulk_create(JobPart(job=job, move=move) for move in moves)
    return [move.pk for move in moves], _cost(parts)


def _take(job: Job, material: Material, quantity: Decimal, by: User | None, on: date) -> StockMove:
    note = _("used for %(what)s") % {"what": plan_name(job.plan, job.farm.units)}
    try:
        return store.move(
            farm=job.farm, material=material, quantity=quantity, on=on, reason=StockMove.Reason.USED, by=by,
            component=job.plan.component, note=note[:200],
        )  # fmt: skip
    except store.StoreError as error:
        raise WorkError(f"{material.name}: {error}") from error


def _cost(parts: Sequence[tuple[Material, Decimal]]) -> Decimal | None:
    """Return what pieces cost; what is sold by length or area is counted in no unit a price could be taken by."""
    per_piece = all(material.price is not None and material.price_per == "each" for material, _quantity in parts)
    if not parts or not per_piece:
        return None
    return sum((Decimal(material.price or 0) * quantity for material, quantity in parts), Decimal(0))
