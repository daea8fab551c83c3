"""The life of a part and of those before it, drawn to a scale of time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from django.utils.translation import gettext as _

from farm.paper import LETTER, WIDTH, Drawing, Link, Paper, Path, circle, path, room

LEFT, RIGHT, TOP, FOOT = 4.0, 4.0, 3.0, 11.0  # mm around the rows
ROW: Final = 24.0  # mm, with its lettering and both lanes of marks
NAME, ABOVE, BAR, THICK, BELOW = 4.6, 8.4, 12.0, 4.5, 19.5  # mm down a row: lettering, lanes and bar
SHORTEST: Final = timedelta(days=60)  # drawn; a younger part would be nothing but its marks
MOST_ROWS: Final = 6
STEPS: Final = (1, 3, 6, 12, 24, 60, 120, 240, 600)  # months between two marks of the scale
MARK: Final = 1.5  # mm, half a mark's size
EXPECTED: Final = "hidden life-expected"

Span = tuple[date, date]


class MarkKind(StrEnum):
    """What happened; each has a shape of its own."""

    STORM = "storm"
    REPAIR = "repair"
    CHECK = "check"
    JOB = "job"


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """One part's row: when it was up, what happened, and when it is expected to end."""

    name: str
    href: str
    fitted_on: date
    until: date  # removed, or the day of the drawing
    spans: Sequence[Span]
    marks: Sequence[tuple[date, MarkKind]] = ()
    expected: Span | None = None
    is_this: bool = False


def life_line(lives: Sequence[Life], *, title: str, description: str) -> Drawing:
    """Return the latest lives, oldest first, on one scale of time; the same facts stand in the page's table."""
    shown = lives[-MOST_ROWS:]
    first = min(life.fitted_on for life in shown)
    last = max([first + SHORTEST, *(_end(life, first) for life in shown)])
    # A day is drawn as so many millimetres: the paper's scale is 1:1000 of that.
    paper = Paper(1000 * (last - first).days / (WIDTH - LEFT - RIGHT), LEFT, 0)
    bottom = TOP + ROW * len(shown)
    _scale(paper, first, last, bottom)
    for row, life in enumerate(shown):
        _life(paper, life, first, TOP + ROW * row)
    return paper.finish(title, description, height=bottom + FOOT, to_scale=False)


def months_apart(first: date, last: date, across: float) -> int:
    """Return how many months lie between two marks of a scale, so that its lettering [mm] has room."""
    days = max((last - first).days, 1)
    for months in STEPS:
        needed = LETTER * (4 if months >= 12 else 7) + 3
        if across * months * 30.4 / days >= needed:
            return months
    return STEPS[-1]


def scale_days(first: date, last: date, months: int) -> Iterator[date]:
    """Yield the first days of months that a scale marks, from January on."""
    month = 12 * first.year + first.month - 1
    month += -month % months
    while (day := date(month // 12, month % 12 + 1, 1)) <= last:
        if day >= first:
            yield day
        month += months


def gaps(life: Life) -> list[Span]:
    """Return the spans between its first and its last day in which a part was down."""
    edges = [life.fitted_on, *(day for span in life.spans for day in span), life.until]
    return [(off, back) for off, back in zip(edges[::2], edges[1::2], strict=True) if off < back]


def _end(life: Life, first: date) -> date:
    """Return how far a row reaches: an end that lies further ahead than all that was is not drawn."""
    expected = life.expected
    if expected is not None and expected[1] - life.until <= max(life.until - first, 20 * SHORTEST):
        return max(expected[1], life.until)
    return life.until


def _x(paper: Paper, day: date, first: date) -> float:
    return paper.x((day - first).days)


def _scale(paper: Paper, first: date, last: date, y: float) -> None:
    paper.stroke(((LEFT, y), (WIDTH - RIGHT, y)), "dimension")
    months = months_apart(first, last, WIDTH - LEFT - RIGHT)
    for day in scale_days(first, last, months):
        x = _x(paper, day, first)
        paper.stroke(((x, TOP), (x, y + 1.5)), "dimension")
        text = f"{day:%Y}" if months >= 12 else f"{day:%Y-%m}"
        half = room(text) / 2
        if half <= x <= WIDTH - half:
            paper.letter(x, y + 7, text, "figure")


def _life(paper: Paper, life: Life, first: date, top: float) -> None:
    start, end = _x(paper, life.fitted_on, first), _x(paper, life.until, first)
    bar = top + BAR
    middle = bar + THICK / 2
    for off, back in gaps(life):
        paper.stroke(((_x(paper, off, first), middle), (_x(paper, back, first), middle)), "hidden life-gap")
    if life.expected is not None and _end(life, first) > life.until:
        _expected(paper, life, first, bar)
    style = "life life-this" if life.is_this else "life"
    bars = [
        Path(path(((a, bar), (b, bar), (b, bar + THICK), (a, bar + THICK)), closed=True), style)
        for a, b in ((_x(paper, off, first), _x(paper, on, first)) for off, on in life.spans)
    ]
    before = len(paper.lettering)
    _name(paper, life.name, start, top + NAME)
    lettered = paper.lettering[before:]
    if life.is_this or not life.href:
        paper.paths += bars
    else:
        del paper.lettering[before:]
        paper.links.append(Link(life.href, life.name, "life-link", tuple(bars), tuple(lettered)))
    for x in (start, end):
        paper.stroke(((x, bar - 1.5), (x, bar + THICK + 1.5)), "tick")
    for day, kind in life.marks:
        _mark(paper, kind, _x(paper, day, first), top)


def _name(paper: Paper, name: str, x: float, y: float) -> None:
    if x + room(name) <= WIDTH:
        paper.letter(x, y, name, "word", anchor="start")
    else:
        paper.letter(WIDTH - 1, y, name, "word", anchor="end")


def _expected(paper: Paper, life: Life, first: date, bar: float) -> None:
    """Draw the range in which it is expected to end, open and dashed, after what has been."""
    assert life.expected is not None  # noqa: S101 - the caller asked
    low, high = (_x(paper, max(day, life.until), first) for day in life.expected)
    middle = bar + THICK / 2
    paper.stroke(((_x(paper, life.until, first), middle), (low, middle)), EXPECTED)
    paper.stroke(((low, bar), (high, bar), (high, bar + THICK), (low, bar + THICK)), EXPECTED, closed=True)


def _mark(paper: Paper, kind: MarkKind, x: float, top: float) -> None:
    """Draw what happened: storms above the bar, what was done below it."""
    if kind is MarkKind.STORM:
        y = top + ABOVE
        bolt = ((0.6, -1.7), (-0.9, 0.2), (0.9, -0.2), (-0.6, 1.7))
        paper.stroke(((x + MARK * a, y + MARK * b) for a, b in bolt), "tick")
        return
    y = top + BELOW
    if kind is MarkKind.REPAIR:
        paper.stroke(((x, y - MARK), (x + MARK, y), (x, y + MARK), (x - MARK, y)), "solid", closed=True)
    elif kind is MarkKind.CHECK:
        paper.paths.append(Path(circle(x, y, MARK * 0.8), "balloon"))
    else:
        paper.stroke(((x - MARK, y - 0.2), (x - 0.4, y + MARK * 0.8), (x + MARK, y - MARK)), "tick")


def legend_mark(kind: MarkKind) -> Drawing:
    """Return one mark alone, for the legend."""
    paper = Paper(1000, 0, 0)
    _mark(paper, kind, 3, 3 - (ABOVE if kind is MarkKind.STORM else BELOW))
    names = {
        MarkKind.STORM: _("storm"), MarkKind.REPAIR: _("fault or repair"), MarkKind.CHECK: _("check"),
        MarkKind.JOB: _("job done"),
    }  # fmt: skip
    return paper.finish(names[kind], "", width=6, height=6, to_scale=False)
