"""Drawing paper: points in metres become paths and lettering in millimetres, ready for an SVG template.

Every number leaves here as text with a point for a decimal mark, because a template would print a number in
the reader's language and SVG reads only one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import count, pairwise

WIDTH = 160.0  # mm; fits A4 and Letter between their margins, so a print at 100 % keeps the scale
LETTER = 2.5  # mm; room one character takes in the size a phone shows lettering at
LINE = 5.4  # mm; room a line of that lettering takes
TICK = 1.1  # mm; half an oblique stroke of a dimension line, ISO 129-1
OVERSHOOT = 1.6  # mm; how far an extension line passes the dimension line

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Path:
    """One stroke or filled shape; the style names its line weight and fill in the style sheet."""

    d: str
    style: str


@dataclass(frozen=True, slots=True)
class Lettering:
    """One line of text; ``turn`` is an SVG transform or empty."""

    x: str
    y: str
    text: str
    style: str = ""
    anchor: str = "middle"
    turn: str = ""


@dataclass(frozen=True, slots=True)
class Link:
    """A part of a drawing that leads to another sheet."""

    href: str
    label: str
    style: str
    paths: tuple[Path, ...]
    lettering: tuple[Lettering, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing; ``scale`` is None where it is not to scale."""

    title: str
    description: str
    width: str
    height: str
    scale: int | None
    paths: tuple[Path, ...]
    lettering: tuple[Lettering, ...]
    links: tuple[Link, ...] = ()


def number(value: float) -> str:
    """Return a coordinate as SVG reads it, to a hundredth of a millimetre."""
    return f"{round(value, 2) + 0.0:g}"  # adding nought turns -0 into 0


def path(points: Iterable[Point], *, closed: bool = False) -> str:
    """Return the path data of straight lines from point to point."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")


def circle(x: float, y: float, radius: float) -> str:
    """Return the path data of a circle."""
    r, across = number(radius), number(2 * radius)
    return f"M{number(x - radius)} {number(y)}a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0 -{across} 0Z"


def relative(strokes: Iterable[Sequence[Point]]) -> str:
    """Return path data drawn from wherever the pen stands, which is where it returns to; closed strokes end on "Z"."""
    drawn = []
    for stroke in strokes:
        closed = stroke[0] == stroke[-1]
        steps = [(x - u, y - v) for (u, v), (x, y) in pairwise(((0.0, 0.0), *stroke))]
        back = stroke[0] if closed else stroke[-1]
        moves = "l".join(f"{number(x)} {number(y)}" for x, y in (steps[:-1] if closed else steps))
        drawn.append(f"m{moves}{'z' if closed else ''}m{number(-back[0])} {number(-back[1])}")
    return "".join(drawn)


def best_scale(width: float, height: float, room_x: float, room_y: float) -> int:
    """Return the largest scale 1:n, 1:10 at most, at which a thing [m] fits the room [mm].

    ISO 5455 gives 1, 2 and 5 and their tens; 25 and 75 stand on every metric scale rule.
    """
    needed = max(width * 1000 / room_x, height * 1000 / room_y, 1.0)
    return next(n for n in _series() if n >= needed * (1 - 1e-9))


def spread(places: Sequence[float], gap: float) -> list[float]:
    """Return places moved apart, in order, until each stands at least ``gap`` from its neighbours.

    Neighbours that are too close share the shift, so the group stays centred on where it was.
    """
    groups: list[list[float]] = []
    for place in places:
        groups.append([place])
        while len(groups) > 1 and _start(groups[-1], gap) - _end(groups[-2], gap) < gap:
            last = groups.pop()
            groups[-1] += last
    return [_start(group, gap) + gap * index for group in groups for index in range(len(group))]


@dataclass(slots=True)
class Paper:
    """A sheet being drawn: scale 1:n, and where the origin of the metres lies on the paper [mm]."""

    scale: float
    origin_x: float
    origin_y: float
    paths: list[Path] = field(default_factory=list)
    lettering: list[Lettering] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)

    def x(self, metres: float) -> float:
        """Return the place across the paper. [mm]"""
        return self.origin_x + metres * 1000 / self.scale

    def y(self, metres: float) -> float:
        """Return the place down the paper; heights rise on a drawing. [mm]"""
        return self.origin_y - metres * 1000 / self.scale

    def stroke(self, points: Iterable[Point], style: str, *, closed: bool = False) -> None:
        """Draw from point to point. [mm]"""
        self.paths.append(Path(path(points, closed=closed), style))

    def line(self, points: Iterable[Point], style: str, *, closed: bool = False) -> None:
        """Draw from point to point. [m]"""
        self.stroke(((self.x(x), self.y(y)) for x, y in points), style, closed=closed)

    def box(self, left: float, bottom: float, right: float, top: float, style: str) -> None:
        """Draw a rectangle. [m]"""
        self.line(((left, bottom), (right, bottom), (right, top), (left, top)), style, closed=True)

    def dot(self, x: float, y: float, radius: float, style: str) -> None:
        """Draw a circle at a place [m] with a radius on the paper [mm]."""
        self.paths.append(Path(circle(self.x(x), self.y(y), radius), style))

    def letter(
        self, x: float, y: float, text: str, style: str = "", *, anchor: str = "middle", turned: bool = False
    ) -> None:
        """Letter a line of text at a place on the paper [mm]; turned, it reads upwards."""
        turn = f"rotate(-90 {number(x)} {number(y)})" if turned else ""
        self.lettering.append(Lettering(number(x), number(y), text, style, anchor, turn))

    def across(self, left: float, right: float, y: float, text: str, *, feature: float | Point | None = None) -> None:
        """Dimension a width [m] on a line at ``y`` [mm]; extension lines come from ``feature``, both or each [mm]."""
        start, end = self.x(left), self.x(right)
        for x, origin in zip((start, end), _both(feature), strict=True):
            if origin is not None:
                self.stroke(((x, origin), (x, y + math.copysign(OVERSHOOT, y - origin))), "dimension")
            self.stroke(((x - TICK, y + TICK), (x + TICK, y - TICK)), "tick")
        self.stroke(((start, y), (end, y)), "dimension")
        if room(text) <= end - start:
            self.letter((start + end) / 2, y - 1.2, text, "figure")
        else:  # too tight for its figure: beside the dimension, at its end
            self.letter(end + 2, y + 1.6, text, "figure", anchor="start")

    def upright(
        self,
        bottom: float,
        top: float,
        x: float,
        text: str,
        *,
        feature: float | Point | None = None,
        above: bool = False,
        within: Point | None = None,
    ) -> None:
        """Dimension a height [m] on a line at ``x`` [mm]; extension lines come from ``feature``, both or each [mm].

        The figure stands in the middle of the line, or of the stretch ``within`` [m]; one too long for that stands
        beside the line, or ``above`` its upper end.
        """
        start, end = self.y(bottom), self.y(top)
        for y, origin in zip((start, end), _both(feature), strict=True):
            if origin is not None:
                self.stroke(((origin, y), (x + math.copysign(OVERSHOOT, x - origin), y)), "dimension")
            self.stroke(((x - TICK, y + TICK), (x + TICK, y - TICK)), "tick")
        self.stroke(((x, start), (x, end)), "dimension")
        low, high = (self.y(place) for place in within or (bottom, top))
        if room(text) <= low - high:
            self.letter(x - 1.2, (low + high) / 2, text, "figure", turned=True)
        elif above:
            self.letter(x - 1.2, end - 2, text, "figure", anchor="start", turned=True)
        else:
            self.letter(x - 1.8, (start + end) / 2 + 1.6, text, "figure", anchor="end")

    def running(
        self, places: Sequence[float], texts: Sequence[str], y: float, *, feature: float, datum: int = 0
    ) -> None:
        """Letter running dimensions [m] from the datum's place on a line at ``y`` [mm] (ISO 129-1)."""
        at = [self.x(place) for place in places]
        for before, after in pairwise(at):
            self.stroke(((before, y), (after, y)), "dimension")
        self.paths.append(Path(circle(at[datum], y, 0.9), "datum"))
        for x, moved, text in zip(at, spread(at, LINE), texts, strict=True):
            bend = () if abs(moved - x) < 0.01 else ((moved, y + 3.2),)
            self.stroke(((x, feature), (x, y + 1.4), *bend), "dimension")
            self.stroke(((x - TICK, y + TICK), (x + TICK, y - TICK)), "tick")
            self.letter(moved + LINE * 0.3, y + 4.2, text, "figure", anchor="end", turned=True)

    def running_above(self, places: Sequence[float], texts: Sequence[str], y: float, *, feature: float) -> None:
        """Letter running dimensions [m] from the first place, above a line at ``y`` [mm]."""
        at = [self.x(place) for place in places]
        self.stroke(((at[0], y), (at[-1], y)), "dimension")
        self.paths.append(Path(circle(at[0], y, 0.9), "datum"))
        for x, moved, text in zip(at, spread(at, LINE), texts, strict=True):
            bend = () if abs(moved - x) < 0.01 else ((moved, y - 3.2),)
            self.stroke(((x, feature), (x, y - 1.4), *bend), "dimension")
            self.stroke(((x - TICK, y + TICK), (x + TICK, y - TICK)), "tick")
            self.letter(moved + LINE * 0.3, y - 4.2, text, "figure", anchor="start", turned=True)

    def finish(
        self, title: str, description: str, *, height: float, width: float = WIDTH, to_scale: bool = True
    ) -> Drawing:
        """Return the drawing on paper of the given size. [mm]"""
        scale = int(self.scale) if to_scale else None
        return Drawing(
            title, description, number(width), number(height), scale,
            tuple(self.paths), tuple(self.lettering), tuple(self.links),
        )  # fmt: skip


def room(text: str) -> float:
    """Return the length a text takes at most. [mm]"""
    return LETTER * len(text)


def _both(feature: float | Point | None) -> tuple[float | None, float | None]:
    return feature if isinstance(feature, tuple) else (feature, feature)


def _series() -> Iterator[int]:
    return (step * 10**power // 10 for power in count(1) for step in (10, 20, 25, 50, 75))


def _start(group: Sequence[float], gap: float) -> float:
    return sum(group) / len(group) - gap * (len(group) - 1) / 2


def _end(group: Sequence[float], gap: float) -> float:
    return sum(group) / len(group) + gap * (len(group) - 1) / 2
