"""Tell people of a storm: when it appears, grows, comes sooner, its work must begin, or it is called off; each once."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from django.urls import reverse
from django.utils.translation import gettext as _

from farm.models import Membership
from farm.units import format_gust
from maintenance.blow.facts import facts_from_json, moment, written
from maintenance.blow.record import Change, open_minutes
from maintenance.messages.contacts import addressees, reading_as, units_of
from maintenance.messages.outbox import Notice, write
from maintenance.models import Reminder, Storm, StormLook, StormTask
from maintenance.words import storm as words

MOVED: Final = timedelta(minutes=30)  # a smaller shift of the deadline is no news
NEAR: Final = timedelta(hours=2)  # before the latest start
AGAIN: Final = "again"  # what a look says that finds a storm after it was called off
BREAKS_IN: Final = 4  # from this level a message does not wait for the end of quiet hours


def tell_of(*, change: Change, now: datetime) -> None:
    """Write the messages that a change of a storm makes necessary."""
    storm = change.storm
    if storm is not None and storm.state == Storm.State.GONE and change.look is not None:
        _call_off(storm, now)
    if storm is None or storm.state != Storm.State.COMING:
        return
    minutes = open_minutes(storm)
    occasions = list(_occasions(storm, change, minutes, now))
    if not occasions:
        return
    members = list(_told(storm))
    write((_notice(one, storm, occasion, minutes, now) for one in members for occasion in occasions), now=now)
    storm.facts["told_deadline"] = written(storm.deadline_at)
    storm.save(update_fields=["facts"])


def _occasions(storm: Storm, change: Change, minutes: int, now: datetime) -> Iterator[str]:
    """Yield the keys of what there is to tell, at most one of a storm's growth and one of its start."""
    told = moment(storm.facts.get("told_deadline"))
    if change.look is not None:
        if change.look.what == AGAIN:
            yield f"storm-{storm.pk}-again-{_times_gone(storm)}"
        elif change.before is None or storm.level > change.before.level:
            yield f"storm-{storm.pk}-level-{storm.level}"
        elif storm.deadline_at is not None and (told is None or abs(storm.deadline_at - told) >= MOVED):
            yield f"storm-{storm.pk}-deadline-{written(storm.deadline_at)}"
    if minutes and storm.deadline_at is not None and now >= (storm.start_by_at or now) - NEAR:
        yield f"storm-{storm.pk}-start-{written(storm.deadline_at)}"


def _told(storm: Storm) -> Iterator[Membership]:
    """Yield the managers, and those of the crew who have work before this storm: until it is given out, all here."""
    tasks = StormTask.objects.filter(storm=storm)
    busy = {*tasks.values_list("assigned_to_id", flat=True), *tasks.values_list("second_id", flat=True)} - {None}
    busy = busy or set(storm.people.filter(is_here=True).values_list("membership__user_id", flat=True))
    for one in addressees().filter(farm=storm.farm_id):
        if one.role == Membership.Role.MANAGER or (one.role == Membership.Role.CREW and one.user_id in busy):
            yield one


def _notice(membership: Membership, storm: Storm, key: str, minutes: int, now: datetime) -> Notice:
    is_start = "-start-" in key
    with reading_as(membership):
        return Notice(
            membership=membership, kind=Reminder.Kind.NOW, key=key, subject=_subject(storm, now, is_start=is_start),
            body=_body(storm, minutes, units_of(membership), now), expires_at=storm.begins_at,
            path=reverse("storm", args=[membership.farm.slug, storm.pk]),
            is_danger=is_start or storm.level >= BREAKS_IN,
        )  # fmt: skip


def _call_off(storm: Storm, now: datetime) -> None:
    """Tell those who were told of a storm that it does not come."""
    warned = Reminder.objects.filter(farm=storm.farm_id, key__startswith=f"storm-{storm.pk}-")
    members = addressees().filter(pk__in=warned.exclude(key__contains="-cannot-").values("membership"))
    key = f"storm-{storm.pk}-gone-{_times_gone(storm)}"
    write((_no_storm(one, storm, key, now) for one in members), now=now)


def _times_gone(storm: Storm) -> int:
    return StormLook.objects.filter(storm=storm, what=Storm.State.GONE).count()


def _no_storm(membership: Membership, storm: Storm, key: str, now: datetime) -> Notice:
    with reading_as(membership):
        body = [
            _("By the latest forecast no wind comes that anything has to be closed for."),
            _("What is shut already gets hot: open it again."),
            _("Wind figures are planning estimates."),
        ]
        return Notice(
            membership=membership, kind=Reminder.Kind.NOW, key=key, body="\n".join(body), expires_at=storm.ends_at,
            subject=_("Called off: the storm of %(day)s") % {"day": words.day_text(storm.begins_at, now)},
            path=reverse("storm", args=[membership.farm.slug, storm.pk]),
        )  # fmt: skip


def _subject(storm: Storm, now: datetime, *, is_start: bool) -> str:
    if storm.deadline_at is None:
        return _("A storm, and no time to work before it")
    deadline = words.day_text(storm.deadline_at, now)
    if storm.start_by_at is None:
        return _("Done by %(deadline)s: start now, not all of it fits") % {"deadline": deadline}
    params = {"deadline": deadline, "start": words.day_text(storm.start_by_at)}
    if is_start:
        return _("Start by %(start)s: all shut by %(deadline)s") % params
    return _("Done by %(deadline)s: start by %(start)s") % params


def _body(storm: Storm, minutes: int, units: str, now: datetime) -> str:
    lines = []
    if storm.deadline_at is not None:
        bounds = facts_from_json(storm.facts.get("bounds", ()))
        deadline = words.day_text(storm.deadline_at, now)
        lines.append(_("Done by %(deadline)s.") % {"deadline": deadline})
        lines.append(words.why_deadline(bounds, storm.deadline_at, units) + ".")
    lines.append(words.work_text(minutes, storm.facts.get("people", 0)) + ".")
    lines.append(
        _("Level %(level)s. Peak %(peak)s: %(gust)s.") % {
            "level": words.level_text(storm.level), "peak": words.day_text(storm.peak_at, now),
            "gust": format_gust(storm.peak_gust_m_s, units),
        }
    )  # fmt: skip
    lines.append(_("Wind figures are planning estimates."))
    return "\n".join(lines)
