"""The record of a storm: one for each wind, which grows with every forecast and every deed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from django.db.models import F, Sum

from farm.models import Farm, Membership
from maintenance.blow.picture import picture_of
from maintenance.blow.reading import Outlook
from maintenance.blow.tasks import keep_tasks
from maintenance.models import Storm, StormLook, StormPerson, StormTask
from maintenance.storm.events import EventRules

State = Storm.State
LULL: Final = timedelta(seconds=EventRules().lull)  # a wind after a shorter pause is the same storm
WATCHED: Final = ("level", "peak_at", "peak_gust_m_s", "deadline_at", "start_by_at")
WHAT: Final = {"level": "level", "peak_at": "peak", "peak_gust_m_s": "peak", "deadline_at": "deadline",
               "start_by_at": "start"}  # fmt: skip

KEPT: Final = ("told_deadline",)  # facts that are not the forecast's: see notices.py


@dataclass(frozen=True, slots=True)
class Change:
    """What an assessment did to a storm: the last look before it, and the new one where there is any."""

    storm: Storm | None
    before: StormLook | None = None
    look: StormLook | None = None
    has_new_work: bool = False


def storm_ahead(farm: Farm) -> Storm | None:
    """Return the storm that comes or blows."""
    return Storm.objects.of(farm).ahead().first()


def people_for(*, farm: Farm, storm: Storm | None) -> list[StormPerson]:
    """Return who works before a storm: all the crew until somebody says otherwise; new ones are not yet saved."""
    known = list(storm.people.select_related("membership__user").order_by("pk")) if storm else []
    have = {one.membership_id for one in known}
    crew = Membership.objects.of(farm).filter(role=Membership.Role.CREW, user__is_active=True).exclude(pk__in=have)
    active = [one for one in known if one.membership.user.is_active]
    return [*active, *(StormPerson(storm=storm, membership=one) for one in crew.select_related("user").order_by("pk"))]


def ended_keys(storm: Storm | None) -> frozenset[str]:
    """Return the keys of the work that is done, or cannot be done."""
    if storm is None:
        return frozenset()
    return frozenset(storm.tasks.exclude(state=StormTask.State.OPEN).values_list("key", flat=True))


def keep(
    *, farm: Farm, storm: Storm | None, outlook: Outlook | None, people: list[StormPerson], now: datetime
) -> Change:
    """Bring the record in step with an outlook; the transaction is the caller's."""
    if storm is not None and (outlook is None or not _is_same(storm, outlook)) and (ended := _end(storm, now)):
        if ended.storm is not None and ended.storm.state == State.GONE and outlook is not None:
            return keep(farm=farm, storm=None, outlook=outlook, people=people, now=now)
        if outlook is None or ended.storm is None or ended.storm.state != State.OVER:
            return ended
        storm = None
    if outlook is None:
        return Change(storm)
    storm = storm or _again(farm, outlook) or _new(farm, outlook, now)
    before = storm.looks.order_by("at", "pk").last() if storm.pk else None
    _write(storm, outlook, now)
    fresh = [StormPerson(storm=storm, membership=one.membership) for one in people if one.pk is None]
    StormPerson.objects.bulk_create(fresh, ignore_conflicts=True)
    has_new_work = keep_tasks(storm=storm, outlook=outlook, now=now)
    return Change(storm, before, _look(storm, before, outlook, now), has_new_work or bool(fresh))


def by_the_clock(*, farm: Farm, now: datetime) -> Storm | None:
    """Begin or end a storm whose hour has come while no forecast is known."""
    storm = storm_ahead(farm)
    if storm is None:
        return None
    state = _state(storm, now)
    if state != storm.state:
        storm.state = state
        storm.save(update_fields=["state"])
    return storm if state in (State.COMING, State.BLOWING) else None


def open_minutes(storm: Storm) -> int:
    """Return the person-minutes of work left."""
    still_open = storm.tasks.filter(state=StormTask.State.OPEN)
    return still_open.aggregate(total=Sum(F("minutes") * F("people")))["total"] or 0


# One wind ------------------------------------------------------------------------


def _is_same(storm: Storm, outlook: Outlook) -> bool:
    """Return whether an outlook goes on with a storm: one to come may move, one that blows may pause."""
    return storm.state == State.COMING or outlook.event.onset - storm.ends_at < LULL


def _again(farm: Farm, outlook: Outlook) -> Storm | None:
    """Return the storm that had been given up or had ended, and is here after all."""
    last = Storm.objects.of(farm).filter(state__in=(State.GONE, State.OVER)).order_by("-ends_at", "-pk").first()
    if last is None or outlook.event.onset - last.ends_at >= LULL or last.begins_at - outlook.event.end >= LULL:
        return None
    return last


def _new(farm: Farm, outlook: Outlook, now: datetime) -> Storm:
    return Storm(farm=farm, opened_at=now, begins_at=outlook.event.onset)


def _end(storm: Storm, now: datetime) -> Change | None:
    """End a storm of which the forecast knows no more: it did not come, or it is over; None while it may still blow."""
    state = _state(storm, now)
    if state == State.COMING:
        state = State.GONE
    if state == State.BLOWING:
        return None
    before = storm.looks.order_by("at", "pk").last()
    storm.state, storm.assessed_at = state, now
    storm.save(update_fields=["state", "assessed_at"])
    look = None
    if before is not None:
        look = StormLook.objects.create(
            storm=storm, at=now, level=0 if state == State.GONE else storm.level, peak_at=storm.peak_at,
            peak_gust_m_s=storm.peak_gust_m_s, deadline_at=storm.deadline_at, start_by_at=storm.start_by_at,
            open_minutes=open_minutes(storm), people=before.people, what=str(state),
        )  # fmt: skip
    return Change(storm, before, look)


def _state(storm: Storm, now: datetime) -> Storm.State:
    if now < storm.begins_at:
        return State.COMING
    return State.BLOWING if now < storm.ends_at else State.OVER


def _write(storm: Storm, outlook: Outlook, now: datetime) -> None:
    """Write an outlook into a storm. What has begun keeps its deadline, and never grows weaker than it was."""
    event, has_begun = outlook.event, _has_begun(storm, outlook, now)
    peak = _speed(event.peak)
    if has_begun:
        storm.level = max(storm.level, outlook.level)
        if peak > storm.peak_gust_m_s:
            storm.peak_at, storm.peak_gust_m_s = event.peak_at, peak
        storm.ends_at = max(event.end, now)
    else:
        storm.level = outlook.level
        storm.begins_at, storm.ends_at = event.onset, event.end
        storm.peak_at, storm.peak_gust_m_s = event.peak_at, peak
        storm.deadline_at, storm.start_by_at = outlook.clock.deadline, outlook.start_by
    storm.facts = {**picture_of(outlook), **{name: storm.facts[name] for name in KEPT if name in storm.facts}}
    storm.assessed_at = now
    storm.state = _state(storm, now)
    if storm.state == State.OVER:
        storm.state = State.BLOWING
    storm.save()


def _has_begun(storm: Storm, outlook: Outlook, now: datetime) -> bool:
    """Return whether it blows already: a storm that is late may still be moved on."""
    if storm.pk is None:
        return False
    return storm.state == State.BLOWING or (storm.begins_at <= now and outlook.event.onset <= now)


def _look(storm: Storm, before: StormLook | None, outlook: Outlook, now: datetime) -> StormLook | None:
    what = ["opened"]
    if before is not None:
        what = list(dict.fromkeys(WHAT[name] for name in WATCHED if getattr(before, name) != getattr(storm, name)))
        if before.what in (State.GONE, State.OVER):
            what = ["again"]
    if not what:
        return None
    return StormLook.objects.create(
        storm=storm, at=now, forecast=outlook.sky.forecast, level=storm.level, peak_at=storm.peak_at,
        peak_gust_m_s=storm.peak_gust_m_s, deadline_at=storm.deadline_at, start_by_at=storm.start_by_at,
        open_minutes=open_minutes(storm), people=outlook.people, what=",".join(what),
    )  # fmt: skip


def _speed(metres_per_second: float) -> Decimal:
    return Decimal(str(round(metres_per_second, 2)))
