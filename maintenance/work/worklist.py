"""What is due on a farm: three lists that are never mixed, in groups with the time they take, a page at a time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise
from typing import Any, Final, Literal

from django.contrib.auth.models import User
from django.db.models import Case, Count, F, Min, Prefetch, Q, Sum, When, Window, prefetch_related_objects
from django.db.models.functions import Coalesce, RowNumber
from django.utils.translation import gettext as _

from farm.models import Farm
from maintenance.models import Job, Routine, Turn
from maintenance.querysets import JobQuerySet
from maintenance.words.places import place_of_job, repair_of
from maintenance.words.reasons import lateness, why
from maintenance.words.said import person, plan_name

Rhythm = Routine.Rhythm
Group = Literal["week", "place", "person"]
RHYTHMS: Final = (Rhythm.EVENT, Rhythm.CYCLE, Rhythm.DAILY)
PER_PAGE: Final = 50
MINUTES: Final = Coalesce("repair__minutes", F("plan__routine__minutes") * F("plan__routine__crew"))
CRITICAL: Final = Q(repair__is_critical=True, repair__state="open")
NEAR: Final = 1  # weeks after this one whose jobs a reader sees at once; what comes later is folded
PEOPLE: Final = ("assigned_to__first_name", "assigned_to__last_name", "assigned_to__username")
ORDERS: Final[Mapping[Group, tuple[Any, ...]]] = {
    "week": ("until_on", F("plan__tunnel__code").asc(nulls_first=True), "pk"),
    "place": (F("plan__tunnel__code").asc(nulls_first=True), "until_on", "pk"),
    "person": (*(F(name).asc(nulls_first=True) for name in PEOPLE), "until_on", "pk"),
}
COLUMNS: Final[Mapping[Group, tuple[str, ...]]] = {
    "week": ("until_on",), "place": ("plan__tunnel__code",), "person": PEOPLE
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Total:
    """How many jobs there are, how many of them late, and the person-minutes they take."""

    jobs: int = 0
    late: int = 0
    minutes: int = 0

    def __add__(self, other: Total) -> Total:
        return Total(self.jobs + other.jobs, self.late + other.late, self.minutes + other.minutes)

    @property
    def hours(self) -> float:
        """The same in person-hours."""
        return self.minutes / 60


@dataclass(slots=True)
class Row:
    """A job as the list prints it."""

    job: Job
    place: str
    what: str
    why: str
    lateness: str
    is_late: bool
    minutes: int  # of all people together
    crew: int
    who: str
    waits_for: tuple[str, ...]
    is_simple: bool  # done with one tap: nothing is asked but that it was done
    after: str = ""  # the row that comes to stand in its place once it is done

    @property
    def anchor(self) -> str:
        """Where on the page it stands."""
        return f"job-{self.job.pk}"

    @property
    def each(self) -> int:
        """Minutes of each person."""
        return self.minutes // self.crew


@dataclass(slots=True)
class Band:
    """Rows under one heading, with what the whole group takes, also on other pages."""

    heading: str
    total: Total
    rows: list[Row] = field(default_factory=list)
    is_folded: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """One of the three rhythms: a page of its jobs."""

    rhythm: Routine.Rhythm
    total: Total
    bands: list[Band]
    page: int
    pages: int

    @property
    def previous(self) -> int | None:
        """The page before."""
        return self.page - 1 if self.page > 1 else None

    @property
    def next(self) -> int | None:
        """The page after."""
        return self.page + 1 if self.page < self.pages else None

    @property
    def param(self) -> str:
        """The query parameter that turns its pages."""
        return f"{self.rhythm}_page"

    @property
    def anchor(self) -> str:
        """Where on the page it stands."""
        return f"rhythm-{self.rhythm}"


def due_sections(
    *, jobs: JobQuerySet, on: date, units: str, group: Group, pages: Mapping[str, int], rhythms: Sequence[str] = RHYTHMS
) -> list[Section]:
    """Return the undone jobs of the rhythms asked for, late first; the queries do not grow with the jobs.

    Parameters
    ----------
    jobs : JobQuerySet
        Undone jobs of one farm, filtered as the reader asked.
    on : date
        The day it is on the farm.
    units : {"us", "metric"}
        The reader's system.
    group : {"week", "place", "person"}
        What the rows of a section are grouped by.
    pages : mapping
        The page asked for by rhythm, from 1; a page beyond the last is the last.
    rhythms : sequence of str
        Which sections to show, in order.
    """
    totals = _totals(jobs, on, group)
    counts = {rhythm: sum((total for total in totals[rhythm].values()), Total()) for rhythm in rhythms}
    last = {rhythm: max(1, -(-counts[rhythm].jobs // PER_PAGE)) for rhythm in rhythms}
    shown = {rhythm: min(max(1, pages.get(rhythm, 1)), last[rhythm]) for rhythm in rhythms}
    rows = _rows(jobs, _order(group, on), {rhythm: page for rhythm, page in shown.items() if counts[rhythm].jobs})
    by_rhythm: dict[str, list[Job]] = defaultdict(list)
    for job in rows:
        by_rhythm[job.plan.routine.rhythm].append(job)
    return [
        Section(
            Rhythm(rhythm), counts[rhythm], _bands(by_rhythm[rhythm], totals[rhythm], on, units, group),
            shown[rhythm], last[rhythm],
        )
        for rhythm in rhythms
    ]  # fmt: skip


def row_of(job: Job, on: date, units: str) -> Row:
    """Return a job as a list prints it."""
    repair, routine = repair_of(job), job.plan.routine
    before = job.waits_for.all() if getattr(job, "is_held", False) else ()
    return Row(
        job=job, place=place_of_job(job), what=what_of(job, units), why=why(job, on, units), lateness=lateness(job, on),
        is_late=job.until_on < on, who=person(job.assigned_to) if job.assigned_to else "",
        minutes=(repair.minutes if repair and repair.minutes is not None else routine.minutes * routine.crew),
        crew=1 if repair and repair.minutes is not None else routine.crew,
        waits_for=tuple(f"{place_of_job(first)}: {what_of(first, units)}" for first in before),
        is_simple=routine.answer == Routine.Answer.DONE,
    )  # fmt: skip


def what_of(job: Job, units: str) -> str:
    """Return what is to be done, in the reader's language where the row's own words allow it."""
    repair = repair_of(job)
    if repair is None:
        return plan_name(job.plan, units)
    return _("Repair: %(part)s, %(mode)s") % {"part": repair.get_part_display(), "mode": repair.get_mode_display()}


def urgent_jobs(*, farm: Farm, on: date, most: int) -> list[Job]:
    """Return the jobs that cannot wait: critical faults first, then what is urgent by its routine, then the latest."""
    cannot_wait = CRITICAL | Q(until_on__lt=on) | Q(plan__routine__is_urgent=True)
    rank = Case(When(CRITICAL, then=0), When(plan__routine__is_urgent=True, then=1), default=2)
    jobs = Job.objects.of(farm).undone().filter(cannot_wait).for_list()
    return list(jobs.order_by(rank, "until_on", "pk")[:most])


def load_what_is_waited_for(jobs: Iterable[Job]) -> None:
    """Load, in one query, the undone jobs that held ones wait for."""
    held = [job for job in jobs if getattr(job, "is_held", False)]
    before = Job.objects.undone().for_list().order_by("until_on", "pk")
    prefetch_related_objects(held, Prefetch("waits_for", before))


def next_due_on(farm: Farm) -> date | None:
    """Return the day the next job of a farm falls due."""
    first: date | None = Turn.objects.of(farm).aggregate(first=Min("due_on"))["first"]
    return first


def people_who_can(farm: Farm) -> list[User]:
    """Return the farm's members who do work, by name."""
    able = User.objects.filter(memberships__farm=farm, memberships__role__in=("manager", "crew"))
    return list(able.order_by("first_name", "last_name", "username"))


def _totals(jobs: JobQuerySet, on: date, group: Group) -> dict[str, dict[str, Total]]:
    """Return what each group of each rhythm takes, by the group's heading."""
    totals: dict[str, dict[str, Total]] = {rhythm: defaultdict(Total) for rhythm in RHYTHMS}
    counted = jobs.order_by().values("plan__routine__rhythm", *COLUMNS[group]).annotate(
        jobs=Count("pk"), late=Count("pk", filter=Q(until_on__lt=on)), minutes=Sum(MINUTES)
    )  # fmt: skip
    for line in counted:
        total = Total(line["jobs"], line["late"], line["minutes"] or 0)
        totals[line["plan__routine__rhythm"]][_heading_of(line, on, group)] += total
    return totals


def _order(group: Group, on: date) -> tuple[Any, ...]:
    """Return what rows are sorted by: in the list by week, critical faults come first among what is late."""
    if group != "week":
        return ORDERS[group]
    return (Case(When(CRITICAL, until_on__lt=on, then=0), default=1), *ORDERS[group])


def _rows(jobs: JobQuerySet, order: tuple[Any, ...], pages: Mapping[str, int]) -> list[Job]:
    """Return the jobs of the pages asked for, of all rhythms in one query."""
    if not pages:
        return []
    wanted = Q()
    for rhythm, page in pages.items():
        wanted |= Q(rhythm=rhythm, rank__gt=(page - 1) * PER_PAGE, rank__lte=page * PER_PAGE)
    rank = Window(RowNumber(), partition_by="plan__routine__rhythm", order_by=order)
    ranked = jobs.order_by().annotate(rhythm=F("plan__routine__rhythm"), rank=rank).filter(wanted)
    found = list(Job.objects.filter(pk__in=ranked.values("pk")).for_list().order_by(*order))
    load_what_is_waited_for(found)
    return found


def _bands(jobs: Iterable[Job], totals: Mapping[str, Total], on: date, units: str, group: Group) -> list[Band]:
    bands: dict[str, Band] = {}
    for job in jobs:
        heading = _heading_of(_columns(job), on, group)
        folded = bool(bands) and group == "week" and _may_be_folded(job, on)
        band = bands.setdefault(heading, Band(heading, totals[heading], is_folded=folded))
        band.rows.append(row_of(job, on, units))
    rows = [row for band in bands.values() for row in band.rows]
    for row, following in pairwise(rows):
        row.after = following.anchor
    return list(bands.values())


def _may_be_folded(job: Job, on: date) -> bool:
    """Tell whether a job can wait for weeks; what weather and use have brought on already is always in sight."""
    return job.plan.routine.rhythm != Rhythm.EVENT and _weeks_until(job.until_on, on) > NEAR


def _columns(job: Job) -> dict[str, Any]:
    """Return of a job what the totals are grouped by."""
    who = job.assigned_to
    return {
        "until_on": job.until_on,
        "plan__tunnel__code": job.plan.tunnel.code if job.plan.tunnel else None,
        **{name: getattr(who, name.removeprefix("assigned_to__")) if who else None for name in PEOPLE},
    }


def _heading_of(line: Mapping[str, Any], on: date, group: Group) -> str:
    if group == "place":
        return line["plan__tunnel__code"] or _("the farm")
    if group == "person":
        first, last, username = (line[name] for name in PEOPLE)
        return f"{first} {last}".strip() or username if username else _("nobody yet")
    return _week_of(line["until_on"], on)


def _week_of(until: date, on: date) -> str:
    """Return the week a job has to be done in, counted from Monday."""
    weeks = _weeks_until(until, on)
    if until < on:
        return _("late")
    if weeks <= 1:
        return _("next week") if weeks else _("this week")
    return _("week of %(day)s") % {"day": (until - timedelta(days=until.weekday())).isoformat()}


def _weeks_until(until: date, on: date) -> int:
    """Return how many weeks after this one a day lies, counted from Monday."""
    return (until - on + timedelta(days=on.weekday())).days // 7
