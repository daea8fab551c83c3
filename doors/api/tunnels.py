"""Tunnels for other programs."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from django.shortcuts import get_object_or_404
from ninja import Query
from pydantic import Field

from doors import register
from doors.api.changing import changed_form
from farm import services
from farm.api.entry import ApiRequest
from farm.api.etags import require_match
from farm.api.forming import filled, require_valid, saving
from farm.api.paging import Page, PageQuery, page_of
from farm.api.routing import FARM, Routes
from farm.api.shapes import Body, Degrees, Maybe, Millimetres, Note, PathId, Shown, Truth, among, whole
from farm.forms import TunnelForm
from farm.models import Tunnel

routes = Routes("tunnels")
router = routes.router
PATH = f"{FARM}/tunnels"
Point = Annotated[list[Millimetres], Field(min_length=2, max_length=2)]
Status = Annotated[str, among([Tunnel.Status.PLANNED, Tunnel.Status.IN_USE])]


class TunnelChange(Body):
    """What can be said of a tunnel; null where nobody has measured it."""

    name: Annotated[str, Field(min_length=1, max_length=120)] = ""
    code: Annotated[str, Field(max_length=20, description="The next free one where it is left out.")] = ""
    status: Status = Tunnel.Status.IN_USE.value
    shape: Annotated[str, among(Tunnel.Shape.values, blank=True)] = ""
    width_mm: Millimetres | None = None
    length_mm: Millimetres | None = None
    ridge_mm: Millimetres | None = None
    side_mm: Millimetres | None = None
    profile_mm: Annotated[list[Point], Field(max_length=200)] = []
    axis_bearing_deg: Annotated[Degrees | None, Field(description="Where the head end faces.")] = None
    east_mm: Millimetres | None = None
    north_mm: Millimetres | None = None
    has_left_rollup: Truth | None = None
    left_operator_end: Annotated[str, among(Tunnel.End.values, blank=True)] = ""
    has_right_rollup: Truth | None = None
    right_operator_end: Annotated[str, among(Tunnel.End.values, blank=True)] = ""
    operator_travel_mm: Millimetres | None = None
    bow_spacing_mm: Millimetres | None = None
    film_layers: Annotated[int, whole(0, 2)] | None = None
    shelter: Annotated[str, among(Tunnel.Shelter.values, blank=True)] = ""
    storm_posture: Annotated[str, among(Tunnel.Posture.values)] = Tunnel.Posture.CLOSED.value
    notes: Note = ""


class TunnelNew(TunnelChange):
    """A new tunnel; its name is enough."""

    name: Annotated[str, Field(min_length=1, max_length=120)]


class TunnelShown(Shown):
    """A tunnel."""

    id: int
    code: str
    name: str
    status: str
    retired_on: date | None
    shape: Maybe
    width_mm: float | None
    length_mm: float | None
    ridge_mm: float | None
    side_mm: float | None
    profile_mm: list[list[float]]
    axis_bearing_deg: float | None
    east_mm: float | None
    north_mm: float | None
    has_left_rollup: bool | None
    left_operator_end: Maybe
    has_right_rollup: bool | None
    right_operator_end: Maybe
    operator_travel_mm: float | None
    bow_spacing_mm: float | None
    film_layers: int | None
    shelter: Maybe
    storm_posture: str
    notes: str


class TunnelPage(Page):
    """A page of tunnels."""

    items: list[TunnelShown]


class TunnelQuery(PageQuery):
    """Which tunnels."""

    status: Annotated[str, among(Tunnel.Status.values)] | None = None


@routes.reads(PATH, TunnelPage, summary="Tunnels")
def listed(request: ApiRequest, query: Query[TunnelQuery]) -> TunnelPage:
    """List the tunnels, retired ones too unless ``status`` says which."""
    rows = Tunnel.objects.of(request.farm)
    return page_of(TunnelPage, request, rows.filter(status=query.status) if query.status else rows, query, shown)


@routes.reads(PATH + "/{int:pk}", TunnelShown, summary="One tunnel")
def one(request: ApiRequest, pk: PathId) -> TunnelShown:
    """Show it."""
    return shown(get_object_or_404(Tunnel.objects.of(request.farm), pk=pk))


@routes.makes(PATH, TunnelShown, role="manager", summary="Add a tunnel", at="/tunnels")
def add(request: ApiRequest, body: TunnelNew) -> TunnelShown:
    """Add a tunnel; its two end walls come with it."""
    code = services.proposed_tunnel_code(request.farm)
    data = filled(TunnelForm.base_fields, {"code": code, **body.model_dump()} | ({} if body.code else {"code": code}))
    form = TunnelForm(data, farm=request.farm, instance=Tunnel(farm=request.farm))
    require_valid(form)
    tunnel: Tunnel = form.save(commit=False)
    with saving():
        services.add_tunnels(tunnels=[tunnel])
    return shown(tunnel)


@routes.changes(PATH + "/{int:pk}", TunnelShown, role="manager", summary="Change a tunnel", method="PATCH")
def change(request: ApiRequest, pk: PathId, body: TunnelChange) -> TunnelShown:
    """Change what the body names; the doors in both end walls are sized again."""
    rows = Tunnel.objects.of(request.farm).select_related("farm").select_for_update(of=("self",))
    tunnel = get_object_or_404(rows, pk=pk)
    require_match(request, shown(tunnel))
    code = tunnel.code
    form, columns = changed_form(TunnelForm, tunnel, body, farm=request.farm)
    changed: Tunnel = form.save(commit=False)
    changed.code = changed.code or code
    with saving():
        register.change_tunnel(tunnel=changed, columns=columns)
    return one(request, pk)


def shown(tunnel: Tunnel) -> TunnelShown:
    """Return a tunnel as programs see it."""
    return TunnelShown.model_validate(tunnel)
