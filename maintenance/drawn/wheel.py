"""The year as a wheel: twelve months to scale, clockwise from January at the top, and what is due in each.

From the middle outwards: the seasons, the daylight, the months, a ring of windows for each subject, how much of
each month's work was done, and the sheets of film to change. Millimetres on paper, angles in days of the year.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from farm.paper import Drawing, Lettering, Path, Point, circle, number, path, spread

HUB: Final = 24.0
DAYLIGHT: Final = 34.0  # the band from the hub to here; it is as wide as DAYS_OF
MONTHS: Final = 42.0
RINGS: Final = 66.0
SHARES: Final = (67.0, 69.6)
FILM: Final = 72.2
BEND: Final = 74.0  # where leaders turn to their number
NUMBERS: Final = 80.5
HALF: Final = 84.5  # half the drawing
SEASON_WORDS: Final = 12.4  # from the middle
BALLOON: Final = 3.3
BALLOON_GAP: Final = 7.0
MOST_BALLOONS: Final = 70  # all that the rim has room for
NUMBERED_ARCS: Final = 4  # of one routine; one that comes more often is numbered once
WIDEST_LANE: Final = 3.2
RING_GAP: Final = 0.8
FILLED: Final = 0.72  # of a lane's width
DAYS_OF: Final = (4.0, 20.0)  # h; longer and shorter ones run along the band's edge
DAYLIGHT_STEP: Final = 5  # days
DRIFT_STEP: Final = 3  # days


@dataclass(frozen=True, slots=True)
class Window:
    """The days in which something is to be done, the last one included."""

    key: int  # the number beside it
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Share:
    """How many jobs of a month are done, late, still to do, or were not done."""

    done: int = 0
    late: int = 0
    to_do: int = 0
    dropped: int = 0

    def parts(self) -> tuple[tuple[str, int], ...]:
        """Return the counts with the style each is drawn in."""
        return ("done", self.done), ("late", self.late), ("to-do", self.to_do), ("dropped", self.dropped)

    @property
    def total(self) -> int:
        """All of them."""
        return self.done + self.late + self.to_do + self.dropped


@dataclass(frozen=True, slots=True)
class Arc:
    """A window at its place on the wheel: turns from the top and radii. [days, mm]"""

    key: int
    start: float
    end: float
    inner: float
    outer: float

    @property
    def middle(self) -> float:
        """Half way from its inner to its outer edge. [mm]"""
        return (self.inner + self.outer) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelYear:
    """What a wheel shows."""

    year: int
    month_names: Sequence[str]
    seasons: Sequence[tuple[date, str]]  # the first day of each quarter in the year, and its name
    rings: Sequence[Sequence[Window]]  # by subject, from the outside in
    shares: Mapping[int, Share]  # by month
    film: Sequence[date]
    daylight: Sequence[float]  # h, by day of the year; empty where it is not known
    today: date | None


def season_wheel(shown: WheelYear, *, title: str, description: str) -> Drawing:
    """Return the wheel."""
    dial = _Dial(shown.year)
    arcs = list(placed(shown.rings, dial))
    paths = [*_frame(shown, dial), *_daylight(shown.daylight, dial), *_arcs(arcs, dial), *_shares(shown.shares, dial)]
    paths += _film(shown.film, dial)
    if shown.today is not None and shown.today.year == shown.year:
        paths += _hand(shown.today, dial)
    leaders, numbers = _numbers(arcs, dial)
    words = [*_months(shown.month_names, dial), *_seasons(shown.seasons, dial), *numbers]
    size = number(2 * HALF)
    return Drawing(title, description, size, size, None, (*paths, *leaders), tuple(words))


def placed(rings: Sequence[Sequence[Window]], dial: _Dial) -> Iterator[Arc]:
    """Yield the windows in lanes, so that no two lie on each other; a ring has the lanes it needs."""
    for ring, outer, width in _laid_out(rings, dial):
        for number_of, lane in enumerate(ring):
            edge = outer - width * (number_of + (1 - FILLED) / 2)
            for window in lane:
                start, end = dial.turn(window.first), dial.turn(window.last) + 1
                yield Arc(window.key, start, end, edge - width * FILLED, edge)


def ring_edges(rings: Sequence[Sequence[Window]], dial: _Dial) -> list[float]:
    """Return where one ring ends and the next begins. [mm]"""
    return [outer + RING_GAP / 2 for _ring, outer, _width in _laid_out(rings, dial)][1:]


def _laid_out(rings: Sequence[Sequence[Window]], dial: _Dial) -> Iterator[tuple[list[list[Window]], float, float]]:
    """Yield each ring that has windows in its lanes, its outer edge, and how wide its lanes are. [mm]"""
    in_lanes = [found for windows in rings if (found := lanes(dial.clipped(windows)))]
    count = sum(len(ring) for ring in in_lanes)
    room = RINGS - MONTHS - RING_GAP * (len(in_lanes) + 1)
    width = min(room / max(count, 1), WIDEST_LANE)
    outer = RINGS - RING_GAP
    for ring in in_lanes:
        yield ring, outer, width
        outer -= width * len(ring) + RING_GAP


def lanes(windows: Iterable[Window]) -> list[list[Window]]:
    """Return windows in as few lanes as they fit without touching; one key's stay in the lane of its first."""
    rows: list[list[Window]] = []
    by_key: dict[int, list[Window]] = {}
    for window in sorted(windows, key=lambda each: (each.first, each.key)):
        by_key.setdefault(window.key, []).append(window)
    for group in by_key.values():
        merged = _merged(group)
        row = next((row for row in rows if not _touch(row, merged)), None)
        if row is None:
            rows.append(row := [])
        row += merged
    return rows


def _merged(windows: Iterable[Window]) -> list[Window]:
    """Join windows of one key, in order, that follow each other without a day between."""
    joined: list[Window] = []
    for window in windows:
        if joined and window.first <= joined[-1].last + timedelta(days=1):
            joined[-1] = Window(window.key, joined[-1].first, max(joined[-1].last, window.last))
        else:
            joined.append(window)
    return joined


def _touch(row: Iterable[Window], windows: Sequence[Window]) -> bool:
    day = timedelta(days=1)
    return any(a.first <= b.last + day and b.first <= a.last + day for a in row for b in windows)


class _Dial:
    """A year on a circle."""

    def __init__(self, year: int) -> None:
        self.first, self.last = date(year, 1, 1), date(year, 12, 31)
        self.days = (self.last - self.first).days + 1

    def turn(self, day: date) -> int:
        """Return how far a day's beginning is from the top. [days]"""
        return (day - self.first).days

    def clipped(self, windows: Iterable[Window]) -> list[Window]:
        """Return what of each window lies in the year."""
        inside = (each for each in windows if each.last >= self.first and each.first <= self.last)
        return [Window(each.key, max(each.first, self.first), min(each.last, self.last)) for each in inside]

    def point(self, turn: float, radius: float) -> Point:
        """Return a place on the paper. [mm]"""
        angle = 2 * math.pi * turn / self.days
        return HALF + radius * math.sin(angle), HALF - radius * math.cos(angle)

    def spoke(self, turn: float, inner: float, outer: float, style: str) -> Path:
        """Draw a line from the middle outwards."""
        return Path(path((self.point(turn, inner), self.point(turn, outer))), style)

    def drift(self, start: float, end: float, inner: float, outer: float) -> list[Point]:
        """Return a way that rises from one radius to another while it turns; two that keep their order never cross."""
        steps = 1 + int(abs(end - start) / DRIFT_STEP)
        shares = [step / steps for step in range(steps + 1)]
        return [self.point(start + (end - start) * share, inner + (outer - inner) * share) for share in shares]

    def sector(self, start: float, end: float, inner: float, outer: float, style: str) -> Path:
        """Draw a part of a ring."""
        end = min(end, start + self.days - 0.01)  # a whole turn would end where it begins, and vanish
        wide = int(end - start > self.days / 2)
        (a, b), (c, d) = self.point(start, outer), self.point(end, outer)
        (e, f), (g, h) = self.point(end, inner), self.point(start, inner)
        over, under = number(outer), number(inner)
        there = f"M{number(a)} {number(b)}A{over} {over} 0 {wide} 1 {number(c)} {number(d)}"
        back = f"L{number(e)} {number(f)}A{under} {under} 0 {wide} 0 {number(g)} {number(h)}Z"
        return Path(there + back, style)


def _frame(shown: WheelYear, dial: _Dial) -> Iterator[Path]:
    for radius, style in ((RINGS, "outline"), (MONTHS, "outline"), (DAYLIGHT, "dimension"), (HUB, "dimension")):
        yield Path(circle(HALF, HALF, radius), f"wheel-ring {style}")
    for month in range(1, 13):
        yield dial.spoke(dial.turn(date(shown.year, month, 1)), DAYLIGHT, RINGS, "wheel-month")
    for begins_on, _name in shown.seasons:
        yield dial.spoke(dial.turn(begins_on), 0, MONTHS, "outline")
        yield dial.spoke(dial.turn(begins_on), MONTHS, RINGS, "wheel-season")
    for radius in ring_edges(shown.rings, dial):
        yield Path(circle(HALF, HALF, radius), "wheel-ring wheel-between")


def _daylight(hours: Sequence[float], dial: _Dial) -> Iterator[Path]:
    """Draw the length of the days, and noon to midnight as a circle to judge it by."""
    if not hours:
        return
    yield Path(circle(HALF, HALF, _daylight_radius(12)), "hidden wheel-twelve")
    at = [*range(0, len(hours), DAYLIGHT_STEP)]
    curve = [dial.point(day + 0.5, _daylight_radius(hours[day])) for day in at]
    yield Path(path(curve, closed=True), "curve wheel-daylight")


def _daylight_radius(hours: float) -> float:
    shortest, longest = DAYS_OF
    share = (min(max(hours, shortest), longest) - shortest) / (longest - shortest)
    return HUB + (DAYLIGHT - HUB) * share


def _arcs(arcs: Iterable[Arc], dial: _Dial) -> Iterator[Path]:
    for arc in arcs:
        yield dial.sector(arc.start, arc.end, arc.inner, arc.outer, "wheel-window")


def _shares(shares: Mapping[int, Share], dial: _Dial) -> Iterator[Path]:
    inner, outer = SHARES
    for month, share in shares.items():
        start: float = dial.turn(date(dial.first.year, month, 1))
        length = _month_length(dial.first.year, month)
        for style, count in share.parts():
            if count:
                end = start + length * count / share.total
                yield dial.sector(start, end, inner, outer, f"wheel-{style}")
                start = end


def _film(days: Iterable[date], dial: _Dial) -> Iterator[Path]:
    """Draw a small square for each day on which film is to be changed."""
    for day in sorted({day for day in days if dial.first <= day <= dial.last}):
        turn, side = dial.turn(day) + 0.5, 1.1
        yield dial.sector(turn - side, turn + side, FILM - side, FILM + side, "wheel-film")


def _hand(today: date, dial: _Dial) -> Iterator[Path]:
    turn = dial.turn(today) + 0.5
    yield dial.spoke(turn, HUB, FILM, "wheel-hand")
    tip = [dial.point(turn, DAYLIGHT), dial.point(turn - 5, DAYLIGHT - 6), dial.point(turn + 5, DAYLIGHT - 6)]
    yield Path(path(tip, closed=True), "wheel-hand solid")


def _months(names: Sequence[str], dial: _Dial) -> Iterator[Lettering]:
    for month, name in enumerate(names, 1):
        middle = dial.turn(date(dial.first.year, month, 1)) + _month_length(dial.first.year, month) / 2
        yield _letter(dial.point(middle, (DAYLIGHT + MONTHS) / 2), name, "central wheel-name")


def _seasons(seasons: Sequence[tuple[date, str]], dial: _Dial) -> Iterator[Lettering]:
    for begins_on, name in seasons:
        middle = dial.turn(begins_on) + dial.days / 8
        yield _letter(dial.point(middle, SEASON_WORDS), name, "central word")


def _numbers(arcs: Sequence[Arc], dial: _Dial) -> tuple[list[Path], list[Lettering]]:
    """Return the numbers around the rim, and a line from each to a dot on its window."""
    named = sorted(_named(arcs), key=lambda held: held[1])
    turns = _around([turn for _arc, turn in named], BALLOON_GAP / (2 * math.pi * NUMBERS) * dial.days, dial.days)
    paths, words = [], []
    for (arc, turn), moved in zip(named, turns, strict=True):
        line = (dial.point(turn, arc.middle), *dial.drift(turn, moved, BEND, NUMBERS - BALLOON))
        paths += [Path(path(line), "dimension"), Path(circle(*dial.point(turn, arc.middle), 0.6), "wheel-dot solid")]
        paths.append(Path(circle(*dial.point(moved, NUMBERS), BALLOON), "balloon"))
        words.append(_letter(dial.point(moved, NUMBERS), str(arc.key), "central wheel-number"))
    return paths, words


def _named(arcs: Sequence[Arc]) -> Iterator[tuple[Arc, float]]:
    """Yield the arcs that get a number, and the turn at which its line leaves: no two leave the same arc's span alike.

    Windows over the same days lie on each other's way out, so their lines leave at even steps along them.
    """
    by_key: dict[int, list[Arc]] = {}
    for arc in arcs:
        by_key.setdefault(arc.key, []).append(arc)
    few = [arc for held in by_key.values() for arc in (held if len(held) <= NUMBERED_ARCS else held[:1])]
    by_span: dict[tuple[float, float], list[Arc]] = {}
    for arc in few[:MOST_BALLOONS]:
        by_span.setdefault((arc.start, arc.end), []).append(arc)
    for (start, end), same in by_span.items():
        for step, arc in enumerate(same, 1):
            yield arc, start + (end - start) * step / (len(same) + 1)


def _around(turns: Sequence[float], gap: float, whole: float) -> list[float]:
    """Return turns in order, moved apart around a circle until each stands a gap from its neighbours."""
    if len(turns) < 2:
        return list(turns)
    gaps = [after - before for before, after in pairwise((*turns, turns[0] + whole))]
    cut = gaps.index(max(gaps)) + 1  # the emptiest stretch is where the circle is opened
    opened = [*turns[cut:], *(turn + whole for turn in turns[:cut])]
    gap = min(gap, whole / len(turns))
    moved = spread(opened, gap)
    if moved[-1] - moved[0] > whole - gap:  # too many to mind where they belong
        moved = [opened[0] + whole / len(turns) * place for place in range(len(turns))]
    back = len(turns) - cut
    return [*(turn - whole for turn in moved[back:]), *moved[:back]] if cut < len(turns) else moved


def _letter(at: Point, text: str, style: str) -> Lettering:
    return Lettering(number(at[0]), number(at[1]), text, style)


def _month_length(year: int, month: int) -> int:
    following = date(year + month // 12, month % 12 + 1, 1)
    return (following - date(year, month, 1)).days
