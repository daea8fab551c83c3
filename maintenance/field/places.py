"""The doors as a phone carries them: where, how they look, what hangs there and what was mended last."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

from django.template.loader import render_to_string
from django.utils.text import capfirst

from doors.models import Component
from doors.tables import age
from farm.models import EndWall, Farm, Opening, Tunnel
from farm.naming import point
from farm.units import format_length
from maintenance.field.dangers import Danger, danger_json
from maintenance.hands.sketch import load_walls, sketch_of
from maintenance.models import Repair, StormTask
from maintenance.words.places import place_of

MOST_REPAIRS: Final = 5
LARGEST_DRAWING: Final = 4000  # characters
NEAR: Final = 5
Labels = Mapping[str, Mapping[int, list[str]]]


def doors_of(farm: Farm, on: date, dangers: Sequence[Danger], labels: Labels) -> list[dict[str, Any]]:
    """Return the doors in use by their codes; the queries do not grow with them."""
    found = Opening.objects.of(farm).in_use().with_place().exclude(end_wall__tunnel__status=Tunnel.Status.RETIRED)
    openings = list(found.order_by("code", "pk"))
    tasks = [StormTask(opening=opening) for opening in openings]  # never saved: what a sketch is drawn from
    load_walls(tasks)
    parts, repairs = _parts(farm, on), _repairs(farm)
    marked = {one.repair.opening_id: danger_json(one) for one in reversed(dangers) if one.repair.opening_id}
    return [
        {
            "id": opening.pk, "code": opening.code, "tunnel": opening.end_wall.tunnel_id,
            "wall": point(opening.end_wall.bearing_deg, opening.end_wall.end),
            "kind": capfirst(str(opening.get_kind_display())), "size": _size(opening, farm.units),
            "drawing": _drawing(task), "parts": parts[opening.pk], "repairs": repairs[opening.pk],
            "danger": marked.get(opening.pk), "labels": labels["door"].get(opening.pk, []),
            **wall_place(opening.end_wall),
        }
        for opening, task in zip(openings, tasks, strict=True)
    ]  # fmt: skip


def tunnel_place(tunnel: Tunnel) -> dict[str, float | None]:
    """Return where the middle of a tunnel is, in metres east and north of the plan's origin."""
    if tunnel.east_mm is None or tunnel.north_mm is None:
        return {"x": None, "y": None}
    return {"x": round(float(tunnel.east_mm) / 1000, 1), "y": round(float(tunnel.north_mm) / 1000, 1)}


def wall_place(wall: EndWall) -> dict[str, float | None]:
    """Return where the middle of an end wall is, in metres; half a tunnel from its middle, the way it faces."""
    tunnel, middle = wall.tunnel, tunnel_place(wall.tunnel)
    x, y = middle["x"], middle["y"]
    if x is None or y is None or tunnel.length_mm is None or wall.bearing_deg is None:
        return middle
    half, bearing = float(tunnel.length_mm) / 2000, math.radians(float(wall.bearing_deg))
    return {"x": round(x + half * math.sin(bearing), 1), "y": round(y + half * math.cos(bearing), 1)}


def near_places(doors: Sequence[Mapping[str, Any]]) -> dict[str, list[int]]:
    """Return for each door the few that come next in a round: the nearest, or by code where no place is known."""
    near = {}
    for index, door in enumerate(doors):
        others = [(one, abs(place - index)) for place, one in enumerate(doors) if one is not door]
        ranked = sorted(others, key=lambda pair: (_way(door, pair[0]), pair[1]))
        near[str(door["id"])] = [one["id"] for one, _steps in ranked[:NEAR]]
    return near


def _way(one: Mapping[str, Any], other: Mapping[str, Any]) -> float:
    if None in (one["x"], one["y"], other["x"], other["y"]):
        return 0.0 if one["tunnel"] == other["tunnel"] else math.inf
    return math.hypot(one["x"] - other["x"], one["y"] - other["y"])


def _size(opening: Opening, units: str) -> str:
    sides = (opening.rough_width_mm, opening.rough_height_mm)
    return " × ".join(format_length(float(side) / 1000, units) for side in sides)


def _drawing(task: StormTask) -> str:
    """Return a door in its wall as text that a page takes in; nothing where the wall is not measured."""
    drawing = sketch_of(task)
    if drawing is None:
        return ""
    name = f"door-{task.opening_id}"
    html: str = render_to_string("farm/_drawing.html", {"drawing": drawing, "look": "sketch", "name": name})
    text = " ".join(html.split())
    return text if len(text) <= LARGEST_DRAWING else ""


def _parts(farm: Farm, on: date) -> dict[int, list[dict[str, str]]]:
    found: dict[int, list[dict[str, str]]] = defaultdict(list)
    rows = Component.objects.of(farm).in_service(on).filter(opening__isnull=False)
    for part in rows.only("opening_id", "kind", "spot", "fitted_on").order_by("opening_id", "kind", "spot", "pk"):
        name = ", ".join(filter(None, (capfirst(str(part.get_kind_display())), part.spot)))
        found[part.opening_id or 0].append(
            {"name": name, "age": age(part.fitted_on, on), "fitted_on": part.fitted_on.isoformat()}
        )
    return found


def _repairs(farm: Farm) -> dict[int, list[dict[str, Any]]]:
    """Return the last repairs of each door, those that stand open first."""
    found: dict[int, list[dict[str, Any]]] = defaultdict(list)
    rows = Repair.objects.of(farm).filter(opening__isnull=False).select_related("opening", "end_wall", "tunnel")
    ranked = sorted(rows.order_by("-found_on", "-pk"), key=lambda row: row.state == Repair.State.DONE)
    for repair in ranked:
        kept = found[repair.opening_id or 0]
        if len(kept) < MOST_REPAIRS:
            kept.append({"id": repair.pk, "on": repair.found_on.isoformat(), "what": str(repair),
                         "where": place_of(repair), "state": repair.state, "says": str(repair.get_state_display()),
                         "critical": repair.is_critical})  # fmt: skip
    return found
