"""Doing the work: take a job, begin it, finish, skip or put it off, and take the last of these back.

Every change is written down with who and when. Two people may press at once: the second is told who was first.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Final

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from doors.models import Material
from maintenance.models import Job, JobEvent, Routine
from maintenance.stores import fitting
from maintenance.words.places import repair_of
from maintenance.words.said import lines_in_units, person
from maintenance.work import faults
from maintenance.work.closing import (
    JOB_COLUMNS,
    Facts,
    WorkError,
    claim,
    day_of,
    end_job,
    kept,
    note_event,
    overtaken,
    refuse_while_waiting,
    take_parts,
)
from maintenance.work.undoing import last_change, undo

__all__ = ["WorkError", "assign", "finish", "put_off", "skip", "start", "take_back"]

MOST_PUT_OFF: Final = timedelta(days=92)  # one season: what is put off longer is skipped, and says why
MOST_MINUTES: Final = 60 * 24 * 7
Kind, State = JobEvent.Kind, Job.State
Replacement = tuple[fitting.Removal, fitting.NewPart]


@transaction.atomic
def assign(*, job: Job, to: User | None, by: User | None, now: datetime) -> None:
    """Give a job to a person, or to nobody; refused where somebody else took it since the page was read."""
    before = job.assigned_to_id
    if to is not None and before == to.pk:
        return  # pressed twice
    undone = Job.objects.undone().filter(pk=job.pk, assigned_to=before)
    if not undone.update(assigned_to=to):
        _tell_who_took(job)
    job.assigned_to = to
    facts = {"before": before, "to": to.pk if to else None}
    note_event(job, Kind.ASSIGNED, by=by, now=now, note=person(to) if to else "", facts=facts)


@transaction.atomic
def start(*, job: Job, by: User | None, now: datetime) -> None:
    """Begin a job; whoever begins one that nobody had has it."""
    refuse_while_waiting(job)
    before = kept(job, JOB_COLUMNS)
    mine = {} if job.assigned_to_id or by is None else {"assigned_to_id": by.pk}
    claim(job, [State.OPEN], state=State.STARTED, **mine)
    note_event(job, Kind.STARTED, by=by, now=now, note="", facts={"job": before})


@transaction.atomic
def finish(
    *, job: Job, by: User | None, now: datetime, on: date, minutes: int | None = None, ticks: Sequence[int] = (),
    note: str = "", parts: Sequence[tuple[Material, Decimal]] = (), outcomes: Sequence[tuple[str, str]] = (),
    replacement: Replacement | None = None,
) -> None:  # fmt: skip
    """Finish a job on a day, with the answer that its routine asks for.

    Parameters
    ----------
    job : Job
        With its plan, routine and repair loaded.
    by, now : User, datetime
        Who says so, and when.
    on : date
        The day the work was done, on the farm.
    minutes : int, optional
        Person-minutes it took.
    ticks : sequence of int
        Numbers of the lines of the checklist that were ticked, from 0.
    note : str
        What the next person should know.
    parts : sequence of (Material, Decimal)
        What was used, taken out of the store.
    outcomes : sequence of (spot, outcome)
        What each screw did, where the routine asks for screws.
    replacement : (fitting.Removal, fitting.NewPart), optional
        Why the old part came out and what came in, where the routine asks for a new part.

    Raises
    ------
    WorkError
        If somebody was quicker, the day has not come, an answer is lacking, or a job it waits for is undone.
    """
    _check(job, minutes, ticks)
    repair = repair_of(job)
    if repair is not None:
        faults.mend_with_job(
            repair=repair, job=job, by=by, now=now, on=on, minutes=minutes, ticks=ticks, note=note, parts=parts
        )
        return
    refuse_while_waiting(job)
    moves, _cost = take_parts(job, parts, by=by, on=on)
    facts: Facts = {"moves": moves}
    event = end_job(
        job, State.DONE, by=by, now=now, on=on, note=note, facts=facts, minutes_spent=minutes, ticks=sorted(ticks)
    )
    if job.plan.routine.answer == Routine.Answer.SCREWS:
        event.facts["checks"], event.facts["faults"] = faults.record_screws(
            job=job, outcomes=outcomes, by=by, now=now, on=on
        )
    elif job.plan.routine.answer == Routine.Answer.REPLACED:
        event.facts |= _replace(job, replacement, by, now, on)
    event.save(update_fields=["facts"])


@transaction.atomic
def skip(*, job: Job, by: User | None, now: datetime, on: date, reason: str) -> None:
    """Leave a job undone for good, for a reason; its plan goes on as if it were done."""
    reason = reason.strip()
    if not reason:
        raise WorkError(_("Write why it is skipped: the next person will ask."))
    repair = repair_of(job)
    if repair is not None and repair.state != repair.State.DONE:
        raise WorkError(_("A fault does not go away by skipping. Repair it, or let it hold for now."))
    end_job(job, State.SKIPPED, by=by, now=now, on=on, note=reason, facts={})


@transaction.atomic
def put_off(*, job: Job, by: User | None, now: datetime, on: date, until: date, reason: str = "") -> None:
    """Give a job until a later day; the day it fell due stays."""
    latest = on + MOST_PUT_OFF
    if until <= max(job.until_on, on - timedelta(days=1)):
        days = {"day": until.isoformat(), "until": job.until_on.isoformat()}
        raise WorkError(_("%(day)s is no later than it has to be done anyway, by %(until)s, or is past.") % days)
    if until > latest:
        raise WorkError(_("Put it off to %(day)s at the latest, or skip it with a reason.")
                        % {"day": latest.isoformat()})  # fmt: skip
    before = job.until_on
    claim(job, until_on=until)
    facts = {"before": before.isoformat(), "until_on": until.isoformat()}
    note_event(job, Kind.MOVED, by=by, now=now, note=reason.strip(), facts=facts)


@transaction.atomic
def take_back(*, job: Job, by: User | None, now: datetime, note: str = "") -> None:
    """Undo the last finishing, skipping or beginning of a job, with all that came of it, or say why that cannot be."""
    event = last_change(job)
    if event is None:
        raise WorkError(_("There is nothing to take back: nobody has done anything with this job."))
    undo(job, event, by=by, now=now, note=note)
    job.refresh_from_db()


def _replace(job: Job, replacement: Replacement | None, by: User | None, now: datetime, on: date) -> Facts:
    """Fit the new part; the old one's other jobs lapse with it, and an undo brings them back."""
    part = job.plan.component
    if part is None:
        raise WorkError(_("This job is about no part in service. Log the new part on its own page."))
    if replacement is None:
        raise WorkError(_("Say what came in its place and why the old one came out."))
    removal, new = replacement
    others = list(Job.objects.undone().filter(plan__component=part).values_list("pk", "state"))
    try:
        change = fitting.replace(component=part, on=on, removal=removal, new=new, today=day_of(job, now), by=by)
    except fitting.FittingError as error:
        raise WorkError(str(error)) from error
    return {"fitting": change.facts, "lapsed": others}


def _check(job: Job, minutes: int | None, ticks: Sequence[int]) -> None:
    if minutes is not None and not 0 <= minutes <= MOST_MINUTES:
        raise WorkError(_("Minutes are a number from 0 to %(most)s.") % {"most": MOST_MINUTES})
    lines = lines_in_units(job.plan.routine.checklist, job.farm.units)
    if any(not 0 <= tick < len(lines) for tick in ticks):
        raise WorkError(_("The checklist has changed since the page was read. Tick it once more."))


def _tell_who_took(job: Job) -> None:
    """Refuse, naming who has the job now."""
    now = Job.objects.undone().select_related("assigned_to").filter(pk=job.pk).first()
    if now is None:
        raise WorkError(overtaken(job))
    if now.assigned_to is None:
        raise WorkError(_("Somebody gave this job up just now. Try again."))
    raise WorkError(_("%(who)s has taken this job. Nothing was changed.") % {"who": person(now.assigned_to)})
