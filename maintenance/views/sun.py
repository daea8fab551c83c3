"""The farm's sunshine: what is known of it, what it makes of a year, and what was measured."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, Final

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dates import MONTHS
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from doors.exchange.spreadsheets import MOST_BYTES, MOST_ROWS, SpreadsheetError, read_grid
from doors.models import ImportDraft
from doors.views.shared import posted, today
from farm.access import FarmRequest, member
from farm.models import Farm, Membership
from maintenance.ages.sunfile import read_sun
from maintenance.ages.sunforms import SunshineForm, shown
from maintenance.ages.sunshine import climate_of, keep_climate, keep_days, known_days
from maintenance.ages.sunyear import SunYear, sun_year
from maintenance.dose import DEFAULT_UNCERTAINTY
from maintenance.models import Climate, SunDay
from maintenance.words.ages import sun

GET_AND_POST = ["GET", "HEAD", "POST"]
DRAFT: Final = "sun"
KEPT_FOR: Final = timedelta(days=1)
MOST_PROBLEMS: Final = 200


@member("viewer")
@require_http_methods(GET_AND_POST)
def sun_page(request: FarmRequest) -> HttpResponse:
    """Show the farm's year of sun; a manager enters what it is made of."""
    farm = request.farm
    if request.method == "POST" and request.membership.role != Membership.Role.MANAGER:
        raise PermissionDenied
    form = SunshineForm(posted(request))
    if form.is_valid():
        keep_climate(farm=farm, sunshine=form.sunshine, source=form.cleaned_data["source"])
        messages.success(request, _("The sunshine is kept. Ages and expected ends of film are told by it."))
        return redirect("sun", farm.slug)
    return _page(request, form if form.is_bound else None, status=422 if form.is_bound else 200)


@member("manager")
@require_http_methods(GET_AND_POST)
def sun_measured(request: FarmRequest) -> HttpResponse:
    """Take a table of measured radiation, show what it would do, then keep it."""
    farm = request.farm
    if request.method == "POST" and "draft" not in request.POST:
        return _take(request)
    given = request.POST if request.method == "POST" else request.GET
    draft = _draft(request, given.get("draft", ""))
    if draft is None:
        gone = _("That file is no longer kept. Choose it again.") if "draft" in given else ""
        return _page(request, problem=gone, status=404 if gone else 200)
    table = read_sun(draft.grid, today=today(farm))
    if request.method == "POST" and table.days:
        keep_days(farm=farm, days=table.days)
        draft.delete()
        count = len(table.days)
        text = ngettext("%(count)s measured day is kept.", "%(count)s measured days are kept.", count)
        messages.success(request, text % {"count": count})
        return redirect("sun", farm.slug)
    replaced = known_days(farm, table.days)
    context: dict[str, Any] = {
        "what": _("Measured sun: %(file)s") % {"file": draft.name}, "draft": draft, "table": table,
        "problems": table.problems[:MOST_PROBLEMS], "new": len(table.days) - replaced, "replaced": replaced,
        "total": sun(float(sum(table.days.values())) * 1e6),
        "first": min(table.days, default=None), "last": max(table.days, default=None),
    }  # fmt: skip
    return render(request, "maintenance/sun_preview.html", context)


def _page(
    request: FarmRequest, form: SunshineForm | None = None, *, problem: str = "", status: int = 200
) -> HttpResponse:
    farm = request.farm
    kept = Climate.objects.filter(farm=farm).first()
    form = form or SunshineForm(initial=shown(kept.sunshine, kept.source) if kept else None)
    climate = climate_of(farm)
    measured = SunDay.objects.of(farm).order_by("on")
    year = None if climate is None else sun_year(climate)
    context: dict[str, Any] = {
        "what": _("Sunshine of the farm"), "form": form, "kept": kept, "year": year and _rows(year, kept),
        "total": sun(year.total) if year else "", "first": measured.first(), "last": measured.last(),
        "count": measured.count(), "uncertainty": round(100 * DEFAULT_UNCERTAINTY), "problem": problem,
        "most_rows": MOST_ROWS, "latitude": _latitude(farm),
    }  # fmt: skip
    return render(request, "maintenance/sun.html", context, status=status)


def _rows(year: SunYear, kept: Climate | None) -> list[dict[str, Any]]:
    sunshine = kept.sunshine if kept else []
    return [
        {
            "month": name, "share": round(100 * share), "daylight": f"{month.daylight / 3600:.1f}",
            "outside": f"{month.outside / 1e6:.1f}", "ground": f"{month.ground / 1e6:.1f}",
        }
        for name, share, month in zip(MONTHS.values(), sunshine, year.months, strict=True)
    ]  # fmt: skip


def _latitude(farm: Farm) -> str:
    if farm.latitude_deg is None:
        return ""
    degrees = f"{abs(farm.latitude_deg):f}".rstrip("0").rstrip(".")
    return f"{degrees}° {_('N') if farm.latitude_deg >= 0 else _('S')}"


def _take(request: FarmRequest) -> HttpResponse:
    """Keep an uploaded table until somebody has looked at it."""
    upload, problem = request.FILES.get("file"), ""
    grid: list[list[str]] = []
    if upload is None:
        problem = _("Choose a file first.")
    elif (upload.size or 0) > MOST_BYTES:
        problem = _("The file is larger than 5 MB. Split it, or leave out pictures and other sheets.")
    else:
        try:
            grid = read_grid(upload.name or "", upload.read())
        except SpreadsheetError as error:
            problem = str(error)
    if problem or upload is None:
        return _page(request, problem=problem, status=422)
    ImportDraft.objects.older_than(timezone.now() - KEPT_FOR).delete()
    draft = ImportDraft.objects.create(
        farm=request.farm, user_id=request.membership.user_id, kind=DRAFT, name=(upload.name or "")[-120:], grid=grid
    )
    return redirect(f"{reverse('sun-measured', args=[request.farm.slug])}?draft={draft.pk}")


def _draft(request: FarmRequest, text: str) -> ImportDraft | None:
    """Return the draft, which only who uploaded it may see; None where there is none."""
    if not (text.isascii() and text.isdecimal() and len(text) < 19):
        return None
    own = ImportDraft.objects.of(request.farm).filter(user_id=request.membership.user_id, kind=DRAFT)
    return own.filter(pk=int(text)).first()
