"""The film plan: which sheets end when, and what their replacement takes."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from doors.exchange.spreadsheets import write_table
from doors.views.lists import FORMATS, download
from doors.views.shared import today
from farm.access import FarmRequest, member
from maintenance.film import file as filmfile
from maintenance.film.buying import left_out, purchases
from maintenance.film.plan import FilmPlan, film_plan, gaps
from maintenance.sheeting import EDGE, FOOT_EDGE, LEAD_WEEKS


@member("viewer")
@require_safe
def film(request: FarmRequest) -> HttpResponse:
    """Show every sheet in service by the year in which to replace it, or keep the whole plan as a file."""
    farm, on = request.farm, today(request.farm)
    plan = film_plan(farm=farm, on=on)
    if wanted := FORMATS.get(request.GET.get("export", "")):
        rows = filmfile.rows(plan, farm.units, farm.currency)
        content = write_table(filmfile.headers(farm.units), rows, wanted, "film-plan")
        return download(content, f"film-plan-{farm.slug}-{on}", wanted)
    context = {
        "what": _("Film plan"), "where": _years(plan), "date": on, "plan": plan, "purchases": purchases(plan),
        "left_out": left_out(plan), "gaps": gaps(plan), "edge": EDGE, "foot_edge": FOOT_EDGE, "lead_weeks": LEAD_WEEKS,
        "has_no_latitude": farm.latitude_deg is None,
    }  # fmt: skip
    return render(request, "maintenance/film_plan.html", context)


def _years(plan: FilmPlan) -> str:
    return f"{plan.years[0].first} – {plan.years[-1].last}"
