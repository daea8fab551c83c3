"""The banner on every page of a farm: what does not work."""

from __future__ import annotations

from typing import Any

from django import template
from django.template import Context
from django.utils import timezone

from farm.models import Membership
from maintenance.watching.watch import Severity, kept_troubles
from maintenance.words.watching import say

register = template.Library()


@register.inclusion_tag("maintenance/_watch_banner.html", takes_context=True)
def watch_banner(context: Context) -> dict[str, Any]:
    """Print what does not work, worst first; nothing when all is well. What is not set up only managers read."""
    farm = getattr(context.get("request"), "farm", None)
    if farm is None:
        return {}
    now, membership = timezone.now(), context["request"].membership
    least = Severity.NOTICE if membership.role == Membership.Role.MANAGER else Severity.CAUTION
    found = [one for one in kept_troubles(farm=farm, now=now) if one.severity >= least]
    return {"farm": farm, "lines": [say(one, now) for one in found]}
