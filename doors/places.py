"""Where a part can sit: a tunnel, one of its end walls, or an opening; as one choice of a form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from django.utils.translation import gettext

from doors.models import Component
from farm.models import EndWall, Farm, Opening, Tunnel
from farm.naming import point

PLACES: Final[Mapping[str, str]] = {"tunnel": "tunnel", "wall": "end_wall", "opening": "opening"}


def place_key(component: Component) -> str:
    """Return a component's place as the form's choice."""
    for name, column in PLACES.items():
        if (pk := getattr(component, f"{column}_id")) is not None:
            return f"{name}-{pk}"
    return ""


def place_choices(farm: Farm, component: Component) -> list[tuple[str, Any]]:
    """Return every place on the farm a part can sit, by tunnel."""
    groups: dict[int, list[tuple[str, str]]] = {}
    headings: dict[int, str] = {}
    retired = Tunnel.Status.RETIRED
    for tunnel in Tunnel.objects.of(farm).standing().for_list():
        headings[tunnel.pk] = str(tunnel)
        groups[tunnel.pk] = [(f"tunnel-{tunnel.pk}", gettext("%(tunnel)s, the tunnel") % {"tunnel": tunnel.code})]
    for wall in EndWall.objects.of(farm).exclude(tunnel__status=retired).select_related("tunnel").order_by("end"):
        name = f"{wall.tunnel.code}-{point(wall.bearing_deg, wall.end)}"
        groups[wall.tunnel_id].append((f"wall-{wall.pk}", gettext("%(wall)s, the end wall") % {"wall": name}))
    openings = Opening.objects.of(farm).in_use().with_place().exclude(end_wall__tunnel__status=retired)
    for opening in openings.order_by("code"):
        text = gettext("%(opening)s, the opening: %(kind)s") % {
            "opening": opening.code,
            "kind": opening.get_kind_display(),
        }
        groups[opening.end_wall.tunnel_id].append((f"opening-{opening.pk}", text))
    current = place_key(component)
    listed = {key for choices in groups.values() for key, _text in choices}
    kept = [] if not current or current in listed else [(current, gettext("where it is now (retired)"))]
    return [("", gettext("choose")), *kept, *((headings[pk], choices) for pk, choices in groups.items())]
