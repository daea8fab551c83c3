"""Faults and their repairs for other programs."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any

from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from ninja import Query
from pydantic import Field

from doors.models import Component, FailureCause, FailureMode
from doors.places import PLACES, place_key
from doors.views.shared import today
from farm.api.entry import ApiRequest
from farm.api.etags import require_match
from farm.api.forming import filled, refused, require_valid, told, wrong_at
from farm.api.paging import Page, PageQuery, page_of
from farm.api.problems import Wrong
from farm.api.routing import FARM, Routes
from farm.api.shapes import Body, Day, Id, Maybe, Minutes, Note, PathId, QueryId, Shown, Truth, among, whole
from maintenance.api.used import PartsUsed, parts_of
from maintenance.models import Repair
from maintenance.querysets import RepairQuerySet
from maintenance.words.places import place_of
from maintenance.work import faults
from maintenance.work.closing import WorkError
from maintenance.work.faultforms import FARM as WHOLE_FARM
from maintenance.work.faultforms import FaultForm, MendForm
from maintenance.work.working import MOST_MINUTES

routes = Routes("repairs")
router = routes.router
PATH = f"{FARM}/repairs"
Person = Annotated[str, Field(max_length=120)]


class FaultNew(Body):
    """A fault: at one place, or at a part in service, or somewhere on the farm where neither is named."""

    tunnel_id: Id | None = None
    end_wall_id: Id | None = None
    opening_id: Id | None = None
    component_id: Annotated[Id | None, Field(description="The part in service; its place is the fault's.")] = None
    part: Annotated[str, among(Component.Kind.values)]
    spot: Annotated[str, Field(max_length=80)] = ""
    mode: Annotated[str, among(FailureMode.values)]
    is_critical: Annotated[Truth, Field(description="It cannot wait for the next wind.")] = False
    found_on: Annotated[Day | None, Field(description="Today where it is left out.")] = None
    found_by: Person = ""
    minutes: Annotated[int, whole(1, MOST_MINUTES)] | None = None
    note: Note = ""


class FaultMended(Body):
    """What was done about a fault; ``for_now`` where it only holds for a while."""

    on: Annotated[Day | None, Field(description="Today where it is left out.")] = None
    for_now: Truth = False
    minutes: Minutes | None = None
    cause: Annotated[str, among(FailureCause.values, blank=True)] = ""
    mended_by: Person = ""
    note: Note = ""
    parts: PartsUsed = []


class RepairShown(Shown):
    """A fault and what was done about it."""

    id: int
    state: str
    where: str
    tunnel_id: int | None
    end_wall_id: int | None
    opening_id: int | None
    component_id: int | None
    job_id: int | None
    part: str
    spot: str
    mode: str
    cause: Maybe
    is_critical: bool
    is_danger: bool
    found_at: datetime | None
    found_on: date
    found_by: str
    mended_on: date | None
    mended_by: str
    minutes: int | None
    cost: float | None
    note: str


class RepairPage(Page):
    """A page of repairs."""

    items: list[RepairShown]


class RepairQuery(PageQuery):
    """Which faults."""

    state: Annotated[str, among([*Repair.State.values, "unmended"])] | None = None
    tunnel_id: QueryId | None = None
    opening_id: QueryId | None = None


@routes.reads(PATH, RepairPage, summary="Faults and repairs")
def listed(request: ApiRequest, query: Query[RepairQuery]) -> RepairPage:
    """List the faults in a state (``unmended``: open, or holding for now), at a place."""
    rows = _rows(request)
    if query.state == "unmended":
        rows = rows.unmended()
    asked = {
        "state": None if query.state == "unmended" else query.state, "tunnel": query.tunnel_id,
        "opening": query.opening_id,
    }  # fmt: skip
    rows = rows.filter(**{name: value for name, value in asked.items() if value is not None})
    return page_of(RepairPage, request, rows, query, shown)


@routes.reads(PATH + "/{int:pk}", RepairShown, summary="One fault")
def one(request: ApiRequest, pk: PathId) -> RepairShown:
    """Show it."""
    return shown(_repair(request, pk))


@routes.makes(PATH, RepairShown, role="crew", summary="Report a fault", at="/repairs")
def log(request: ApiRequest, body: FaultNew) -> RepairShown:
    """Report a fault; the job that repairs it opens with it."""
    part = _part(request, body)
    place = place_key(part) if part else _place(body)
    values = {**body.model_dump(), "place": place, "found_on": body.found_on or today(request.farm)}
    form = FaultForm(
        filled(FaultForm.base_fields, values), farm=request.farm, today=today(request.farm), part_in_service=part,
        initial={"place": place} if part else {},
    )  # fmt: skip
    require_valid(form, {"place": f"{PLACES.get(place.partition('-')[0], 'opening')}_id"})
    given = {name: value for name, value in form.cleaned_data.items() if name != "place"}
    with told(WorkError):
        repair = faults.log_fault(
            farm=request.farm, place=form.chosen_place, by=request.person, now=timezone.now(), **given
        )
    return one(request, repair.pk)


@routes.changes(PATH + "/{int:pk}/mend", RepairShown, role="crew", summary="Mend a fault")
def mend(request: ApiRequest, pk: PathId, body: FaultMended) -> RepairShown:
    """Keep what was done about a fault, for good or for now; its job ends with the first."""
    repair = _repair(request, pk)
    require_match(request, shown(repair), is_needed=False)
    values = {**body.model_dump(exclude={"parts"}), "on": body.on or today(request.farm)}
    form = MendForm(filled(MendForm.base_fields, values), today=today(request.farm), materials=[])
    require_valid(form)
    given: dict[str, Any] = {name: form.cleaned_data[name] for name in ("on", "minutes", "cause", "mended_by", "note")}
    with told(WorkError):
        faults.mend(
            repair=repair, by=request.person, now=timezone.now(), for_now=body.for_now,
            parts=parts_of(request.farm, body.parts), **given,
        )  # fmt: skip
    return one(request, pk)


def shown(repair: Repair) -> RepairShown:
    """Return a fault as programs see it."""
    columns = {name: getattr(repair, name) for name in RepairShown.model_fields if name != "where"}
    return RepairShown(**columns, where=place_of(repair))


def _rows(request: ApiRequest) -> RepairQuerySet:
    rows: RepairQuerySet = Repair.objects.of(request.farm).for_list().select_related("farm")
    return rows


def _repair(request: ApiRequest, pk: int) -> Repair:
    return get_object_or_404(_rows(request).select_related("job__plan__routine", "job__farm"), pk=pk)


def _part(request: ApiRequest, body: FaultNew) -> Component | None:
    """Return the part in service that a body names."""
    if body.component_id is None:
        return None
    part = Component.objects.of(request.farm).for_list().filter(pk=body.component_id, removed_on=None).first()
    if part is None:
        raise wrong_at("/component_id", _("There is no such part in service on this farm."))
    if part.kind != body.part:
        raise wrong_at("/part", _("The part in service is a %(kind)s.") % {"kind": part.kind})
    return part


def _place(body: FaultNew) -> str:
    """Return the place a body names, as the form writes it; the farm as a whole where it names none."""
    named = {key: pk for key, column in PLACES.items() if (pk := getattr(body, f"{column}_id")) is not None}
    if len(named) > 1:
        said = _("Name one place, the narrowest that you know.")
        raise refused([Wrong(said, pointer=f"/{PLACES[key]}_id") for key in named])
    return "-".join(map(str, next(iter(named.items())))) if named else WHOLE_FARM
