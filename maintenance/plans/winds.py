"""The highest gust of a day, and what it brings on."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Final

from django.db import transaction

from farm.models import Farm
from maintenance.models import Plan, Routine, WindDay
from maintenance.plans.counting import count_up
from maintenance.plans.nightly import open_due_jobs
from maintenance.plans.turns import bring_on

HIGHEST: Final = 120  # m/s; no gust at the ground has been higher


class GustError(Exception):
    """A gust cannot be recorded."""


def record_gust(*, farm: Farm, on: date, gust_m_s: Decimal, source: str, now: datetime, note: str = "") -> WindDay:
    """Keep a day's highest gust, and open the jobs that such a gust brings on.

    A lower gust than the one that is known of the day changes nothing.

    Raises
    ------
    GustError
        If the gust is not above 0, or higher than any ever measured.
    """
    if not 0 < gust_m_s <= HIGHEST:
        raise GustError("A gust is above 0 and at most 120 m/s (268 mph).")
    with transaction.atomic():
        day, is_new = WindDay.objects.get_or_create(
            farm=farm, on=on, defaults={"gust_m_s": gust_m_s, "source": source, "note": note}
        )
        if not is_new and gust_m_s > day.gust_m_s:
            day.gust_m_s, day.source, day.note = gust_m_s, source, note or day.note
            day.save(update_fields=["gust_m_s", "source", "note"])
        _bring_on_checks(day)
        count_up(farm=farm, on=on)
    open_due_jobs(now=now, farm=farm)
    return day


def _bring_on_checks(day: WindDay) -> None:
    """Make the plans due that a gust like this brings on, unless their job is still to do, or was done since."""
    routines = Routine.objects.of(day.farm).in_use().filter(trigger=Routine.Trigger.GUST, gust_m_s__lte=day.gust_m_s)
    cause = {"gust_m_s": float(day.gust_m_s), "on": day.on.isoformat()}
    for routine in routines:
        plans = Plan.objects.waiting(routine).filter(counted_from__lte=day.on).exclude(jobs__due_on=day.on)
        bring_on(plans=plans, due_on=day.on, days=routine.window_days, cause=cause)
