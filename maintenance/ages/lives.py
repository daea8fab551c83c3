"""What happened to a part and to those before it at the same spot: for its life line and the table beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

from django.db.models import Q
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from doors.models import Component, LayUp
from maintenance.ages.ageing import Age, ages
from maintenance.drawn.lifeline import Life, MarkKind
from maintenance.models import Job, Repair, ScrewCheck
from maintenance.words.said import plan_name

LONGEST_CHAIN: Final = 30  # predecessors looked up one by one, where a part was moved since


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that happened to a part on a day."""

    on: date
    text: str
    note: str = ""
    href: str = ""
    mark: MarkKind | None = None


@dataclass(slots=True)
class History:
    """A part with its age and all that happened to it, in order."""

    part: Component
    age: Age
    events: list[Event] = field(default_factory=list)


def histories(*, part: Component, on: date, units: str) -> list[History]:
    """Return the part and those at the same spot, oldest first; part and places must be loaded.

    Repairs and checks at the spot count for the part that was in service there on the day.
    """
    parts = _at_the_spot(part)
    found = ages(components=parts, on=on)
    kept = [History(each, found[each.pk]) for each in sorted(parts, key=lambda each: (each.fitted_on, each.pk))]
    by_pk = {history.part.pk: history for history in kept}
    _add_fitting(kept)
    _add_lay_ups(by_pk)
    _add_repairs(part, by_pk, kept)
    _add_checks(part, kept)
    _add_jobs(part, by_pk, units)
    for history in kept:
        history.events += [
            Event(on=day, text=_("Storm"), mark=MarkKind.STORM) for day in history.age.storms
        ]  # fmt: skip
        history.events.sort(key=lambda event: event.on)
    return kept


def life_of(history: History, *, on: date, expected: tuple[date, date] | None = None, is_this: bool = False) -> Life:
    """Return a part's row of the drawing."""
    part = history.part
    until = min(part.removed_on or on, on)
    name = f"{part.fitted_on} – {part.removed_on}" if part.removed_on else _("since %(day)s") % {"day": part.fitted_on}
    return Life(
        name=name, href=part.get_absolute_url(), fitted_on=part.fitted_on, until=max(until, part.fitted_on),
        spans=history.age.spans, expected=expected, is_this=is_this,
        marks=[(event.on, event.mark) for event in history.events if event.mark is not None],
    )  # fmt: skip


def by_year(events: Sequence[Event]) -> list[Event]:
    """Return events for a table: the storms of a year stand in one line, at the first of them."""
    storms: dict[int, list[date]] = {}
    for event in events:
        if event.mark is MarkKind.STORM:
            storms.setdefault(event.on.year, []).append(event.on)
    rows = [event for event in events if event.mark is not MarkKind.STORM]
    for days in storms.values():
        text = ngettext("Storm", "Storms on %(count)s days", len(days)) % {"count": len(days)}
        note = ", ".join(day.isoformat() for day in days) if len(days) > 1 else ""
        rows.append(Event(on=days[0], text=text, note=note))
    return sorted(rows, key=lambda event: event.on)


def _at_the_spot(part: Component) -> list[Component]:
    """Return the part, the others of its kind at its place and spot, and those it replaced elsewhere."""
    same = Q(kind=part.kind, spot=part.spot, tunnel=part.tunnel_id, end_wall=part.end_wall_id, opening=part.opening_id)
    rows = Component.objects.filter(farm=part.farm_id).for_list().select_related("farm")
    parts = {each.pk: each for each in rows.filter(same | Q(pk=part.pk))}
    before = part.replaces_id
    for _step in range(LONGEST_CHAIN):
        if before is None:
            break
        if before not in parts:
            parts[before] = rows.get(pk=before)
        before = parts[before].replaces_id
    return list(parts.values())


def _add_fitting(kept: Iterable[History]) -> None:
    for history in kept:
        part = history.part
        note = _("lot %(lot)s") % {"lot": part.lot} if part.lot else ""
        history.events.append(Event(on=part.fitted_on, text=_("Fitted"), note=note))
        if part.removed_on is not None:
            said = [
                part.get_removal_reason_display(),
                part.get_failure_mode_display(),
                part.get_failure_cause_display(),
            ]
            text = "; ".join(str(word) for word in said if word)
            history.events.append(Event(on=part.removed_on, text=_("Removed"), note=text))


def _add_lay_ups(by_pk: dict[int, History]) -> None:
    for kept in LayUp.objects.filter(component__in=list(by_pk)).order_by("off_on"):
        events = by_pk[kept.component_id].events
        events.append(Event(on=kept.off_on, text=_("Taken down for the season")))
        if kept.back_on is not None:
            events.append(Event(on=kept.back_on, text=_("Put back")))


def _add_repairs(part: Component, by_pk: dict[int, History], kept: Sequence[History]) -> None:
    here = Q(component=None, part=part.kind, spot=part.spot) & _place(part)
    for repair in Repair.objects.filter(farm=part.farm_id).filter(Q(component__in=list(by_pk)) | here):
        history = by_pk.get(repair.component_id or 0) or _serving(kept, repair.found_on)
        if history is None:
            continue
        href = reverse("job", args=[part.farm.slug, repair.job_id]) if repair.job_id else ""
        text = _("Fault: %(mode)s") % {"mode": repair.get_mode_display()}
        history.events.append(
            Event(on=repair.found_on, text=text, note=repair.note, href=href, mark=MarkKind.REPAIR)
        )  # fmt: skip
        if repair.mended_on is not None:
            text = capfirst(str(repair.get_state_display()))
            history.events.append(Event(on=repair.mended_on, text=text, note=repair.mended_by, mark=MarkKind.REPAIR))


def _add_checks(part: Component, kept: Sequence[History]) -> None:
    """Add what screw checks found at the spot."""
    if part.opening_id is None or not part.spot:
        return
    for check in ScrewCheck.objects.filter(farm=part.farm_id, opening=part.opening_id, spot=part.spot):
        history = _serving(kept, check.on)
        if history is not None:
            text = _("Checked: %(outcome)s") % {"outcome": check.get_outcome_display()}
            history.events.append(Event(on=check.on, text=text, mark=MarkKind.CHECK))


def _add_jobs(part: Component, by_pk: dict[int, History], units: str) -> None:
    jobs = Job.objects.filter(farm=part.farm_id, plan__component__in=list(by_pk), state=Job.State.DONE)
    for job in jobs.exclude(repair__isnull=False).select_related("plan__routine"):
        if job.ended_on is None or job.plan.component_id is None:
            continue
        href = reverse("job", args=[part.farm.slug, job.pk])
        event = Event(on=job.ended_on, text=plan_name(job.plan, units), note=job.note, href=href, mark=MarkKind.JOB)
        by_pk[job.plan.component_id].events.append(event)


def _place(part: Component) -> Q:
    """Return where faults at a part's place are kept: they name the tunnel beside the narrower place."""
    if part.opening_id is not None:
        return Q(opening=part.opening_id)
    if part.end_wall_id is not None:
        return Q(end_wall=part.end_wall_id, opening=None)
    return Q(tunnel=part.tunnel_id, end_wall=None, opening=None)


def _serving(kept: Sequence[History], day: date) -> History | None:
    """Return what was in service on a day, the newest where several were."""
    serving = [
        each for each in kept if each.part.fitted_on <= day and (not each.part.removed_on or day < each.part.removed_on)
    ]
    return serving[-1] if serving else None
