"""Work that comes with use: so many storms endured, or so many openings and closings of a door."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any, Final

from django.db.models import Count, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce

from farm.models import Farm
from maintenance.models import DoorUse, Plan, Routine, WindDay
from maintenance.plans.turns import bring_on

STORM_FROM: Final = Decimal("20.5")  # m/s, gusts of 46 mph: US wind advisory criterion, offices vary
Trigger = Routine.Trigger


def count_up(*, farm: Farm, on: date) -> None:
    """Make the plans due whose storms or cycles since they were last done are as many as their routine says."""
    counted = {Trigger.STORMS: _storms(), Trigger.CYCLES: _cycles()}
    for routine in Routine.objects.of(farm).in_use().filter(trigger__in=counted):
        plans = Plan.objects.waiting(routine).annotate(counted=Coalesce(Subquery(counted[Trigger(routine.trigger)]), 0))
        reached = plans.filter(counted__gte=routine.after_count or 1).exclude(jobs__due_on=on)
        bring_on(plans=reached, due_on=on, days=routine.window_days, cause={"count": routine.after_count})


def _storms() -> Any:
    """Return the number of days with a storm since a plan's count began."""
    days = WindDay.objects.filter(farm=OuterRef("farm"), gust_m_s__gte=STORM_FROM, on__gte=OuterRef("counted_from"))
    return days.order_by().values("farm").annotate(number=Count("pk")).values("number")


def _cycles() -> Any:
    """Return how often a door was opened and closed since a plan's count began."""
    uses = DoorUse.objects.filter(opening=OuterRef("opening"), on__gt=OuterRef("counted_from"))
    return uses.order_by().values("opening").annotate(number=Sum("cycles")).values("number")
