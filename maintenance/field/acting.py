"""What each kind of entry does: the work goes through the same services as the pages."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import override

from maintenance.field.deeds import Beside, Deed, NotUnderstood
from maintenance.field.details import add_details, use_parts
from maintenance.field.storms import at_task, task_at
from maintenance.field.telling import tell_of_danger, tell_of_trouble
from maintenance.hands import ticking
from maintenance.hands.forms import REASONS
from maintenance.models import FieldEntry, NearMiss, Repair, StormTask
from maintenance.work import faults, working

Kind = FieldEntry.Kind


def act(deed: Deed) -> None:
    """Do what an entry says, in the caller's transaction.

    Raises
    ------
    Beside, NotUnderstood, TickError, WorkError
        If it disagrees with what stands there, or something is lacking; the message is for people.
    """
    ACTIONS[Kind(deed.entry.kind)](deed)


def _secured(deed: Deed) -> None:
    """Tick the open task of the place; without a storm the entry itself is the note at the door."""
    _require_place(deed)
    task = deed.task or task_at(deed, StormTask.State.OPEN)
    if task is not None:
        with at_task(deed, task):
            ticking.tick(task=task, by=deed.user, now=deed.now, at=deed.at, minutes=deed.entry.minutes, works_out=False)
    use_parts(deed)


def _cannot(deed: Deed) -> None:
    """Say at once to the managers that something cannot be done."""
    if not deed.entry.reason and not deed.entry.text:
        raise NotUnderstood(_("It says that something cannot be done, but not why."))
    task = deed.task or task_at(deed, StormTask.State.OPEN)
    reason = _reason(deed)
    if task is None:
        tell_of_trouble(deed, reason)
        return
    with at_task(deed, task):
        ticking.cannot(task=task, by=deed.user, now=deed.now, at=deed.at, reason=reason, works_out=False)


def _checked(deed: Deed) -> None:
    _require_place(deed)
    task = deed.task or task_at(deed, StormTask.State.DONE)
    if task is not None:
        with at_task(deed, task, changes=False):
            ticking.check_round(task=task, by=deed.user, now=deed.now, at=deed.at)


def _fixed(deed: Deed) -> None:
    """Mend the fault it names, or write down one that was found and mended in one go."""
    if deed.repair is None and deed.task is not None and deed.task.repair_id is not None:
        deed.repair = Repair.objects.of(deed.farm).for_list().select_related("farm").get(pk=deed.task.repair_id)
    if deed.repair is None:
        deed.repair = _logged(deed, note=deed.entry.text)
    try:
        faults.mend(
            repair=deed.repair, by=deed.user, now=deed.now, on=max(deed.on, deed.repair.found_on),
            minutes=deed.entry.minutes, note=deed.entry.text, parts=deed.parts,
        )  # fmt: skip
    finally:
        deed.repair.refresh_from_db()
    if deed.task is not None and deed.task.state == StormTask.State.OPEN:
        with suppress(ticking.TickError, Beside), at_task(deed, deed.task):
            ticking.tick(task=deed.task, by=deed.user, now=deed.now, at=deed.at, works_out=False)


def _needs_part(deed: Deed) -> None:
    if deed.repair is None:
        deed.repair = _logged(deed, note=deed.entry.text or _in_farm_words(deed, "part"))
    use_parts(deed)


def _danger(deed: Deed) -> None:
    """Mark a place as one to keep out of, and tell the managers now."""
    repair = deed.repair
    if repair is None or repair.state == Repair.State.DONE:
        repair = deed.repair = _logged(deed, note=deed.entry.text, is_critical=True)
    Repair.objects.filter(pk=repair.pk).update(is_danger=True, is_critical=True)
    repair.is_danger = repair.is_critical = True
    tell_of_danger(deed, repair)


def _job_done(deed: Deed) -> None:
    entry = deed.entry
    if deed.job is None:
        raise NotUnderstood(_("It says that a job is done, but not which."))
    working.finish(
        job=deed.job, by=deed.user, now=deed.now, on=deed.on, minutes=entry.minutes, ticks=entry.ticks,
        note=entry.text, parts=deed.parts, outcomes=entry.screws,
    )  # fmt: skip


def _near_miss(deed: Deed) -> None:
    """Write down what nearly happened; nobody's name stands in it where none was given."""
    deed.near_miss = NearMiss.objects.create(
        farm=deed.farm, tunnel=deed.tunnel, opening=deed.opening, on=deed.on, by=deed.by,
        what=deed.entry.text or _in_farm_words(deed, "near_miss"),
    )  # fmt: skip


def _logged(deed: Deed, *, note: str, is_critical: bool = False) -> Repair:
    repair = faults.log_fault(
        farm=deed.farm, place=deed.place, part=deed.part, mode=deed.mode, found_on=deed.on, by=deed.user,
        now=deed.now, is_critical=is_critical or deed.entry.is_critical, minutes=deed.entry.minutes, note=note,
    )  # fmt: skip
    repair.found_at = deed.at
    repair.save(update_fields=["found_at"])
    return repair


def _require_place(deed: Deed) -> None:
    if deed.place is None:
        raise NotUnderstood(_("It does not say where."))


def _reason(deed: Deed) -> str:
    """Return why something cannot be done, in the farm's language where it was one of our reasons."""
    given = " ".join(deed.entry.reason.split())
    for words in REASONS.values():
        if given.casefold() in (words.en.casefold(), words.es.casefold()):
            given = words.said(deed.farm.language)
    given = REASONS[given].said(deed.farm.language) if given in REASONS else given
    return ": ".join(filter(None, (given, deed.entry.text)))


def _in_farm_words(deed: Deed, what: str) -> str:
    """Return what stands in a note that nobody wrote: many read it, so it is in the farm's language."""
    with override(deed.farm.language):
        return {
            "part": _("A part is needed."),
            "near_miss": _("No words came with it. Look at its pictures and listen to what was spoken."),
        }[what]


ACTIONS: Final[Mapping[Kind, Callable[[Deed], None]]] = {
    Kind.SECURED: _secured, Kind.CANNOT: _cannot, Kind.CHECKED: _checked, Kind.FIXED: _fixed,
    Kind.NEEDS_PART: _needs_part, Kind.DANGER: _danger, Kind.JOB_DONE: _job_done, Kind.DETAILS: add_details,
    Kind.NEAR_MISS: _near_miss,
}  # fmt: skip
