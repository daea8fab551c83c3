"""What lists of storms say of those that are past."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import template
from django.template import Context

from maintenance.aftermath.alarms import records_among
from maintenance.models import Storm
from maintenance.words.aftermath import VERDICTS

register = template.Library()


@register.simple_tag(takes_context=True)
def with_warnings(context: Context, storms: Iterable[Storm]) -> list[tuple[Storm, Any, str]]:
    """Return storms with whether their warning was right, in a word and its look; takes three queries for all."""
    found = list(storms)
    records = records_among(found, context["request"].farm)
    empty = ("", "")
    return [(storm, *(VERDICTS[records[storm.pk].verdict] if storm.pk in records else empty)) for storm in found]
