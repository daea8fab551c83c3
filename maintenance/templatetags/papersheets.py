"""The short number that stands on a printed storm sheet."""

from __future__ import annotations

from django import template

from farm.models import Membership
from maintenance.models import Storm
from maintenance.work.sheetnumbers import SheetNumber

register = template.Library()


@register.simple_tag
def storm_sheet_number(storm: Storm, whose: Membership) -> str:
    """Return the number by which a person's storm sheet is typed in again."""
    return str(SheetNumber("S", storm.pk, whose.pk))
