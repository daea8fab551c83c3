"""The log of gusts: what a windy day was like, which brings on the rounds after it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe
from django_tables2 import RequestConfig

from doors.views.lists import FORMATS, file_response
from doors.views.shared import form_page, posted, today
from farm.access import FarmRequest, member
from farm.units import format_gust
from maintenance.models import Job, WindDay
from maintenance.plans import winds
from maintenance.work.faultforms import GustForm
from maintenance.work.faulttables import GUSTS, GustTable, gusts_for_table


@member("viewer")
@require_safe
def gusts(request: FarmRequest) -> HttpResponse:
    """Show the highest gust of each day that was recorded; ``?export=csv`` or ``xlsx`` is a file of all."""
    farm = request.farm
    table = GustTable(gusts_for_table(WindDay.objects.of(farm)), farm=farm)
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    if wanted := FORMATS.get(request.GET.get("export", "")):
        return file_response(farm, GUSTS, table.data.data, wanted)
    return render(request, "maintenance/gusts.html", {"what": _("Gusts"), "table": table, "kind": GUSTS})


@member("crew")
@require_http_methods(["GET", "HEAD", "POST"])
def gust_new(request: FarmRequest) -> HttpResponse:
    """Record the highest gust of a day, and open the jobs that it brings on."""
    farm = request.farm
    form = GustForm(posted(request), today=today(farm), units=farm.units)
    if form.is_valid():
        before = Job.objects.of(farm).undone().count()
        kept = winds.record_gust(farm=farm, now=timezone.now(), **form.cleaned_data)
        opened = Job.objects.of(farm).undone().count() - before
        messages.success(request, _words(kept, opened, farm.units))
        return redirect("due" if opened else "gusts", farm.slug)
    return form_page(
        request, form, what=_("Record a gust"), submit=_("Keep it"), back=reverse("gusts", args=[farm.slug]),
        lead=_("The highest gust of a day: seen, measured or reported. It opens the rounds that come after it."),
    )  # fmt: skip


def _words(kept: WindDay, opened: int, units: str) -> str:
    """Return what is kept of the day, which may be a higher gust known before, and how many jobs it opened."""
    day = {"gust": format_gust(kept.gust_m_s, units), "day": kept.on.isoformat()}
    said = _("The highest gust of %(day)s is %(gust)s.") % day
    if not opened:
        return said
    jobs = ngettext("It brought on %(count)s job.", "It brought on %(count)s jobs.", opened) % {"count": opened}
    return f"{said} {jobs}"
