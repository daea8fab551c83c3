"""The round over all farms that brings their plans up to date: structures change on pages that know no plans."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.db.models import Q

from farm.models import Farm
from maintenance.models import PlanRound
from maintenance.plans.counting import count_up
from maintenance.plans.laying import lay_plans
from maintenance.plans.nightly import local_day

LAID_EVERY: Final = timedelta(minutes=55)
MOST_AT_ONCE: Final = 200  # farms; the next round takes the others


def lay_old_plans(*, now: datetime) -> int:
    """Lay the plans of the farms where that was done longest ago; return of how many farms."""
    old = Q(plan_round=None) | Q(plan_round__laid_at__lte=now - LAID_EVERY)
    farms = list(Farm.objects.filter(old).order_by("plan_round__laid_at", "pk")[:MOST_AT_ONCE])
    for farm in farms:
        day = local_day(now, farm.zone)
        lay_plans(farm=farm, on=day)
        count_up(farm=farm, on=day)
        PlanRound.objects.update_or_create(farm=farm, defaults={"laid_at": now})
    return len(farms)
