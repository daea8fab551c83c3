"""One entry with all it speaks of, found on its farm."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from doors.models import Component, FailureMode, Material
from farm.models import Farm, Opening, Tunnel
from maintenance.field.reading import Entry
from maintenance.models import FieldEntry, Job, NearMiss, Repair, Storm, StormTask


class Beside(Exception):  # noqa: N818 - no error: what was said is kept beside what stood there
    """What an entry says disagrees with what stands there already; the message says with what."""


class NotUnderstood(Exception):  # noqa: N818 - no error: it is kept, and read by a person
    """An entry speaks of something that is not there; the message says of what."""


@dataclass(slots=True, kw_only=True)
class Deed:
    """An entry, who made it when, and what it is about; what it leads to is set while it is acted on."""

    entry: Entry
    row: FieldEntry
    farm: Farm
    by: User | None  # nobody where it is told without a name
    now: datetime
    at: datetime  # when it was done, by our clock
    opening: Opening | None = None
    tunnel: Tunnel | None = None
    task: StormTask | None = None
    repair: Repair | None = None
    job: Job | None = None
    near_miss: NearMiss | None = None
    parts: list[tuple[Material, Decimal]] = field(default_factory=list)
    storms: dict[int, Storm] = field(default_factory=dict)  # to be worked out anew

    @property
    def on(self) -> date:
        """The day it was done, on the farm."""
        return self.at.astimezone(self.farm.zone).date()

    @property
    def place(self) -> Opening | Tunnel | None:
        """The narrowest place it is about; nothing where that is the farm as a whole."""
        return self.opening or self.tunnel

    @property
    def user(self) -> User:
        """Who did it."""
        assert self.by is not None  # noqa: S101 - only a near miss is told without a name
        return self.by

    @property
    def part(self) -> str:
        """The part it is about, as far as was said."""
        return self.entry.part or Component.Kind.OTHER

    @property
    def mode(self) -> str:
        """How the fault shows, as far as was said."""
        return self.entry.mode or FailureMode.OTHER


def find(deed: Deed) -> None:
    """Find all that an entry names.

    Raises
    ------
    NotUnderstood
        If the farm has no such thing; a row of another farm is none.
    """
    entry, farm = deed.entry, deed.farm
    if entry.door is not None:
        deed.opening = _found(Opening.objects.of(farm).with_place(), entry.door, _("The door it names is not there."))
    if entry.tunnel is not None:
        deed.tunnel = _found(Tunnel.objects.of(farm), entry.tunnel, _("The tunnel it names is not there."))
    if entry.task is not None:
        tasks = StormTask.objects.for_list().select_related("storm__farm").filter(storm__farm=farm)
        deed.task = _found(tasks, entry.task, _("The task it names is no longer needed."))
    if entry.repair is not None:
        repairs = Repair.objects.of(farm).for_list().select_related("farm", "job__farm", "job__plan__routine")
        deed.repair = _found(repairs, entry.repair, _("The fault it names is not there."))
    if entry.job is not None:
        jobs = Job.objects.of(farm).for_list().select_related("farm")
        deed.job = _found(jobs, entry.job, _("The job it names is not there."))
    deed.parts = _materials(deed)
    _place(deed)


def _found(rows: Any, pk: int, missing: str) -> Any:
    row = rows.filter(pk=pk).first()
    if row is None:
        raise NotUnderstood(missing)
    return row


def _materials(deed: Deed) -> list[tuple[Material, Decimal]]:
    wanted = [pk for pk, _quantity in deed.entry.parts]
    book = {material.pk: material for material in Material.objects.of(deed.farm).filter(pk__in=wanted)}
    if set(wanted) - book.keys():
        raise NotUnderstood(_("A part it names is not in the farm's book."))
    return [(book[pk], quantity) for pk, quantity in deed.entry.parts]


def _place(deed: Deed) -> None:
    """Note where an entry belongs that names only a task, a fault or a job; a door says its tunnel."""
    for row in (deed.task, deed.repair, deed.job.plan if deed.job else None):
        if row is not None and deed.opening is None:
            deed.opening = row.opening
        if row is not None and deed.tunnel is None:
            deed.tunnel = row.tunnel
    if deed.opening is not None:
        deed.tunnel = deed.opening.end_wall.tunnel
