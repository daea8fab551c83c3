"""Take back the last thing done with a job: the job, its plan, the store, its fault, and what it found or fitted."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, Final

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from maintenance.models import Job, JobEvent, JobPart, Plan, Repair, Routine, ScrewCheck, Turn
from maintenance.plans.turns import drop_turns, set_turns
from maintenance.querysets import UNDONE
from maintenance.stores import fitting, store
from maintenance.work.closing import COUNTED, Facts, WorkError, claim, day_of, note_event

TAKEN_BACK: Final = (JobEvent.Kind.DONE, JobEvent.Kind.SKIPPED, JobEvent.Kind.STARTED)
REPAIR_COLUMNS: Final = ("state", "mended_on", "mended_by", "minutes", "cost", "cause", "note")
Kind = JobEvent.Kind


def last_change(job: Job) -> JobEvent | None:
    """Return the last thing done with a job that an undo can take back, or None."""
    events = list(job.events.select_related("by").order_by("-pk"))
    gone = {event.facts.get("of") for event in events if event.kind == Kind.UNDONE}
    return next((event for event in events if event.kind in TAKEN_BACK and event.pk not in gone), None)


def undo(job: Job, event: JobEvent, *, by: User | None, now: datetime, note: str) -> None:
    """Put back all that an event changed, or raise with a sentence why that cannot be."""
    facts: Facts = event.facts
    ended = {Kind.DONE: Job.State.DONE, Kind.SKIPPED: Job.State.SKIPPED}.get(Kind(event.kind), Job.State.STARTED)
    claim(job, states=[ended], ended_on=None, **facts["job"])
    if event.kind != Kind.STARTED:
        today = day_of(job, now)
        _withdraw_next(job, facts.get("plan") or {})
        _unfit(job, facts, by, today)
        _unfind(facts)
        give_parts_back(job, facts, by, today)
        _unmend(job, facts)
    note_event(job, Kind.UNDONE, by=by, now=now, note=note, facts={"of": event.pk})


def kept_of_repair(repair: Repair) -> Facts:
    """Return what a mend changes of a fault, as JSON keeps it."""
    values = {name: getattr(repair, name) for name in REPAIR_COLUMNS}
    return {name: value if value is None or isinstance(value, int | str) else str(value)
            for name, value in values.items()}  # fmt: skip


def is_untouched(job: Job) -> bool:
    """Tell whether nobody has done anything with a job yet."""
    return job.state == Job.State.OPEN and job.assigned_to_id is None and not job.events.exists()


def _withdraw_next(job: Job, before: Facts) -> None:
    """Put the plan back to what it expected; the next job, where it was opened by this one's end, goes again."""
    newer = list(Job.objects.filter(plan=job.plan_id, due_on__gt=job.due_on).order_by("due_on"))
    caused = job.plan.routine.trigger in (Routine.Trigger.DONE, *COUNTED)
    for later in newer:
        if not caused or later.state not in UNDONE:
            raise WorkError(_("The next job of this kind, due on %(day)s, stands already. Correct that one instead.")
                            % {"day": later.due_on.isoformat()})  # fmt: skip
        if not is_untouched(later):
            raise WorkError(_("The next job of this kind, due on %(day)s, is already in somebody's hands. "
                              "Take that back first.") % {"day": later.due_on.isoformat()})  # fmt: skip
    for later in newer:
        later.delete()
    if before:
        turn = before["turn"]
        Plan.objects.filter(pk=job.plan_id).update(**{name: value for name, value in before.items() if name != "turn"})
        set_turns([Turn(plan_id=job.plan_id, **turn)]) if turn else drop_turns(plans=[job.plan_id])


def _unfit(job: Job, facts: Facts, by: User | None, today: date) -> None:
    """Take out the part that was fitted, and put the one before back in service with the jobs it had."""
    if "fitting" not in facts:
        return
    try:
        fitting.take_back(farm=job.farm, facts=facts["fitting"], today=today, by=by)
    except fitting.FittingError as error:
        raise WorkError(str(error)) from error
    for pk, state in facts.get("lapsed", ()):
        Job.objects.filter(pk=pk, state=Job.State.LAPSED).update(state=state, ended_on=None)


def _unfind(facts: Facts) -> None:
    """Drop the answers of a screw check, and the faults they logged where nobody has begun with them."""
    for repair in Repair.objects.filter(pk__in=facts.get("faults", ())).select_related("job__plan"):
        if repair.state != Repair.State.OPEN or (repair.job and not is_untouched(repair.job)):
            raise WorkError(_("A fault that this check found is already in somebody's hands: %(fault)s. "
                              "Take that back first.") % {"fault": str(repair)})  # fmt: skip
        plan = repair.job.plan if repair.job else None
        repair.delete()
        if plan is not None:
            plan.delete()  # and its job
    ScrewCheck.objects.filter(pk__in=facts.get("checks", ())).delete()


def give_parts_back(job: Job, facts: Facts, by: User | None, today: date) -> None:
    """Put back into the store what was taken out."""
    taken = JobPart.objects.filter(job=job, move__in=facts.get("moves", ()))
    for part in taken.select_related("move__material", "move__farm"):
        store.reverse(taken=part.move, on=today, by=by)
        part.delete()


def _unmend(job: Job, facts: Facts) -> None:
    """Let a fault stand as it stood before its repair."""
    before: dict[str, Any] = facts.get("repair") or {}
    if before:
        Repair.objects.filter(job=job).update(**before)
