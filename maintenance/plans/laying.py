"""Lay a farm's plans: every routine in use at every place it fits, with the day its first job is due."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from django.db import transaction
from django.db.models import Exists, OuterRef

from doors.models import Component
from farm.models import EndWall, Farm, Opening, Tunnel
from maintenance.ages.ageing import ages
from maintenance.models import Job, Plan, Routine, Turn
from maintenance.plans import cadence
from maintenance.plans.places import has
from maintenance.plans.turns import drop_turns, set_turns

DAYS_PER_YEAR: Final = 365.25
RECENTLY_FITTED: Final = timedelta(days=60)  # older parts' first days are not dug up
Trigger = Routine.Trigger
REPAIR: Final = "repair"
COLUMNS: Final = ("tunnel_id", "end_wall_id", "opening_id", "component_id")
BY_PART: Final = frozenset({Trigger.AGE, Trigger.DOSE, Trigger.FITTED})  # due on a day that the part itself gives


@dataclass(frozen=True, slots=True)
class Place:
    """Where a routine can apply: the columns of its plans, and the row itself."""

    key: str
    row: Farm | Tunnel | EndWall | Opening | Component
    columns: Mapping[str, int]
    dose_end: date | None = None  # when a part will have taken the sun it is rated for, or has


@transaction.atomic
def lay_plans(*, farm: Farm, on: date) -> None:
    """Make the plans that are lacking on a day and end those whose place or routine is gone.

    A plan of a part that was never opened follows its part when the fitting day or the rated life is corrected.
    """
    kept = {(plan.routine_id, plan.key): plan for plan in _plans(farm)}
    wanted: dict[tuple[int, str], tuple[Routine, Place]] = {}
    places = _places(farm, on)
    for routine in (
        Routine.objects.of(farm).in_use().exclude(code=REPAIR).order_by("pk")
    ):  # each fault makes its own plan
        wanted |= {
            (routine.pk, place.key): (routine, place) for place in places[routine.target] if _fits(routine, place)
        }
    _make(farm, {key: pair for key, pair in wanted.items() if key not in kept}, on)
    _follow([(kept[key], *pair) for key, pair in wanted.items() if key in kept], on)
    _end([plan.pk for key, plan in kept.items() if key not in wanted and plan.ended_on is None], on)


def replan(*, routine: Routine, on: date) -> None:
    """Let a routine that was changed set the next day of its plans anew; jobs that are open stay as they are."""
    with transaction.atomic():
        places = {place.key: place for place in _places(routine.farm, on)[routine.target]}
        opened = dict(Job.objects.filter(plan__routine=routine).order_by("due_on").values_list("plan", "due_on"))
        plans = [plan for plan in Plan.objects.filter(routine=routine).running() if plan.key in places]
        turns = []
        for plan in plans:
            turn = _turn(routine, places[plan.key], on)
            if turn is not None and plan.pk in opened:
                turn = _after(turn, max(opened[plan.pk], on))  # this turn has its job already
            turns += [] if turn is None else [_for(plan, turn)]
        drop_turns(plans=[plan.pk for plan in plans])
        set_turns(turns)
    lay_plans(farm=routine.farm, on=on)


def next_window(routine: Routine, done_on: date) -> tuple[date, date] | None:
    """Return the window of the next job once one was done, where the doing itself sets it."""
    if routine.trigger != Trigger.DONE or routine.after_days is None:
        return None
    due_on = done_on + timedelta(days=routine.after_days)
    return due_on, due_on + timedelta(days=routine.window_days)


def _plans(farm: Farm) -> Iterator[Plan]:
    plans = Plan.objects.of(farm).exclude(routine__code=REPAIR).select_related("turn")
    return plans.annotate(was_opened=Exists(Job.objects.filter(plan=OuterRef("pk")))).iterator()


def _places(farm: Farm, on: date) -> dict[str, list[Place]]:
    """Return every place of a farm that is in use on a day, by what it is."""
    tunnels = list(Tunnel.objects.of(farm).standing().order_by("pk"))
    walls = EndWall.objects.of(farm).select_related("tunnel").exclude(tunnel__status=Tunnel.Status.RETIRED)
    openings = Opening.objects.of(farm).in_use().with_place()
    openings = openings.exclude(end_wall__tunnel__status=Tunnel.Status.RETIRED)
    walls, openings = walls.order_by("pk"), openings.order_by("pk")
    return {
        "farm": [Place("farm", farm, {})],
        "tunnel": [Place(f"tunnel-{tunnel.pk}", tunnel, {"tunnel_id": tunnel.pk}) for tunnel in tunnels],
        "end_wall": [
            Place(f"wall-{wall.pk}", wall, {"tunnel_id": wall.tunnel_id, "end_wall_id": wall.pk}) for wall in walls
        ],
        "opening": [Place(f"opening-{opening.pk}", opening, _of_opening(opening)) for opening in openings],
        "component": list(_parts(farm, on)),
    }


def _of_opening(opening: Opening) -> dict[str, int]:
    return {"tunnel_id": opening.end_wall.tunnel_id, "opening_id": opening.pk}


def _parts(farm: Farm, on: date) -> Iterator[Place]:
    """Yield the parts in service, in structures that are in use."""
    parts = list(Component.objects.of(farm).in_service(on).for_list().order_by("pk"))
    rated = [part for part in parts if part.material and part.material.rated_dose_kly]
    sun = ages(components=rated, on=on)
    for part in parts:
        if part.opening is not None:
            columns, tunnel = _of_opening(part.opening), part.opening.end_wall.tunnel
        elif part.end_wall is not None:
            tunnel = part.end_wall.tunnel
            columns = {"tunnel_id": tunnel.pk, "end_wall_id": part.end_wall.pk}
        else:
            assert part.tunnel is not None  # noqa: S101 - a constraint gives every part one place
            columns, tunnel = {"tunnel_id": part.tunnel.pk}, part.tunnel
        if tunnel.status != Tunnel.Status.RETIRED:
            by_dose = sun[part.pk].by_dose if part.pk in sun else None
            yield Place(
                f"part-{part.pk}", part, {**columns, "component_id": part.pk}, by_dose.expected if by_dose else None
            )


def _fits(routine: Routine, place: Place) -> bool:
    """Tell whether a routine applies to a place: its kind, and what the place must have."""
    kind = getattr(place.row, "kind", None)
    if routine.kinds and kind not in routine.kinds:
        return False
    return all(has(place.row, need) for need in routine.needs)


def _make(farm: Farm, lacking: Mapping[tuple[int, str], tuple[Routine, Place]], on: date) -> None:
    """Make plans with their first turns; what another process has made meanwhile is left as it is."""
    Plan.objects.bulk_create(
        [
            Plan(
                farm=farm,
                routine=routine,
                key=place.key,
                counted_from=_counted_from(routine, place, on),
                **place.columns,
            )
            for routine, place in lacking.values()
        ],
        ignore_conflicts=True,
    )
    made = Plan.objects.of(farm).filter(routine__in={routine for routine, _key in lacking}, turn=None)
    found = [
        (plan, _turn(*lacking[plan.routine_id, plan.key], on))
        for plan in made
        if (plan.routine_id, plan.key) in lacking
    ]
    set_turns([_for(plan, turn) for plan, turn in found if turn is not None])


def _follow(plans: Sequence[tuple[Any, Routine, Place]], on: date) -> None:
    """Let plans follow their places: moved, back after they had ended, or corrected before they were ever opened."""
    changed, turns, waiting = [], [], []
    for plan, routine, place in plans:
        columns = {name: place.columns.get(name) for name in COLUMNS}
        is_back = plan.ended_on is not None
        if is_back or any(getattr(plan, name) != value for name, value in columns.items()):
            plan.ended_on = None
            for name, value in columns.items():
                setattr(plan, name, value)
            changed.append(plan)
        by_part = routine.trigger in BY_PART
        if is_back or (by_part and not plan.was_opened):
            turn = None if by_part and plan.was_opened else _turn(routine, place, on)
            standing = getattr(plan, "turn", None)
            if turn is None:
                waiting += [plan.pk] if standing else []
            elif standing is None or (standing.due_on, standing.until_on) != (turn.due_on, turn.until_on):
                turns.append(_for(plan, turn))
    Plan.objects.bulk_update(changed, [*COLUMNS, "ended_on"])
    set_turns(turns)
    drop_turns(plans=waiting)


def _turn(routine: Routine, place: Place, on: date) -> Turn | None:
    """Return the first turn of a routine at a place, seen from a day; None where it waits for something to happen."""
    match routine.trigger:
        case Trigger.SEASON | Trigger.CALENDAR:
            text = _cadence(routine, on)
            first = cadence.read(text).first(on)
            return None if first is None else _cadenced(text, first)
        case Trigger.DONE:
            return _window(on + timedelta(days=routine.after_days or 0), routine)
        case Trigger.AGE if isinstance(place.row, Component):
            return _by_age(routine, place.row)
        case Trigger.DOSE if place.dose_end is not None:
            return _window(place.dose_end, routine)
        case Trigger.FITTED if isinstance(place.row, Component) and place.row.fitted_on >= on - RECENTLY_FITTED:
            return _window(place.row.fitted_on + timedelta(days=routine.after_days or 0), routine)
    return None


def _counted_from(routine: Routine, place: Place, on: date) -> date:
    """Return the day since which storms and cycles count: a part's from its first day."""
    is_counted = routine.trigger in (Trigger.STORMS, Trigger.CYCLES)
    return place.row.fitted_on if is_counted and isinstance(place.row, Component) else on


def _by_age(routine: Routine, part: Component) -> Turn | None:
    """Return when a part reaches the end of its life: as its material is rated or as the routine says, if sooner."""
    rated = part.material.rated_life_years if part.material else None
    lives = [round(float(rated) * DAYS_PER_YEAR)] if rated else []
    lives += [routine.after_days] if routine.after_days else []
    return _window(part.fitted_on + timedelta(days=min(lives)), routine) if lives else None


def _window(due_on: date, routine: Routine) -> Turn:
    return Turn(due_on=due_on, until_on=due_on + timedelta(days=routine.window_days))


def _cadenced(text: str, due_on: date) -> Turn:
    return Turn(due_on=due_on, until_on=cadence.read(text).window(due_on), cadence=text)


def _after(turn: Turn, last: date) -> Turn | None:
    """Return the first turn of a cadence after a day; what is due once has no other."""
    if not turn.cadence:
        return None
    following = cadence.read(turn.cadence).after(last)
    return None if following is None else _cadenced(turn.cadence, following)


def _for(plan: Plan, turn: Turn) -> Turn:
    turn.plan = plan
    return turn


def _cadence(routine: Routine, on: date) -> str:
    if routine.trigger == Trigger.CALENDAR:
        return cadence.calendar_text(routine.rule, window_days=routine.window_days)
    return cadence.season_text(
        routine.season, offset_days=routine.offset_days, every_years=routine.every_years, from_year=on.year - 1,
        is_southern=(routine.farm.latitude_deg or 0) < 0, window_days=routine.window_days,
    )  # fmt: skip


def _end(ids: list[int], on: date) -> None:
    """End plans for good; their undone jobs go with them, as not done."""
    Plan.objects.filter(pk__in=ids).update(ended_on=on)
    drop_turns(plans=ids)
    Job.objects.filter(plan__in=ids).undone().update(state=Job.State.LAPSED, ended_on=on)
