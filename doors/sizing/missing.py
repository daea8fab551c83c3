"""Which inputs were not given, and what each of them blocks."""

from __future__ import annotations

from collections.abc import Iterable

from doors.sizing.fit import missing_shape
from doors.sizing.opening import FILM_ROLLS, DoorKind, Opening
from doors.sizing.sheet import Check, Missing, Verdict

# What an installer cannot do without: a sheet that lacks one of these is not ready to cut from.
NEEDED_TO_CUT = frozenset(
    {"turning_bar", "sill_bar", "guide_post", "anti_billow_tube", "clamps", "film_panel", "header_holes", "gearbox",
     "roll", "leaf_film"}
)  # fmt: skip
# Blocked only where the check could not be made: no side operator at the drive's corner, nothing to clash with.
BY_CHECK = {
    "arch_check": "arch",
    "bar_joint_check": "bar_joint",
    "drive_strip": "drive_strip",
    "film_below_check": "film_below",
    "film_roll_check": "film_roll",
    "jambs_check": "jambs",
    "machine_check": "machine",
    "neighbours_check": "neighbours",
    "rod_check": "rod_reach",
    "side_operator_check": "side_operator",
    "side_room_check": "side_room",
}
SHAPE_BLOCKS = ("guide_post", "drive_strip", "arch_check")
FILM_DOOR_BLOCKS = {
    "offset": ("turning_bar", "bar_joint_check", "drive_strip", "jambs_check", "arch_check", "neighbours_check"),
    "threshold": (
        "guide_post", "anti_billow_tube", "drive_strip", "arch_check", "side_operator_check", "neighbours_check",
    ),
    "header_depth": ("guide_post", "anti_billow_tube", "header_holes", "drive_strip", "film_below_check"),
    "wall.width": ("turning_bar", "bar_joint_check", *SHAPE_BLOCKS, "jambs_check", "neighbours_check"),
    "wall.shape": SHAPE_BLOCKS,
    "wall.ridge": SHAPE_BLOCKS,
    "wall.side": SHAPE_BLOCKS,
    "wall.points": SHAPE_BLOCKS,
    "wall.stud_face": (
        "clamps", "sill_bar", "header_channel", "bar_joint_check", "drive_strip", "jambs_check", "arch_check",
        "neighbours_check",
    ),
    "wall.header_thickness": ("rod_check",),
    "wall.side_operators.travel_top": ("side_operator_check",),
    "design.drive_side": (
        "turning_bar", "gearbox", "guide_post", "drive_strip", "bar_joint_check", "side_operator_check",
        "neighbours_check",
    ),
    "design.turning_tube": (
        "turning_bar", "roll", "clear_opening", "bar_joint_check", "film_below_check", "machine_check",
    ),
    "design.turning_tube.stock_length": ("bar_joint_check",),
    "design.sill_tube": ("sill_bar", "roll", "clear_opening", "machine_check"),
    "design.post_tube": ("guide_post",),
    "design.anti_billow_tube": ("anti_billow_tube", "clear_opening", "rod_check", "machine_check"),
    "design.film": ("film_panel", "roll", "clear_opening", "film_roll_check", "machine_check"),
    "design.film.roll_widths": ("film_roll_check",),
    "design.channel": ("channel_pieces",),
    "design.channel.stock_length": ("channel_pieces",),
    "design.wire": ("wire_pieces",),
    "design.wire.stock_length": ("wire_pieces",),
    "design.rod": ("tie_rods", "rod_check"),
    "design.gear_ratio": ("crank_turns",),
    "machine": ("machine_check",),
}  # fmt: skip
LEAF_BLOCKS = {
    "offset": ("jambs_check", "arch_check", "side_room_check", "neighbours_check"),
    "threshold": ("arch_check",),
    "wall.width": ("jambs_check", "arch_check", "side_room_check"),
    "wall.shape": ("arch_check",),
    "wall.ridge": ("arch_check",),
    "wall.side": ("arch_check",),
    "wall.points": ("arch_check",),
    "wall.stud_face": ("jambs_check", "arch_check", "neighbours_check"),
    "design.film": ("leaf_film",),
    "machine": ("machine_check",),
}


def missing(opening: Opening, checks: Iterable[Check]) -> tuple[Missing, ...]:
    """Return every input that was not given and matters to this opening, with what it blocks."""
    not_made = {check.check for check in checks if check.verdict == Verdict.BLOCKED}
    blocks = FILM_DOOR_BLOCKS if opening.kind in FILM_ROLLS else LEAF_BLOCKS
    idle = {key for key, check in BY_CHECK.items() if check not in not_made}
    if opening.kind == DoorKind.BOTTOM_BAR:
        idle.add("sill_bar")  # it has none
    gaps = []
    for field in _absent(opening):
        blocked = tuple(key for key in blocks.get(field, ()) if key not in idle)
        if blocked:
            gaps.append(Missing(field=field, blocks=blocked))
    return tuple(gaps)


def blocks_cutting(gaps: tuple[Missing, ...]) -> bool:
    """Return whether something an installer cannot do without is missing."""
    return any(NEEDED_TO_CUT.intersection(gap.blocks) for gap in gaps)


def _absent(opening: Opening) -> list[str]:
    wall, design = opening.wall, opening.design
    given: dict[str, object] = {
        "offset": opening.offset,
        "threshold": opening.threshold,
        "header_depth": opening.header_depth,
        "wall.width": wall.width,
        "wall.stud_face": wall.stud_face,
        "wall.header_thickness": wall.header_thickness,
        "design.drive_side": design.drive_side,
        "design.turning_tube": design.turning_tube,
        "design.post_tube": design.post_tube,
        "design.anti_billow_tube": design.anti_billow_tube,
        "design.channel": design.channel,
        "design.wire": design.wire,
        "design.rod": design.rod,
        "design.gear_ratio": design.gear_ratio,
    }
    if opening.kind != DoorKind.PERSON:  # people pass a person door
        given["machine"] = opening.machine
    if opening.kind == DoorKind.MID_BAR:
        given["design.sill_tube"] = design.sill_tube
    if opening.kind not in (DoorKind.COIL, DoorKind.LIFT_OUT):
        given["design.film"] = design.film
    if design.turning_tube is not None:
        given["design.turning_tube.stock_length"] = design.turning_tube.stock_length
    if design.channel is not None:
        given["design.channel.stock_length"] = design.channel.stock_length
    if design.wire is not None:
        given["design.wire.stock_length"] = design.wire.stock_length
    if design.film is not None:
        given["design.film.roll_widths"] = design.film.roll_widths or None
    absent = [field for field, value in given.items() if value is None]
    shape = missing_shape(opening)
    if shape is not None and shape not in absent:
        absent.append(shape)
    if any(operator.travel_top is None and operator.corner == design.drive_side for operator in wall.side_operators):
        absent.append("wall.side_operators.travel_top")
    return absent
