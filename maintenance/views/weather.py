"""The forecast: where it comes from and how old it is, the week ahead, and a forecast that the farm types in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from farm.access import FarmRequest, member
from farm.models import Farm, Membership
from farm.paper import Drawing
from farm.units import format_gust
from maintenance.blow.rules import rules_of
from maintenance.drawn.weatherstrip import Limits, strip
from maintenance.models import WeatherSource, WindReading
from maintenance.skies.forms import FEWEST, MOST, HoursForm, SourceForm, posted_rows
from maintenance.skies.latest import forecast_of, hours_of, source_of
from maintenance.skies.page import Pair, ahead, days_of
from maintenance.skies.readings import forget_token, new_token
from maintenance.skies.sources import choose, place_of
from maintenance.skies.typed import COLUMNS, Row, by_row, filled, headers_of, keep_typed, read_typed, written
from maintenance.weather import Forecast, ForecastError
from maintenance.weather.documents import MOST_BYTES
from maintenance.weather.table import table_text
from maintenance.words.skies import age_text, problem_text, remark_text

GET_AND_POST = ["GET", "HEAD", "POST"]
READINGS = 12
STEP = timedelta(hours=3)  # between the times proposed for rows


@member("viewer")
@never_cache  # it shows a secret once
@require_http_methods(GET_AND_POST)
def weather(request: FarmRequest) -> HttpResponse:
    """Show the forecast and what it comes from; a manager changes the source, the hours and the instrument."""
    if request.method != "POST":
        return _page(request)
    if request.membership.role != Membership.Role.MANAGER:
        raise PermissionDenied
    return {"hours": _keep_hours, "token": _make_token, "no-token": _end_token}.get(
        request.POST.get("action", ""), _keep_source
    )(request)


@member("manager")
@require_http_methods(GET_AND_POST)
def weather_typed(request: FarmRequest) -> HttpResponse:
    """Take a forecast typed in row by row or as a file, show what it says, then keep it."""
    if request.method != "POST":
        return _rows_page(request, _proposed(request.farm, timezone.now()))
    if "table" in request.POST:
        return _look_at(request, request.POST["table"], keeps=request.POST.get("action") == "keep")
    if request.POST.get("action") == "file":
        return _take_file(request)
    rows = posted_rows(request.POST)
    if request.POST.get("action") == "more":
        return _rows_page(request, [*rows, *_blank(min(FEWEST, MOST - len(rows)))])
    return _look_at_rows(request, rows)


# The page --------------------------------------------------------------------------


def _page(request: FarmRequest, *, status: int = 200, **shown: Any) -> HttpResponse:
    farm, now = request.farm, timezone.now()
    source = source_of(farm)
    sky = forecast_of(farm=farm, now=now, source=source)
    pairs = ahead(sky.spells, source, now) if sky else []
    context: dict[str, Any] = {
        "what": _("Forecast"), "source": source, "sky": sky, "age": age_text(sky.age) if sky else "",
        "remarks": [remark_text(remark) for remark in sky.remarks] if sky else [],
        "drawing": _strip(pairs, farm), "days": days_of(pairs, farm), "readings": _readings(farm),
        "form": SourceForm(instance=source_of(farm), farm=farm), "hours": HoursForm(instance=hours_of(farm), farm=farm),
        "has_place": bool(place_of(farm)), "is_over": bool(sky) and not pairs,
        "station": request.build_absolute_uri(reverse("weather-station", args=[farm.slug])),
    }  # fmt: skip
    return render(request, "maintenance/weather.html", {**context, **shown}, status=status)


def _strip(pairs: Sequence[Pair], farm: Farm) -> Drawing | None:
    return strip(pairs, _limits(farm), zone=farm.zone, units=farm.units) if pairs else None


def _limits(farm: Farm) -> Limits:
    """Return the gusts from which the farm gets ready, closes up, and so on."""
    levels = rules_of(farm).levels
    names = (
        (levels.get_ready, _("get ready")), (levels.close_up, _("close up")), (levels.batten, _("batten down")),
        (levels.storm, _("storm")), (levels.extreme, _("extreme")),
    )  # fmt: skip
    return [(speed, f"{name}, {format_gust(speed, farm.units)}") for speed, name in names]


def _readings(farm: Farm) -> QuerySet[WindReading]:
    return WindReading.objects.filter(farm=farm).order_by("-at")[:READINGS]


def _refused(request: FarmRequest, name: str, form: BaseForm) -> HttpResponse:
    return _page(request, status=422, **{name: form})


def _keep_source(request: FarmRequest) -> HttpResponse:
    form = SourceForm(request.POST, instance=source_of(request.farm), farm=request.farm)
    if not form.is_valid():
        return _refused(request, "form", form)
    choose(source=form.save(commit=False), now=timezone.now())
    messages.success(request, _("The source is kept. A service is asked within the next minutes."))
    return redirect("weather", request.farm.slug)


def _keep_hours(request: FarmRequest) -> HttpResponse:
    form = HoursForm(request.POST, instance=hours_of(request.farm), farm=request.farm)
    if not form.is_valid():
        return _refused(request, "hours", form)
    form.save()
    messages.success(request, _("The working hours are kept."))
    return redirect("weather", request.farm.slug)


def _make_token(request: FarmRequest) -> HttpResponse:
    """Show a fresh token; the page that follows will not know it any more."""
    return _page(request, token=new_token(source=source_of(request.farm)))


def _end_token(request: FarmRequest) -> HttpResponse:
    forget_token(source=source_of(request.farm))
    messages.success(request, _("Readings of the instrument are no longer taken."))
    return redirect("weather", request.farm.slug)


# Typed in --------------------------------------------------------------------------


def _rows_page(
    request: FarmRequest, rows: Sequence[Row], *, problems: dict[int, list[str]] | None = None, problem: str = ""
) -> HttpResponse:
    farm, wrong = request.farm, problems or {}
    context = {
        "what": _("Type in a forecast"), "problem": problem, "problems": wrong, "most": MOST,
        "headers": list(zip(COLUMNS, _labels(farm), strict=True)), "zone": farm.time_zone,
        "rows": [([(name, label, row.get(name, "")) for name, label in zip(COLUMNS, _labels(farm), strict=True)],
                  wrong.get(number, [])) for number, row in enumerate(rows)],
    }  # fmt: skip
    return render(request, "maintenance/weather_rows.html", context, status=422 if wrong or problem else 200)


def _labels(farm: Farm) -> list[str]:
    """Return what the columns are called, with the units of the farm's tables."""
    units = [header.rpartition(" ")[2] for header in headers_of(farm.units)]
    return [
        _("time"), f"{_('gust')}, {units[1]}", _("direction"), f"{_('mean wind')}, {units[3]}",
        f"{_('rain')}, {units[4]}", f"{_('temperature')}, °{units[5]}",
    ]  # fmt: skip


def _proposed(farm: Farm, now: datetime) -> list[Row]:
    """Return empty rows with times every three hours from the next full hour on, by the farm's clock."""
    first = now.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
    times = [timezone.localtime(first + STEP * number, farm.zone) for number in range(FEWEST)]
    return [{"time": time.strftime("%Y-%m-%d %H:%M")} for time in times]


def _blank(count: int) -> list[Row]:
    return [dict.fromkeys(COLUMNS, "") for _number in range(count)]


def _look_at_rows(request: FarmRequest, rows: Sequence[Row]) -> HttpResponse:
    """Show what rows say; with a row that needs a change, all of them as they were typed."""
    if not filled(rows):
        return _rows_page(request, rows, problem=_("Write at least one row: its time and its gust."))
    table = written(rows, request.farm.units)
    try:
        found = read_typed(table, farm=request.farm, now=timezone.now())
    except ForecastError as error:
        at = [number for number, row in enumerate(rows) if row in filled([row])]
        wrong = {at[number]: [remark_text(one) for one in some] for number, some in by_row(error).items()}
        return _rows_page(request, rows, problems=wrong, problem="" if wrong else problem_text(error))
    return _preview(request, table, found)


def _take_file(request: FarmRequest) -> HttpResponse:
    upload = request.FILES.get("file")
    if upload is None:
        return _rows_page(request, _proposed(request.farm, timezone.now()), problem=_("Choose a file first."))
    try:
        table = table_text(upload.read(MOST_BYTES + 1))
    except ForecastError as error:
        return _rows_page(request, _proposed(request.farm, timezone.now()), problem=problem_text(error))
    return _look_at(request, table, keeps=False)


def _look_at(request: FarmRequest, table: str, *, keeps: bool) -> HttpResponse:
    """Show what a table says, or keep it; one that cannot be read comes back to be changed."""
    farm, now = request.farm, timezone.now()
    try:
        found = read_typed(table, farm=farm, now=now)
        if keeps:
            keep_typed(table, farm=farm, now=now)
    except ForecastError as error:
        problems = [remark_text(one) for one in error.problems] or [problem_text(error)]
        return _preview(request, table, None, problems)
    if not keeps:
        return _preview(request, table, found)
    messages.success(request, _("The forecast is kept. It is planned by from now on."))
    return redirect("weather", farm.slug)


def _preview(request: FarmRequest, table: str, found: Forecast | None, problems: Sequence[str] = ()) -> HttpResponse:
    farm, now = request.farm, timezone.now()
    pairs = ahead(found.spells, _as_typed(farm), now) if found else []
    context = {
        "what": _("The forecast as it was read"), "table": table, "problems": problems, "days": days_of(pairs, farm),
        "drawing": _strip(pairs, farm), "remarks": [remark_text(one) for one in found.remarks] if found else [],
        "is_over": bool(found) and not pairs,
    }  # fmt: skip
    return render(request, "maintenance/weather_preview.html", context, status=422 if problems else 200)


def _as_typed(farm: Farm) -> WeatherSource:
    """Return a source that changes nothing: a preview shows the figures as they were written."""
    return WeatherSource(farm=farm)
