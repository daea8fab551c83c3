"""Give plans their next job, or take it away: for many plans at once."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date, timedelta
from typing import Any

from maintenance.models import Plan, Turn
from maintenance.querysets import PlanQuerySet

COLUMNS = ("due_on", "until_on", "cause", "cadence")


def bring_on(*, plans: PlanQuerySet, due_on: date, days: int, cause: Mapping[str, Any]) -> None:
    """Make waiting plans due on a day, each for a job that may take so many days."""
    until_on = due_on + timedelta(days=days)
    ids = plans.values_list("pk", flat=True)
    set_turns([Turn(plan_id=pk, due_on=due_on, until_on=until_on, cause=dict(cause)) for pk in ids])


def set_turns(turns: Collection[Turn]) -> None:
    """Let these be the next jobs of their plans, whatever was next before."""
    Turn.objects.bulk_create(turns, update_conflicts=True, unique_fields=["plan"], update_fields=COLUMNS)


def drop_turns(*, plans: Collection[int]) -> None:
    """Let plans wait."""
    Turn.objects.filter(plan__in=plans).delete()


def turn_of(plan: Plan) -> Turn | None:
    """Return a plan's next job as the database has it, or None."""
    return Turn.objects.filter(plan=plan).first()
