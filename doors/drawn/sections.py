"""A film door in section, with break lines, and its turning bar as a strip: the drawings a tape is held against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from django.utils.translation import gettext as _

from doors.drawn.drawings import Print, bar_of, places_of, rows_of
from doors.sizing import Opening, Rules, Sheet
from farm.paper import LINE, WIDTH, Drawing, Paper, room

SECTION_WIDTH, WALL_AT, HEIGHTS_AT, LINES_AT = 90.0, 48.0, 20.0, 71.0  # mm across the section's paper
SECTION_SCALE: Final = 10  # 1:10, so that a bar and a header can be told apart
BELOW_GRADE: Final = 0.1  # m; ground drawn below grade
MARGIN: Final = 0.08  # m; drawn above and below what a window of the section shows
STRIP_LEFT, STRIP_RIGHT = 7.0, 7.0  # mm


@dataclass(slots=True)
class BrokenPaper(Paper):
    """Paper on which heights between the windows are left out, as break lines do on a drawing."""

    windows: list[tuple[float, float]] = field(default_factory=list)
    gap: float = 6.0

    def y(self, metres: float) -> float:
        """Return the place down the paper; in a gap, in proportion. [mm]"""
        used = 0.0
        for index, (low, high) in enumerate(self.windows):
            if index and metres < low:
                before = self.windows[index - 1][1]
                return self.origin_y - used + self.gap * (low - metres) / (low - before)
            if metres <= high or index == len(self.windows) - 1:
                return self.origin_y - used - (metres - low) * 1000 / self.scale
            used += (high - low) * 1000 / self.scale + self.gap
        return Paper.y(self, metres)


def section(opening: Opening, sheet: Sheet, rules: Rules, print_length: Print) -> Drawing | None:
    """Return the door cut through header, film, bars and threshold, or None where its roll is not known."""
    roll = sheet.roll
    if roll is None or opening.threshold is None or opening.header_depth is None:
        return None
    grade, sill = 0.0, opening.threshold
    rest, head = sill + roll.first_line, sill + opening.rough_height
    lines = [row.first for row in rows_of(sheet, "film", "clamp_line")]
    holes = [row.first for row in rows_of(sheet, "header", "hole_height")]
    top = head + opening.header_depth + (sheet.panel.above_trimmed if sheet.panel else 0.0)
    wanted = [
        (grade - BELOW_GRADE, sill + MARGIN),
        (min([rest, *(sill + line for line in lines)]) - MARGIN, rest + MARGIN),
        (head - MARGIN - roll.diameter_open, top + 0.06),
    ]
    paper = BrokenPaper(SECTION_SCALE, WALL_AT, 0.0, windows=merged(wanted))
    paper.origin_y = 12.0 - paper.y(top + 0.06)
    _ground(paper, opening, rules)
    _header(paper, opening, head)
    _billow_tube(paper, opening, sheet, rules, sill + holes[0] if holes else None)
    _hanging_film(paper, opening, sheet, sill, rest, top)
    _breaks(paper)
    _section_heights(paper, opening, sheet, (sill, head), print_length)
    foot = paper.y(-BELOW_GRADE)
    stand_off = print_length(rules.tube_stand_off)
    paper.across(-rules.tube_stand_off, 0, foot + 4, stand_off, feature=foot)
    if opening.wall.header_thickness is not None:
        paper.across(0, opening.wall.header_thickness, 8, print_length(opening.wall.header_thickness), feature=11)
    paper.letter(WALL_AT - 12, 6, _("outside"), "word", anchor="end")
    paper.letter(WALL_AT + 22, 6, _("inside"), "word", anchor="start")
    text = _(
        "Cut through the door at 1:%(scale)d with the plain stretches left out: header, film on the outside, bar at "
        "rest %(rest)s above the threshold, roll %(diameter)s thick when open."
    ) % {"scale": SECTION_SCALE, "rest": print_length(roll.first_line), "diameter": print_length(roll.diameter_open)}
    return paper.finish(
        _("Door %(code)s in section") % {"code": opening.code}, text, width=SECTION_WIDTH, height=foot + 9
    )


def merged(windows: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return windows in order, those that touch or overlap joined to one."""
    kept: list[tuple[float, float]] = []
    for low, high in sorted(windows):
        if kept and low <= kept[-1][1] + MARGIN:
            kept[-1] = (kept[-1][0], max(kept[-1][1], high))
        else:
            kept.append((low, high))
    return kept


def _ground(paper: Paper, opening: Opening, rules: Rules) -> None:
    thickness = _thickness(opening)
    left, right, y = paper.x(-rules.tube_stand_off) - 12, paper.x(thickness) + 12, paper.y(0)
    paper.stroke(((left, y), (right, y)), "ground")
    for step in range(int(left) + 3, int(right), 5):
        paper.stroke(((step, y), (step - 2.4, y + 2.4)), "dimension")
    if opening.threshold:
        paper.box(0, 0, thickness, opening.threshold, "cut")


def _header(paper: Paper, opening: Opening, head: float) -> None:
    thickness, depth = _thickness(opening), opening.header_depth or 0.0
    paper.box(0, head, thickness, head + depth, "cut")
    corners = ((0, head), (thickness, head + depth)), ((0, head + depth), (thickness, head))
    for one, other in corners:  # crossed diagonals: timber cut across the grain
        paper.line((one, other), "sign")


def _thickness(opening: Opening) -> float:
    """Return the header's thickness; one that was not measured is drawn, not dimensioned. [m]"""
    return opening.wall.header_thickness or 0.05


def _billow_tube(paper: Paper, opening: Opening, sheet: Sheet, rules: Rules, hole: float | None) -> None:
    """Draw the anti-billow tube in front of the film, and the rod that ties it to the header."""
    tube = opening.design.anti_billow_tube
    if tube is None or hole is None:
        return
    middle, half = -rules.tube_stand_off, tube.diameter / 2
    low, top = -BELOW_GRADE, hole + rules.tube_hole_from_top
    for x in (middle - half, middle + half):
        paper.line(((x, low), (x, top)), "outline")
    paper.line(((middle - half, top), (middle + half, top)), "outline")
    rod = opening.design.rod
    reach = rod.length if rod else _thickness(opening) + rules.tube_stand_off + 0.05
    end = _thickness(opening) + 0.03
    paper.line(((end - reach, hole), (end, hole)), "bar-line")
    for x in (_thickness(opening) + 0.012, -0.012, middle + half + 0.008, middle - half - 0.012):
        y, at = paper.y(hole), paper.x(x)
        paper.stroke(
            ((at - 0.7, y - 1.7), (at + 0.7, y - 1.7), (at + 0.7, y + 1.7), (at - 0.7, y + 1.7)), "solid", closed=True
        )


def _hanging_film(paper: Paper, opening: Opening, sheet: Sheet, sill: float, rest: float, top: float) -> None:
    """Draw the film from above the header to its bars, and the roll as it is when the door is open."""
    roll = sheet.roll
    if roll is None:
        return
    half = roll.diameter_closed / 2
    below = sill - (sheet.panel.below_final if sheet.panel else 0.0)
    paper.line(((-0.004, top), (-0.004, rest)), "film-line")
    if roll.windings == 2:
        paper.line(((-0.004, rest), (-0.004, below)), "film-line")
        tube = opening.design.sill_tube
        if tube is not None:
            paper.dot(
                -0.004 - tube.diameter / 2, sill + tube.diameter / 2, tube.diameter * 500 / paper.scale, "bar-tube"
            )
    paper.dot(-0.004 - half, rest, half * 1000 / paper.scale, "bar-tube")
    wound = roll.diameter_open / 2
    paper.dot(-0.004 - wound, sill + opening.rough_height - wound, wound * 1000 / paper.scale, "hidden")


def _breaks(paper: BrokenPaper) -> None:
    """Draw the break lines of every stretch left out."""
    x = paper.x(0)
    for (_low, before), (after, _high) in zip(paper.windows, paper.windows[1:], strict=False):
        y = (paper.y(before) + paper.y(after)) / 2
        paper.stroke(
            ((x - 18, y + 1), (x - 3, y + 1), (x - 1, y - 2), (x + 1, y + 4), (x + 3, y + 1), (x + 18, y + 1)), "break"
        )


def _section_heights(
    paper: Paper, opening: Opening, sheet: Sheet, ends: tuple[float, float], print_length: Print
) -> None:
    sill, head = ends
    depth, feature = opening.header_depth or 0.0, WALL_AT - 20
    paper.upright(sill, head, HEIGHTS_AT, print_length(opening.rough_height), feature=feature)
    if opening.threshold:
        paper.upright(0, sill, HEIGHTS_AT, print_length(opening.threshold), feature=feature)
    paper.upright(head, head + depth, HEIGHTS_AT, print_length(depth), feature=feature)
    lines = (("film", "clamp_line", "a"), ("film", "rest_line", "b"), ("header", "hole_height", "c"))
    for column, (part, mark, tag) in enumerate(lines):
        for row in rows_of(sheet, part, mark):
            text = f"{tag} {print_length(row.first)}"
            paper.upright(sill, sill + row.first, LINES_AT + 7 * column, text, feature=WALL_AT + 19, above=True)


def bar_strip(opening: Opening, sheet: Sheet, print_length: Print) -> Drawing | None:
    """Return the turning bar with its clamps and joint, or None where its length is not known.

    Above the bar a tape hooked on its left end reads; below it everything runs from the opening's left edge.
    Lengths are to one scale along the bar; its thickness is not.
    """
    bar = bar_of(opening, sheet)
    if bar is None:
        return None
    scale = (bar[1] - bar[0]) * 1000 / (WIDTH - STRIP_LEFT - STRIP_RIGHT)
    marks = [row for row in sheet.rows if row.part == "turning_bar"]
    places = sorted({place for row in marks for place in places_of(row)} | {0.0, bar[0], bar[1]})
    shown = thinned(places, {0.0, *bar, *(row.first for row in marks), *(row.last for row in marks)}, scale)
    tape = ["0" if place == bar[0] else print_length(place - bar[0]) for place in shown]
    running = ["0" if place == 0.0 else print_length(abs(place)) for place in shown]
    middle = room(max(tape, key=len)) + 16
    paper = Paper(scale, STRIP_LEFT - bar[0] * 1000 / scale, middle)
    left, right = paper.x(bar[0]), paper.x(bar[1])
    paper.stroke(
        ((left, middle + 2), (right, middle + 2), (right, middle - 2), (left, middle - 2)), "bar-tube", closed=True
    )
    for row in marks:
        _strip_marks(paper, row.mark, places_of(row), middle)
    paper.running_above(shown, tape, middle - LINE, feature=middle - 4)
    paper.running(shown, running, middle + LINE + 1, feature=middle + 4, datum=shown.index(0.0))
    height = middle + 14 + room(max(running, key=len))
    title = _("Turning bar of %(code)s with its clamps") % {"code": opening.code}
    text = _("%(length)s long; above, from its left end; below, from the left edge of the opening.") % {
        "length": print_length(bar[1] - bar[0])
    }
    return paper.finish(title, text, height=height, to_scale=False)


def thinned(places: Sequence[float], always: set[float], scale: float) -> list[float]:
    """Return the places there is room to letter: all of them, or those in ``always`` and every few others."""
    fit = int((WIDTH - STRIP_LEFT - STRIP_RIGHT) / LINE)
    if len(places) <= fit:
        return list(places)
    step = -(-len(places) // max(fit - len(always), 1))
    return [place for index, place in enumerate(places) if place in always or index % step == 0]


def _strip_marks(paper: Paper, mark: str, places: Sequence[float], middle: float) -> None:
    reach = {"clamp": 3.2, "strip_clamp": 3.2, "joint": 5.0, "opening_edge": 5.0}.get(mark, 3.2)
    style = {"joint": "joint", "opening_edge": "film-line"}.get(mark, "clamp")
    for place in places:
        x = paper.x(place)
        paper.stroke(((x, middle - reach), (x, middle + reach)), style)
