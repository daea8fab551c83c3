"""Take back that a fault holds for now, where that was said by mistake: the fault, its job's days, and the parts."""

from __future__ import annotations

from datetime import date, datetime
from typing import Final

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from maintenance.models import Job, JobEvent, Repair
from maintenance.work.closing import WorkError, day_of, note_event
from maintenance.work.undoing import give_parts_back

CHANGED: Final = ("state", "mended_on", "mended_by", "cause", "cost")  # of a fault, when it holds for now


def last_hold(repair: Repair) -> JobEvent | None:
    """Return the event by which a fault holds for now, where it can be taken back."""
    if repair.state != Repair.State.TEMPORARY or repair.job is None:
        return None
    last = repair.job.events.filter(kind=JobEvent.Kind.MOVED, facts__has_key="repair_state").order_by("-pk").first()
    return last if last and last.facts["repair_state"] == "temporary" and "repair" in last.facts else None


@transaction.atomic
def undo_hold(*, repair: Repair, by: User | None, now: datetime) -> None:
    """Let a fault stand as if nobody had said that it holds; parts that were taken go back into the store.

    Raises
    ------
    WorkError
        If it does not hold for now, or was changed meanwhile.
    """
    event, job = last_hold(repair), repair.job
    if event is None or job is None:
        raise WorkError(_("There is nothing to take back: this fault does not hold for now."))
    before = {name: event.facts["repair"][name] for name in CHANGED}
    if not Repair.objects.filter(pk=repair.pk, state=Repair.State.TEMPORARY).update(**before):
        raise WorkError(_("Somebody changed this fault a moment ago. Look at it again."))
    give_parts_back(job, event.facts, by, day_of(job, now))
    until = date.fromisoformat(event.facts["until_before"])
    Job.objects.undone().filter(pk=job.pk).update(until_on=until)
    facts = {"of": event.pk, "repair_state": before["state"], "until_on": until.isoformat()}
    note_event(job, JobEvent.Kind.UNDONE, by=by, now=now, note="", facts=facts)
    repair.refresh_from_db()
