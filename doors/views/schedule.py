"""The door schedule."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from doors.exchange.kinds import OPENINGS
from doors.filters import ScheduleFilter
from doors.listing import openings_for_schedule
from doors.tables import ScheduleTable
from doors.views.lists import list_page
from farm.access import FarmRequest, member
from farm.models import Opening


@member("viewer")
@require_safe
def door_schedule(request: FarmRequest) -> HttpResponse:
    """Show what hangs or is to hang in each opening."""
    farm = request.farm
    chosen = ScheduleFilter(request.GET, queryset=openings_for_schedule(Opening.objects.of(farm)))
    lead = _("Openings are width by height. A hung door is listed by the sheet it was hung by.")
    return list_page(request, chosen, ScheduleTable(chosen.qs, farm=farm), OPENINGS, what=_("Door schedule"), lead=lead)
