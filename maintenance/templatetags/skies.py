"""What other pages say of the weather: when the work that minds it can be done."""

from __future__ import annotations

from typing import Any

from django import template
from django.template import Context
from django.utils import timezone

from farm.models import Farm
from maintenance.models import Job
from maintenance.querysets import UNDONE
from maintenance.skies.calmness import MOST, Offer, calm_of, minds_weather, waiting
from maintenance.words.conditions import conditions
from maintenance.words.places import place_of_job
from maintenance.words.said import plan_name
from maintenance.words.skies import age_text, hold_ups_text, window_text

SHOWN = 2  # windows of a job

register = template.Library()


@register.inclusion_tag("maintenance/_calm_windows.html", takes_context=True)
def calm_windows(context: Context, job: Job | None = None, most: int = MOST, *, film: bool = False) -> dict[str, Any]:
    """Print when a job, or those that wait for the weather, can be done by the forecast; nothing where none waits."""
    farm, now = context["request"].farm, timezone.now()
    if job is not None and (job.state not in UNDONE or not minds_weather(job)):
        return {}
    jobs = waiting(farm=farm, now=now, most=most, only_film=film) if job is None else [job]
    if not jobs:
        return {}
    user, can_edit = context["request"].membership.user_id, bool(context.get("can_edit"))
    calm = calm_of(farm=farm, now=now, jobs=jobs)
    return {
        "farm": farm, "sky": calm.sky, "age": age_text(calm.sky.age) if calm.sky else "", "alone": job is not None,
        "is_shown": True, "can_log": context.get("can_log"),
        "rows": [_row(offer, farm, user=user, can_edit=can_edit) for offer in calm.offers],
    }  # fmt: skip


def _row(offer: Offer, farm: Farm, *, user: int, can_edit: bool) -> dict[str, Any]:
    job, units = offer.job, farm.units
    return {
        "is_held": offer.is_held,
        "job": job, "place": place_of_job(job), "what": plan_name(job.plan, units),
        "booking": _booking(offer, farm), "is_own": can_edit or job.assigned_to_id == user,
        "windows": [window_text(window, offer.needs, farm) for window in offer.windows[:SHOWN]],
        "why_not": hold_ups_text(offer.hold_ups), "conditions": conditions(job.plan.routine, units),
        "lacking": [line.name for line in offer.lacking], "has_sheet": offer.has_sheet,
        "takes_parts": bool(job.plan.routine.parts), "has_parts": offer.has_parts,
    }  # fmt: skip


def _booking(offer: Offer, farm: Farm) -> dict[str, str]:
    """Return what puts a job into its first window: the day, and the window as the reason."""
    if not offer.windows:
        return {}
    window = offer.windows[0]
    return {
        "until": window.start.astimezone(farm.zone).date().isoformat(),
        "reason": window_text(window, offer.needs, farm),
    }
