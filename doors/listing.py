"""What the list pages load: each in one query, whatever the number of rows, and never a sheet's JSON."""

from __future__ import annotations

from typing import Any

from django.db.models import Count, F, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from doors.querysets import ComponentQuerySet
from farm.models import Opening
from farm.querysets import OpeningQuerySet, TunnelQuerySet

SHEET_COLUMNS = (
    "verdict", "turning_bar_mm", "panel_width_mm", "panel_height_mm", "clear_width_mm", "clear_height_mm",
    "clamp_count",
)  # fmt: skip


def tunnels_for_list(tunnels: TunnelQuerySet) -> TunnelQuerySet:
    """Tunnels with the number of their openings in use."""
    openings = Opening.objects.in_use().filter(end_wall__tunnel=OuterRef("pk")).order_by()
    counted = openings.values("end_wall__tunnel").annotate(number=Count("pk")).values("number")
    return tunnels.annotate(opening_count=Coalesce(Subquery(counted), 0))


def openings_for_schedule(openings: OpeningQuerySet) -> QuerySet[Opening]:
    """Openings in use with their place and the figures of their sheet: as hung, else as it stands today."""
    figures: dict[str, Any] = {
        name: Coalesce(f"door__as_built__{name}", f"door__sizing__{name}") for name in SHEET_COLUMNS
    }
    own = {"hung_on": F("door__hung_on"), "drive_side": F("door__drive_side")}
    return openings.in_use().with_place().annotate(**figures, **own)


def components_for_list(components: ComponentQuerySet) -> ComponentQuerySet:
    """Parts with their place and material, and the code of the place to sort and search by."""
    place = Coalesce("opening__code", "end_wall__tunnel__code", "tunnel__code")
    return components.for_list().annotate(place_code=place)
