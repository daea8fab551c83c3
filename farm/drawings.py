"""The farm's plan as a drawing: geometry only, rendered by a template."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final, TypeAlias

import numpy as np
from django.utils.translation import gettext as _
from numpy.typing import NDArray

from farm.geometry import End, compass_point, footprint, opening_on_plan
from farm.lengths import MM_PER_FOOT
from farm.paper import WIDTH, Drawing, Lettering, Link, Paper, Path, Point, best_scale, number, path, relative, spread

Floats: TypeAlias = NDArray[np.float64]

MARGIN: Final = 9.0  # mm; room around the plan for door marks
WIND_ROOM: Final = 16.0  # mm; room for the wind's arrows and name on the side it comes over
MARK_GAP: Final = 5.6  # mm; least distance between two door marks
MARK_OUT: Final = 4.2  # mm; from a wall to the middle of its marks
TALLEST: Final = 165.0  # mm; the plan leaves room for its legend on one page
NARROWEST: Final = 110.0  # mm; lettering would grow too large on a smaller sheet
BARS: Final = {"us": (float(MM_PER_FOOT) / 1000, "ft"), "metric": (1.0, "m")}  # m


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDoor:
    """A door on the plan; without an offset it is drawn at the middle of its wall. Metres."""

    end: End
    offset: float | None
    width: float
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanTunnel:
    """A tunnel that has a place and a size. Metres, and degrees clockwise from north."""

    code: str
    href: str
    label: str
    east: float
    north: float
    width: float
    length: float
    axis_bearing: float
    doors: tuple[PlanDoor, ...] = ()


def site_plan(tunnels: Sequence[PlanTunnel], *, units: str, storm_bearing: float | None) -> Drawing | None:
    """Return the plan to scale, north up, or None when no tunnel has a place and a size."""
    if not tunnels:
        return None
    corners = np.stack([footprint(t.east, t.north, t.width, t.length, t.axis_bearing) for t in tunnels])
    low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
    across, along = (high - low).tolist()
    side = None if storm_bearing is None else _windward_side(storm_bearing)
    left, right, top, bottom = (MARGIN + (WIND_ROOM if side == name else 0) for name in ("W", "E", "N", "S"))
    scale = best_scale(across, along, WIDTH - left - right, TALLEST - top - bottom)
    width, height = across * 1000 / scale, along * 1000 / scale
    spare = max(NARROWEST - left - right - width, 0.0) / 2
    paper = Paper(scale, left + spare - low[0] * 1000 / scale, top + height + low[1] * 1000 / scale)
    for tunnel, ring in zip(tunnels, corners, strict=True):
        paper.links.append(_tunnel_on_plan(paper, tunnel, ring))
    edges = {"W": left + spare, "E": left + spare + width, "N": top, "S": top + height}
    if storm_bearing is not None and side is not None:
        _wind(paper, storm_bearing, side, edges)
    whole, foot = left + right + width + 2 * spare, top + height + bottom
    _scale_bar(paper, units, foot + 6)
    _north(paper, whole - 7, foot + 5)
    text = _("%(count)d tunnels drawn at 1:%(scale)d, north up.") % {"count": len(tunnels), "scale": scale}
    return paper.finish(_("Plan of the farm"), text, width=whole, height=foot + 13)


def verdict_mark(verdict: str, x: float, y: float) -> Path:
    """Return the mark of a verdict: circle, triangle, octagon or square; the shape alone tells it."""
    return Path(f"M{number(x)} {number(y)}{_mark_shape(verdict)}", f"mark mark-{verdict}")


@cache
def _mark_shape(verdict: str, size: float = 2.2) -> str:
    """Return the strokes of a mark around where the pen stands; they are the same on every drawing."""
    signs: list[list[Point]]
    if verdict == "pass":
        r, across = number(size), number(2 * size)
        ring = f"m-{r} 0a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0 -{across} 0zm{r} 0"
        return ring + relative([[(-0.5 * size, 0.0), (-0.1 * size, 0.45 * size), (0.5 * size, -0.4 * size)]])
    if verdict == "blocked":
        query = [(-0.4, -0.35), (-0.2, -0.6), (0.25, -0.6), (0.4, -0.3), (0.0, 0.05), (0.0, 0.25)]
        outline, signs = _polygon(4, size * 1.3, 45), [query, [(0.0, 0.5), (0.0, 0.65)]]
    elif verdict == "warn":
        outline = [(x, y + size * 0.2) for x, y in _polygon(3, size * 1.35)]
        signs = [[(0.0, -0.4), (0.0, 0.3)], [(0.0, 0.55), (0.0, 0.7)]]
    else:
        outline = _polygon(8, size * 1.15, 22.5)
        signs = [[(-0.45, -0.45), (0.45, 0.45)], [(-0.45, 0.45), (0.45, -0.45)]]
    return relative([[*outline, outline[0]], *([(size * x, size * y) for x, y in sign] for sign in signs)])


def _tunnel_on_plan(paper: Paper, tunnel: PlanTunnel, ring: Floats) -> Link:
    on_paper = [(paper.x(x), paper.y(y)) for x, y in ring.tolist()]
    paths = [Path(path(on_paper, closed=True), "tunnel")]
    ends = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in (on_paper[:2], on_paper[2:])]
    paths.append(Path(path(ends), "centre"))
    for end in ("A", "B"):
        paths += _doors_on_plan(paper, [door for door in tunnel.doors if door.end == end], tunnel, ring)
    x, y = paper.x(tunnel.east), paper.y(tunnel.north)
    code = Lettering(number(x), number(y), tunnel.code, "code central")
    return Link(tunnel.href, tunnel.label, "tunnel-link", tuple(paths), (code,))


def _doors_on_plan(paper: Paper, doors: list[PlanDoor], tunnel: PlanTunnel, ring: Floats) -> list[Path]:
    """Draw each opening on its wall, and its mark outside, moved along the wall where marks would touch."""
    if not doors:
        return []
    wall = (ring[[0, 1]] if doors[0].end == "A" else ring[[2, 3]]).tolist()
    left, right = ((paper.x(x), paper.y(y)) for x, y in wall)
    reach = math.dist(left, right)
    along = ((right[0] - left[0]) / reach, (right[1] - left[1]) / reach)
    outward = (-along[1], along[0])  # paper runs downwards, and left and right are seen from outside
    paths, places = [], []
    for door in sorted(doors, key=lambda one: _offset(one, tunnel)):
        jambs = opening_on_plan(ring, door.end, _offset(door, tunnel), min(door.width, tunnel.width)).tolist()
        ends = [(paper.x(x), paper.y(y)) for x, y in jambs]
        paths.append(Path(path(ends), "gap"))
        places.append((math.dist(left, ends[0]) + math.dist(left, ends[1])) / 2)
    ordered = sorted(doors, key=lambda one: _offset(one, tunnel))
    for door, place in zip(ordered, spread(places, MARK_GAP), strict=True):
        x = left[0] + along[0] * place + outward[0] * MARK_OUT
        y = left[1] + along[1] * place + outward[1] * MARK_OUT
        paths.append(verdict_mark(door.verdict, x, y))
    return paths


def _offset(door: PlanDoor, tunnel: PlanTunnel) -> float:
    """Return an offset that lies within the wall, whatever was typed. [m]"""
    spare = max(tunnel.width - door.width, 0.0)
    return spare / 2 if door.offset is None else min(max(door.offset, 0.0), spare)


def _windward_side(bearing: float) -> str:
    """Return the side of the sheet the wind comes over."""
    return compass_point(90 * round(bearing / 90))


def _wind(paper: Paper, bearing: float, side: str, edges: dict[str, float]) -> None:
    """Draw three arrows beside the edge the storm wind comes over, and its name outside them."""
    angle = math.radians(bearing)
    towards = (-math.sin(angle), math.cos(angle))
    middle = ((edges["W"] + edges["E"]) / 2, (edges["N"] + edges["S"]) / 2)
    upright = side in ("W", "E")
    outward = -1 if side in ("W", "N") else 1
    edge = edges[side] + outward * MARGIN
    for step in (-9, 0, 9):
        tip = (edge, middle[1] + step) if upright else (middle[0] + step, edge)
        paper.stroke(((tip[0] - towards[0] * 9, tip[1] - towards[1] * 9), tip), "wind")
        paper.stroke(_arrow_head(tip, towards), "wind-head", closed=True)
    text = _("storm wind, %(point)s") % {"point": compass_point(bearing, points=16)}
    if upright:
        paper.letter(edge + (outward * 11 if outward < 0 else 14), middle[1], text, "wind-name", turned=True)
    else:
        paper.letter(middle[0], edge + (outward * 11 if outward < 0 else 14), text, "wind-name")


def _scale_bar(paper: Paper, units: str, y: float) -> None:
    """Draw a bar of a round length in the reader's unit, halves filled in turn."""
    unit, name = BARS[units]
    most = 50 * paper.scale / 1000 / unit
    step = 10 ** math.floor(math.log10(most))
    length = max(n * step for n in (1, 2, 5) if n * step <= most)
    reach = length * unit * 1000 / paper.scale
    paper.stroke(((3, y), (3 + reach, y), (3 + reach, y + 1.6), (3, y + 1.6)), "bar", closed=True)
    paper.stroke(((3, y), (3 + reach / 2, y), (3 + reach / 2, y + 1.6), (3, y + 1.6)), "bar-filled", closed=True)
    for share in (0.0, 1.0):
        text = f"{length * share:g}" + (f" {name}" if share else "")
        paper.letter(3 + reach * share, y - 1.4, text, "figure", anchor="start" if share == 0 else "middle")


def _north(paper: Paper, x: float, y: float) -> None:
    paper.stroke(((x, y - 9), (x + 3, y + 2), (x, y), (x - 3, y + 2)), "north", closed=True)
    paper.letter(x, y + 6.6, _("N"), "code")


def _arrow_head(tip: Point, towards: Point) -> tuple[Point, ...]:
    back = (tip[0] - towards[0] * 3, tip[1] - towards[1] * 3)
    return (
        tip,
        (back[0] - towards[1] * 1.1, back[1] + towards[0] * 1.1),
        (back[0] + towards[1] * 1.1, back[1] - towards[0] * 1.1),
    )


def _polygon(corners: int, radius: float, first_deg: float = 0.0) -> list[Point]:
    angles = [math.radians(first_deg + 360 * corner / corners) for corner in range(corners)]
    return [(radius * math.sin(angle), -radius * math.cos(angle)) for angle in angles]
