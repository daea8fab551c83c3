"""What other pages say of the storm ahead: the deadline first."""

from __future__ import annotations

from typing import Any

from django import template
from django.db.models import F, Sum
from django.template import Context
from django.utils import timezone

from maintenance.models import Storm, StormTask
from maintenance.words import storm as words

register = template.Library()


@register.inclusion_tag("maintenance/_storm_ahead.html", takes_context=True)
def storm_ahead(context: Context) -> dict[str, Any]:
    """Print by when everything must be shut, in two queries at most; nothing where no storm is ahead."""
    farm = context["request"].farm
    storm = Storm.objects.of(farm).ahead().first()
    if storm is None:
        return {}
    now = timezone.now()
    left = storm.tasks.filter(state=StormTask.State.OPEN).aggregate(total=Sum(F("minutes") * F("people")))["total"]
    found: dict[str, Any] = {
        "farm": farm,
        "storm": storm,
        "units": farm.units,
        "level": words.level_text(storm.level),
        "work": words.work_text(left or 0, storm.facts.get("people", 0)),
        "has_work": bool(left),
    }
    if storm.deadline_at:
        found["deadline"] = words.day_text(storm.deadline_at, now)
    if storm.start_by_at:
        found |= {"start_by": words.day_text(storm.start_by_at), "margin": words.margin_text(storm.start_by_at, now)}
    return found
