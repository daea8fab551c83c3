"""A person's jobs as a calendar that other programs read (RFC 5545, RFC 7986), at a secret address."""

from __future__ import annotations

import hashlib
import re
import secrets
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any, Final

from django.conf import settings
from django.db.models import Count, Max, Q
from django.urls import reverse
from django.utils.translation import gettext as _
from icalendar import Calendar, Event, vText

from farm.models import Farm, Membership
from maintenance.messages.contacts import language_of, public_host, reading_as, units_of
from maintenance.messages.whose import jobs_for, with_words
from maintenance.models import CalendarFeed, Job, Plan
from maintenance.querysets import UNDONE, JobQuerySet, PlanQuerySet
from maintenance.words.letters import short_place
from maintenance.words.places import place_of, place_of_job
from maintenance.words.reasons import why
from maintenance.words.said import lines_in_units, plan_name, said_in_units

DAY: Final = timedelta(days=1)
LOOKS_BACK: Final = timedelta(days=30)  # over jobs that have ended
LOOKS_AHEAD: Final = timedelta(days=365)  # over what is planned
LONGEST_BAR: Final = timedelta(days=3)  # a longer window stands on its first day, its end in the text
NOTED_EVERY: Final = timedelta(hours=1)  # how exactly it is kept when a feed was last read
CALLED_OFF: Final = (Job.State.SKIPPED, Job.State.LAPSED)
UNPRINTABLE: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")  # no part of TEXT (RFC 5545, 3.3.11)


def make_feed(*, membership: Membership, now: datetime) -> str:
    """Make a secret address for a member and return its token; only the token's hash is kept."""
    token = secrets.token_urlsafe(32)
    CalendarFeed.objects.create(membership=membership, token_hash=_hash(token), created_at=now)
    return token


def revoke_feed(*, feed: CalendarFeed, now: datetime) -> None:
    """Close a secret address for good."""
    CalendarFeed.objects.filter(pk=feed.pk, revoked_at=None).update(revoked_at=now)


def find_feed(token: str, now: datetime) -> CalendarFeed | None:
    """Return the feed behind a token while it is open and its person active, and note that it is read."""
    live = CalendarFeed.objects.filter(token_hash=_hash(token), revoked_at=None, membership__user__is_active=True)
    feed = live.select_related("membership__farm", "membership__user").first()
    if feed is not None and (feed.last_read_at is None or feed.last_read_at <= now - NOTED_EVERY):
        CalendarFeed.objects.filter(pk=feed.pk).update(last_read_at=now)
    return feed


def calendar_of(feed: CalendarFeed, *, on: date) -> bytes:
    """Return a member's calendar: what is to do, what ended lately, and what is planned.

    The same rows give the same bytes, so that a reader who has them is not sent them again.
    """
    membership = feed.membership
    with reading_as(membership):
        calendar = _empty(membership)
        jobs = {_uid(job.plan_id, job.due_on): job for job in _jobs(membership, on)}
        for uid, job in jobs.items():
            calendar.add_component(_job_event(uid, job, on, units_of(membership)))
        for plan in _plans(membership.farm, on):
            uid = _uid(plan.pk, plan.turn.due_on)
            if uid not in jobs:
                calendar.add_component(_plan_event(uid, plan, (plan.turn.due_on, plan.turn.until_on), feed))
        return bytes(calendar.to_ical())


def _empty(membership: Membership) -> Calendar:
    language = language_of(membership)
    calendar = Calendar()
    calendar.add("prodid", f"-//Gablekeep//Upkeep//{language.upper()}")
    calendar.add("version", "2.0")
    calendar.add("name", _text(_("Upkeep, %(farm)s") % {"farm": membership.farm.name}), {"LANGUAGE": language})
    calendar.add("refresh-interval", NOTED_EVERY, {"VALUE": "DURATION"})
    return calendar


def _jobs(membership: Membership, on: date) -> JobQuerySet:
    wanted = Q(state__in=UNDONE) | Q(ended_on__gte=on - LOOKS_BACK)
    return with_words(jobs_for(membership).filter(wanted)).annotate(
        change_count=Count("events"), changed_at=Max("events__at")
    )


def _plans(farm: Farm, on: date) -> PlanQuerySet:
    ahead = Plan.objects.of(farm).running().filter(routine__is_active=True, turn__due_on__lte=on + LOOKS_AHEAD)
    return ahead.select_related(
        "turn", "routine", "farm", "tunnel", "end_wall__tunnel", "opening__end_wall__tunnel", "component"
    ).order_by("turn__due_on", "pk")


def _job_event(uid: str, job: Any, on: date, units: str) -> Event:
    name = plan_name(job.plan, units)
    event = _event(uid, job.due_on, job.until_on, _job_summary(job, name), place_of_job(job))
    changed_at = job.changed_at or job.opened_at
    event.add("dtstamp", changed_at.astimezone(UTC))
    event.add("last-modified", changed_at.astimezone(UTC))
    event.add("sequence", job.change_count + 1)  # 0 while it was only planned
    event.add("status", "CANCELLED" if job.state in CALLED_OFF else "CONFIRMED")
    event.add("description", _text("\n\n".join(_job_text(job, on, units))))
    event.add("categories", [_text(str(job.plan.routine.get_rhythm_display()))])
    event.add("url", f"{settings.PUBLIC_ADDRESS}{reverse('job', args=[job.farm.slug, job.pk])}")
    return event


def _job_summary(job: Job, name: str) -> str:
    what = f"{name}, {short_place(job)}"
    return what if job.state in UNDONE else f"{what} ({job.get_state_display()})"


def _job_text(job: Job, on: date, units: str) -> Iterator[str]:
    yield _("To do from %(first)s until %(last)s.") % {"first": job.due_on, "last": job.until_on}
    if reason := why(job, on if job.state in UNDONE else job.due_on, units):
        yield reason
    if lines := lines_in_units(job.plan.routine.checklist, units):
        yield "\n".join(f"- {line}" for line in lines)


def _plan_event(uid: str, plan: Plan, days: tuple[date, date], feed: CalendarFeed) -> Event:
    units, (due_on, until_on) = units_of(feed.membership), days
    event = _event(uid, due_on, until_on, f"{plan_name(plan, units)}, {place_of(plan)}", place_of(plan))
    event.add("dtstamp", feed.created_at.astimezone(UTC))
    event.add("sequence", 0)
    event.add("status", "TENTATIVE")
    text = _("Planned from %(first)s until %(last)s.") % {"first": due_on, "last": until_on}
    event.add("description", _text(f"{text}\n\n{said_in_units(plan.routine.why, units)}".strip()))
    event.add("categories", [_text(str(plan.routine.get_rhythm_display()))])
    return event


def _event(uid: str, due_on: date, until_on: date, summary: str, place: str) -> Event:
    """Return an event over a job's days: whole days, the end excluded (RFC 5545, 3.6.1)."""
    last_on = until_on if until_on - due_on <= LONGEST_BAR else due_on
    event = Event()
    event.add("uid", uid)
    event.add("summary", _text(summary))
    event.add("location", _text(place))
    event.add("dtstart", due_on)
    event.add("dtend", last_on + DAY)
    event.add("transp", "TRANSPARENT")
    return event


def _uid(plan_pk: int, due_on: date) -> str:
    """Return the name an event keeps, from when it is planned until it is done."""
    return f"{plan_pk}-{due_on:%Y%m%d}@{public_host()}"


class Words(vText):
    """Text as RFC 5545, 3.3.11, writes it; the library takes a backslash before an N for a line break."""

    def to_ical(self) -> bytes:
        text = str(self).replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
        return text.encode()


def _text(words: str) -> Words:
    return Words(UNPRINTABLE.sub("", words.replace("\r\n", "\n").replace("\r", "\n")))


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
