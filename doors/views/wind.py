"""What the wind does to a door: the reading with its what-if panel, and the calculation sheet behind it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe
from django_htmx.http import replace_url

from doors import sizing as core
from doors.calculation import sheet
from doors.inputs import tube_input
from doors.mechanics.wind import Direction
from doors.models import Door, Material, Sizing
from doors.rows import wall_name
from doors.services import strengths_of
from doors.views.shared import today
from doors.wind.advice import advice_lines
from doors.wind.chart import chart, fastest_shown
from doors.wind.cranking import read_crank
from doors.wind.inputs import DoorInWind, FilmInService, door_in_wind, film_in_service
from doors.wind.path import load_path
from doors.wind.reading import WindReading, read
from doors.wind.section import section
from doors.wind.tables import gust_rows, shown_state, state_tables, station_rows
from doors.wind.whatif import WhatIfForm
from doors.words.crank import crank_lines, sag_lines
from doors.words.wind import flapping_text, forecast_text, gap_text, standing_text, state_name
from doors.words.wording import refusal_text
from farm.access import FarmRequest, member
from farm.models import Opening
from farm.units import format_gust, format_measure


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows one door's page is read from."""

    opening: Opening
    door: Door | None
    kept: Sizing | None  # the sheet it hangs by, or else the newest
    film: FilmInService | None


@member("viewer")
@require_safe
def wind(request: FarmRequest, pk: int) -> HttpResponse:
    """Show what gusts a film door is expected to stand, and what gives first; htmx gets the reading alone."""
    rows = _rows(request, pk)
    context = _context(request, rows)
    form: WhatIfForm | None = context.get("form")
    if form is not None and "reading" in context:
        context |= _page(context["reading"], form, context["stock"], request.farm.units)
    htmx: Any = getattr(request, "htmx", None)
    is_part = bool(htmx) and not htmx.history_restore_request
    template = "doors/_wind.html" if is_part else "doors/wind.html"
    response = render(request, template, context, status=_status(form))
    patch_vary_headers(response, ["HX-Request"])
    if is_part and form is not None:
        return replace_url(response, f"{request.path}?{form.query}" if form.query else request.path)
    return response


@member("viewer")
@require_safe
def calculation(request: FarmRequest, pk: int) -> HttpResponse:
    """Show every quantity of the reading with its formula, source and inputs."""
    rows = _rows(request, pk)
    context = _context(request, rows)
    form: WhatIfForm | None = context.get("form")
    reading: WindReading | None = context.get("reading")
    context |= {"is_calculation": True, "what": _("%(code)s in the wind: calculation") % {"code": rows.opening.code}}
    if reading is not None:
        groups = sheet.calculation(reading, read_crank(reading.door))
        context |= {"groups": groups, "standing": standing_text(reading, request.farm.units)}
    return render(request, "doors/calculation.html", context, status=_status(form))


def _rows(request: FarmRequest, pk: int) -> Rows:
    farm = request.farm
    door = Door.objects.of(farm).for_sheet().filter(opening_id=pk).first()
    if door is None:
        opening = get_object_or_404(Opening.objects.of(farm).with_place(), pk=pk)
        return Rows(opening, None, None, None)
    film = film_in_service(farm=farm, opening=door.opening, door=door, on=today(farm))
    return Rows(door.opening, door, door.as_built or door.sizing, film)


def _status(form: WhatIfForm | None) -> int:
    """Return 422 where the panel could not be read as it was filled in."""
    return 422 if form is not None and form.errors else 200


def _context(request: FarmRequest, rows: Rows) -> dict[str, Any]:
    """Return what both pages print."""
    opening, farm = rows.opening, request.farm
    context: dict[str, Any] = {
        "what": _("%(code)s in the wind") % {"code": opening.code},
        "where": wall_name(opening.end_wall.tunnel, opening.end_wall),
        "opening": opening,
        "tunnel": opening.end_wall.tunnel,
        "wall": opening.end_wall,
        "door": rows.door,
        "kept": rows.kept,
        "is_film": opening.kind in core.FILM_ROLLS,
    }
    door = _door(request, rows)
    if door is None or rows.film is None:
        return context
    try:
        return context | _read(request, door, rows.film)
    except core.SizingError as refusal:
        words = {"field": refusal.field, "value": refusal.value, "relation": refusal.relation, "limit": refusal.limit}
        return context | {"refusal": refusal_text(words, farm.units)}


def _door(request: FarmRequest, rows: Rows) -> DoorInWind | None:
    """Return the door as the wind meets it, or None where no limit is worked out for its kind."""
    if rows.opening.kind not in core.FILM_ROLLS or rows.door is None or rows.kept is None or rows.film is None:
        return None
    door = door_in_wind(
        farm=request.farm, opening=rows.opening, door=rows.door, kept=rows.kept, strengths=strengths_of(request.farm),
        film=rows.film,
    )  # fmt: skip
    return door if door.opening.kind in core.FILM_ROLLS else None


def _read(request: FarmRequest, present: DoorInWind, film: FilmInService) -> dict[str, Any]:
    farm = request.farm
    tubes = Material.objects.of(farm).filter(kind=Material.Kind.TUBE, is_in_book=True, diameter_mm__gt=0, wall_mm__gt=0)
    form = WhatIfForm(
        request.GET.dict(), door=present, farm=farm, tubes=tubes.order_by("diameter_mm", "name", "pk"), units=farm.units
    )
    form.full_clean()
    reading = read(form.door_asked_for(), form.gust_m_s)
    return {
        "form": form,
        "reading": reading,
        "film": film,
        "stock": tubes,
        "changed": form.changed_labels,
        "query": form.query,
    }


def _page(reading: WindReading, form: WhatIfForm, stock: Iterable[Material], units: str) -> dict[str, Any]:
    """Return the reading in words, drawings and tables."""
    tubes = tuple(tube for tube in map(tube_input, stock) if tube is not None)
    crank = read_crank(reading.door)
    shown = shown_state(reading, form.drawn)
    path = load_path(reading, shown)
    return {
        "section": section(reading, path, units),
        "chart": chart(reading, units),
        "path": path,
        "way": _("sucked out") if path.direction == Direction.OUTWARD else _("pushed in"),
        "net_pressure": format_measure("pressure", path.pressure, units),
        "stations": station_rows(path, units),
        "advice": advice_lines(reading.door, tubes, units),
        "crank_lines": crank_lines(crank, units),
        "sag_lines": sag_lines(crank, units),
        "shown_key": str(shown.state),
        "shown_name": state_name(shown.state),
        "secured_name": state_name(reading.secured.state),
        "gust_text": format_gust(reading.gust, units),
        "standing": standing_text(reading, units),
        "flapping": flapping_text(reading, units),
        "forecast": forecast_text(reading, units),
        "gaps": [gap_text(gap) for gap in reading.gaps],
        "tables": state_tables(reading, units),
        "gust_rows": gust_rows(reading, fastest_shown(reading, units), units),
    }
