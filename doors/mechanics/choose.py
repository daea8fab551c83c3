"""The kinds of door side by side for one opening: fit, room taken, weight, life, cost, upkeep, cautions."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from doors.sizing.fit import headroom
from doors.sizing.opening import FILM_ROLLS, DoorKind, Opening
from doors.sizing.quantity import INCH, Length
from doors.sizing.roll import wound_diameter
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Sheet, Size, Verdict
from doors.sizing.size import PRACTICE, size

COIL_DRUM = 4.5 * INCH  # m, shaft of a steel roll-up door; common practice, no source
COIL_PITCH = 0.6 * INCH  # m, depth a turn of interlocked slats adds; common practice, no source
COIL_WEIGHT = 72.0  # N/m², light steel curtain, about 1.5 lb/ft²; common practice, no source


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

    ``per_length`` [1/m] and ``per_area`` [1/m²] by the material's name, ``each`` by hardware item,
    ``complete`` by kind for doors bought whole, ``labour`` per hour.
    """

    per_length: Mapping[str, float] = field(default_factory=dict)
    per_area: Mapping[str, float] = field(default_factory=dict)
    each: Mapping[str, float] = field(default_factory=dict)
    complete: Mapping[str, float] = field(default_factory=dict)
    labour: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One kind of door for the opening."""

    kind: DoorKind
    verdict: Verdict
    reasons: tuple[Check, ...]
    sizes_that_fit: tuple[Size, ...]
    clear_width: Length | None
    clear_height: Length | None
    headroom: Length
    side_room: Length
    weight: float | None  # N, what hangs or is carried
    coil_diameter: Length | None
    parts_cost: float | None
    labour_cost: float | None
    unpriced: tuple[str, ...]
    habit: Habit


def choose(
    opening: Opening,
    *,
    weights: Mapping[DoorKind, float] | None = None,
    prices: Prices | None = None,
    rules: Rules = PRACTICE,
) -> tuple[Option, ...]:
    """Return every kind of door for an opening, those that fit first.

    Parameters
    ----------
    opening : Opening
        Its own kind is one of those compared. [m]
    weights : mapping of DoorKind to float, optional
        Weights worked out elsewhere. [N]
    prices : Prices, optional
        The farm's prices; without them costs are ratios of practice.
    rules : Rules, default common practice
        The farm's rules.

    Returns
    -------
    tuple of Option
        Ordered by verdict, then by the lower end of the cost of practice.

    Raises
    ------
    SizingError
        For a size no opening can have.
    """
    options = [_option(opening, kind, (weights or {}).get(kind), prices or Prices(), rules) for kind in DoorKind]
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


def _option(opening: Opening, kind: DoorKind, weight: float | None, prices: Prices, rules: Rules) -> Option:
    sheet = size(dataclasses.replace(opening, kind=kind), rules)
    unpriced: list[str] = []
    parts = _parts_cost(sheet, kind, prices, unpriced)
    habit = HABITS[kind]
    is_coil = kind == DoorKind.COIL
    return Option(
        kind=kind,
        verdict=sheet.verdict,
        reasons=tuple(check for check in sheet.checks if check.verdict in (Verdict.FAIL, Verdict.WARN)),
        sizes_that_fit=sheet.sizes_that_fit,
        clear_width=sheet.clear_width,
        clear_height=sheet.clear_height,
        headroom=headroom(dataclasses.replace(opening, kind=kind), rules),
        side_room=_side_room(opening, kind, rules),
        weight=COIL_WEIGHT * opening.rough_width * opening.rough_height if is_coil else weight,
        coil_diameter=coil_diameter(opening.rough_height) if is_coil else None,
        parts_cost=parts,
        labour_cost=None if prices.labour is None else prices.labour * habit.hours,
        unpriced=tuple(unpriced),
        habit=habit,
    )


def _side_room(opening: Opening, kind: DoorKind, rules: Rules) -> float:
    """Return the wall a door takes beside its opening, on its wider side. [m]"""
    if kind == DoorKind.SLIDING_PAIR:
        return opening.rough_width / 2 + rules.panel_lap
    if kind == DoorKind.COIL:
        return rules.coil_guide
    return rules.sill_bar_end if kind in FILM_ROLLS else 0.0


def _parts_cost(sheet: Sheet, kind: DoorKind, prices: Prices, unpriced: list[str]) -> float | None:
    """Return the cost of all parts, or None, with the names that lack a price in ``unpriced``."""
    if str(kind) in prices.complete:
        return prices.complete[str(kind)]
    if not sheet.cuts:
        unpriced.append(str(kind))
        return None
    costs = [*_cut_costs(sheet, prices, unpriced), *_item_costs(sheet, prices, unpriced)]
    return None if unpriced else float(np.sum(costs))


def _cut_costs(sheet: Sheet, prices: Prices, unpriced: list[str]) -> Iterable[float]:
    for cut in sheet.cuts:
        name = cut.material or cut.part
        if cut.width is not None and name in prices.per_area:
            yield prices.per_area[name] * cut.length * cut.width * cut.count
        elif cut.width is None and name in prices.per_length:
            yield prices.per_length[name] * cut.length * cut.count
        elif name not in unpriced:
            unpriced.append(name)


def _item_costs(sheet: Sheet, prices: Prices, unpriced: list[str]) -> Iterable[float]:
    for line in sheet.hardware:
        if line.item in prices.each:
            yield prices.each[line.item] * line.count
        elif line.item not in unpriced:
            unpriced.append(line.item)
