"""The door of an opening as drawings: elevation, and section through header, film, bars and threshold."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from django.utils.translation import gettext as _

from doors.sizing import FILM_ROLLS, Opening, Row, Sheet, Side, Verdict
from farm.elevations import WallOpening, draw_door, draw_frame
from farm.geometry import GeometryError, Profile, Shape, clear_height, outline
from farm.paper import LINE, WIDTH, Drawing, Paper, best_scale, room

LEFT, RIGHT = 25.0, 25.0  # mm; room for dimensions around the elevation
TALLEST: Final = 150.0  # mm; leaves room for the measurements on the first printed page
ROW: Final = 7.0  # mm; from one dimension line to the next
ARCH_POINTS: Final = 193  # a stretch of the arch is drawn large: more points than over a whole wall
BESIDE: Final = 0.4  # m; wall drawn beside what is dimensioned
THICK: Final = 1.5  # mm; a bar is never drawn thinner
Print = Callable[[float], str]


def profile_over(opening: Opening) -> Profile | None:
    """Return the arch over an opening's wall, or None where it was not measured in full."""
    wall = opening.wall
    if wall.shape is None or wall.width is None or opening.offset is None:
        return None
    if wall.shape != Shape.MEASURED and (wall.ridge is None or wall.side is None):
        return None
    ridge = max((height for _, height in wall.points), default=0.0) if wall.ridge is None else wall.ridge
    try:
        return Profile(wall.shape, wall.width, ridge, wall.side or 0.0, wall.points)
    except GeometryError:
        return None


def as_drawn(opening: Opening) -> WallOpening:
    """Return a sized opening as its wall is drawn with it, its left edge at the datum."""
    return WallOpening(
        code=opening.code,
        kind=str(opening.kind),
        left=0.0,
        width=opening.rough_width,
        height=opening.rough_height,
        threshold=opening.threshold or 0.0,
        header_depth=opening.header_depth,
    )


def elevation(opening: Opening, sheet: Sheet, print_length: Print) -> Drawing:
    """Return the door seen from outside, dimensioned from the opening's left edge."""
    profile, door = profile_over(opening), as_drawn(opening)
    left, right = _reach(opening, sheet)
    arch = _arch_between(profile, opening.offset or 0.0, left, right)
    needed = _needed(sheet)
    top = max(
        [door.head + (door.header_depth or 0.0) + 0.25, needed and needed + BESIDE, *(height for _, height in arch)]
    )
    above = 4 + ROW * len(widths := _widths(opening, sheet, print_length))
    scale = best_scale(right - left, top, WIDTH - LEFT - RIGHT, TALLEST - above - 40)
    paper = Paper(scale, LEFT - left * 1000 / scale, above + top * 1000 / scale)
    if arch:
        paper.line(arch, "outline")
    paper.line(((left, 0), (right, 0)), "ground")
    is_film = opening.kind in FILM_ROLLS
    if is_film:
        _film(paper, door, sheet)
    draw_frame(paper, door, opening.wall.stud_face, None)
    if is_film:
        _bars(paper, opening, door, sheet)
    else:
        draw_door(paper, door)
    if needed:
        _needed_line(paper, door, needed, print_length)
    for row, (start, end, text) in enumerate(widths):
        paper.across(start, end, above - 4 - ROW * row, text, feature=above + 1)
    _upright(paper, opening, door, right, sheet, print_length)
    longest = _running(paper, opening, sheet, (left, right), print_length)
    width = LEFT + RIGHT + (right - left) * 1000 / scale
    words = {
        "width": print_length(opening.rough_width),
        "height": print_length(opening.rough_height),
        "scale": scale,
    }
    text = _("Seen from outside: rough opening %(width)s by %(height)s, 1:%(scale)d.") % words
    title = _("Door %(code)s in elevation") % {"code": opening.code}
    return paper.finish(title, text, width=width, height=paper.y(0) + 12 + room(longest))


def rows_of(sheet: Sheet, part: str, mark: str) -> Sequence[Row]:
    """Return the rows of one kind of mark on one part."""
    return [row for row in sheet.rows if row.part == part and row.mark == mark]


def places_of(row: Row) -> list[float]:
    """Return every place of a row of marks, from the sheet's datum. [m]"""
    return [row.first + row.spacing * index for index in range(row.count)]


def bar_of(opening: Opening, sheet: Sheet) -> tuple[float, float] | None:
    """Return where the turning bar begins and ends, from the opening's left edge. [m]"""
    if sheet.turning_bar is None or sheet.turning_bar_start is None:
        return None
    return sheet.turning_bar_start, sheet.turning_bar_start + sheet.turning_bar


def _reach(opening: Opening, sheet: Sheet) -> tuple[float, float]:
    """Return the stretch of wall to draw, from the opening's left edge. [m]"""
    side = sheet.panel.side_allowance if sheet.panel else (opening.wall.stud_face or 0.0)
    bar = bar_of(opening, sheet) or (0.0, 0.0)
    return min(-side, bar[0]) - BESIDE, max(opening.rough_width + side, bar[1]) + BESIDE


def _arch_between(profile: Profile | None, offset: float, left: float, right: float) -> list[tuple[float, float]]:
    """Return the arch over a stretch of wall, from the opening's left edge; empty where it is not known. [m]"""
    if profile is None:
        return []
    low, high = max(left + offset, 0.0), min(right + offset, profile.width)
    inside = [(float(x), float(y)) for x, y in outline(profile, ARCH_POINTS).tolist() if low < x < high]
    ends = [(x, float(clear_height(profile, np.float64(x)))) for x in (low, high)]
    points = [ends[0], *sorted(inside), ends[1]]
    feet_left = [(low, 0.0)] if low == 0.0 else []
    feet_right = [(high, 0.0)] if high == profile.width else []
    return [(x - offset, y) for x, y in [*feet_left, *points, *feet_right]]


def _film(paper: Paper, door: WallOpening, sheet: Sheet) -> None:
    """Draw the film as it hangs in the end: past both jambs, above the header, to the threshold."""
    panel = sheet.panel
    side = panel.side_allowance if panel else 0.0
    above = panel.above_trimmed if panel else 0.0
    top = door.head + (door.header_depth or 0.0) + above
    paper.box(-side, door.threshold, door.width + side, top, "film")


def _bars(paper: Paper, opening: Opening, door: WallOpening, sheet: Sheet) -> None:
    """Draw the bars with their clamps, the drive on its post, the anti-billow tubes and the header's holes."""
    roll = sheet.roll
    rest = door.threshold + (roll.first_line if roll else opening.rough_height / 2)
    for row in rows_of(sheet, "header", "header_hole"):
        _tubes(paper, door, sheet, places_of(row))
    for row in rows_of(sheet, "film", "clamp_line"):
        height = door.threshold + row.first
        paper.line(((-BESIDE / 2, height), (door.width + BESIDE / 2, height)), "film-edge")
    for row in rows_of(sheet, "sill_bar", "clamp"):
        if row.part_start is not None:  # as far past the opening on the right as on the left
            _bar(paper, row.part_start, door.width - row.part_start, door.threshold, places_of(row))
    bar = bar_of(opening, sheet)
    if bar is None:
        return
    _drive(paper, opening, sheet, bar, rest)
    clamps = [place for row in rows_of(sheet, "turning_bar", "clamp") for place in places_of(row)]
    _bar(paper, *bar, rest, clamps)
    for row in rows_of(sheet, "turning_bar", "joint"):
        x, y = paper.x(row.first), paper.y(rest)
        paper.stroke(((x, y - 3), (x, y + 3)), "clamp")


def _bar(paper: Paper, start: float, end: float, height: float, clamps: Sequence[float]) -> None:
    y = paper.y(height)
    left, right = paper.x(start), paper.x(end)
    top, bottom = y - THICK / 2, y + THICK / 2
    paper.stroke(((left, bottom), (right, bottom), (right, top), (left, top)), "bar-tube", closed=True)
    for place in clamps:
        x = paper.x(place)
        paper.stroke(((x, y - THICK), (x, y + THICK)), "clamp")


def _tubes(paper: Paper, door: WallOpening, sheet: Sheet, places: Sequence[float]) -> None:
    holes = rows_of(sheet, "header", "hole_height")
    top = holes[0].first if holes else door.height
    for place in places:
        paper.line(((place, 0), (place, door.threshold + top)), "hidden")
        if holes:
            paper.dot(place, door.threshold + top, 0.9, "hole")


def _drive(paper: Paper, opening: Opening, sheet: Sheet, bar: tuple[float, float], rest: float) -> None:
    """Draw gearbox and guide post at the drive's end, leaning as the hoop's side does, and the strip beside them."""
    on_right = opening.design.drive_side == Side.RIGHT
    way = -1.0 if on_right else 1.0
    end = bar[1] if on_right else bar[0]
    lean = next((step.figures.numbers.get("lean_radians", 0.0) for step in sheet.steps if step.step == "guide_post"), 0)
    top = (opening.threshold or 0.0) + opening.rough_height + (opening.header_depth or 0.0)
    foot, head = end - way * rest * math.tan(lean), end + way * (top - rest) * math.tan(lean)
    paper.line(((foot, 0), (head, top)), "operator")
    for row in rows_of(sheet, "turning_bar", "strip_clamp"):
        paper.box(row.first, rest, row.last, min(top, _frame_at(opening, row.first, row.last)), "film")
    x, y = paper.x(end), paper.y(rest)
    paper.stroke(((x - 1.6, y - 2), (x + 1.6, y - 2), (x + 1.6, y + 2), (x - 1.6, y + 2)), "gearbox", closed=True)


def _frame_at(opening: Opening, first: float, last: float) -> float:
    """Return the frame's least height over a stretch, from the opening's left edge; no limit where unknown. [m]"""
    arch = _arch_between(profile_over(opening), opening.offset or 0.0, first, last)
    return min((height for _, height in arch), default=math.inf)


def _needed(sheet: Sheet) -> float:
    """Return the height a refused door would need under the arch; 0 where the arch does not refuse it. [m]"""
    failed = (check for check in sheet.checks if check.check == "arch" and check.verdict == Verdict.FAIL)
    return next((check.figures.lengths.get("needed", 0.0) for check in failed), 0.0)


def _needed_line(paper: Paper, door: WallOpening, needed: float, print_length: Print) -> None:
    """Draw the height a refused door would need under the arch."""
    paper.line(((-BESIDE, needed), (door.width + BESIDE, needed)), "refused")
    text = _("needs %(height)s") % {"height": print_length(needed)}
    paper.letter(paper.x(door.width / 2), paper.y(needed) - 1.4, text, "code")


def _widths(opening: Opening, sheet: Sheet, print_length: Print) -> list[tuple[float, float, str]]:
    """Return the widths to dimension above the drawing, the longest last."""
    found = [(0.0, opening.rough_width, print_length(opening.rough_width))]
    if sheet.panel is not None:
        side, width = sheet.panel.side_allowance, print_length(sheet.panel.width)
        found.append((-side, opening.rough_width + side, _("film %(width)s") % {"width": width}))
    if (bar := bar_of(opening, sheet)) is not None:
        found.append((*bar, _("turning bar %(length)s") % {"length": print_length(bar[1] - bar[0])}))
    return found


def _upright(
    paper: Paper, opening: Opening, door: WallOpening, right: float, sheet: Sheet, print_length: Print
) -> None:
    """Dimension the heights: the frame's on the left, the film's lines and the holes on the right."""
    x = paper.x(_reach(opening, sheet)[0]) - 4
    heights = [(door.threshold, door.head)]
    if door.threshold:
        heights.append((0.0, door.threshold))
    if door.header_depth:
        heights.append((door.head, door.head + door.header_depth))
    for low, high in heights:
        paper.upright(low, high, x, print_length(high - low), feature=x + 3)
    lines = [("film", "clamp_line", "a"), ("film", "rest_line", "b"), ("header", "hole_height", "c")]
    for column, (part, mark, tag) in enumerate(lines):
        for row in rows_of(sheet, part, mark):
            place = paper.x(right) + 4 + 7 * column
            text = f"{tag} {print_length(row.first)}"
            paper.upright(
                door.threshold, door.threshold + row.first, place, text, feature=paper.x(right) + 1, above=True
            )


def _running(paper: Paper, opening: Opening, sheet: Sheet, drawn: tuple[float, float], print_length: Print) -> str:
    """Letter running dimensions from the opening's left edge; return the longest text."""
    places = {0.0, opening.rough_width}
    if (bar := bar_of(opening, sheet)) is not None:
        places |= set(bar)
    if opening.offset is not None and opening.wall.width is not None:
        corners = (-opening.offset, opening.wall.width - opening.offset)
        places |= {corner for corner in corners if drawn[0] <= corner <= drawn[1]}
    kept = sorted(places)
    texts = [print_length(abs(place)) if place else "0" for place in kept]
    paper.running(kept, texts, paper.y(0) + LINE, feature=paper.y(0) + 1, datum=kept.index(0.0))
    return max(texts, key=len)
