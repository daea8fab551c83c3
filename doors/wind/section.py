"""A shut film door in vertical section under a gust: belly to scale, the load's way to the ground, the weakest part."""

from __future__ import annotations

import math
from typing import Final

from django.utils.translation import gettext as _

from doors.mechanics.wind import Direction
from doors.sizing import Opening
from doors.wind.path import SHORT, LoadPath, Station, span_of
from doors.wind.reading import WindReading
from doors.words.wind import share_text
from farm.paper import Drawing, Paper, Point, best_scale, circle, spread
from farm.paper import Path as Stroke
from farm.units import format_gust, format_length

ACROSS, WALL_AT = 152.0, 79.0  # mm of paper; where the film hangs on it
TALLEST: Final = 172.0  # mm
LEFT_AT, RIGHT_AT = 48.0, 108.0  # mm; the balloons' two columns
BALLOON: Final = 3.2  # mm, radius
APART: Final = 11.5  # mm, between two balloons of a column
LONGEST: Final = 11.0  # mm, arrow of the largest force
ABOVE, BELOW = 0.16, 0.08  # m, drawn above the header and below the tubes
ON_LEFT: Final = frozenset({"tube", "rod", "soil", "lower", "jambs"})
ARC_POINTS: Final = 25


def section(reading: WindReading, path: LoadPath, units: str) -> Drawing:
    """Return the section; what was not measured is drawn at a likely size and bears no dimension."""
    opening = reading.door.opening
    embedment = reading.door.rules.post_embedment
    top = _head(opening) + _header(opening) + ABOVE
    scale = best_scale(0.1, top + embedment + BELOW, ACROSS, TALLEST)
    paper = Paper(scale, WALL_AT, 9 + top * 1000 / scale)
    _frame(paper, reading)
    _film(paper, reading, path, units)
    _bars(paper, reading)
    _wind(paper, reading, path)
    _forces(paper, reading, path)
    _balloons(paper, reading, path)
    paper.letter(WALL_AT - 8, 5, _("outside"), "word", anchor="end")
    paper.letter(WALL_AT + 8, 5, _("inside"), "word", anchor="start")
    height = paper.y(-embedment - BELOW) + 4
    words = {
        "gust": format_gust(reading.gust, units),
        "scale": int(scale),
        "belly": format_length(path.belly, units, short=True) if path.belly is not None else _("not known"),
    }
    text = (
        _("Cut through the shut door at 1:%(scale)d, sucked out by a gust of %(gust)s: belly of the film %(belly)s.")
        if path.direction == Direction.OUTWARD
        else _(
            "Cut through the shut door at 1:%(scale)d, pushed in by a gust of %(gust)s: belly of the film %(belly)s."
        )
    ) % words
    return paper.finish(_("Door %(code)s in the wind") % {"code": opening.code}, text, width=ACROSS, height=height)


def _sill(opening: Opening) -> float:
    return opening.threshold or 0.0


def _head(opening: Opening) -> float:
    return _sill(opening) + opening.rough_height


def _header(opening: Opening) -> float:
    return opening.header_depth or 0.14


def _thickness(opening: Opening) -> float:
    return opening.wall.header_thickness or 0.075


def _rest(reading: WindReading) -> float:
    opening = reading.door.opening
    return _sill(opening) + (opening.rough_height / 2 if reading.door.is_mid_bar else 0.0)


def _hole(opening: Opening) -> float:
    return _head(opening) + _header(opening) / 2


def _frame(paper: Paper, reading: WindReading) -> None:
    """Draw ground, header, jamb stud, anti-billow tube and tie rod."""
    opening, rules = reading.door.opening, reading.door.rules
    depth, thickness = reading.door.stud_depth or 0.09, _thickness(opening)
    head, header = _head(opening), _header(opening)
    y = paper.y(0)
    left, right = WALL_AT - 20, WALL_AT + 18
    paper.box(0.004, 0, 0.004 + depth, head, "stud")
    paper.box(0.004, head, 0.004 + thickness, head + header, "cut")
    paper.stroke(((left, y), (right, y)), "ground")
    for step in range(int(left) + 3, int(right), 5):
        paper.stroke(((step, y), (step - 2.4, y + 2.4)), "dimension")
    if opening.threshold:
        paper.box(0.004, 0, 0.004 + thickness, opening.threshold, "cut")
    tube = opening.design.anti_billow_tube
    middle, half = -rules.tube_stand_off, (tube.diameter / 2 if tube else 0.017)
    paper.box(middle - half, -rules.post_embedment, middle + half, _hole(opening) + rules.tube_hole_from_top, "tube")
    paper.line(((middle - half - 0.03, _hole(opening)), (thickness + 0.04, _hole(opening))), "bar-line")


def _film(paper: Paper, reading: WindReading, path: LoadPath, units: str) -> None:
    """Draw the film between its held edges, bellied out as far as it goes, and the belly's depth."""
    span = span_of(reading)
    belly = path.belly if path.belly is not None else reading.door.strengths.belly * span
    way = 1.0 if path.direction == Direction.INWARD else -1.0
    low = _sill(reading.door.opening)
    for index in range(2 if reading.door.is_mid_bar else 1):
        paper.line(_arc(low + index * span, span, belly, way), "film-line")
        paper.line(((0, low + index * span), (0, low + (index + 1) * span)), "centre")
    if path.belly is None:
        return
    at = _head(reading.door.opening) - span / 2
    ends = sorted((0.0, way * belly))
    text = format_length(path.belly, units, short=True)
    y = paper.y(at)
    paper.across(ends[0], ends[1], y, "")
    x, anchor = (paper.x(ends[1]) + 2, "start") if way > 0 else (paper.x(0) + 7, "start")
    paper.letter(x, y + 1.4, text, "figure", anchor=anchor)


def _arc(low: float, span: float, belly: float, way: float) -> list[Point]:
    radius = (span**2 / 4 + belly**2) / (2 * belly)
    heights = [span * index / (ARC_POINTS - 1) for index in range(ARC_POINTS)]
    return [
        (way * (belly - radius + math.sqrt(max(radius**2 - (height - span / 2) ** 2, 0.0))), low + height)
        for height in heights
    ]


def _bars(paper: Paper, reading: WindReading) -> None:
    opening = reading.door.opening
    turning, sill = opening.design.turning_tube, opening.design.sill_tube
    radius = (turning.diameter if turning else 0.042) / 2
    paper.dot(
        -radius, _rest(reading) + (0 if reading.door.is_mid_bar else radius), radius * 1000 / paper.scale, "bar-tube"
    )
    if reading.door.is_mid_bar:
        half = (sill.diameter if sill else 0.033) / 2
        paper.dot(-half, _sill(opening) + half, half * 1000 / paper.scale, "bar-tube")


def _wind(paper: Paper, reading: WindReading, path: LoadPath) -> None:
    """Draw the pressure as arrows on the film's windward face."""
    span, low = span_of(reading), _sill(reading.door.opening)
    belly = path.belly if path.belly is not None else reading.door.strengths.belly * span
    for index in range(2 if reading.door.is_mid_bar else 1):
        for share in (0.2, 0.36, 0.64, 0.8):
            height = low + index * span + span * share
            out = belly * (1 - (2 * share - 1) ** 2)
            y = paper.y(height)
            if path.direction == Direction.INWARD:
                x = paper.x(out)
                _arrow(paper, (x - 9, y), (x - 0.8, y), "pressure")
            else:
                x = paper.x(-out)
                _arrow(paper, (x - 0.8, y), (x - 9, y), "pressure")


def _forces(paper: Paper, reading: WindReading, path: LoadPath) -> None:
    """Draw what the bars put on the tube or stud loaded most and what holds it, as long as it is large."""
    if path.direction == Direction.OUTWARD:
        _forces_outward(paper, reading, path)
        return
    opening, depth = reading.door.opening, reading.door.stud_depth or 0.09
    side = paper.x(depth) + 1.6
    for height in {_rest(reading), _sill(opening) + 0.02}:
        _arrow(paper, (side, paper.y(height)), (side + LONGEST * 0.7, paper.y(height)), "load")
    for height in (_hole(opening), 0.05):
        _arrow(paper, (side + LONGEST, paper.y(height) - 2), (side, paper.y(height) - 2), "reaction")


def _forces_outward(paper: Paper, reading: WindReading, path: LoadPath) -> None:
    opening, rules = reading.door.opening, reading.door.rules
    upper, lower, rod, soil = path.on_tube
    longest = max(upper, lower, rod, soil)
    if not longest > 0:
        return
    side, bars = paper.x(-rules.tube_stand_off) - 1.6, _rest(reading)
    pushes = ((upper, bars), (lower, _sill(opening) + 0.02))
    holds = ((rod, _hole(opening)), (soil, -rules.post_embedment / 3))
    for force, height in pushes:
        if force > 0:
            _arrow(
                paper, (side, paper.y(height)), (side - max(LONGEST * force / longest, 3.0), paper.y(height)), "load"
            )
    for force, height in holds:
        if force > 0:
            start = (side - max(LONGEST * force / longest, 3.0), paper.y(height))
            _arrow(paper, start, (side, paper.y(height)), "reaction")
    middle = paper.y(bars)
    _arrow(paper, (side - 1.2, middle - 3), (side - 1.2, paper.y(_hole(opening)) + 3), "way")
    _arrow(paper, (side - 1.2, middle + 3), (side - 1.2, paper.y(0) - 3), "way")


def _arrow(paper: Paper, start: Point, end: Point, style: str) -> None:
    """Draw an arrow between two places of the paper. [mm]"""
    length = math.dist(start, end) or 1.0
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    head, half = min(2.2, length), 0.9
    neck = (end[0] - along[0] * head, end[1] - along[1] * head)
    paper.stroke((start, neck), style)
    corners = tuple((neck[0] + sign * along[1] * half, neck[1] - sign * along[0] * half) for sign in (1, -1))
    paper.stroke((end, *corners), f"{style}-head", closed=True)


def _balloons(paper: Paper, reading: WindReading, path: LoadPath) -> None:
    """Number the stations, on the side that leaves the drawing clear; a diamond marks the one that gives first."""
    numbered = list(enumerate(path.stations, start=1))
    for on_left in (True, False):
        column = [(count, one) for count, one in numbered if (one.key in ON_LEFT) == on_left]
        column.sort(key=lambda pair: paper.y(_place(reading, path, pair[1])[1]))
        points = [_place(reading, path, one) for _count, one in column]
        at = spread([paper.y(height) for _x, height in points], APART)
        for (count, one), (x, height), y in zip(column, points, at, strict=True):
            place = LEFT_AT if on_left else RIGHT_AT
            edge = place + BALLOON if on_left else place - BALLOON
            paper.stroke(((edge, y), (paper.x(x), paper.y(height))), "dimension")
            paper.dot(x, height, 0.7, "solid")
            _mark(paper, place, y, count, one, on_left=on_left)


def _mark(paper: Paper, x: float, y: float, count: int, station: Station, *, on_left: bool) -> None:
    """Draw a station's number with its name, and beside it how much of its weakest link's strength is taken."""
    size = BALLOON * (1.45 if station.gives_first else 1.0)
    if station.gives_first:
        paper.stroke(((x, y - size), (x + size, y), (x, y + size), (x - size, y)), "gives", closed=True)
    else:
        paper.paths.append(Stroke(circle(x, y, BALLOON), "balloon"))
    paper.letter(x, y, str(count), "gives-number central" if station.gives_first else "code central")
    side, anchor = (x - size - 1.5, "end") if on_left else (x + size + 1.5, "start")
    loose = not station.weakest.link.breaks and station.weakest.utilisation > 1
    share = _("works loose") if loose else share_text(station.weakest.utilisation)
    paper.letter(side, y - 0.6, str(SHORT[station.key]), "code" if station.gives_first else "", anchor=anchor)
    text = _("%(share)s: gives first") % {"share": share} if station.gives_first else share
    paper.letter(side, y + 4.6, text, "code" if station.gives_first else "figure", anchor=anchor)


def _place(reading: WindReading, path: LoadPath, station: Station) -> Point:
    """Return where a station is on the section. [m]"""
    opening, rules, door = reading.door.opening, reading.door.rules, reading.door
    sill, head, rest = _sill(opening), _head(opening), _rest(reading)
    way = 1.0 if path.direction == Direction.INWARD else -1.0
    belly = path.belly if path.belly is not None else door.strengths.belly * span_of(reading)
    depth, off = door.stud_depth or 0.09, -rules.tube_stand_off
    high = head - span_of(reading) * 0.28
    return {
        "film": (way * belly * 0.8, high),
        "header": (_thickness(opening) / 2, head + _header(opening) / 3),
        "bar": (0.0, rest),
        "sill_bar": (0.0, sill + 0.02),
        "stud": (depth, rest + 0.35 * (head - rest)),
        "tube": (off, rest + 0.3 * (_hole(opening) - rest)),
        "rod": (off, _hole(opening)),
        "soil": (off, -rules.post_embedment * 0.7),
        "lower": (-0.02, sill + 0.05),
        "jambs": (0.004, sill + 0.12 * opening.rough_height),
    }[station.key]
