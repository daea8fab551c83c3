"""The work of a storm kept in step with its outlook: one row for each thing at each place, never a second one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from farm.models import Opening, Tunnel
from maintenance.blow.reading import Outlook, key_of
from maintenance.models import Repair, Storm, StormTask
from maintenance.plans.places import FILM_DOORS
from maintenance.storm.quantity import MINUTE
from maintenance.storm.work import PAIR, Task, TaskKind

Kind = StormTask.Kind
KINDS: Final = {
    TaskKind.WALK_ROUND: Kind.WALK,
    TaskKind.SIDE: Kind.SIDE,
    TaskKind.INFLATION: Kind.INFLATION,
    TaskKind.SHADE: Kind.SHADE,
    TaskKind.REPAIR: Kind.REPAIR,
}
DOORS: Final[Mapping[str, StormTask.Kind]] = {
    Opening.Kind.PERSON: Kind.PERSON_DOOR,
    Opening.Kind.SLIDING_PAIR: Kind.SLIDING_DOOR,
}
OURS: Final = frozenset({*KINDS.values(), *DOORS.values(), Kind.FILM_DOOR, Kind.WIDE_FILM_DOOR, Kind.OTHER_DOOR})
KEPT_IN_STEP: Final = ("kind", "minutes", "people", "is_windward", "is_critical", "position", "is_left_out")


def keep_tasks(*, storm: Storm, outlook: Outlook, now: datetime) -> bool:
    """Make the tasks that are missing, renew the open ones, and end those whose reason is gone; done ones stay.

    Return whether any of this was necessary.
    """
    rows = {row.key: row for row in storm.tasks.all()}
    tunnels = {str(one.tunnel.pk): one.tunnel for one in outlook.standings}
    openings = {f"door-{row.pk}": row for one in outlook.standings for row in one.openings}
    repairs = {f"repair-{row.pk}": row for one in outlook.standings for row in one.repairs}
    new, changed = [], []
    for position, task in enumerate(outlook.tasks, 1):
        key = key_of(task)
        wanted = _figures(task, openings.get(task.place), position, is_left_out=key in outlook.unfit)
        row = rows.get(key)
        if row is None:
            new.append(_row(storm, key, tunnels[task.structure], openings, repairs, task, wanted))
        elif row.state == StormTask.State.OPEN and _renew(row, wanted):
            changed.append(row)
    StormTask.objects.bulk_create(new, ignore_conflicts=True)
    StormTask.objects.bulk_update(changed, KEPT_IN_STEP)
    has_ended = _end_the_rest(storm, rows, {key_of(task) for task in outlook.tasks}, now)
    return bool(new or changed or has_ended)


def _figures(task: Task, opening: Opening | None, position: int, *, is_left_out: bool) -> dict[str, Any]:
    return {
        "kind": KINDS.get(task.kind) or _door_kind(task, opening),
        "minutes": round(task.time / MINUTE),
        "people": task.people,
        "is_windward": task.faces_wind,
        "is_critical": task.is_critical,
        "position": position,
        "is_left_out": is_left_out,
    }


def _door_kind(task: Task, opening: Opening | None) -> StormTask.Kind:
    if opening is not None and opening.kind in FILM_DOORS:
        return Kind.WIDE_FILM_DOOR if task.people == PAIR else Kind.FILM_DOOR
    return DOORS.get(opening.kind if opening else "", Kind.OTHER_DOOR)


def _row(
    storm: Storm,
    key: str,
    tunnel: Tunnel,
    openings: Mapping[str, Opening],
    repairs: Mapping[str, Repair],
    task: Task,
    figures: Mapping[str, Any],
) -> StormTask:
    repair = repairs.get(task.place)
    return StormTask(
        storm=storm, key=key, tunnel=tunnel, opening=openings.get(task.place) or (repair.opening if repair else None),
        repair=repair, side=task.place.rpartition("-")[2] if task.kind == TaskKind.SIDE else "", **figures,
    )  # fmt: skip


def _renew(row: StormTask, wanted: Mapping[str, Any]) -> bool:
    """Bring an open row in step; where it stands once somebody has it is for the crew's plan."""
    is_planned = row.is_pinned or row.assigned_to_id is not None
    renewed = {
        name: value
        for name, value in wanted.items()
        if getattr(row, name) != value and not (is_planned and name in ("position", "is_left_out"))
    }
    for name, value in renewed.items():
        setattr(row, name, value)
    return bool(renewed)


def _end_the_rest(storm: Storm, rows: Mapping[str, StormTask], wanted: set[str], now: datetime) -> bool:
    """A fault that was repaired elsewhere is done; what is no longer there to do goes."""
    left = [
        row for key, row in rows.items() if key not in wanted and row.state == StormTask.State.OPEN and row.kind in OURS
    ]
    mended = Repair.objects.filter(pk__in=[row.repair_id for row in left if row.repair_id])
    done = set(mended.exclude(state=Repair.State.OPEN).values_list("pk", flat=True)) if left else set()
    still_open = storm.tasks.filter(state=StormTask.State.OPEN)
    if done:
        still_open.filter(repair_id__in=done).update(state=StormTask.State.DONE, done_at=now)
    if gone := [row.pk for row in left if row.repair_id not in done]:
        still_open.filter(pk__in=gone).delete()
    return bool(left)
