"""What is told afterwards: how the fault shows, what it took, a word more; added to what the first entry made."""

from __future__ import annotations

from typing import Any

from django.db.models import Q
from django.utils.translation import gettext as _

from doors.models import StockMove
from maintenance.field.deeds import Beside, Deed, NotUnderstood
from maintenance.models import FieldEntry, Job, JobEvent, NearMiss, Repair, StormTask
from maintenance.stores import store
from maintenance.stores.store import StoreError
from maintenance.work import faults
from maintenance.work.closing import WorkError, take_parts


def add_details(deed: Deed) -> None:
    """Add to what the entry before made; where that has not come yet these details wait for it."""
    if deed.entry.parent is None:
        raise NotUnderstood(_("These details name no entry that they belong to."))
    parent = deed.row.parent
    if parent is None:
        return
    if parent.state != FieldEntry.State.TAKEN:
        raise Beside(_("What these details belong to is kept beside itself. Nothing was changed."))
    deed.task, deed.repair, deed.job = _task_of(parent), _repair_of(parent), _job_of(parent)
    deed.near_miss = parent.near_miss
    deed.opening, deed.tunnel = parent.opening, parent.tunnel
    if deed.repair is not None:
        _add_to_repair(deed, deed.repair)
    elif deed.job is not None:
        _add_to_job(deed, deed.job)
    elif deed.task is not None and deed.entry.minutes is not None:
        StormTask.objects.filter(pk=deed.task.pk).update(minutes_spent=deed.entry.minutes)
    elif deed.near_miss is not None and deed.entry.text:
        _add_to_near_miss(deed.near_miss, deed.entry.text)
    use_parts(deed)


def use_parts(deed: Deed) -> None:
    """Take what was used out of the store, for the job it was used for where there is one."""
    if not deed.parts:
        return
    job = deed.job or (deed.repair.job if deed.repair is not None else None)
    if job is None:
        _use_without_job(deed)
        return
    moves, cost = take_parts(job, deed.parts, by=deed.by, on=deed.on)
    if deed.repair is not None and cost is not None:
        deed.repair.cost = (deed.repair.cost or 0) + cost
        deed.repair.save(update_fields=["cost"])
    _let_undo_know(job, moves)


def waiting_for(deed: Deed, name: str) -> list[FieldEntry]:
    """Return details that came before the entry they belong to; ``name`` is its number as the phone wrote it."""
    theirs = Q(by=deed.by) | Q(by=None) if deed.by is not None else Q()
    found = FieldEntry.objects.filter(
        theirs, farm=deed.farm, kind=FieldEntry.Kind.DETAILS, state=FieldEntry.State.TAKEN, parent=None,
        payload__parent=name,
    )  # fmt: skip
    return list(found.order_by("made_at", "pk"))


def _add_to_repair(deed: Deed, repair: Repair) -> None:
    entry = deed.entry
    columns: dict[str, Any] = {}
    if entry.mode:
        columns["mode"] = entry.mode
    if entry.part:
        columns["part"] = entry.part
    if entry.minutes is not None:
        columns["minutes"] = entry.minutes
    if entry.text:
        columns["note"] = _joined(repair.note, entry.text)
    if columns:
        faults.describe(repair=repair, **columns)


def _add_to_job(deed: Deed, job: Job) -> None:
    entry = deed.entry
    columns: dict[str, Any] = {}
    if entry.minutes is not None:
        columns["minutes_spent"] = entry.minutes
    if entry.text:
        columns["note"] = _joined(job.note, entry.text)
    if columns:
        Job.objects.filter(pk=job.pk).update(**columns)


def _add_to_near_miss(near_miss: NearMiss, text: str) -> None:
    near_miss.what = _joined(near_miss.what, text)
    near_miss.save(update_fields=["what"])


def _joined(before: str, more: str) -> str:
    return "\n".join(filter(None, (before, more)))


def _use_without_job(deed: Deed) -> None:
    where = str(deed.place) if deed.place is not None else ""
    try:
        for material, quantity in deed.parts:
            store.move(
                farm=deed.farm, material=material, quantity=quantity, on=deed.on, reason=StockMove.Reason.USED,
                by=deed.by, note=where[:200],
            )  # fmt: skip
    except StoreError as error:
        raise WorkError(str(error)) from error


def _let_undo_know(job: Job, moves: list[int]) -> None:
    """Write what was taken later to the end of the job, so that taking it back puts these parts back as well."""
    done = JobEvent.Kind.DONE
    event = job.events.filter(kind=done).order_by("-pk").first()
    if event is not None and job.state == Job.State.DONE:
        event.facts["moves"] = [*event.facts.get("moves", ()), *moves]
        event.save(update_fields=["facts"])


def _task_of(parent: FieldEntry) -> StormTask | None:
    return parent.task


def _repair_of(parent: FieldEntry) -> Repair | None:
    rows = Repair.objects.for_list().select_related("farm", "job__farm", "job__plan__routine", "job__plan__component")
    return rows.filter(pk=parent.repair_id).first() if parent.repair_id else None


def _job_of(parent: FieldEntry) -> Job | None:
    rows = Job.objects.for_list().select_related("farm")
    return rows.filter(pk=parent.job_id).first() if parent.job_id else None
