"""Job cards on paper: which jobs stand on whose, or on which place's, and what each of them prints."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Final
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.models import User
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import override

from doors.models import Material
from farm.models import Farm, Membership, Tunnel
from maintenance.messages.contacts import language_of
from maintenance.models import Job, Label, Plan, Routine
from maintenance.querysets import UNDONE, JobQuerySet
from maintenance.words.places import place_of_job
from maintenance.words.reasons import lateness
from maintenance.words.said import lines_in_units, person
from maintenance.work import jobcard
from maintenance.work.sheetnumbers import SheetNumber, card_of
from maintenance.work.worklist import row_of

AHEAD_DAYS: Final = 7
MOST_JOBS: Final = 60  # on one card
ORDER: Final = ("until_on", F("plan__tunnel__code").asc(nulls_first=True), "pk")


@dataclass(frozen=True, slots=True)
class PartBox:
    """A part that a job takes, with the material where only one fits."""

    name: str
    quantity: Decimal
    material: Material | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperJob:
    """One job as a card prints it, in the language of whoever carries it."""

    job: Job
    where: str
    what: str
    when: str
    minutes: int
    lines: tuple[str, ...]
    parts: tuple[PartBox, ...]
    spots: tuple[str, ...]
    asks: str
    address: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperCard:
    """One card: for a person, or for a place."""

    number: SheetNumber
    name: str
    language: str
    jobs: tuple[PaperJob, ...]
    left_out: int


def standing_on(*, farm: Farm, day: date, ahead_days: int = AHEAD_DAYS) -> JobQuerySet:
    """Return the jobs that a card printed on a day shows: there on that day, not ended before it, due soon after."""
    midnight = datetime.combine(day + timedelta(days=1), time.min, tzinfo=farm.zone)
    not_yet_ended = Q(state__in=UNDONE, until_on__lte=day + timedelta(days=ahead_days)) | Q(
        state__in=("done", "skipped"), ended_on__gte=day
    )
    jobs = Job.objects.of(farm).filter(not_yet_ended, opened_at__lt=midnight)
    return jobs.for_list().select_related("farm").order_by(*ORDER)


def narrowed(jobs: JobQuerySet, number: SheetNumber, farm: Farm) -> JobQuerySet:
    """Return the jobs of one card: a member's, nobody's, a tunnel's, or those at no tunnel."""
    if number.kind == "L":
        return jobs.filter(plan__tunnel=number.first or None)
    if not number.first:
        return jobs.filter(assigned_to=None)
    return jobs.filter(assigned_to__memberships__farm=farm, assigned_to__memberships__pk=number.first)


def cards_by_person(*, farm: Farm, day: date, wanted: Sequence[Membership | None]) -> list[PaperCard]:
    """Return a card for each member who has something to do, in the member's language; None is for nobody's jobs."""
    jobs = list(standing_on(farm=farm, day=day).undone())
    prints = _Printing(farm, jobs, day)
    cards = []
    for member in wanted:
        own = [job for job in jobs if job.assigned_to_id == (member.user_id if member else None)]
        if own:
            language = language_of(member) if member else farm.language
            name = person(member.user) if member else ""
            cards.append(prints.card(card_of("P", member.pk if member else None, day), name, language, own))
    return cards


def cards_by_place(*, farm: Farm, day: date, wanted: Sequence[Tunnel | None]) -> list[PaperCard]:
    """Return a card for each tunnel where something is to do, in the farm's language; None is the farm as a whole."""
    jobs = list(standing_on(farm=farm, day=day).undone())
    prints = _Printing(farm, jobs, day)
    cards = []
    for tunnel in wanted:
        there = [job for job in jobs if job.plan.tunnel_id == (tunnel.pk if tunnel else None)]
        if there:
            name = tunnel.code if tunnel else farm.name
            cards.append(prints.card(card_of("L", tunnel.pk if tunnel else None, day), name, farm.language, there))
    return cards


def parts_of(routine: Routine, materials: Sequence[Material]) -> tuple[PartBox, ...]:
    """Return the parts a routine takes, each with its material where only one is meant."""
    boxes = []
    for line in routine.parts:
        wanted = str(line.get("material", ""))
        fitting = [material for material in materials if wanted in (material.code, material.kind)]
        name = jobcard.line_of(line, list(materials), {}).name
        boxes.append(PartBox(name, Decimal(str(line.get("quantity", 1))), fitting[0] if len(fitting) == 1 else None))
    return tuple(boxes)


class _Printing:
    """What all cards share, loaded once."""

    def __init__(self, farm: Farm, jobs: Sequence[Job], day: date) -> None:
        self.farm, self.day = farm, day
        self.spots = jobcard.spots_of_many(jobs, farm)
        self.materials = jobcard.book_of(farm)
        self.addresses = addresses_of(farm)

    def card(self, number: SheetNumber, name: str, language: str, jobs: Sequence[Job]) -> PaperCard:
        with override(language):
            printed = tuple(self._job(job) for job in jobs[:MOST_JOBS])
        return PaperCard(
            number=number, name=name, language=language, jobs=printed, left_out=max(0, len(jobs) - MOST_JOBS)
        )

    def _job(self, job: Job) -> PaperJob:
        routine, units = job.plan.routine, self.farm.units
        row = row_of(job, self.day, units)
        return PaperJob(
            job=job, where=place_of_job(job), what=row.what, when=lateness(job, self.day), minutes=row.minutes,
            lines=tuple(lines_in_units(routine.checklist, units)), parts=parts_of(routine, self.materials),
            spots=tuple(self.spots.get(job.pk, ())), asks=routine.answer, address=_address(job.plan, self.addresses),
        )  # fmt: skip


def addresses_of(farm: Farm) -> dict[tuple[str, int], str]:
    """Return the short address on the label of each place that has one, as people type it."""
    host = urlsplit(settings.PUBLIC_ADDRESS).netloc
    found: dict[tuple[str, int], str] = {}
    for label in Label.objects.filter(farm=farm, revoked_at=None).order_by("pk"):
        for name in ("opening", "end_wall", "tunnel"):
            if (pk := getattr(label, f"{name}_id")) is not None:
                found[name, pk] = f"{host}{reverse('label', args=[label.token])}"
    return found


def members_who_work(farm: Farm) -> list[Membership]:
    """Return the members who do work, by name."""
    able = Membership.objects.of(farm).filter(role__in=("crew", "manager"), user__is_active=True)
    rows = able.select_related("user", "farm")
    return list(rows.order_by("user__first_name", "user__last_name", "user__username"))


def users_of(members: Iterable[Membership]) -> dict[int, User]:
    """Return members' accounts by membership."""
    return {member.pk: member.user for member in members}


def _address(plan: Plan, addresses: dict[tuple[str, int], str]) -> str:
    """Return the address of the narrowest place of a plan that has a label."""
    part: Any = plan.component
    pairs = [(name, getattr(row, f"{name}_id")) for name in ("opening", "end_wall", "tunnel")
             for row in (plan, part) if row is not None]  # fmt: skip
    return next((addresses[name, pk] for name, pk in pairs if pk is not None and (name, pk) in addresses), "")
