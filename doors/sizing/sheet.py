"""What the core answers: the sheet an installer cuts, drills and hangs a door from. Metres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from doors.sizing.quantity import Length


class Verdict(StrEnum):
    """The outcome of a check, mildest first."""

    PASS = "pass"  # noqa: S105 - a verdict
    WARN = "warn"
    BLOCKED = "blocked"
    FAIL = "fail"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """The figures a sentence is printed with: lengths, plain numbers, names."""

    lengths: Mapping[str, Length] = field(default_factory=dict)
    numbers: Mapping[str, float] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One line of the cut list: ``count`` equal items, each made of ``pieces``.

    ``pieces`` is empty where the stock is not known, or no two lengths of it make the part.
    """

    part: str
    material: str
    count: int
    length: Length
    pieces: tuple[Length, ...]
    width: Length | None = None
    joint: Length | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hardware:
    """One line of the hardware list."""

    item: str
    place: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of equal marks on one part.

    ``first`` and ``last`` run from the sheet's datum: along a bar or header from the left edge of the rough
    opening, rightwards, seen from outside; along a stud or post from the threshold, upwards. ``part_start`` is
    where the part itself begins on that line, so that a tape hooked on its end reads ``first - part_start``.
    """

    part: str
    mark: str
    axis: str
    first: Length
    last: Length
    count: int
    spacing: Length
    part_start: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """The film panel and what is left of it above and below at each stage."""

    width: Length
    height: Length
    side_allowance: Length
    above_hanging: Length
    above_trimmed: Length
    below_hanging: Length | None
    below_first_trim: Length
    below_final: Length
    roll_width: Length | None
    roll_runs: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """The winding of the film on its bar."""

    windings: int
    first_line: Length
    second_line: Length
    turns_to_first_line: float
    turns_to_open: float
    crank_turns_to_open: float | None
    diameter_closed: Length
    diameter_open: Length
    film_wound: Length
    bar_rise: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check with its outcome; the key names the reason, the figures fill it in."""

    check: str
    verdict: Verdict
    reason: str
    figures: Figures = field(default_factory=Figures)


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """An input that was not given, and the results it blocks."""

    field: str
    blocks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of the order of work."""

    step: str
    figures: Figures = field(default_factory=Figures)


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A rough opening that would fit where the one asked for does not."""

    rough_width: Length
    rough_height: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The whole answer for one opening."""

    core_version: str
    kind: str
    code: str
    verdict: Verdict
    clear_width: Length | None
    clear_height: Length | None
    diagonal: Length
    turning_bar: Length | None
    turning_bar_start: Length | None
    cuts: tuple[Cut, ...]
    hardware: tuple[Hardware, ...]
    rows: tuple[Row, ...]
    panel: Panel | None
    roll: Roll | None
    checks: tuple[Check, ...]
    missing: tuple[Missing, ...]
    steps: tuple[Step, ...]
    sizes_that_fit: tuple[Size, ...]
