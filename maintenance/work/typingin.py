"""What was written on paper, kept: each row as if its person had pressed the button, all rows or none.

What a phone or the desk entered meanwhile stands; the row on paper is then kept beside it, as an entry from the field.
"""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from doors.models import Material
from farm.models import Farm
from maintenance.hands import ticking
from maintenance.hands.ticking import TickError
from maintenance.models import FieldEntry, Job, JobEvent, Storm, StormTask
from maintenance.querysets import UNDONE
from maintenance.words.said import person
from maintenance.work import working
from maintenance.work.closing import WorkError, note_event
from maintenance.work.paperrows import PaperRow, rows_by_key

DONE: Final = "done"
CANNOT: Final = "cannot"
SPACE: Final = uuid.UUID("5f0c64b4-3f1c-4f43-9f53-6a8a4a1d7c10")  # of the entries that come from paper


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What somebody wrote beside one row."""

    outcome: str
    by: User
    at: datetime | None = None
    minutes: int | None = None
    note: str = ""
    screws: tuple[tuple[str, str], ...] = ()
    parts: tuple[tuple[Material, Decimal], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """From which sheet it is typed in, by whom, and of which day; ``nonce`` tells a form that is sent twice."""

    number: str
    typed_by: User
    on: date
    nonce: uuid.UUID


class RowError(Exception):
    """A row that cannot be kept as it was written; nothing of the sheet is."""

    def __init__(self, key: str, text: str) -> None:
        super().__init__(text)
        self.key = key


@dataclass(frozen=True, slots=True)
class Kept:
    """How many rows were kept, and those that stand as somebody else said before."""

    count: int
    beside: tuple[PaperRow, ...]


@transaction.atomic
def keep_sheet(*, farm: Farm, sheet: Sheet, written: Sequence[tuple[str, Written]], now: datetime) -> Kept:
    """Keep all rows of a sheet that say something, or none.

    Raises
    ------
    RowError
        If one of them cannot be: the message says why and what to do.
    """
    rows = {row.key: row for row in rows_by_key(farm=farm, keys=[key for key, _each in written])}
    count, beside, storms = 0, [], {}
    for key, said in written:
        row = rows.get(key)
        if row is None:
            raise RowError(key, _("This is no longer on any list. Leave the row empty."))
        pk = uuid.uuid5(SPACE, f"{farm.pk} {sheet.nonce} {key}")
        if FieldEntry.objects.filter(pk=pk).exists():
            continue  # the same form, sent twice
        standing = row.standing or _do(row, said, sheet, now)
        _note(farm, pk, row, said, sheet, now, standing)
        if standing:
            beside.append(row)
            continue
        count += 1
        if row.task is not None:
            storms[row.task.storm_id] = row.task.storm
    for storm in storms.values():
        _work_out(storm, now)
    return Kept(count, tuple(beside))


def _do(row: PaperRow, said: Written, sheet: Sheet, now: datetime) -> str:
    """Do what a row says; return what somebody said a moment before, where that stands in its way."""
    moment = min(said.at or now, now)
    try:
        with transaction.atomic():
            if row.task is not None:
                _tick(row.task, said, moment, now)
            elif row.job is not None:
                _finish(row.job, said, sheet, moment)
    except (WorkError, TickError) as error:
        if _is_overtaken(row):
            return str(error)
        raise RowError(row.key, str(error)) from error
    return ""


def _tick(task: StormTask, said: Written, moment: datetime, now: datetime) -> None:
    if said.outcome == DONE:
        ticking.tick(task=task, by=said.by, now=now, at=moment, minutes=said.minutes, works_out=False)
    else:
        ticking.cannot(task=task, by=said.by, now=now, at=moment, reason=said.note, works_out=False)


def _finish(job: Job, said: Written, sheet: Sheet, moment: datetime) -> None:
    if said.outcome == DONE:
        working.finish(
            job=job, by=said.by, now=moment, on=sheet.on, minutes=said.minutes, note=said.note, parts=said.parts,
            outcomes=said.screws,
        )  # fmt: skip
        event = job.events.order_by("-pk")[0]
    else:
        if not Job.objects.undone().filter(pk=job.pk).exists():
            raise WorkError(_("Somebody ended this job a moment ago."))
        why = _("cannot be done: %(why)s") % {"why": said.note}
        event = note_event(job, JobEvent.Kind.MOVED, by=said.by, now=moment, note=why, facts={})
    event.facts |= {"sheet": sheet.number, "typed_by": person(sheet.typed_by)}
    event.save(update_fields=["facts"])


def _is_overtaken(row: PaperRow) -> bool:
    if row.task is not None:
        return not StormTask.objects.filter(pk=row.task.pk, state=StormTask.State.OPEN).exists()
    return row.job is not None and not Job.objects.filter(pk=row.job.pk, state__in=UNDONE).exists()


def _note(farm: Farm, pk: uuid.UUID, row: PaperRow, said: Written, sheet: Sheet, now: datetime, standing: str) -> None:
    """Write down what stood on paper, whatever became of it: both times, who did it and who typed it in."""
    kinds = FieldEntry.Kind
    done = kinds.JOB_DONE if row.job else kinds.SECURED
    payload: dict[str, Any] = {
        "paper": sheet.number, "typed_by": sheet.typed_by.pk, "outcome": said.outcome, "minutes": said.minutes,
        "note": said.note, "screws": list(said.screws), "on": sheet.on.isoformat(),
        "parts": [{"material": material.pk, "quantity": str(quantity)} for material, quantity in said.parts],
    }  # fmt: skip
    FieldEntry.objects.create(
        id=pk, farm=farm, by=said.by, kind=done if said.outcome == DONE else kinds.CANNOT, payload=payload,
        made_at=said.at or now, received_at=now, job=row.job, task=row.task, reason=standing[:300],
        state=FieldEntry.State.BESIDE if standing else FieldEntry.State.TAKEN, seen_at=now if standing else None,
        opening=row.task.opening if row.task else row.job.plan.opening if row.job else None,
        tunnel=row.task.tunnel if row.task else row.job.plan.tunnel if row.job else None,
    )  # fmt: skip


def _work_out(storm: Storm, now: datetime) -> None:
    if storm.state in ticking.AHEAD:
        ticking.work_out(storm=storm, now=now)
