"""Rows of upkeep for tests: plain functions with keyword overrides, whole and open by default."""

from __future__ import annotations

from datetime import UTC, date, datetime
from itertools import count
from typing import Any

from doors.models import Component
from farm.models import EndWall, Farm, Opening, Tunnel
from maintenance.models import Job, Plan, Routine, Turn

DAY = date(2026, 11, 24)
NOW = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)

_numbers = count(1)


def make_routine(farm: Farm, **values: Any) -> Routine:
    """Make a routine that is done every 90 days at each opening; may take 14 days and 15 minutes of one person."""
    sizes: dict[str, Any] = {
        "code": f"routine-{next(_numbers)}", "name": {"en": "Look at the hooks", "es": "Revisar los ganchos"},
        "target": "opening", "trigger": "done", "after_days": 90, "window_days": 14,
    }  # fmt: skip
    return Routine.objects.create(farm=farm, **{**sizes, **values})


def make_plan(routine: Routine, place: Tunnel | EndWall | Opening | Component | None = None, **values: Any) -> Plan:
    """Make a routine's plan at a place, or for the farm as a whole; with its next job where ``due_on`` is given."""
    turn = {name: values.pop(name) for name in ("due_on", "until_on", "cause", "cadence") if name in values}
    sizes = {"counted_from": date(2026, 1, 1), **where(place), **values}
    plan = Plan.objects.create(farm=routine.farm, routine=routine, **sizes)
    if turn:
        Turn.objects.create(plan=plan, **turn)
    return plan


def make_job(plan: Plan, **values: Any) -> Job:
    """Make an open job of a plan, due on 20 November 2026 and by the 30th."""
    sizes = {"due_on": date(2026, 11, 20), "until_on": date(2026, 11, 30), "opened_at": NOW, **values}
    return Job.objects.create(farm=plan.farm, plan=plan, **sizes)


def loaded(job: Job) -> Job:
    """Return a job as the pages load it."""
    return Job.objects.for_list().select_related("farm", "repair").get(pk=job.pk)


def where(place: Tunnel | EndWall | Opening | Component | None) -> dict[str, Any]:
    """Return a plan's columns for a place."""
    match place:
        case Tunnel():
            return {"key": f"tunnel-{place.pk}", "tunnel": place}
        case EndWall():
            return {"key": f"wall-{place.pk}", "tunnel": place.tunnel, "end_wall": place}
        case Opening():
            return {"key": f"opening-{place.pk}", "tunnel": place.end_wall.tunnel, "opening": place}
        case Component():
            sits = where(place.opening or place.end_wall or place.tunnel)
            return {**sits, "key": f"part-{place.pk}", "component": place}
    return {"key": "farm"}
