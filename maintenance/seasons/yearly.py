"""What the plans and jobs of a farm say of a year, a query each, counted where the rows are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.db.models import Count, Max, Min, Q, Sum
from django.db.models.functions import ExtractMonth

from farm.models import Farm
from maintenance.drawn.wheel import Share
from maintenance.models import Job, Turn
from maintenance.plans import cadence
from maintenance.querysets import UNDONE
from maintenance.recurrence import occurrences

State = Job.State
DROPPED: Final = (State.SKIPPED, State.LAPSED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recurring:
    """A routine that comes round on the same days in so many places."""

    routine_id: int
    places: int
    window_days: int
    days: tuple[date, ...]  # on which it falls due in the year
    reaching: tuple[date, ...]  # the same, and those of the year before whose windows reach into it


@dataclass(frozen=True, slots=True, kw_only=True)
class Single:
    """Plans of a routine whose next job falls into a month of the year, and does not come round by itself."""

    routine_id: int
    month: int
    places: int
    first: date
    last: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """Jobs of a routine that fell due in a month of the year."""

    routine_id: int
    month: int
    places: int
    first: date
    last: date
    share: Share
    minutes_spent: int


def recurring(farm: Farm, year: int) -> list[Recurring]:
    """Return what comes round by itself, by its rule; a rule counts from the year before its plans were laid."""
    held = Turn.objects.of(farm).exclude(cadence="").order_by("plan__routine", "cadence")
    groups: dict[tuple[int, int, tuple[date, ...], tuple[date, ...]], int] = {}
    for routine_id, text, places in held.values_list("plan__routine", "cadence").annotate(places=Count("pk")):
        rule = cadence.read(text)
        before, last = date(year, 1, 1) - timedelta(days=1), date(year, 12, 31)
        reaching = tuple(occurrences(rule.rule, before - timedelta(days=rule.window_days), last))
        days = tuple(day for day in reaching if day > before)
        key = (routine_id, rule.window_days, days, reaching)  # plans laid in other years keep the same days
        groups[key] = groups.get(key, 0) + places
    return [
        Recurring(routine_id=routine_id, places=places, window_days=window_days, days=days, reaching=reaching)
        for (routine_id, window_days, days, reaching), places in groups.items()
        if reaching
    ]


def singles(farm: Farm, year: int) -> Iterator[Single]:
    """Yield what is due once: by age, after fitting, or so long after it was last done."""
    turns = Turn.objects.of(farm).filter(cadence="", due_on__year=year).order_by()
    by_month = turns.annotate(month=ExtractMonth("due_on")).values_list("plan__routine", "month")
    found = by_month.annotate(places=Count("pk"), first=Min("due_on"), last=Max("until_on"))
    for routine_id, month, places, first, last in found.order_by("plan__routine", "month"):
        yield Single(routine_id=routine_id, month=month, places=places, first=first, last=last)


def recorded(farm: Farm, year: int, on: date) -> Iterator[Recorded]:
    """Yield the jobs that were opened, with what became of them by a day."""
    jobs = Job.objects.of(farm).filter(due_on__year=year).order_by()
    by_month = jobs.annotate(month=ExtractMonth("due_on")).values("plan__routine", "month")
    undone = Q(state__in=UNDONE)
    rows = by_month.annotate(
        places=Count("plan", distinct=True), first=Min("due_on"), last=Max("until_on"),
        done=Count("pk", filter=Q(state=State.DONE)), late=Count("pk", filter=undone & Q(until_on__lt=on)),
        to_do=Count("pk", filter=undone & Q(until_on__gte=on)), dropped=Count("pk", filter=Q(state__in=DROPPED)),
        spent=Sum("minutes_spent"),
    )  # fmt: skip
    for row in rows.order_by("plan__routine", "month"):
        share = Share(row["done"], row["late"], row["to_do"], row["dropped"])
        yield Recorded(
            routine_id=row["plan__routine"], month=row["month"], places=row["places"],
            first=row["first"], last=row["last"], share=share, minutes_spent=row["spent"] or 0,
        )  # fmt: skip
