"""An end wall in elevation, seen from outside, and the sign each kind of door is drawn by."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from django.utils.translation import gettext as _

from farm.drawings import verdict_mark
from farm.geometry import Profile, clear_height, outline
from farm.paper import LINE, WIDTH, Drawing, Paper, best_scale, room

LEFT, RIGHT, TOP = 19.0, 12.0, 5.0  # mm; room for dimensions around the wall
BELOW: Final = 12.0  # mm; from grade to where the running dimensions are lettered
TALLEST: Final = 120.0  # mm; two walls stand one above the other on a printed page
NARROWEST: Final = 100.0  # mm; lettering would grow too large on a smaller sheet
SLATS: Final = 0.2  # m; spacing of the lines that stand for the slats of a coil door
Print = Callable[[float], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallOpening:
    """An opening as the wall is drawn with it. Metres, from the wall's left corner and from grade."""

    code: str
    kind: str
    left: float
    width: float
    height: float
    threshold: float = 0.0
    header_depth: float | None = None
    verdict: str = "blocked"

    @property
    def head(self) -> float:
        """Height of the top above grade. [m]"""
        return self.threshold + self.height


@dataclass(frozen=True, slots=True, kw_only=True)
class WallOperator:
    """The hand operator of a roll-up side at one corner; its travel where it was measured. [m]"""

    corner: Literal["left", "right"]
    travel_top: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WallView:
    """What an end wall is drawn from. Metres."""

    name: str
    profile: Profile
    stud_face: float | None = None
    openings: tuple[WallOpening, ...] = ()
    operators: tuple[WallOperator, ...] = ()


def end_wall(view: WallView, print_length: Print) -> Drawing:
    """Return an end wall to scale with its openings dimensioned from its left corner."""
    profile = view.profile
    scale = best_scale(profile.width, profile.ridge, WIDTH - LEFT - RIGHT, TALLEST - TOP - 30)
    wide = max(LEFT + profile.width * 1000 / scale + RIGHT, NARROWEST)
    left = (wide - RIGHT + LEFT - profile.width * 1000 / scale) / 2
    paper = Paper(scale, left, TOP + profile.ridge * 1000 / scale)
    draw_wall(paper, profile)
    for operator in view.operators:
        _operator(paper, profile.width, operator)
    for opening in view.openings:
        _opening(paper, view, opening, print_length)
    crown = max(outline(profile).tolist(), key=lambda corner: corner[1])[0]
    reach = (paper.x(0) - 7, paper.x(crown))
    paper.upright(0, profile.ridge, paper.x(0) - 9, print_length(profile.ridge), feature=reach)
    longest = _places(paper, view, print_length)
    text = _("Seen from outside: %(width)s wide, %(ridge)s to the ridge, 1:%(scale)d. %(openings)s") % {
        "width": print_length(profile.width),
        "ridge": print_length(profile.ridge),
        "scale": scale,
        "openings": "; ".join(_in_words(opening, print_length) for opening in view.openings),
    }
    return paper.finish(
        _("End wall %(name)s in elevation") % {"name": view.name}, text, height=paper.y(0) + BELOW + room(longest)
    )


def draw_wall(paper: Paper, profile: Profile, style: str = "outline") -> None:
    """Draw the arch and the ground it stands on, with the strokes that mean earth."""
    paper.line(outline(profile).tolist(), style, closed=True)
    left, right, y = paper.x(0) - 6, paper.x(profile.width) + 6, paper.y(0)
    paper.stroke(((left, y), (right, y)), "ground")
    for x in range(int(left) + 2, int(right), 6):
        paper.stroke(((x, y), (x - 2, y + 2)), "dimension")


def draw_frame(paper: Paper, opening: WallOpening, stud_face: float | None, arch: Profile | None) -> None:
    """Draw the jamb studs up to the arch, the header and the threshold around an opening."""
    right = opening.left + opening.width
    for inner, outward in ((opening.left, -1.0), (right, 1.0)):
        outer = inner + outward * (stud_face or 0.0)
        top = opening.head + (opening.header_depth or 0.0)
        if arch is not None:
            place = min(max((inner + outer) / 2, 0.0), arch.width)
            top = max(float(clear_height(arch, place)), top)
        paper.line(((inner, 0), (inner, top)), "stud")
        if stud_face:
            paper.line(((outer, 0), (outer, top)), "stud")
    if opening.header_depth:
        side = stud_face or 0.0
        paper.box(opening.left - side, opening.head, right + side, opening.head + opening.header_depth, "header")
    if opening.threshold:
        paper.box(opening.left, 0, right, opening.threshold, "threshold")


def draw_door(paper: Paper, opening: WallOpening) -> None:
    """Draw the sign of the kind of door that hangs in an opening."""
    left, bottom, right, top = opening.left, opening.threshold, opening.left + opening.width, opening.head
    middle, half = (left + right) / 2, (bottom + top) / 2
    paper.box(left, bottom, right, top, "film" if opening.kind in ("mid_bar", "bottom_bar") else "leaf")
    if opening.kind == "mid_bar":
        paper.line(((left, half), (right, half)), "bar-line")
        paper.line(((left, bottom), (right, bottom)), "bar-line")
    elif opening.kind == "bottom_bar":
        paper.line(((left, bottom), (right, bottom)), "bar-line")
    elif opening.kind == "person":
        paper.line(((left, half), (right, half)), "sign")
    elif opening.kind == "hinged_pair":
        paper.line(((middle, bottom), (middle, top)), "stud")
        for hinges in (left, right):  # the sign points at the hinges
            paper.line(((middle, top), (hinges, half), (middle, bottom)), "sign")
    elif opening.kind == "sliding_pair":
        paper.line(((middle, bottom), (middle, top)), "stud")
        _slide_arrows(paper, middle, bottom + opening.height * 0.75, opening.width / 4)
    elif opening.kind == "coil":
        for step in range(1, int(opening.height / SLATS)):
            paper.line(((left, bottom + step * SLATS), (right, bottom + step * SLATS)), "sign")
    else:
        paper.line(((left, bottom), (right, top)), "sign")
        paper.line(((left, top), (right, bottom)), "sign")


def _slide_arrows(paper: Paper, middle: float, height: float, reach: float) -> None:
    for way in (-1, 1):
        start, tip = middle + way * reach * 0.5, middle + way * reach * 1.5
        paper.line(((start, height), (tip, height)), "sign")
        x, y = paper.x(tip), paper.y(height)
        paper.stroke(((x - way * 2, y - 1), (x, y), (x - way * 2, y + 1)), "sign")


def _operator(paper: Paper, width: float, operator: WallOperator) -> None:
    """Draw a side operator as a pole outside its corner; dashed where its travel was not measured."""
    x = paper.x(0) - 3.2 if operator.corner == "left" else paper.x(width) + 3.2
    top = paper.y(operator.travel_top) if operator.travel_top else paper.y(0) - 18
    paper.stroke(((x, paper.y(0)), (x, top)), "operator" if operator.travel_top else "hidden")
    paper.stroke(((x - 1.3, top), (x + 1.3, top), (x + 1.3, top - 2.6), (x - 1.3, top - 2.6)), "gearbox", closed=True)


def _opening(paper: Paper, view: WallView, opening: WallOpening, print_length: Print) -> None:
    draw_frame(paper, opening, view.stud_face, view.profile)
    draw_door(paper, opening)
    x = paper.x(opening.left + opening.width / 2)
    wide = paper.x(opening.width) - paper.x(0)
    if wide >= room(opening.code):
        paper.letter(x + 2.6, paper.y(opening.threshold) - 4.4, opening.code, "code")
        paper.paths.append(
            verdict_mark(opening.verdict, x - room(opening.code) / 2 - 0.6, paper.y(opening.threshold) - 6)
        )
    else:
        paper.letter(x + 1.8, paper.y(opening.threshold) - 7, opening.code, "code", anchor="start", turned=True)
        paper.paths.append(verdict_mark(opening.verdict, x, paper.y(opening.threshold) - 3.4))
    # Its height, where there is room clear of the code and of a bar across the middle; the page's table has it anyway.
    text, upper_half = print_length(opening.height), (opening.threshold + opening.height / 2, opening.head)
    if wide >= room(opening.code) and paper.y(upper_half[0]) - paper.y(opening.head) >= room(text):
        inside = paper.x(opening.left + opening.width) - 2.6
        paper.upright(opening.threshold, opening.head, inside, text, within=upper_half)


def _places(paper: Paper, view: WallView, print_length: Print) -> str:
    """Letter the running dimensions of both corners and every jamb; return the longest text."""
    jambs = {place for one in view.openings for place in (one.left, one.left + one.width)}
    places = sorted({0.0, view.profile.width} | jambs)
    # Two marks less than a hair apart are one: an opening set against the corner, or two that share a stud.
    kept = [place for index, place in enumerate(places) if index == 0 or place - places[index - 1] > 1e-6]
    texts = [print_length(place) if place else "0" for place in kept]
    paper.running(kept, texts, paper.y(0) + LINE, feature=paper.y(0) + 1)
    return max(texts, key=len)


def _in_words(opening: WallOpening, print_length: Print) -> str:
    return _("%(code)s %(width)s by %(height)s, %(left)s from the left corner") % {
        "code": opening.code,
        "width": print_length(opening.width),
        "height": print_length(opening.height),
        "left": print_length(opening.left),
    }
