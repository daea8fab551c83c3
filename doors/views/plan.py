"""The farm's plan: every tunnel and door to scale, and what cannot wait."""

from __future__ import annotations

from typing import Final

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from doors.models import Door, Sizing
from doors.rows import Hung, doors_of, missing_on_plan, plan_tunnel, size_printer, verdicts_of
from doors.standing import WIDE_FROM_MM, urgent_doors, verdict_counts, weaknesses
from doors.words.wording import reason_text
from farm.access import FarmRequest, member
from farm.drawings import site_plan
from farm.geometry import compass_point
from farm.models import Tunnel

TUNNELS_PER_PAGE: Final = 60  # more would not be told apart on one sheet
URGENT_SHOWN: Final = 12


@member("viewer")
@require_safe
def plan(request: FarmRequest) -> HttpResponse:
    farm = request.farm
    page = Paginator(Tunnel.objects.of(farm).for_plan(), TUNNELS_PER_PAGE).get_page(request.GET.get("page"))
    tunnels = list(page.object_list)
    for tunnel in tunnels:
        tunnel.farm = farm  # its address needs the farm's short name; no query for what is at hand
    shown = Door.objects.of(farm).for_plan().filter(opening__end_wall__tunnel__in=tunnels)
    verdicts, printed = verdicts_of(shown), size_printer(farm.units)
    hung = doors_of(tunnels, verdicts, printed)
    placed = [drawn for tunnel in tunnels if (drawn := plan_tunnel(tunnel, verdicts, _label(tunnel, hung[tunnel.pk])))]
    storm = None if farm.storm_bearing_deg is None else float(farm.storm_bearing_deg)
    drawing = site_plan(placed, units=farm.units, storm_bearing=storm)
    counts = verdict_counts(farm)
    urgent = urgent_doors(farm, URGENT_SHOWN)
    context = {
        "what": _("Plan"),
        "scale": f"1:{drawing.scale}" if drawing else None,
        "page": page,
        "drawing": drawing,
        "storm_point": None if storm is None else compass_point(storm, points=16),
        "not_drawn": [(tunnel, ", ".join(asked)) for tunnel in tunnels if (asked := missing_on_plan(tunnel))],
        "rows": [(tunnel, printed(tunnel.width_mm, tunnel.length_mm), hung[tunnel.pk]) for tunnel in tunnels],
        "counts": counts,
        "door_count": sum(counts.values()),
        "urgent": [(door, reason_text(door.sizing.reason, farm.units)) for door in urgent if door.sizing],
        "urgent_count": counts[Sizing.Verdict.FAIL] + counts[Sizing.Verdict.BLOCKED],
        "weak": weaknesses(farm),
        "wide_from_mm": WIDE_FROM_MM,
    }
    return render(request, "doors/plan.html", context)


def _label(tunnel: Tunnel, doors: list[Hung]) -> str:
    """Return what a screen reader says of a tunnel on the plan."""
    count = ngettext("%(count)d door", "%(count)d doors", len(doors)) % {"count": len(doors)}
    bad = [door for door in doors if door.verdict != Sizing.Verdict.PASS]
    stated = ", ".join(f"{door.opening.code} {door.word}" for door in bad)
    return f"{tunnel}: {count}" + (f"; {stated}" if stated else "")
