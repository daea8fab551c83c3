"""The order of work, each step with the dimensions the installer needs there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from doors.sizing.figures import Figures
from doors.sizing.hardware import known
from doors.sizing.leaf import Leaf
from doors.sizing.opening import DoorKind, Opening
from doors.sizing.rules import Rules
from doors.sizing.sheet import Figures as Facts
from doors.sizing.sheet import Step

PEOPLE_TO_LIFT = 2  # a third, or trestles, holds the bar; common practice, no source


def _step(name: str, lengths: Mapping[str, float], numbers: Mapping[str, float] | None = None, **names: str) -> Step:
    kept = {key: value for key, value in lengths.items() if known(value)}
    return Step(step=name, figures=Facts(lengths=kept, numbers=dict(numbers or {}), names=names))


def film_door(opening: Opening, figures: Figures, rules: Rules, *, diagonal: float) -> tuple[Step, ...]:
    """Return the order of work of a film roll-up door."""
    return tuple(_film_door(opening, figures, rules, diagonal))


def _film_door(opening: Opening, figures: Figures, rules: Rules, diagonal: float) -> Iterator[Step]:
    width, height = opening.rough_width, opening.rough_height
    mid = opening.kind == DoorKind.MID_BAR
    side = str(opening.design.drive_side or "")
    supports, clamps, panel = figures.supports, figures.clamps, figures.panel
    yield _step(
        "measure", {"width": width, "height": height, "diagonal": diagonal, "tolerance": rules.diagonal_tolerance}
    )
    yield _step(
        "channel",
        {"header": float(figures.header_channel.length), "jamb": height, "inset": rules.channel_screw_inset,
         "spacing": rules.channel_screw_spacing},
    )  # fmt: skip
    yield _step(
        "header_holes",
        {"first": float(supports.first), "last": float(supports.last), "height": float(figures.header_hole_height),
         "inset": rules.header_hole_inset},
        {"count": float(supports.count)},
    )  # fmt: skip
    yield _step(
        "guide_post",
        {"length": float(figures.post_length), "embedment": rules.post_embedment, "above": rules.post_above_header},
        {"lean_radians": float(figures.post_lean)} if known(figures.post_lean) else None,
        side=side,
    )
    yield _step(
        "hang_film",
        {"width": float(panel.width), "height": float(panel.height), "above": rules.film_above_hanging,
         "side": rules.film_side, "below": float(panel.below_hanging), "first_trim": rules.film_below_first},
    )  # fmt: skip
    if mid:
        yield _step(
            "lines", {"rest": height / 2, "clamps": height / 2 - rules.clamp_line_drop, "drop": rules.clamp_line_drop}
        )
    yield _step(
        "prepare_bar",
        {"length": float(figures.turning_bar.length),
         "joint": float(figures.turning_joint - figures.turning_bar.start),
         "drive_end": rules.drive_end, "free_end": rules.free_end},
        side=side,
    )  # fmt: skip
    people = PEOPLE_TO_LIFT + (1 if width >= rules.two_people_from else 0)
    yield _step(
        "clamp_bar" if mid else "clamp_bottom_bar",
        {"line": height / 2 - rules.clamp_line_drop, "outboard": rules.clamp_outboard,
         "spacing": float(clamps.spacing), "first": float(clamps.first), "last": float(clamps.last)},
        {"count": float(clamps.count), "people": float(people), "wraps": rules.tail_wraps}
        if known(clamps.count) else {"people": float(people), "wraps": rules.tail_wraps},
    )  # fmt: skip
    yield _step("drive", {"past_side": rules.drive_end}, side=side)
    if float(figures.strip_length) > 0:
        yield _step(
            "strip", {"length": float(figures.strip_length), "width": rules.strip_width},
        )  # fmt: skip
    if mid:
        yield _step(
            "sill_bar",
            {"length": float(figures.sill_bar.length), "past": rules.sill_bar_end, "inset": rules.channel_screw_inset,
             "spacing": rules.channel_screw_spacing},
        )  # fmt: skip
    winding = figures.winding
    turns = {"open": float(winding.turns_to_open), "rest": float(winding.turns_to_rest)}
    if known(figures.crank_turns):
        turns["crank"] = float(figures.crank_turns)
    yield _step(
        "test_roll",
        {"clear_height": float(winding.clear_height), "diameter": float(winding.diameter_open)},
        {key: value for key, value in turns.items() if known(value)},
    )
    yield _step("trim", {"above": rules.film_above_trimmed, "below": rules.film_below_final})
    yield _step(
        "billow_tubes",
        {"length": float(figures.billow_length), "embedment": rules.post_embedment,
         "stand_off": rules.tube_stand_off, "hole": rules.tube_hole_from_top, "inset": rules.header_hole_inset},
        {"count": float(supports.count)},
    )  # fmt: skip
    yield _step("lock", {"jamb": height})
    yield _step("record", {})


def leaf_door(opening: Opening, leaf: Leaf, rules: Rules, *, diagonal: float) -> tuple[Step, ...]:
    """Return the order of work of a door that does not roll film."""
    size = {"width": leaf.width, "height": leaf.height}
    measure = _step(
        "measure",
        {"width": opening.rough_width, "height": opening.rough_height, "diagonal": diagonal,
         "tolerance": rules.diagonal_tolerance},
    )  # fmt: skip
    count = {"count": float(leaf.count)}
    if opening.kind == DoorKind.COIL:
        return (measure, _step("coil", {**size, "headroom": rules.headroom_coil}), _step("record", {}))
    hang = {
        DoorKind.PERSON: _step("hang_person", {"gap": rules.leaf_gap, "floor": rules.leaf_floor_gap}),
        DoorKind.HINGED_PAIR: _step("hang_pair", {"gap": rules.leaf_gap, "floor": rules.leaf_floor_gap}),
        DoorKind.SLIDING_PAIR: _step(
            "hang_sliding", {"lap": rules.panel_lap, "track": opening.rough_width + 2 * leaf.width}
        ),
        DoorKind.LIFT_OUT: _step("hang_panel", {"lap": rules.panel_lap}),
    }[opening.kind]
    return (measure, _step("build_leaf", size, count), hang, _step("record", {}))
