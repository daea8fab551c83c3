"""The kinds of door side by side for one opening: fit, room taken, weight, life, cost, upkeep, cautions."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from doors.mechanics.weigh import moving_weight
from doors.sizing.fit import headroom
from doors.sizing.opening import FILM_ROLLS, DoorKind, Opening
from doors.sizing.quantity import INCH, Length, SizingError
from doors.sizing.roll import wound_diameter
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Missing, Sheet, Size, Verdict
from doors.sizing.size import PRACTICE, size

COIL_DRUM = 4.5 * INCH  # m, shaft of a steel roll-up door; common practice, no source
COIL_PITCH = 0.6 * INCH  # m, depth a turn of interlocked slats adds; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """What the trade expects of a kind of door; common practice, no source, where a farm has no figures of its own."""

    cost_ratio: tuple[float, float]  # of a person door
    hours: float  # h to build and hang, one opening
    life_years: tuple[float, float]  # of the film, panel or curtain
    upkeep_hours: float  # h a year
    cautions: tuple[str, ...]


HABITS: Mapping[DoorKind, Habit] = {
    DoorKind.PERSON: Habit(
        cost_ratio=(1, 1), hours=4, life_years=(4, 6), upkeep_hours=0.7, cautions=("keep_shovelled", "opens_outward")
    ),
    DoorKind.HINGED_PAIR: Habit(
        cost_ratio=(2, 3), hours=8, life_years=(4, 6), upkeep_hours=0.8, cautions=("brace_in_wind", "snow_blocks_swing")
    ),
    DoorKind.SLIDING_PAIR: Habit(
        cost_ratio=(3, 5), hours=10, life_years=(4, 6), upkeep_hours=0.8, cautions=("pin_in_wind",)
    ),
    DoorKind.COIL: Habit(
        cost_ratio=(10, 20), hours=8, life_years=(15, 25), upkeep_hours=0.5, cautions=("strong_frame", "poor_light")
    ),
    DoorKind.MID_BAR: Habit(
        cost_ratio=(2, 4), hours=8, life_years=(3, 4), upkeep_hours=0.8,
        cautions=("hook_in_wind", "not_an_exit", "thaw_before_rolling"),
    ),
    DoorKind.BOTTOM_BAR: Habit(
        cost_ratio=(2, 4), hours=7, life_years=(3, 4), upkeep_hours=0.8,
        cautions=("hook_in_wind", "not_an_exit", "thaw_before_rolling"),
    ),
    DoorKind.LIFT_OUT: Habit(
        cost_ratio=(1, 2), hours=3, life_years=(4, 6), upkeep_hours=0.3, cautions=("two_people", "not_an_exit")
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """The farm's own prices in its currency; what is not there has no price.

    ``per_length`` [1/m] and ``per_area`` [1/m²] by the part that is cut, ``each`` by hardware item, or by
    ``item:place`` where the place decides which one it is; ``complete`` by kind, for doors bought whole;
    ``labour`` per hour.
    """

    per_length: Mapping[str, float] = field(default_factory=dict)
    per_area: Mapping[str, float] = field(default_factory=dict)
    each: Mapping[str, float] = field(default_factory=dict)
    complete: Mapping[str, float] = field(default_factory=dict)
    labour: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One kind of door for the opening.

    ``unpriced`` names parts that are cut, and hardware as ``item:place``. ``parts_cost`` is None while any of them
    lacks its price, or while what is missing keeps the parts from being counted.
    """

    kind: DoorKind
    verdict: Verdict
    reasons: tuple[Check, ...] = ()
    missing: tuple[Missing, ...] = ()
    refusal: SizingError | None = None
    sizes_that_fit: tuple[Size, ...] = ()
    clear_width: Length | None = None
    clear_height: Length | None = None
    headroom: Length
    side_room: Length
    roll_diameter: Length | None = None
    weight: float | None = None  # N, of all that moves
    parts_cost: float | None = None
    labour_cost: float | None = None
    unpriced: tuple[str, ...] = ()
    habit: Habit

    @property
    def fits(self) -> bool:
        """Whether nothing speaks against it for good; what is missing may still have to be measured."""
        return self.verdict != Verdict.FAIL


def choose(opening: Opening, *, prices: Prices | None = None, rules: Rules = PRACTICE) -> tuple[Option, ...]:
    """Return every kind of door for an opening, those that fit first.

    Parameters
    ----------
    opening : Opening
        Its own kind is one of those compared; its design holds the materials of every kind. [m]
    prices : Prices, optional
        The farm's prices; without them costs are ratios of practice.
    rules : Rules, default common practice
        The farm's rules.

    Returns
    -------
    tuple of Option
        Ordered by verdict, then by the lower end of the cost of practice. A kind the core refuses for its size
        fails and carries the refusal.
    """
    options = [_option(dataclasses.replace(opening, kind=kind), prices or Prices(), rules) for kind in DoorKind]
    severity = list(Verdict)
    return tuple(sorted(options, key=lambda option: (severity.index(option.verdict), option.habit.cost_ratio)))


def coil_diameter(height: float) -> float:
    """Return the diameter of a steel curtain coiled over an opening. [m]

    Parameters
    ----------
    height : float
        Rough height; the curtain is that long. [m]

    Notes
    -----
    The spiral of `doors.sizing.roll`, with the depth one turn of slats adds as its thickness.
    """
    return float(wound_diameter(COIL_DRUM, COIL_PITCH, height))


def _option(opening: Opening, prices: Prices, rules: Rules) -> Option:
    habit, kind = HABITS[opening.kind], opening.kind
    room, beside = headroom(opening, rules), _side_room(opening, rules)
    try:
        sheet = size(opening, rules)
    except SizingError as refusal:
        return Option(
            kind=kind, verdict=Verdict.FAIL, refusal=refusal, headroom=room, side_room=beside, habit=habit
        )  # fmt: skip
    fits = sheet.verdict != Verdict.FAIL
    bill = _Bill(sheet, prices) if fits else None
    labour = prices.labour if fits else None
    return Option(
        kind=kind,
        verdict=sheet.verdict,
        reasons=tuple(check for check in sheet.checks if check.verdict in (Verdict.FAIL, Verdict.WARN)),
        missing=sheet.missing,
        sizes_that_fit=sheet.sizes_that_fit,
        clear_width=sheet.clear_width,
        clear_height=sheet.clear_height,
        headroom=room,
        side_room=beside,
        roll_diameter=_roll_diameter(opening, sheet),
        weight=moving_weight(opening, sheet, rules),
        parts_cost=bill.cost if bill else None,
        labour_cost=None if labour is None else labour * habit.hours,
        unpriced=bill.unpriced if bill else (),
        habit=habit,
    )


def _side_room(opening: Opening, rules: Rules) -> float:
    """Return the wall a door takes beside its opening, on its wider side. [m]"""
    if opening.kind == DoorKind.SLIDING_PAIR:
        return opening.rough_width / 2 + rules.panel_lap
    if opening.kind == DoorKind.COIL:
        return rules.coil_guide
    return rules.sill_bar_end if opening.kind in FILM_ROLLS else 0.0


def _roll_diameter(opening: Opening, sheet: Sheet) -> float | None:
    """Return how thick the open door rolls up. [m]"""
    if opening.kind == DoorKind.COIL:
        return coil_diameter(opening.rough_height)
    return sheet.roll.diameter_open if sheet.roll else None


class _Bill:
    """What a door's parts cost: whole where it is bought whole, else part by part."""

    def __init__(self, sheet: Sheet, prices: Prices) -> None:
        lines = dict(self._lines(sheet, prices)) if sheet.kind not in prices.complete else {}
        self.unpriced = tuple(key for key, cost in lines.items() if cost is None)
        can_be_counted = sheet.verdict != Verdict.BLOCKED and not self.unpriced
        whole = prices.complete.get(sheet.kind, 0.0)
        self.cost = whole + sum(cost or 0.0 for cost in lines.values()) if can_be_counted else None

    @staticmethod
    def _lines(sheet: Sheet, prices: Prices) -> Iterator[tuple[str, float | None]]:
        """Yield each part with its cost, None where it has no price."""
        for cut in sheet.cuts:
            rate = (prices.per_length if cut.width is None else prices.per_area).get(cut.part)
            yield cut.part, None if rate is None else rate * cut.length * (cut.width or 1.0) * cut.count
        for line in sheet.hardware:
            key = f"{line.item}:{line.place}"
            price = prices.each.get(key, prices.each.get(line.item))
            yield key, None if price is None else price * line.count
