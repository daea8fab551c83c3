"""Managers are told what does not work, by the way that still does: once a day for each fault, and when it is over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import Final

from django.urls import reverse
from django.utils.translation import gettext as _

from farm.models import Farm, Membership
from maintenance.messages.contacts import addressees, reading_as
from maintenance.messages.outbox import Notice, write
from maintenance.models import Reminder, Storm
from maintenance.watching.watch import Severity, Trouble, troubles_of
from maintenance.words.watching import again, say

LIFE: Final = timedelta(hours=12)
LOOKS_BACK: Final = timedelta(days=1)
KEY: Final = "watch"
OVER: Final = "-over"
WAYS: Final = {  # the others are left out: they would carry the news of their own fault
    "mail": (Reminder.Way.PUSH,),
    "push": (Reminder.Way.EMAIL,),
}
WORSE: Final = {"source": ("forecast", "forecast-none")}  # what such a fault grows into: it is not over
ON_PAGES: Final = ("thunder", "worker")  # nothing is broken; whoever sends this is the worker


def tell_watch(*, now: datetime) -> None:
    """Tell the managers of every farm what does not work, and those who were told when it works again."""
    members: defaultdict[Farm, list[Membership]] = defaultdict(list)
    for member in addressees().filter(role=Membership.Role.MANAGER):
        members[member.farm].append(member)
    for farm, managers in members.items():
        broken = [one for one in troubles_of(farm=farm, now=now) if _is_told(one)]
        told = _told(farm, now)
        if broken or told:
            write((*_faults(managers, broken, told, now), *_recoveries(managers, broken, told, now)), now=now)


def _is_told(trouble: Trouble) -> bool:
    return trouble.severity >= Severity.CAUTION and trouble.key not in ON_PAGES


def _faults(
    managers: Sequence[Membership], broken: Sequence[Trouble], told: Collection[tuple[int, str]], now: datetime
) -> Iterator[Notice]:
    """Yield what is broken; before a storm it breaks into quiet hours, but on the next day not again."""
    if not broken:
        return
    farm, keys = managers[0].farm, {one.key for one in broken}
    known = {(pk, _fault(key)) for pk, key in told if not key.endswith(OVER)}
    is_danger = Storm.objects.of(farm).ahead().exists()
    for trouble in broken:
        for member in managers:
            with reading_as(member):
                breaks_in = is_danger and trouble.severity == Severity.WARNING and (member.pk, trouble.key) not in known
                text = say(trouble, now).text
                yield _notice(
                    member, _key(trouble.key, _day(farm, now)), text, now, _open_ways(keys), is_danger=breaks_in
                )


def _recoveries(
    managers: Sequence[Membership], broken: Sequence[Trouble], told: Collection[tuple[int, str]], now: datetime
) -> Iterator[Notice]:
    """Yield that a fault is over, for those who were told of it; its own key lets nobody be told twice a day."""
    standing = {one.key for one in broken}
    standing |= {fault for fault, worse in WORSE.items() if standing & set(worse)}
    by_pk = {member.pk: member for member in managers}
    latest = {(pk, _fault(key)): key for pk, key in sorted(told) if not key.endswith(OVER)}
    for (pk, fault), key in latest.items():
        if fault not in standing and pk in by_pk and (pk, key + OVER) not in told:
            with reading_as(by_pk[pk]):
                yield _notice(by_pk[pk], key + OVER, again(fault), now, _open_ways(standing))


def _told(farm: Farm, now: datetime) -> set[tuple[int, str]]:
    """Return who was told what since yesterday."""
    rows = Reminder.objects.of(farm).filter(key__startswith=f"{KEY}-", made_at__gt=now - LOOKS_BACK)
    return set(rows.values_list("membership_id", "key"))


def _open_ways(broken: Collection[str]) -> tuple[Reminder.Way, ...]:
    """Return the ways that are not broken themselves; both where neither is left, for when one works again."""
    ways = set(Reminder.Way)
    for key in broken:
        ways &= set(WAYS.get(key, Reminder.Way))
    return tuple(way for way in Reminder.Way if way in (ways or set(Reminder.Way)))


def _notice(
    member: Membership, key: str, text: str, now: datetime, ways: tuple[Reminder.Way, ...], *, is_danger: bool = False
) -> Notice:
    farm = member.farm
    return Notice(
        membership=member, kind=Reminder.Kind.NOW, key=key, body=text, path=reverse("reminders", args=[farm.slug]),
        subject=_("%(farm)s: %(what)s") % {"farm": farm.name, "what": text.partition(". ")[0].partition(": ")[0]},
        expires_at=now + LIFE, is_danger=is_danger, ways=ways,
    )  # fmt: skip


def _key(fault: str, on: date) -> str:
    return f"{KEY}-{fault}-{on.isoformat()}"


def _fault(key: str) -> str:
    return key.removeprefix(f"{KEY}-")[: -len("-2000-01-01")]


def _day(farm: Farm, now: datetime) -> date:
    return now.astimezone(farm.zone).date()
