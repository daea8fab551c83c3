"""Openings for other programs."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _
from ninja import Query
from pydantic import Field

from doors import register
from doors.api.changing import changed_form
from doors.forms import NewOpeningForm
from doors.models import Door
from farm import services
from farm.api.entry import ApiRequest
from farm.api.etags import require_match
from farm.api.forming import filled, require_valid, saving, wrong_at
from farm.api.paging import Page, PageQuery, page_of
from farm.api.routing import FARM, Routes
from farm.api.shapes import Body, Id, Millimetres, Note, PathId, QueryId, Shown, among
from farm.forms import OpeningForm
from farm.models import EndWall, Opening

routes = Routes("openings")
router = routes.router
PATH = f"{FARM}/openings"
Kind = Annotated[str, among(Opening.Kind.values)]


class OpeningChange(Body):
    """What can be said of an opening; null where nobody has measured it."""

    code: Annotated[str, Field(max_length=30, description="Made from the wall's name where it is left out.")] = ""
    kind: Kind = Opening.Kind.MID_BAR.value
    rough_width_mm: Millimetres = 0  # type: ignore[assignment]  # never used: a change holds only what it names
    rough_height_mm: Millimetres = 0  # type: ignore[assignment]
    offset_mm: Millimetres | None = None
    threshold_mm: Millimetres | None = None
    header_depth_mm: Millimetres | None = None
    diagonal_1_mm: Millimetres | None = None
    diagonal_2_mm: Millimetres | None = None
    machine: Annotated[str, Field(max_length=120)] = ""
    machine_width_mm: Millimetres | None = None
    machine_height_mm: Millimetres | None = None
    notes: Note = ""


class OpeningNew(OpeningChange):
    """A new opening: where, how wide and how high."""

    end_wall_id: Id
    rough_width_mm: Millimetres
    rough_height_mm: Millimetres
    drive_side: Annotated[str, among(Door.DriveSide.values, blank=True)] = ""


class OpeningShown(Shown):
    """An opening; its offset runs from the wall's left corner seen from outside."""

    id: int
    end_wall_id: int
    code: str
    kind: str
    rough_width_mm: float
    rough_height_mm: float
    offset_mm: float | None
    threshold_mm: float | None
    header_depth_mm: float | None
    diagonal_1_mm: float | None
    diagonal_2_mm: float | None
    machine: str
    machine_width_mm: float | None
    machine_height_mm: float | None
    retired_on: date | None
    notes: str


class OpeningPage(Page):
    """A page of openings."""

    items: list[OpeningShown]


class OpeningQuery(PageQuery):
    """Which openings."""

    end_wall_id: QueryId | None = None
    tunnel_id: QueryId | None = None
    kind: Kind | None = None
    in_use: bool | None = None


@routes.reads(PATH, OpeningPage, summary="Openings")
def listed(request: ApiRequest, query: Query[OpeningQuery]) -> OpeningPage:
    """List the openings of the farm, of a tunnel, of an end wall, of a kind, in use or retired."""
    rows = Opening.objects.of(request.farm)
    asked = {"end_wall": query.end_wall_id, "end_wall__tunnel": query.tunnel_id, "kind": query.kind}
    rows = rows.filter(**{name: value for name, value in asked.items() if value is not None})
    if query.in_use is not None:
        rows = rows.filter(retired_on__isnull=query.in_use)
    return page_of(OpeningPage, request, rows, query, shown)


@routes.reads(PATH + "/{int:pk}", OpeningShown, summary="One opening")
def one(request: ApiRequest, pk: PathId) -> OpeningShown:
    """Show it."""
    return shown(get_object_or_404(Opening.objects.of(request.farm), pk=pk))


@routes.makes(PATH, OpeningShown, role="manager", summary="Add an opening", at="/openings")
def add(request: ApiRequest, body: OpeningNew) -> OpeningShown:
    """Add an opening with a door designed from the farm's book, and size it and its neighbours."""
    walls = EndWall.objects.of(request.farm).select_related("tunnel", "farm")
    wall = walls.filter(pk=body.end_wall_id).first()
    if wall is None:
        raise wrong_at("/end_wall_id", _("There is no such end wall on this farm."))
    wall.farm = request.farm
    values = body.model_dump() | {"code": body.code or services.proposed_opening_code(wall)}
    instance = Opening(farm=request.farm, end_wall=wall)
    form = NewOpeningForm(filled(NewOpeningForm.base_fields, values), farm=wall.farm, end_wall=wall, instance=instance)
    require_valid(form)
    with saving():
        opening = register.add_opening(opening=form.save(commit=False), drive_side=form.cleaned_data["drive_side"])
    return one(request, opening.pk)


@routes.changes(PATH + "/{int:pk}", OpeningShown, role="manager", summary="Change an opening", method="PATCH")
def change(request: ApiRequest, pk: PathId, body: OpeningChange) -> OpeningShown:
    """Change what the body names; its door and its neighbours are sized again."""
    rows = Opening.objects.of(request.farm).with_place().select_related("farm", "end_wall__tunnel")
    opening = get_object_or_404(rows.select_for_update(of=("self",)), pk=pk)
    require_match(request, shown(opening))
    code = opening.code
    form, columns = changed_form(OpeningForm, opening, body, farm=request.farm, end_wall=opening.end_wall)
    changed: Opening = form.save(commit=False)
    changed.code = changed.code or code
    with saving():
        register.change_opening(opening=changed, columns=columns)
    return one(request, pk)


def shown(opening: Opening) -> OpeningShown:
    """Return an opening as programs see it."""
    return OpeningShown.model_validate(opening)
