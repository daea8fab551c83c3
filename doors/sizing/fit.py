"""Does it fit: the checks of an opening, each with its outcome and the figures of the reason."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from doors.sizing.frame import Frame
from doors.sizing.opening import FILM_ROLLS, DoorKind, Opening, Side
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Size, Verdict
from doors.sizing.sheet import Figures as Facts

SAME = 1e-9  # m; binary noise between two sizes that are equal on the tape


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


def headroom(kind: DoorKind, rules: Rules) -> float:
    """Return the room a kind of door needs above its opening. [m]"""
    if kind in FILM_ROLLS:
        return rules.headroom_film
    return rules.headroom_coil if kind == DoorKind.COIL else rules.headroom_leaf


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


def arch(opening: Opening, frame: Frame | None, rules: Rules) -> Check:
    """Check the frame's height over both jambs: the arch there, not the ridge, limits a door."""
    wall = opening.wall
    if frame is None:
        return blocked("arch", missing_shape(opening) or "wall.shape")
    given = {"offset": opening.offset, "threshold": opening.threshold, "wall.stud_face": wall.stud_face}
    for field, value in given.items():
        if value is None:
            return blocked("arch", field)
    left, right = jamb_heights(opening, frame)
    room = headroom(opening.kind, rules)
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


def sizes_that_fit(opening: Opening, frame: Frame, rules: Rules) -> tuple[Size, ...]:
    """Return rough sizes that fit under the frame on the same centre line: as wide, then as high.

    Sizes come in whole steps of the farm's rule; one too small for what must pass, or for its kind of door,
    is not offered.
    """
    stud, step = opening.wall.stud_face or 0.0, rules.size_step
    threshold, room = opening.threshold or 0.0, headroom(opening.kind, rules)
    middle = (opening.offset or 0.0) + opening.rough_width / 2
    height = _whole_steps(min(jamb_heights(opening, frame)) - threshold - room, step)
    widths = np.arange(math.floor(opening.rough_width / step + SAME), 0, -1) * step
    both = np.stack([middle - widths / 2 - stud, middle + widths / 2 + stud])
    fits = np.min(frame.height_at(both), axis=0) >= threshold + opening.rough_height + room - SAME
    width = float(widths[np.argmax(fits)]) if fits.any() else 0.0
    offers = (
        Size(rough_width=opening.rough_width, rough_height=min(height, opening.rough_height)),
        Size(rough_width=width, rough_height=opening.rough_height),
    )
    return tuple(offer for offer in offers if _is_useful(offer, opening, rules))


def _whole_steps(length: float, step: float) -> float:
    return math.floor(length / step + SAME) * step


def _is_useful(size: Size, opening: Opening, rules: Rules) -> bool:
    machine = opening.machine
    least_width = rules.film_door_least if opening.kind in FILM_ROLLS else rules.size_step
    least_height = rules.size_step
    if machine is not None:
        least_width = max(least_width, machine.width + 2 * rules.machine_side_least)
        least_height = max(least_height, machine.height + rules.machine_over_least)
    return size.rough_width >= least_width - SAME and size.rough_height >= least_height - SAME


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
    if opening.threshold is None:
        return blocked("side_operator", "threshold")
    rest = opening.threshold + (opening.rough_height / 2 if opening.kind == DoorKind.MID_BAR else 0.0)
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
    stud = opening.wall.stud_face or 0.0
    own = (opening.offset - stud, opening.offset + opening.rough_width + stud)
    for other in opening.neighbours:
        reach = (other.left, other.left + other.width)
        if own[0] < reach[1] - SAME and reach[0] < own[1] - SAME:
            overlap = min(own[1], reach[1]) - max(own[0], reach[0])
            return check("neighbours", Verdict.FAIL, "overlaps", {"overlap": overlap}, other=other.code)
    for other in opening.neighbours:
        if bar and bar[0] < other.left + other.width - SAME and other.left < bar[1] - SAME:
            return check("neighbours", Verdict.FAIL, "bar_across", {"reach": bar[1] - bar[0]}, other=other.code)
    return check("neighbours", Verdict.PASS, "clear", {})
