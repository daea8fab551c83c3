"""Parts in service for other programs: fitted, taken out, replaced."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from django.shortcuts import get_object_or_404
from django.utils import timezone
from ninja import Query
from pydantic import Field

from doors.forms import ComponentForm
from doors.models import Component, FailureCause, FailureMode
from doors.places import PLACES
from doors.querysets import ComponentQuerySet
from doors.views.shared import today
from farm.api.entry import ApiRequest
from farm.api.forming import filled, refused, require_valid, told
from farm.api.paging import Page, PageQuery, page_of
from farm.api.problems import Wrong
from farm.api.routing import FARM, Routes
from farm.api.shapes import Body, Day, Id, Maybe, Note, PathId, Quantity, QueryId, Shown, among
from maintenance.stores import fitting
from maintenance.stores.fitting import FittingError
from maintenance.stores.partforms import RemovalForm, ReplacementForm
from maintenance.work.closing import WorkError
from maintenance.work.replacing import faults_of, replace_part

routes = Routes("components")
router = routes.router
PATH = f"{FARM}/components"
Reason = Annotated[str, among(Component.Reason.values)]
Mode = Annotated[str, among(FailureMode.values, blank=True)]
Cause = Annotated[str, among(FailureCause.values, blank=True)]
Side = Annotated[str, among(Component.PrintedSide.values, blank=True)]
Lot = Annotated[str, Field(max_length=60)]
STORE = "How much of the material came out of the store; null where none did."


class ComponentNew(Body):
    """A part that was fitted; one of the three places is named."""

    kind: Annotated[str, among(Component.Kind.values)]
    tunnel_id: Id | None = None
    end_wall_id: Id | None = None
    opening_id: Id | None = None
    spot: Annotated[str, Field(max_length=80)] = ""
    quantity: Quantity = Field(default=1, validate_default=True)
    fitted_on: Day
    material_id: Id | None = None
    from_store: Annotated[Quantity | None, Field(description=STORE)] = None
    lot: Lot = ""
    printed_side: Side = ""
    notes: Note = ""


class ComponentOut(Body):
    """Why a part was taken out, and how it failed if it did."""

    removed_on: Day
    reason: Reason
    failure_mode: Mode = ""
    failure_cause: Cause = ""


class ComponentReplaced(Body):
    """One part out, another in its place on the same day; faults that ``closes`` names end with it."""

    replaced_on: Day
    reason: Reason
    failure_mode: Mode = ""
    failure_cause: Cause = ""
    material_id: Id | None = None
    quantity: Quantity = Field(default=1, validate_default=True)
    from_store: Annotated[Quantity | None, Field(description=STORE)] = None
    lot: Lot = ""
    printed_side: Side = ""
    notes: Note = ""
    closes: Annotated[list[Id], Field(max_length=50, description="Ids of repairs.")] = []


class ComponentShown(Shown):
    """A part, in service from ``fitted_on`` up to, but excluding, ``removed_on``."""

    id: int
    kind: str
    tunnel_id: int | None
    end_wall_id: int | None
    opening_id: int | None
    spot: str
    quantity: float
    material_id: int | None
    fitted_on: date
    removed_on: date | None
    removal_reason: Maybe
    failure_mode: Maybe
    failure_cause: Maybe
    replaces_id: int | None
    lot: str
    printed_side: Maybe
    notes: str


class ComponentPage(Page):
    """A page of parts."""

    items: list[ComponentShown]


class ComponentQuery(PageQuery):
    """Which parts."""

    in_service: bool | None = None
    kind: Annotated[str, among(Component.Kind.values)] | None = None
    opening_id: QueryId | None = None
    end_wall_id: QueryId | None = None
    tunnel_id: Annotated[QueryId | None, Field(description="With the parts of its end walls and openings.")] = None


@routes.reads(PATH, ComponentPage, summary="Components")
def listed(request: ApiRequest, query: Query[ComponentQuery]) -> ComponentPage:
    """List the parts of the farm, of a tunnel, an end wall or an opening, of a kind, in service or taken out."""
    rows: ComponentQuerySet = Component.objects.of(request.farm)
    rows = rows.at_tunnel(query.tunnel_id) if query.tunnel_id else rows
    asked = {"kind": query.kind, "opening": query.opening_id, "end_wall": query.end_wall_id}
    rows = rows.filter(**{name: value for name, value in asked.items() if value is not None})
    if query.in_service is not None:
        rows = rows.filter(removed_on__isnull=query.in_service)
    return page_of(ComponentPage, request, rows, query, shown)


@routes.reads(PATH + "/{int:pk}", ComponentShown, summary="One component")
def one(request: ApiRequest, pk: PathId) -> ComponentShown:
    """Show it."""
    return shown(_component(request, pk))


@routes.makes(PATH, ComponentShown, role="crew", summary="Fit a component", at="/components")
def fit(request: ApiRequest, body: ComponentNew) -> ComponentShown:
    """Log a part that was fitted; its age counts from that day, and its plans are laid."""
    values = {**body.model_dump(), "place": _place(body), "material": body.material_id}
    form = ComponentForm(
        filled(ComponentForm.base_fields, values), farm=request.farm, today=today(request.farm),
        instance=Component(farm=request.farm),
    )  # fmt: skip
    require_valid(form, {"material": "material_id", "place": f"{_place(body).partition('-')[0]}_id"})
    part: Component = form.save(commit=False)
    with told(FittingError):
        fitting.fit(component=part, today=today(request.farm), by=request.person, from_store=body.from_store)
    return one(request, part.pk)


@routes.changes(PATH + "/{int:pk}/remove", ComponentShown, role="crew", summary="Take a component out")
def remove(request: ApiRequest, pk: PathId, body: ComponentOut) -> ComponentShown:
    """Record that a part was taken out for good and why; its record stays."""
    part, day = _component(request, pk), today(request.farm)
    form = RemovalForm(filled(RemovalForm.base_fields, body.model_dump()), component=part, today=day)
    require_valid(form)
    with told(FittingError):
        fitting.remove(component=part, on=form.cleaned_data["removed_on"], removal=form.removal, today=day)
    return one(request, pk)


@routes.makes(PATH + "/{int:pk}/replace", ComponentShown, role="crew", summary="Replace a component", at="/components")
def replace(request: ApiRequest, pk: PathId, body: ComponentReplaced) -> ComponentShown:
    """Record that a part was taken out and another fitted in its place; the answer is the new one."""
    part, day = _component(request, pk), today(request.farm)
    offers = {offer.repair.pk: offer for offer in faults_of(part)}
    values = {**body.model_dump(exclude={"closes"}), "material": body.material_id}
    form = ReplacementForm(
        filled(ReplacementForm.base_fields, values), farm=request.farm, component=part, today=day,
        instance=Component(farm=request.farm, kind=part.kind, fitted_on=day),
    )  # fmt: skip
    require_valid(form, {"material": "material_id"})
    if strange := [index for index, repair in enumerate(body.closes) if repair not in offers]:
        raise refused([Wrong("This is no open fault of this part.", pointer=f"/closes/{index}") for index in strange])
    closes = [offers[repair].repair for repair in dict.fromkeys(body.closes)]
    with told(FittingError, WorkError):
        change = replace_part(
            component=part, on=form.cleaned_data["replaced_on"], removal=form.removal, new=form.new, today=day,
            by=request.person, now=timezone.now(), closes=closes,
        )  # fmt: skip
    return one(request, change.fitted or 0)


def shown(component: Component) -> ComponentShown:
    """Return a part as programs see it."""
    return ComponentShown.model_validate(component)


def _component(request: ApiRequest, pk: int) -> Component:
    return get_object_or_404(Component.objects.of(request.farm).for_list().select_related("farm"), pk=pk)


def _place(body: Any) -> str:
    """Return the place a body names, as the forms write it."""
    named = {key: pk for key, column in PLACES.items() if (pk := getattr(body, f"{column}_id")) is not None}
    if len(named) != 1:
        said = "Name one place: a tunnel_id, an end_wall_id or an opening_id."
        raise refused([Wrong(said, pointer=f"/{column}_id") for column in PLACES.values()])
    return "-".join(map(str, next(iter(named.items()))))
