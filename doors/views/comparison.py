"""The kinds of door for one opening, side by side."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from doors.comparison import compare
from doors.models import Door, Material
from doors.rows import wall_name
from doors.services import rules_of, strengths_of
from farm.access import FarmRequest, member
from farm.models import Opening


@member("viewer")
@require_safe
def opening_kinds(request: FarmRequest, pk: int) -> HttpResponse:
    """Compare the kinds of door for an opening: fit, room, weight, life, cost, upkeep, wind, cautions."""
    farm = request.farm
    opening = get_object_or_404(Opening.objects.of(farm).with_place(), pk=pk)
    wall = opening.end_wall
    door = Door.objects.of(farm).for_sheet().filter(opening=opening).first() or Door(farm=farm, opening=opening)
    others = Opening.objects.of(farm).in_use().filter(end_wall__tunnel=wall.tunnel_id).exclude(pk=pk)
    compared = compare(
        farm=farm, opening=opening, door=door, others=list(others),
        materials=list(Material.objects.of(farm).in_book()), rules=rules_of(farm), strengths=strengths_of(farm),
    )  # fmt: skip
    context = {
        "what": _("Kinds of door for %(code)s") % {"code": opening.code},
        "where": wall_name(wall.tunnel, wall),
        "opening": opening,
        "compared": compared,
    }
    return render(request, "doors/kinds.html", context)
