"""The farms that a key's person belongs to."""

from __future__ import annotations

from typing import Annotated

from ninja import Query
from pydantic import Field

from farm.api.entry import ApiRequest
from farm.api.paging import Page, PageQuery, page_of
from farm.api.routing import FARM, Routes
from farm.api.shapes import Maybe, Shown
from farm.models import Membership

routes = Routes("farms")
router = routes.router


class FarmShown(Shown):
    """A farm, and what the key's person is there."""

    slug: Annotated[str, Field(description="Its name in addresses.")]
    name: str
    role: str
    time_zone: str
    language: str
    currency: str
    latitude_deg: float | None
    longitude_deg: float | None
    elevation_m: float | None
    exposure: Maybe
    soil: Maybe
    storm_bearing_deg: float | None
    venting_bearing_deg: float | None


class FarmPage(Page):
    """A page of farms."""

    items: list[FarmShown]


@routes.reads("/farms", FarmPage, summary="The farms you belong to")
def listed(request: ApiRequest, query: Query[PageQuery]) -> FarmPage:
    """List them, in the order in which you joined."""
    rows = Membership.objects.filter(user=request.api_key.user).select_related("farm")
    return page_of(FarmPage, request, rows, query, shown)


@routes.reads(FARM, FarmShown, summary="One farm")
def one(request: ApiRequest) -> FarmShown:
    """Show it."""
    return shown(request.membership)


def shown(membership: Membership) -> FarmShown:
    """Return a farm as programs see it."""
    columns = {name: getattr(membership.farm, name) for name in FarmShown.model_fields if name != "role"}
    return FarmShown(**columns, role=membership.role)
