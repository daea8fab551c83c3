"""End walls for other programs; they come and go with their tunnel."""

from __future__ import annotations

from typing import Annotated

from django.shortcuts import get_object_or_404
from ninja import Query

from doors import register
from doors.api.changing import changed_form
from farm.api.entry import ApiRequest
from farm.api.etags import require_match
from farm.api.forming import saving
from farm.api.paging import Page, PageQuery, page_of
from farm.api.routing import FARM, Routes
from farm.api.shapes import Body, Degrees, Maybe, Millimetres, Note, PathId, QueryId, Shown, Truth, among
from farm.forms import EndWallForm
from farm.models import EndWall

routes = Routes("end walls")
router = routes.router
PATH = f"{FARM}/end-walls"


class EndWallChange(Body):
    """What can be said of an end wall; null where nobody has measured it."""

    bearing_deg: Degrees | None = None
    covering: Annotated[str, among(EndWall.Covering.values, blank=True)] = ""
    stud_face_mm: Millimetres | None = None
    stud_depth_mm: Millimetres | None = None
    header_thickness_mm: Millimetres | None = None
    is_tied_to_bows: Truth | None = None
    notes: Note = ""


class EndWallShown(Shown):
    """An end wall, seen from outside."""

    id: int
    tunnel_id: int
    end: str
    bearing_deg: float | None
    covering: Maybe
    stud_face_mm: float | None
    stud_depth_mm: float | None
    header_thickness_mm: float | None
    is_tied_to_bows: bool | None
    notes: str


class EndWallPage(Page):
    """A page of end walls."""

    items: list[EndWallShown]


class EndWallQuery(PageQuery):
    """Which end walls."""

    tunnel_id: QueryId | None = None


@routes.reads(PATH, EndWallPage, summary="End walls")
def listed(request: ApiRequest, query: Query[EndWallQuery]) -> EndWallPage:
    """List the end walls of the farm, or of one tunnel."""
    rows = EndWall.objects.of(request.farm)
    rows = rows.filter(tunnel=query.tunnel_id) if query.tunnel_id else rows
    return page_of(EndWallPage, request, rows, query, shown)


@routes.reads(PATH + "/{int:pk}", EndWallShown, summary="One end wall")
def one(request: ApiRequest, pk: PathId) -> EndWallShown:
    """Show it."""
    return shown(get_object_or_404(EndWall.objects.of(request.farm), pk=pk))


@routes.changes(PATH + "/{int:pk}", EndWallShown, role="manager", summary="Change an end wall", method="PATCH")
def change(request: ApiRequest, pk: PathId, body: EndWallChange) -> EndWallShown:
    """Change what the body names; where it turns, the tunnel and the other wall turn with it, and doors are sized."""
    rows = EndWall.objects.of(request.farm).select_related("tunnel", "farm").select_for_update(of=("self",))
    wall = get_object_or_404(rows, pk=pk)
    require_match(request, shown(wall))
    form, columns = changed_form(EndWallForm, wall, body, farm=request.farm)
    with saving():
        register.change_end_wall(end_wall=form.save(commit=False), columns=columns)
    return one(request, pk)


def shown(wall: EndWall) -> EndWallShown:
    """Return an end wall as programs see it."""
    return EndWallShown.model_validate(wall)
