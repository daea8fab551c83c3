"""Who is told what: the morning list of each member, and at once what cannot wait for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from functools import cached_property
from itertools import groupby
from typing import Final

from django.db.models import Exists, OuterRef, Q, QuerySet

from farm.models import Farm, Membership
from maintenance.messages.answering import AHEAD
from maintenance.messages.contacts import addressees, contact_of, language_of, reading_as, units_of
from maintenance.messages.outbox import Notice, write
from maintenance.messages.whose import concerns, pressing, with_words
from maintenance.models import Contact, Job, Reminder
from maintenance.words.letters import Morning, digest_body, digest_subject, urgent_body, urgent_subject

HEALS: Final = timedelta(hours=6)  # a list this late is still one for the day
LIST_LIFE: Final = timedelta(hours=20)  # then the next one is near
URGENT_LIFE: Final = timedelta(days=7)
LOOKS_BACK: Final = timedelta(hours=24)  # for urgent jobs whose people were not told yet
USUAL: Final = Contact()


def write_digests(*, now: datetime) -> None:
    """Write the morning list of every member whose hour has come, once a day, where there is anything to do."""
    for on, zones, clock in _clocks(now):
        members = _due_members(on, zones, clock).order_by("farm_id", "pk")
        for _farm_id, found in groupby(members.iterator(chunk_size=1000), key=lambda member: member.farm_id):
            _write_for_farm(list(found), on, now)


def write_urgent(*, job: Job, now: datetime, is_danger: bool = False) -> None:
    """Tell those whom an urgent job concerns at once, or when their quiet hours end; once for each job."""
    on = now.astimezone(job.farm.zone).date()
    loaded = with_words(Job.objects.filter(pk=job.pk)).get()
    members = [member for member in addressees().filter(farm=job.farm_id) if _is_called(member, loaded)]
    write((_urgent_notice(member, loaded, on, now, is_danger) for member in members), now=now)


def write_urgent_jobs(*, now: datetime) -> None:
    """Write what is urgent and was opened lately; who was told before is not told again."""
    fresh = Job.objects.undone().filter(plan__routine__is_urgent=True, opened_at__gt=now - LOOKS_BACK)
    told = Reminder.objects.filter(job=OuterRef("pk"), kind=Reminder.Kind.NOW)
    for job in fresh.filter(~Exists(told)).select_related("farm").order_by("pk"):
        write_urgent(job=job, now=now)


def _clocks(now: datetime) -> Iterator[tuple[date, list[str], datetime]]:
    """Yield the farms' time zones by what their clocks show."""
    shown: dict[datetime, list[str]] = {}
    for name in Farm.objects.order_by().values_list("time_zone", flat=True).distinct():
        clock = now.astimezone(Farm(time_zone=name).zone).replace(tzinfo=None)
        shown.setdefault(clock, []).append(name)
    for clock, zones in shown.items():
        yield clock.date(), zones, clock


def _due_members(on: date, zones: Sequence[str], clock: datetime) -> QuerySet[Membership]:
    """Return the members whose hour has come by a clock, who have no list for the day yet, and to whom it goes."""
    since = max(clock - HEALS, datetime.combine(on, time.min)).time()
    hour = Q(contact__digest_at__gte=since, contact__digest_at__lte=clock.time(), contact__has_digest=True)
    if since <= USUAL.digest_at <= clock.time():
        hour |= Q(contact=None) & ~Q(role=Membership.Role.VIEWER)
    work = Job.objects.undone().filter(farm=OuterRef("farm"), until_on__lte=on + AHEAD)
    told = Reminder.objects.filter(membership=OuterRef("pk"), key=_key(on))
    return addressees().filter(hour, Exists(work), ~Exists(told), farm__time_zone__in=zones)


def _key(on: date) -> str:
    return f"digest-{on.isoformat()}"


def _write_for_farm(members: Sequence[Membership], on: date, now: datetime) -> None:
    """Write the lists of one farm's members: its jobs are read once, and what many share is worded once."""
    desk = _Desk(members[0].farm, on)
    notices = (desk.notice(member, now) for member in members)
    write((notice for notice in notices if notice is not None), now=now)


class _Desk:
    """A farm's jobs of a day, and the lists already worded from them."""

    def __init__(self, farm: Farm, on: date) -> None:
        self.farm, self.on = farm, on
        self._worded: dict[tuple[int | None, str, str], tuple[str, str]] = {}

    @cached_property
    def jobs(self) -> list[Job]:
        """What has to be done within a week."""
        return list(with_words(pressing(Job.objects.of(self.farm), self.on + AHEAD)))

    @cached_property
    def longer(self) -> Counter[int | None]:
        """How many undone jobs have longer, by whom they are assigned to."""
        later = Job.objects.of(self.farm).undone().filter(until_on__gt=self.on + AHEAD)
        return Counter(later.order_by().values_list("assigned_to", flat=True))

    @cached_property
    def busy(self) -> set[int | None]:
        """Who has jobs of one's own."""
        return {job.assigned_to_id for job in self.jobs} | set(self.longer)

    def notice(self, member: Membership, now: datetime) -> Notice | None:
        """Return a member's list, or nothing where nothing presses."""
        whose = self._whose(member)
        if whose is not None and not any(concerns(job, member) for job in self.jobs):
            return None
        key = (whose, language_of(member), units_of(member))
        if key not in self._worded:
            self._worded[key] = self._word(member)
        subject, body = self._worded[key]
        return Notice(
            membership=member, kind=Reminder.Kind.DIGEST, key=_key(self.on), subject=subject, body=body,
            expires_at=now + LIST_LIFE,
        )  # fmt: skip

    def _whose(self, member: Membership) -> int | None:
        """Return whose list a member reads: everybody's, nobody's besides the unassigned jobs, or one's own."""
        if member.role != Membership.Role.CREW:
            return None
        return member.user_id if member.user_id in self.busy else 0

    def _word(self, member: Membership) -> tuple[str, str]:
        jobs = [job for job in self.jobs if concerns(job, member)]
        mine = (None, member.user_id) if member.role == Membership.Role.CREW else tuple(self.longer)
        morning = Morning(jobs, sum(self.longer[person] for person in mine), self.on)
        with reading_as(member):
            return digest_subject(self.farm, morning), digest_body(morning, units_of(member))


def _is_called(member: Membership, job: Job) -> bool:
    """Tell whether a member is told of an urgent job: who works, and viewers who wish to hear."""
    return concerns(job, member) and (member.role != Membership.Role.VIEWER or contact_of(member).has_digest)


def _urgent_notice(member: Membership, job: Job, on: date, now: datetime, is_danger: bool) -> Notice:
    with reading_as(member):
        units = units_of(member)
        return Notice(
            membership=member, kind=Reminder.Kind.NOW, key=f"job-{job.pk}", subject=urgent_subject(job, units),
            body=urgent_body(job, on, units), job=job, expires_at=now + URGENT_LIFE, is_danger=is_danger,
        )  # fmt: skip
