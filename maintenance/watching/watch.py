"""What of the program does not work, so that nobody takes its silence for calm; and who is told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import IntEnum
from typing import Any, Final

from django.conf import settings
from django.core.cache import cache
from django.db.models import Count, Exists, Max, Min, OuterRef, Q, Subquery

from farm.models import Farm, Membership
from maintenance.messages.delivery import LEFT, NO_ADDRESS, NOT_WISHED, TOO_LATE
from maintenance.models import Forecast, Heartbeat, Reminder, WeatherSource
from maintenance.services import LONGEST_SILENCE
from maintenance.skies.latest import age_of

LONGEST_WAIT: Final = timedelta(minutes=15)  # of a message that nothing holds up
LOOKS_BACK: Final = timedelta(hours=24)
THUNDER_WITHIN: Final = timedelta(hours=24)
KEPT: Final = 20  # seconds that a farm's findings serve its pages
OF_ONE_PERSON: Final = (LEFT, NO_ADDRESS, NOT_WISHED)  # says nothing of the way
State, Way = Reminder.State, Reminder.Way


class Severity(IntEnum):
    """What ignoring it may lead to, by the signal words of ANSI Z535."""

    NOTICE = 1  # something is not set up
    CAUTION = 2  # somebody is not told
    WARNING = 3  # somebody takes a wind for calm


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One thing that does not work: ``key`` names it, ``since`` says how long, ``count`` how many messages wait."""

    key: str
    severity: Severity
    since: datetime | None = None
    count: int = 0


@dataclass(frozen=True, slots=True)
class _WayFacts:
    """How the messages of one way fared of late."""

    way: str
    is_set: bool
    sent_at: datetime | None
    failed_at: datetime | None
    since: datetime | None
    failing: int
    overdue: int
    overdue_since: datetime | None


def troubles_of(*, farm: Farm, now: datetime) -> tuple[Trouble, ...]:
    """Return what does not work for a farm, worst first; empty when all is well. Takes two queries."""
    row = _facts().get(pk=farm.pk)
    ways = _ways(farm, now)
    found = [*_silence(row, now), *_sky(row, now), *_broken_ways(row, ways)]
    if not any(one.key in ("worker", "mail", "push") for one in found):
        found += _waiting(ways)
    return tuple(sorted(found, key=lambda one: -one.severity))


def kept_troubles(*, farm: Farm, now: datetime) -> tuple[Trouble, ...]:
    """Return ``troubles_of`` for a page: found out at most every 20 seconds in each process."""
    key = f"watch-{farm.pk}"
    found: tuple[Trouble, ...] | None = cache.get(key)
    if found is None:
        found = troubles_of(farm=farm, now=now)
        cache.set(key, found, KEPT)
    return found


# The worker and the forecast ------------------------------------------------------


def _facts() -> Any:
    """Return farms with the last sign of life, and with what is known of their weather."""
    source = WeatherSource.objects.filter(farm=OuterRef("pk"))
    of_cell = Forecast.objects.filter(cell__sources__farm=OuterRef("pk")).latest_first()
    typed = Forecast.objects.filter(farm=OuterRef("pk")).latest_first()
    columns = {
        f"{name}_{column}": Subquery(rows.values(column)[:1])
        for name, rows in (("cell", of_cell), ("typed", typed))
        for column in ("issued_at", "fetched_at", "spells")
    }
    return Farm.objects.annotate(
        beat_at=Subquery(Heartbeat.objects.filter(name="worker").values("beat_at")[:1]),
        kind=Subquery(source.values("kind")[:1]), oldest_hours=Subquery(source.values("oldest_hours")[:1]),
        failures=Subquery(source.values("cell__failures")[:1]), wants_mail=Exists(_mail_wishes()), **columns,
    )  # fmt: skip


def _mail_wishes() -> Any:
    usual = Q(contact=None) & ~Q(user__email="")
    wished = Q(contact__by_email=True) & (~Q(contact__email="") | ~Q(user__email=""))
    return Membership.objects.filter(usual | wished, farm=OuterRef("pk"), user__is_active=True)


def _silence(row: Any, now: datetime) -> Iterator[Trouble]:
    """Yield the worker where it gave no sign of life; a farm just made waits for the first."""
    since = row.beat_at or row.created_at
    if now - since > LONGEST_SILENCE:
        yield Trouble(key="worker", severity=Severity.WARNING, since=since)


def _sky(row: Any, now: datetime) -> Iterator[Trouble]:
    """Yield what is wrong with the forecast to act on, and the thunder in it."""
    oldest = timedelta(hours=row.oldest_hours or WeatherSource._meta.get_field("oldest_hours").default)
    known = [
        (Forecast(issued_at=getattr(row, f"{name}_issued_at"), fetched_at=getattr(row, f"{name}_fetched_at")), name)
        for name in ("cell", "typed")
        if getattr(row, f"{name}_issued_at")
    ]
    fresh = [pair for pair in known if age_of(pair[0], now) <= oldest]
    is_typed = row.kind in (None, WeatherSource.Kind.TYPED)
    if not known:
        yield Trouble(key="forecast-none", severity=Severity.NOTICE if is_typed else Severity.WARNING)
        return
    used, name = fresh[0] if fresh else min(known, key=lambda pair: age_of(pair[0], now))
    made_at = min(used.issued_at, used.fetched_at)
    if not fresh:
        key = "forecast-typed" if is_typed else "forecast"
        yield Trouble(key=key, severity=Severity.WARNING, since=made_at)
    elif row.failures:
        yield Trouble(key="source", severity=Severity.CAUTION, since=made_at, count=row.failures)
    if (at := _thunder_at(getattr(row, f"{name}_spells"), now)) is not None:
        yield Trouble(key="thunder", severity=Severity.WARNING, since=at)


def _thunder_at(spells: Sequence[dict[str, Any]], now: datetime) -> datetime | None:
    """Return when thunder is first forecast within a day, or now where it is there already."""
    times = (
        (datetime.fromisoformat(spell["start"]), datetime.fromisoformat(spell["end"]))
        for spell in spells
        if spell.get("thunder")
    )
    ahead = [max(start, now) for start, end in times if end > now and start < now + THUNDER_WITHIN]
    return min(ahead, default=None)


# Messages -------------------------------------------------------------------------


def _ways(farm: Farm, now: datetime) -> list[_WayFacts]:
    """Return how each way fares, in one query."""
    tried = Q(tries__gt=0) & ~Q(error="") & ~Q(error__in=OF_ONE_PERSON)
    failing = tried & Q(state__in=(State.WAITING, State.FAILED), claimed_at__gt=now - LOOKS_BACK)
    overdue = Q(state__in=(State.WAITING, State.SENDING), not_before__lt=now - LONGEST_WAIT)
    late = overdue | Q(state=State.FAILED, error=TOO_LATE, expires_at__gt=now - LOOKS_BACK)
    asked: dict[str, Any] = {}
    for way in Way.values:
        its = Q(way=way)
        asked |= {
            f"{way}_sent_at": Max("sent_at", filter=its),
            f"{way}_failed_at": Max("claimed_at", filter=its & failing),
            f"{way}_since": Min("made_at", filter=its & failing),
            f"{way}_failing": Count("pk", filter=its & failing),
            f"{way}_overdue": Count("pk", filter=its & late),
            f"{way}_overdue_since": Min("not_before", filter=its & late),
        }
    found = Reminder.objects.of(farm).filter(made_at__gt=now - 7 * LOOKS_BACK).aggregate(**asked)
    is_set = {Way.EMAIL: settings.HAS_MAIL_SERVER, Way.PUSH: bool(settings.PUSH_CONTACT)}
    columns = ("sent_at", "failed_at", "since", "failing", "overdue", "overdue_since")
    return [_WayFacts(str(way), is_set[way], **{column: found[f"{way}_{column}"] for column in columns}) for way in Way]


def _broken_ways(row: Any, ways: Sequence[_WayFacts]) -> Iterator[Trouble]:
    """Yield the ways by which nothing has left since the last failure, and mail that is wanted but not set up."""
    for facts in ways:
        key = "mail" if facts.way == Way.EMAIL else "push"
        if not facts.is_set:
            if facts.overdue or (key == "mail" and row.wants_mail):
                yield Trouble(key=f"{key}-unset", severity=Severity.NOTICE, count=facts.overdue)
        elif facts.failed_at and (facts.sent_at is None or facts.sent_at < facts.failed_at):
            yield Trouble(key=key, severity=Severity.CAUTION, since=facts.since, count=facts.failing)


def _waiting(ways: Sequence[_WayFacts]) -> Iterator[Trouble]:
    """Yield the messages that nothing should hold up and that wait all the same."""
    late = [facts for facts in ways if facts.is_set and facts.overdue]
    if late:
        since = min(facts.overdue_since for facts in late if facts.overdue_since)
        yield Trouble(key="waiting", severity=Severity.CAUTION, since=since, count=sum(facts.overdue for facts in late))
