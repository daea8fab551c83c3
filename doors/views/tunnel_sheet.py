"""The tunnel sheet: particulars, both end walls in elevation, openings, parts in service."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from doors.models import Component, Door, Sizing
from doors.rows import Hung, verdict_of, verdicts_of, wall_name, wall_view
from doors.views.shared import today
from doors.words.wording import reason_text
from farm.access import FarmRequest, member
from farm.elevations import end_wall
from farm.geometry import compass_point
from farm.models import EndWall, Opening, Tunnel
from farm.paper import Drawing
from farm.units import format_length

PARTS_SHOWN: Final = 8
# What a tunnel is asked for, and what stays undone without it.
ASKED: Final[dict[str, tuple[str | Promise, str | Promise]]] = {
    "shape": (_("shape"), _("the end walls cannot be drawn, nor the arch over a door checked")),
    "width_mm": (_("width"), _("no turning bar can be cut")),
    "ridge_mm": (_("ridge height"), _("the arch over a door cannot be checked")),
    "side_mm": (_("side height"), _("the arch over a door cannot be checked")),
    "length_mm": (_("length"), _("it cannot be drawn on the plan")),
    "axis_bearing_deg": (_("direction of the long axis"), _("its walls have no compass point")),
    "east_mm": (_("position on the plan"), _("it cannot be drawn on the plan")),
    "bow_spacing_mm": (_("bow spacing"), _("the tear record cannot name a bay")),
}


@dataclass(frozen=True, slots=True)
class OpeningRow:
    """An opening with the verdict of its door and the reason in words."""

    hung: Hung
    reason: str


@dataclass(frozen=True, slots=True)
class WallSheet:
    """One end wall as the page shows it; no drawing where the arch over it is not known."""

    wall: EndWall
    name: str
    faces: str
    drawing: Drawing | None
    rows: tuple[OpeningRow, ...]
    unplaced: tuple[Opening, ...]


@member("viewer")
@require_safe
def tunnel(request: FarmRequest, pk: int) -> HttpResponse:
    """Show a tunnel's sheet."""
    found = get_object_or_404(Tunnel.objects.of(request.farm).for_sheet(), pk=pk)
    found.farm = request.farm
    doors = {
        door.opening_id: door
        for door in Door.objects.of(request.farm).for_plan().filter(opening__end_wall__tunnel=found)
    }
    parts = Component.objects.of(request.farm).in_service(today(request.farm)).at_tunnel(found).for_list()
    shown = list(parts.order_by("-fitted_on", "pk")[: PARTS_SHOWN + 1])
    walls = [_wall_sheet(found, wall, doors, request.farm.units) for wall in found.end_walls.all()]
    drawn = next((sheet.drawing for sheet in walls if sheet.drawing), None)
    context = {
        "what": str(found),
        "scale": f"1:{drawn.scale}" if drawn else None,
        "tunnel": found,
        "axis": None if found.axis_bearing_deg is None else compass_point(float(found.axis_bearing_deg), points=16),
        "walls": walls,
        "sides": _sides(found, {sheet.wall.end: sheet.name for sheet in walls}),
        "asked": [(words, why) for field, (words, why) in ASKED.items() if getattr(found, field) in (None, "")],
        "parts": [(part, _place(part, found)) for part in shown[:PARTS_SHOWN]],
        "has_more_parts": len(shown) > PARTS_SHOWN,
    }
    return render(request, "doors/tunnel.html", context)


def _place(part: Component, found: Tunnel) -> str:
    """Return where on the tunnel a part sits."""
    if part.opening is not None:
        place = part.opening.code
    else:
        place = found.code if part.end_wall is None else wall_name(found, part.end_wall)
    return f"{place}, {part.spot}" if part.spot else place


def _sides(found: Tunnel, names: dict[str, str]) -> str:
    """Return which sides roll up, and at which wall each operator stands; empty where nobody said."""
    sides = (
        (_("left"), found.has_left_rollup, found.left_operator_end),
        (_("right"), found.has_right_rollup, found.right_operator_end),
    )
    if all(rolls_up is None for _side, rolls_up, _end in sides):
        return ""
    said = [
        gettext("%(side)s, operator at %(wall)s") % {"side": side, "wall": names[end]} if end in names else str(side)
        for side, rolls_up, end in sides
        if rolls_up
    ]
    return "; ".join(said) or gettext("none")


def _wall_sheet(found: Tunnel, wall: EndWall, doors: dict[int, Door], units: str) -> WallSheet:
    verdicts = verdicts_of(doors.values())
    view = wall_view(found, wall, verdicts)
    printed: Callable[[float], str] = partial(format_length, units=units)
    openings = list(wall.openings.all())
    return WallSheet(
        wall=wall,
        name=wall_name(found, wall),
        faces="" if wall.bearing_deg is None else compass_point(float(wall.bearing_deg)),
        drawing=None if view is None else end_wall(view, printed),
        rows=tuple(
            OpeningRow(Hung(opening, verdict_of(opening, verdicts)), _reason(doors.get(opening.pk), units))
            for opening in openings
        ),
        unplaced=tuple(opening for opening in openings if opening.offset_mm is None),
    )


def _reason(door: Door | None, units: str) -> str:
    if door is None or door.sizing is None or door.sizing.verdict == Sizing.Verdict.PASS:
        return ""
    return reason_text(door.sizing.reason, units)
