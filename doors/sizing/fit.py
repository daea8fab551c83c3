"""Does it fit: the checks of an opening, each with its outcome and the figures of the reason."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from doors.sizing.frame import Frame
from doors.sizing.opening import FILM_ROLLS, DoorKind, Neighbour, Opening, Side
from doors.sizing.quantity import SAME
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Verdict
from doors.sizing.sheet import Figures as Facts


def check(name: str, verdict: Verdict, reason: str, lengths: Mapping[str, float], **names: str) -> Check:
    """Return a check with the figures of its reason."""
    return Check(check=name, verdict=verdict, reason=reason, figures=Facts(lengths=dict(lengths), names=names))


def blocked(name: str, field: str) -> Check:
    """Return a check that could not be made because ``field`` is missing."""
    return Check(check=name, verdict=Verdict.BLOCKED, reason="missing", figures=Facts(names={"field": field}))


def width_in_range(opening: Opening, rules: Rules) -> Check:
    """Check the width against what one person can crank by hand."""
    width = opening.rough_width
    facts = {"width": width, "least": rules.film_door_least, "most": rules.film_door_most}
    if width > rules.film_door_most + SAME:
        return check("width", Verdict.FAIL, "too_wide", facts)
    if width < rules.film_door_least - SAME:
        return check("width", Verdict.WARN, "narrow", facts)
    return check("width", Verdict.PASS, "in_range", facts)


def headroom(opening: Opening, rules: Rules) -> float:
    """Return the room an opening needs above its head: for its kind of door, and for its header. [m]"""
    if opening.kind in FILM_ROLLS:
        room = rules.headroom_film
    else:
        room = rules.headroom_coil if opening.kind == DoorKind.COIL else rules.headroom_leaf
    return max(room, opening.header_depth or 0.0)


def studs_in_wall(opening: Opening) -> Check:
    """Check that both jamb studs stand inside the wall."""
    wall = opening.wall
    if opening.offset is None or wall.width is None or wall.stud_face is None:
        field = "offset" if opening.offset is None else "wall.width" if wall.width is None else "wall.stud_face"
        return blocked("jambs", field)
    left = opening.offset - wall.stud_face
    right = wall.width - opening.offset - opening.rough_width - wall.stud_face
    facts = {"left": left, "right": right, "stud": wall.stud_face}
    if min(left, right) < -SAME:
        return check("jambs", Verdict.FAIL, "stud_outside", facts)
    return check("jambs", Verdict.PASS, "studs_inside", facts)


def arch(opening: Opening, frame: Frame | None, heights: tuple[float, float] | None, rules: Rules) -> Check:
    """Check the frame's height over both jambs: the arch there, not the ridge, limits a door.

    ``heights`` are those at the outer faces of the left and right jamb studs, None where one is not known. [m]
    """
    wall = opening.wall
    if frame is None:
        return blocked("arch", missing_shape(opening) or "wall.shape")
    given = {"offset": opening.offset, "threshold": opening.threshold, "wall.stud_face": wall.stud_face}
    for field, value in given.items():
        if value is None:
            return blocked("arch", field)
    left, right = heights or jamb_heights(opening, frame)
    room = headroom(opening, rules)
    needed = (opening.threshold or 0.0) + opening.rough_height + room
    facts = {"left": left, "right": right, "needed": needed, "headroom": room, "short": needed - min(left, right)}
    if min(left, right) < needed - SAME:
        return check("arch", Verdict.FAIL, "arch_low", facts)
    return check("arch", Verdict.PASS, "arch_clear", facts)


def jamb_heights(opening: Opening, frame: Frame) -> tuple[float, float]:
    """Return the frame's height above grade at the outer faces of the left and right jamb studs. [m]"""
    stud = opening.wall.stud_face or 0.0
    left = (opening.offset or 0.0) - stud
    heights = frame.height_at(np.asarray([left, left + opening.rough_width + 2 * stud]))
    return float(heights[0]), float(heights[1])


def missing_shape(opening: Opening) -> str | None:
    """Return the first size of the tunnel's shape that was not measured."""
    wall = opening.wall
    if wall.width is None:
        return "wall.width"
    if wall.shape is None:
        return "wall.shape"
    if wall.shape == "measured":
        return None if wall.points else "wall.points"
    return "wall.ridge" if wall.ridge is None else "wall.side" if wall.side is None else None


def smaller(opening: Opening, frame: Frame, rules: Rules) -> tuple[Opening, ...]:
    """Return the opening cut down to fit under the frame on its centre line: kept as wide, then as high, as it can be.

    Its offset, threshold and studs are known. Sizes come in whole steps of the farm's rule; none narrower than
    its kind of door is usual, or of no height.
    """
    step, rolls = rules.size_step, opening.kind in FILM_ROLLS
    room = (opening.threshold or 0.0) + headroom(opening, rules)
    widest = opening.rough_width
    if rolls and widest > rules.film_door_most + SAME:
        widest = _whole_steps(rules.film_door_most, step)
    widths = np.concatenate([[widest], np.arange(math.floor(widest / step + SAME), 0, -1) * step])
    reach = widths / 2 + (opening.wall.stud_face or 0.0)
    middle = (opening.offset or 0.0) + opening.rough_width / 2
    high = np.min(frame.height_at(np.stack([middle - reach, middle + reach])), axis=0)
    under = _whole_steps(float(high[0]) - room, step)
    fits = high >= room + opening.rough_height - SAME
    fits[0] = False  # that is the width it has, which may be no whole steps
    width = float(widths[np.argmax(fits)]) if fits.any() else 0.0
    sizes = dict.fromkeys([(widest, min(under, opening.rough_height)), (width, opening.rough_height)])
    least = rules.film_door_least if rolls else step
    return tuple(_centred(opening, *size) for size in sizes if size[0] >= least - SAME and size[1] >= step - SAME)


def _whole_steps(length: float, step: float) -> float:
    return math.floor(length / step + SAME) * step


def _centred(opening: Opening, width: float, height: float) -> Opening:
    """Return the opening with another size on the same centre line."""
    offset = (opening.offset or 0.0) + (opening.rough_width - width) / 2
    return replace(opening, rough_width=width, rough_height=height, offset=offset)


def machine(opening: Opening, clear_width: float | None, clear_height: float | None, rules: Rules) -> Check:
    """Check what must pass against the clear opening, with margins at the sides and overhead."""
    if opening.machine is None:
        return blocked("machine", "machine")
    if clear_width is None or clear_height is None:
        return blocked("machine", "clear_opening")
    side = (clear_width - opening.machine.width) / 2
    over = clear_height - opening.machine.height
    facts = {"side": side, "over": over, "side_least": rules.machine_side_least, "over_least": rules.machine_over_least,
             "side_good": rules.machine_side_good, "over_good": rules.machine_over_good,
             "clear_width": clear_width, "clear_height": clear_height}  # fmt: skip
    name = opening.machine.name
    if side < rules.machine_side_least - SAME or over < rules.machine_over_least - SAME:
        return check("machine", Verdict.FAIL, "too_tight", facts, machine=name)
    if side < rules.machine_side_good - SAME or over < rules.machine_over_good - SAME:
        return check("machine", Verdict.WARN, "tight", facts, machine=name)
    return check("machine", Verdict.PASS, "passes", facts, machine=name)


def side_operator(opening: Opening, rules: Rules) -> Check:
    """Check the drive against the hand operator of a roll-up side at the same corner."""
    side = opening.design.drive_side
    if side is None:
        return blocked("side_operator", "design.drive_side")
    here = next((operator for operator in opening.wall.side_operators if operator.corner == side), None)
    if here is None:
        return check("side_operator", Verdict.PASS, "corner_free", {}, side=side)
    if here.travel_top is None:
        return blocked("side_operator", "wall.side_operators.travel_top")
    rest = rest_height(opening)
    if rest is None:
        return blocked("side_operator", "threshold")
    facts = {"rest": rest, "travel": here.travel_top, "gap": rest - here.travel_top, "wanted": rules.operator_gap}
    other = Side.LEFT if side == Side.RIGHT else Side.RIGHT
    taken = any(operator.corner == other for operator in opening.wall.side_operators)
    names = {"side": str(side), "other": "" if taken else str(other)}
    if rest < here.travel_top - SAME:
        return check("side_operator", Verdict.FAIL, "clash", facts, **names)
    if rest < here.travel_top + rules.operator_gap - SAME:
        return check("side_operator", Verdict.WARN, "close", facts, **names)
    return check("side_operator", Verdict.PASS, "above_operator", facts, **names)


def neighbours(opening: Opening, bar: tuple[float, float] | None) -> Check | None:
    """Check the other openings of the wall; ``bar`` is the turning bar's reach from the left corner. [m]"""
    if not opening.neighbours:
        return None
    if opening.offset is None:
        return blocked("neighbours", "offset")
    stud = opening.wall.stud_face
    left = opening.offset - (stud or 0.0)
    own = (left, left + opening.rough_width + 2 * (stud or 0.0))
    for other in _beside(opening, own):
        overlap = min(own[1], other.left + other.width) - max(own[0], other.left)
        return check("neighbours", Verdict.FAIL, "overlaps", {"overlap": overlap}, other=other.code)
    if stud is None:
        return blocked("neighbours", "wall.stud_face")
    if opening.kind in FILM_ROLLS:
        return _bar_across(opening, bar)
    return check("neighbours", Verdict.PASS, "clear", {})


def rest_height(opening: Opening) -> float | None:
    """Return the height above grade where the turning bar rests while the door is closed. [m]"""
    if opening.threshold is None:
        return None
    return opening.threshold + (opening.rough_height / 2 if opening.kind == DoorKind.MID_BAR else 0.0)


def _bar_across(opening: Opening, bar: tuple[float, float] | None) -> Check:
    """Check that the bar at rest lies across no other opening; it passes over one with a lower head."""
    if bar is None:
        return blocked("neighbours", "turning_bar")
    rest = rest_height(opening)
    for other in _beside(opening, bar):
        if rest is None:
            return blocked("neighbours", "threshold")
        if other.head > rest + SAME:
            return check("neighbours", Verdict.FAIL, "bar_across", {"reach": bar[1] - bar[0]}, other=other.code)
    return check("neighbours", Verdict.PASS, "clear", {})


def _beside(opening: Opening, reach: tuple[float, float]) -> Iterator[Neighbour]:
    """Yield the openings that share part of a reach along the wall."""
    for other in opening.neighbours:
        if reach[0] < other.left + other.width - SAME and other.left < reach[1] - SAME:
            yield other
