"""The storm that comes, as a phone carries it."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User

from farm.models import Farm
from farm.units import format_gust
from maintenance.hands.texts import fault_of, level_of, steps_for, what_of, where_of
from maintenance.models import Storm, StormTask
from maintenance.words import storm as words
from maintenance.words.said import person


def storm_of(farm: Farm, user: User) -> dict[str, Any] | None:
    """Return the storm ahead with all its tasks, or nothing; two queries, whatever its size."""
    storm = Storm.objects.of(farm).ahead().first()
    if storm is None:
        return None
    tasks = StormTask.objects.for_list().filter(storm=storm).select_related(
        "storm", "repair__opening", "repair__end_wall__tunnel", "repair__tunnel"
    )  # fmt: skip
    return {
        "id": storm.pk, "level": storm.level, "headline": _headline(storm, farm.units),
        "begins": storm.begins_at.isoformat(), "ends": storm.ends_at.isoformat(),
        "deadline": storm.deadline_at.isoformat() if storm.deadline_at else None,
        "start_by": storm.start_by_at.isoformat() if storm.start_by_at else None,
        "tasks": [_task(task, user) for task in tasks],
    }  # fmt: skip


def _headline(storm: Storm, units: str) -> str:
    gust = format_gust(storm.peak_gust_m_s, units)
    return f"{words.level_text(storm.level)} · {words.day_text(storm.peak_at)} · {gust}"


def _task(task: StormTask, user: User) -> dict[str, Any]:
    helpers = (task.assigned_to_id, task.second_id)
    return {
        "id": task.pk, "title": what_of(task), "where": where_of(task), "fault": fault_of(task), "kind": task.kind,
        "door": task.opening_id, "tunnel": task.tunnel_id, "repair": task.repair_id,
        "steps": steps_for(task, level_of(task)), "minutes": task.minutes, "people": task.people, "state": task.state,
        "mine": user.pk in helpers, "free": task.assigned_to_id is None, "position": task.position,
        "windward": task.is_windward, "critical": task.is_critical, "reason": task.reason,
        "who": person(task.done_by) if task.done_by_id else "",
        "with": _other(task, user),
        "needs_check": task.state == StormTask.State.DONE and task.checked_at is None
        and user.pk not in (task.done_by_id, task.second_id),
        "left_out": task.is_left_out,
    }  # fmt: skip


def _other(task: StormTask, user: User) -> str:
    others = [one for one in (task.assigned_to, task.second) if one is not None and one.pk != user.pk]
    return person(others[0]) if others else ""
