"""Entries that a person has to look at: kept beside what stood there already, not understood, or left waiting."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from django.db.models import Q, QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from farm.models import Farm
from maintenance.field.clocks import skew_text
from maintenance.hands.texts import what_of, where_of
from maintenance.models import FieldEntry, Job, Repair, StormTask
from maintenance.words.places import place_of, place_of_job
from maintenance.words.said import person, plan_name

WAITS: Final = timedelta(days=1)  # details whose entry has not come by then are looked at
MOST: Final = 100
State = FieldEntry.State


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One entry as the page prints it."""

    entry: FieldEntry
    what: str
    place: str
    who: str
    phone_at: datetime | None  # by the phone's clock; the page says both
    skew: str
    reason: str
    text: str
    stands: str  # what stood there already, as it stands now
    url: str
    settled_at: datetime | None


def to_settle(farm: Farm, now: datetime) -> QuerySet[FieldEntry]:
    """Return the entries of a farm that wait for a manager."""
    late = Q(state=State.TAKEN, kind=FieldEntry.Kind.DETAILS, parent=None, received_at__lt=now - WAITS)
    odd = Q(state__in=(State.BESIDE, State.UNREAD))
    return FieldEntry.objects.filter(odd | late, farm=farm, seen_at=None)


def rows_to_settle(farm: Farm, now: datetime) -> list[Row]:
    """Return what waits, the oldest first, in a handful of queries."""
    return [_row(entry) for entry in _loaded(to_settle(farm, now)).order_by("received_at", "pk")[:MOST]]


def rows_settled(farm: Farm, most: int = 20) -> list[Row]:
    """Return what was settled last."""
    found = FieldEntry.objects.filter(farm=farm, seen_at__isnull=False)
    return [_row(entry) for entry in _loaded(found).order_by("-seen_at", "pk")[:most]]


def settle(*, entry: FieldEntry, now: datetime) -> bool:
    """Note that a manager has dealt with an entry; False where one had already."""
    return bool(FieldEntry.objects.filter(pk=entry.pk, seen_at=None).update(seen_at=now))


def _loaded(entries: QuerySet[FieldEntry]) -> QuerySet[FieldEntry]:
    return entries.select_related(
        "farm", "by", "tunnel", "opening", "phone", "task__tunnel", "task__opening", "task__done_by",
        "task__repair__tunnel", "task__repair__opening", "task__repair__end_wall__tunnel", "repair__tunnel",
        "repair__opening", "repair__end_wall__tunnel", "job__repair", "job__farm", "job__plan__routine",
        "job__plan__tunnel", "job__plan__opening", "job__plan__end_wall__tunnel", "job__plan__component",
    ).prefetch_related("photos", "voice_notes", "job__events__by")  # fmt: skip


def _row(entry: FieldEntry) -> Row:
    stands, url = _standing(entry)
    payload = entry.payload if isinstance(entry.payload, dict) else {}
    said = parse_moment(payload.get("made_at"))
    return Row(
        entry=entry, what=str(entry.get_kind_display()) or _("not named"),
        place=str(entry.opening or entry.tunnel or _("the farm")), who=_who(entry), phone_at=said,
        skew=skew_text(entry.skew_s) if entry.by_id else "", reason=entry.reason or _waits(entry), text=_text(payload),
        stands=stands, url=url, settled_at=entry.seen_at,
    )  # fmt: skip


def parse_moment(value: Any) -> datetime | None:
    """Return what a phone wrote as a time, or nothing."""
    try:
        moment = parse_datetime(value) if isinstance(value, str) else None
    except ValueError:
        return None
    if moment is None or timezone.is_naive(moment):
        return None
    return moment


def _who(entry: FieldEntry) -> str:
    if entry.by_id is None and entry.payload.get("anonymous"):
        return _("told without a name")
    return person(entry.by)


def _waits(entry: FieldEntry) -> str:
    return _("What these details belong to has never come.") if entry.state == State.TAKEN else ""


def _text(payload: dict[str, Any]) -> str:
    return "; ".join(str(payload[name]) for name in ("text", "reason") if payload.get(name))


def _standing(entry: FieldEntry) -> tuple[str, str]:
    """Return what stands there now, in a sentence, and where to look at it."""
    slug = entry.farm.slug
    if entry.job is not None:
        return _job(entry.job), reverse("job", args=[slug, entry.job_id])
    if entry.task is not None:
        return _task(entry.task), reverse("storm", args=[slug, entry.task.storm_id])
    if entry.repair is not None:
        return _repair(entry.repair), reverse("repair", args=[slug, entry.repair_id])
    if entry.opening is not None:
        return "", reverse("opening", args=[slug, entry.opening_id])
    return "", ""


def _task(task: StormTask) -> str:
    said = {"place": where_of(task), "what": what_of(task), "state": task.get_state_display(),
            "who": person(task.done_by), "when": _local(task.done_at)}  # fmt: skip
    if task.done_at is None:
        return _("%(place)s: %(what)s: %(state)s.") % said
    return _("%(place)s: %(what)s: %(state)s by %(who)s, %(when)s.") % said


def _repair(repair: Repair) -> str:
    said = {"place": place_of(repair), "fault": str(repair), "state": repair.get_state_display(),
            "who": repair.mended_by, "day": repair.mended_on}  # fmt: skip
    if repair.mended_on is None:
        return _("%(place)s, %(fault)s: %(state)s.") % said
    return _("%(place)s, %(fault)s: %(state)s by %(who)s on %(day)s.") % said


def _job(job: Job) -> str:
    said = {"place": place_of_job(job), "what": plan_name(job.plan, job.farm.units), "state": job.get_state_display()}
    events = sorted(job.events.all(), key=lambda event: event.pk)
    last = events[-1] if events else None
    if last is None or job.ended_on is None:
        return _("%(place)s: %(what)s: %(state)s.") % said
    said |= {"who": person(last.by), "when": _local(last.at)}
    return _("%(place)s: %(what)s: %(state)s by %(who)s, %(when)s.") % said


def _local(moment: datetime | None) -> str:
    return f"{timezone.localtime(moment):%Y-%m-%d %H:%M}" if moment else ""
