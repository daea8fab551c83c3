"""Open the jobs that are due, by each farm's own day, in batches that the database makes from one query.

A batch inserts the jobs of its plans and then moves on those plans for which such a job stands. Both may run
twice, be cut off in the middle, or run beside another of their kind: a job is unique by its plan and day, and a
plan moves on from a day only when that day's job is there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Case, Exists, F, JSONField, Max, Min, OuterRef, Q, QuerySet, Value, When

from farm.models import Farm
from maintenance.models import Job, Routine, Turn
from maintenance.plans import cadence
from maintenance.plans.inserting import insert_selected, read_once
from maintenance.querysets import UNDONE, TurnQuerySet

BATCH: Final = 50_000  # ids of plans between two writes: a short lock, and little to do again after a crash
DAY_BEGINS: Final = timedelta(hours=4)  # after every clock change, and before anybody works
COLUMNS: Final = ("farm", "plan", "due_on", "until_on", "cause", "state", "opened_at", "ticks", "note")


def local_day(now: datetime, zone: ZoneInfo) -> date:
    """Return the working day that it is on a farm's clock: it begins at four in the morning."""
    return (now.astimezone(zone).replace(tzinfo=None) - DAY_BEGINS).date()


def open_due_jobs(*, now: datetime, farm: Farm | None = None) -> int:
    """Open every job due by its farm's day, and all that earlier nights missed; return how many.

    A second run opens nothing new. A job that was left open when the next of its plan falls due has lapsed.
    """
    opened = 0
    for on, zones in _days(now, farm).items():
        turns = Turn.objects.filter(plan__farm__time_zone__in=zones) if zones else Turn.objects.all()
        due = (turns.of(farm) if farm else turns).due(on)
        moved = True
        while moved:  # once more where several nights were missed
            found, moved = _open_once(due, now, on)
            opened += found
    if opened:
        _link_what_waits(farm)
    return opened


def _days(now: datetime, farm: Farm | None) -> dict[date, list[str]]:
    """Return the farms' days, each with the time zones where it is that day; none named where all have the same."""
    if farm is not None:
        return {local_day(now, farm.zone): []}
    zones: dict[date, list[str]] = defaultdict(list)
    for name in Farm.objects.order_by().values_list("time_zone", flat=True).distinct():
        zones[local_day(now, Farm(time_zone=name).zone)].append(name)
    return zones if len(zones) > 1 else {day: [] for day in zones}


def _open_once(due: TurnQuerySet, now: datetime, on: date) -> tuple[int, bool]:
    """Open one job for each plan that is due and move the plans on; tell how many, and whether any plan moved."""
    found, moved = 0, False
    for start, end in _ranges(due):
        batch = due.filter(plan__gte=start, plan__lt=end)
        with transaction.atomic():
            found += insert_selected(Job, COLUMNS, _jobs(batch, now))
            recurred = _advance_recurring(batch)
            moved |= bool(recurred) | bool(_advance_single(batch))
            if recurred:
                _let_lapse(start, end, on)
    return found, moved


def _ranges(due: TurnQuerySet) -> Iterator[tuple[int, int]]:
    ends = due.aggregate(first=Min("plan"), last=Max("plan"))
    if ends["first"] is not None:
        for start in range(ends["first"], ends["last"] + 1, BATCH):
            yield start, start + BATCH


def _jobs(batch: TurnQuerySet, now: datetime) -> QuerySet[Any, Any]:
    """Return the rows of the jobs, in the order of COLUMNS; sorted, so that two runs cannot block each other."""
    fresh = {
        "state": Value(Job.State.OPEN),
        "opened_at": Value(now),
        "ticks": Value([], JSONField()),
        "note": Value(""),
    }
    rows = batch.annotate(**{f"job_{name}": value for name, value in fresh.items()}).order_by("plan")
    return rows.values_list("plan__farm", "plan", "due_on", "until_on", "cause", *(f"job_{name}" for name in fresh))


def _standing(batch: TurnQuerySet) -> TurnQuerySet:
    """Return the turns whose job is there: only these may move on."""
    return batch.filter(Exists(Job.objects.filter(plan=OuterRef("plan"), due_on=OuterRef("due_on"))))


def _advance_single(batch: TurnQuerySet) -> int:
    """Let plans that do not recur by themselves wait for what brings them on."""
    return _standing(batch).filter(cadence="").delete()[0]


def _advance_recurring(batch: TurnQuerySet) -> int:
    """Move plans on to the next day of their cadence; where the calendar ends, they have no more turns."""
    kinds = list(batch.exclude(cadence="").order_by().values_list("cadence", "due_on").distinct())
    if not kinds:
        return 0
    turns = {kind: _turn(*kind) for kind in kinds}
    last = [kind for kind, following in turns.items() if following is None]
    for text, day in last:
        _standing(batch).filter(cadence=text, due_on=day).delete()
    days = {kind: following for kind, following in turns.items() if following is not None}
    if not days:
        return len(last)
    due = _case({kind: following[0] for kind, following in days.items()}, "due_on")
    until = _case({kind: following[1] for kind, following in days.items()}, "until_on")
    return len(last) + _standing(batch).filter(cadence__in={text for text, _day in days}).update(
        due_on=due, until_on=until
    )


def _turn(text: str, due_on: date) -> tuple[date, date] | None:
    kept = cadence.read(text)
    following = kept.after(due_on)
    return None if following is None else (following, kept.window(following))


def _case(values: dict[tuple[str, date], date], kept: str) -> Case:
    """Return a column's new value by cadence and day; a row that another run has moved on already keeps its own."""
    return Case(
        *(When(cadence=text, due_on=day, then=Value(to)) for (text, day), to in values.items()), default=F(kept)
    )


def _let_lapse(start: int, end: int, on: date) -> None:
    """Close what was left open when the next job of the same plan fell due."""
    these = Job.objects.filter(plan__gte=start, plan__lt=end)
    newer = these.filter(plan=OuterRef("plan"), due_on__gt=OuterRef("due_on"))
    with read_once():
        these.filter(Exists(newer), state=Job.State.OPEN).update(state=Job.State.LAPSED, ended_on=on)


def _link_what_waits(farm: Farm | None) -> None:
    """Note which undone jobs must wait for another one in the same tunnel, or at the same door."""
    waiting = Job.objects.undone() if farm is None else Job.objects.of(farm).undone()
    waiting = waiting.filter(plan__routine__in=Routine.waits_for.through.objects.values("from_routine"))
    before = "plan__routine__waits_for__plans"
    same_tunnel = Q(**{f"{before}__tunnel": F("plan__tunnel"), f"{before}__jobs__state__in": UNDONE})
    # Film that may take two years holds nothing up until it is begun, or must be done first.
    in_the_way = Q(**{f"{before}__jobs__state": "started"}) | Q(**{f"{before}__jobs__until_on__lte": F("until_on")})
    same_door = (
        Q(plan__opening=None) | Q(**{f"{before}__opening": None}) | Q(**{f"{before}__opening": F("plan__opening")})
    )
    pairs = waiting.filter(same_tunnel, in_the_way, same_door).values_list("pk", f"{before}__jobs")
    insert_selected(Job.waits_for.through, ("from_job", "to_job"), pairs)
