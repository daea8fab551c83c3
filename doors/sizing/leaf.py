"""Doors that do not roll: hinged and sliding leaves, lift-out panels, steel coils."""

from __future__ import annotations

import math
from dataclasses import dataclass

from doors.sizing.fit import blocked, check
from doors.sizing.opening import DoorKind, Opening
from doors.sizing.quantity import SAME
from doors.sizing.rules import MOST, Rules
from doors.sizing.sheet import Check, Cut, Hardware, Verdict

HINGES_PER_LEAF = 3  # common practice, no source
RAILS_PER_LEAF = 3  # top, middle, bottom; common practice, no source
HANGERS_PER_PANEL = 2  # common practice, no source
BUTTONS_PER_PANEL = 6  # turn buttons that hold a lift-out panel; common practice, no source


@dataclass(frozen=True, slots=True)
class Leaf:
    """Leaves of one door: how many, their size, and the clear opening they leave. [m]"""

    count: int
    width: float
    height: float
    clear_width: float
    clear_height: float


def leaf_of(opening: Opening, rules: Rules) -> Leaf:
    """Return the leaves that suit the opening.

    Parameters
    ----------
    opening : Opening
        Any kind that does not roll film. [m]
    rules : Rules
        Gaps, laps and guides. [m]

    Returns
    -------
    Leaf
        A hinged leaf swings clear, so its opening stays clear but for the gap; a sliding pair laps the
        jambs and header; a coil stands between guides; a lift-out panel laps all round.
    """
    width, height = opening.rough_width, opening.rough_height
    gap, floor, lap = rules.leaf_gap, rules.leaf_floor_gap, rules.panel_lap
    if opening.kind == DoorKind.PERSON:
        return Leaf(1, width - 2 * gap, height - gap - floor, width, height)
    if opening.kind == DoorKind.HINGED_PAIR:
        return Leaf(2, (width - 3 * gap) / 2, height - gap - floor, width, height)
    if opening.kind == DoorKind.SLIDING_PAIR:
        return Leaf(2, width / 2 + lap, height + lap - floor, width, height)
    if opening.kind == DoorKind.COIL:
        return Leaf(1, width, height, width - 2 * rules.coil_guide, height)
    return Leaf(1, width + 2 * lap, height + lap, width, height)


def cuts(opening: Opening, leaf: Leaf, rules: Rules) -> tuple[Cut, ...]:
    """Return the cut list of the leaves; a coil is bought whole and has none."""
    if opening.kind == DoorKind.COIL:
        return ()
    rail = leaf.width - 2 * rules.leaf_member
    brace = math.hypot(rail, (leaf.height - RAILS_PER_LEAF * rules.leaf_member) / 2)
    lines = [
        _cut("leaf_stile", 2 * leaf.count, leaf.height),
        _cut("leaf_rail", RAILS_PER_LEAF * leaf.count, rail),
        _cut("leaf_brace", 2 * leaf.count, brace),
    ]
    if opening.design.film is not None:
        lap = rules.leaf_member
        lines.append(
            Cut(part="leaf_film", material=opening.design.film.name, count=leaf.count, length=leaf.height + 2 * lap,
                pieces=(leaf.height + 2 * lap,), width=leaf.width + 2 * lap)
        )  # fmt: skip
    if opening.kind == DoorKind.SLIDING_PAIR:
        lines.append(_cut("track", 1, opening.rough_width + 2 * leaf.width))
    return tuple(lines)


def hardware(opening: Opening, leaf: Leaf) -> tuple[Hardware, ...]:
    """Return what holds the leaves."""
    if opening.kind in (DoorKind.PERSON, DoorKind.HINGED_PAIR):
        lines = [("hinge", "jambs", HINGES_PER_LEAF * leaf.count), ("latch", "leaf", 1)]
        if opening.kind == DoorKind.HINGED_PAIR:
            lines.append(("bolt_top_bottom", "leaf", 2))
    elif opening.kind == DoorKind.SLIDING_PAIR:
        lines = [("hanger", "track", HANGERS_PER_PANEL * leaf.count), ("floor_guide", "threshold", leaf.count),
                 ("latch", "leaf", 1)]  # fmt: skip
    elif opening.kind == DoorKind.LIFT_OUT:
        lines = [("turn_button", "leaf", BUTTONS_PER_PANEL)]
    else:
        lines = [("coil_door", "header", 1)]
    return tuple(Hardware(item=item, place=place, count=count) for item, place, count in lines)


def leaf_size(opening: Opening, leaf: Leaf, rules: Rules) -> Check:
    """Check that a leaf has room for its own frame and is no wider than its hinges or its carriers can hold."""
    least, most = 3 * rules.leaf_member, _widest(opening.kind, rules)
    facts = {"width": leaf.width, "height": leaf.height, "least": least, "most": most}
    if leaf.width > most + SAME:
        return check("leaf", Verdict.FAIL, "leaf_too_wide", facts)
    if leaf.width < least - SAME or leaf.height < least - SAME:
        return check("leaf", Verdict.FAIL, "leaf_too_small", facts)
    return check("leaf", Verdict.PASS, "leaf_fits", facts, count=str(leaf.count))


def side_room(opening: Opening, leaf: Leaf) -> Check | None:
    """Check that sliding panels have wall to slide along on both sides."""
    if opening.kind != DoorKind.SLIDING_PAIR:
        return None
    if opening.offset is None or opening.wall.width is None:
        return blocked("side_room", "offset" if opening.offset is None else "wall.width")
    left = opening.offset
    right = opening.wall.width - opening.offset - opening.rough_width
    facts = {"left": left, "right": right, "panel": leaf.width}
    if min(left, right) < leaf.width - SAME:
        return check("side_room", Verdict.FAIL, "no_side_room", facts)
    return check("side_room", Verdict.PASS, "side_room", facts)


def _widest(kind: DoorKind, rules: Rules) -> float:
    """Return the widest leaf of a kind of door; a coil is as wide as its maker builds it. [m]"""
    if kind == DoorKind.PERSON:
        return rules.person_leaf_most
    if kind == DoorKind.HINGED_PAIR:
        return rules.hinged_leaf_most
    return MOST if kind == DoorKind.COIL else rules.panel_most


def _cut(part: str, count: int, length: float) -> Cut:
    return Cut(part=part, material="", count=count, length=length, pieces=(length,))
