"""The core's keys in words: parts, checks, steps and gaps, with their figures in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils import formats
from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.codec import from_plain
from doors.sizing import Check, Facts, Missing, Step
from farm.units import format_length

Words = Mapping[str, str | Promise]

PARTS: Words = {
    "turning_bar": _("Turning bar"),
    "sill_bar": _("Sill bar"),
    "guide_post": _("Guide post"),
    "anti_billow_tube": _("Anti-billow tube"),
    "inner_stud": _("Inner stud, lift-out"),
    "header_channel": _("Film channel on the header"),
    "jamb_channel": _("Film channel on a jamb"),
    "sill_channel": _("Film channel on the sill bar"),
    "header_wire": _("Spring wire, header"),
    "jamb_wire": _("Spring wire, jamb"),
    "sill_wire": _("Spring wire, sill bar"),
    "film_panel": _("Film panel"),
    "drive_strip": _("Film strip at the drive"),
    "leaf_stile": _("Stile"),
    "leaf_rail": _("Rail"),
    "leaf_brace": _("Brace"),
    "leaf_film": _("Film for a leaf"),
    "track": _("Track"),
    "header": _("Header"),
    "film": _("Film"),
}
MARKS: Words = {
    "clamp": _("clamps"),
    "opening_edge": _("edges of the opening"),
    "joint": _("joint"),
    "strip_clamp": _("clamps of the strip"),
    "channel_screw": _("channel screws"),
    "header_hole": _("holes for tie rods"),
    "hole_height": _("height of the holes"),
    "clamp_line": _("second line: upper edge of the clamps"),
    "rest_line": _("first line: the bar at rest"),
}
ITEMS: Words = {
    "clamp": _("Clamp"),
    "clamp_screw": _("Self-drilling screw, one in every clamp"),
    "channel_screw": _("Channel screw"),
    "tie_rod": _("Threaded tie rod"),
    "washer": _("Washer"),
    "nut": _("Nut"),
    "gearbox_left": _("Gearbox, left output"),
    "gearbox_right": _("Gearbox, right output"),
    "round_adapter": _("Round adapter, square output to bar"),
    "drive_bolt": _("Bolt through adapter and bar"),
    "lock_nut": _("Lock nut, 7/16 in socket"),
    "crank_handle": _("Crank handle"),
    "joint_sleeve": _("Joint sleeve"),
    "joint_screw": _("Joint screw"),
    "hinge": _("Hinge"),
    "latch": _("Latch"),
    "bolt_top_bottom": _("Bolt, top and bottom"),
    "hanger": _("Hanger"),
    "floor_guide": _("Floor guide"),
    "turn_button": _("Turn button"),
    "coil_door": _("Coil door, bought complete"),
}
PLACES: Words = {
    "turning_bar": _("turning bar"),
    "sill_bar": _("sill bar"),
    "drive_strip": _("strip at the drive"),
    "header": _("header"),
    "jambs": _("both jambs"),
    "tie_rods": _("tie rods"),
    "drive": _("drive"),
    "leaf": _("leaf"),
    "track": _("track"),
    "threshold": _("threshold"),
}
SIDES: Words = {"left": _("left"), "right": _("right"), "": ""}
FIELDS: Words = {
    "rough_width": _("rough width"),
    "rough_height": _("rough height"),
    "offset": _("offset from the wall's left corner"),
    "threshold": _("threshold above grade"),
    "header_depth": _("header depth"),
    "wall.width": _("tunnel width"),
    "wall.shape": _("tunnel shape"),
    "wall.ridge": _("ridge height"),
    "wall.side": _("side height"),
    "wall.points": _("measured profile"),
    "wall.stud_face": _("face of the jamb studs"),
    "wall.header_thickness": _("header thickness through the wall"),
    "wall.side_operators.travel_top": _("top of the side operator's travel"),
    "design.drive_side": _("drive side"),
    "design.turning_tube": _("tube of the turning bar"),
    "design.turning_tube.stock_length": _("stock length of the turning bar's tube"),
    "design.sill_tube": _("tube of the sill bar"),
    "design.post_tube": _("tube of the guide post"),
    "design.anti_billow_tube": _("anti-billow tube"),
    "design.film": _("film"),
    "design.film.roll_widths": _("roll widths of the film"),
    "design.rod": _("tie rod"),
    "design.gear_ratio": _("gear ratio of the drive"),
    "machine": _("what must pass, its width and height"),
    "turning_bar": _("length of the turning bar"),
    "clear_opening": _("clear opening"),
}
BLOCKED: Words = {
    "turning_bar": _("turning bar"),
    "sill_bar": _("sill bar"),
    "guide_post": _("guide post"),
    "anti_billow_tube": _("anti-billow tubes"),
    "clamps": _("clamps"),
    "header_channel": _("channel on the header"),
    "header_holes": _("holes in the header"),
    "film_panel": _("film panel"),
    "leaf_film": _("film of the leaf"),
    "drive_strip": _("strip at the drive"),
    "gearbox": _("hand of the gearbox"),
    "roll": _("roll and turns"),
    "clear_opening": _("clear opening"),
    "crank_turns": _("turns of the crank"),
    "tie_rods": _("tie rods"),
    "arch_check": _("check of the arch over the jambs"),
    "side_operator_check": _("check of the side operator"),
    "film_below_check": _("check of the film below"),
    "film_roll_check": _("check of the film roll"),
    "rod_check": _("check of the rod"),
    "bar_joint_check": _("check of the joint"),
    "machine_check": _("check of what must pass"),
}
CHECKS: Words = {
    "width": _("Width of the door"),
    "jambs": _("Jamb studs"),
    "arch": _("Arch over the jambs"),
    "machine": _("What must pass"),
    "side_operator": _("Roll-up side at the drive's corner"),
    "neighbours": _("Other openings in the wall"),
    "bar_joint": _("Joint of the turning bar"),
    "film_roll": _("Roll wide enough"),
    "film_below": _("Film below the threshold"),
    "rod_reach": _("Reach of the tie rods"),
    "drive_strip": _("Strip at the drive"),
    "wide_door": _("Supports of a wide door"),
    "leaf": _("Size of a leaf"),
    "side_room": _("Room at the sides"),
}
REASONS: Words = {
    "missing": _("Not checked: {field} is missing."),
    "in_range": _("{width} wide lies within the usual {least} to {most} of a hand-cranked film door."),
    "narrow": _("{width} is narrower than the usual {least}: a hinged or sliding door may serve better."),
    "too_wide": _("{width} is wider than {most}, the most for a hand-cranked film door."),
    "studs_inside": _("Both jamb studs stand inside the wall, {left} and {right} from its corners."),
    "stud_outside": _("A jamb stud, {stud} wide, would stand outside the wall: {left} left, {right} right."),
    "arch_clear": _("The frame is {left} high at the left jamb and {right} at the right; {needed} is needed."),
    "arch_low": _(
        "The frame is {left} high at the left jamb and {right} at the right, but the opening and its {headroom} "
        "headroom need {needed}: {short} too low."
    ),
    "passes": _("{machine} passes with {side} at each side and {over} overhead."),
    "tight": _(
        "{machine} passes with {side} at each side and {over} overhead; {side_good} and {over_good} are recommended."
    ),
    "too_tight": _(
        "{machine} has {side} at each side and {over} overhead; at least {side_least} and {over_least} are needed."
    ),
    "corner_free": _("No roll-up side has its operator at the {side} corner."),
    "clash": _(
        "The side operator at the {side} corner travels up to {travel}; the bar rests at {rest}, in its way. "
        "Move the drive or the operator to another corner."
    ),
    "close": _(
        "The bar rests at {rest}, only {gap} above the travel of the side operator at the {side} corner; {wanted} "
        "is wanted."
    ),
    "above_operator": _("The bar rests at {rest}, {gap} above the side operator's travel at the {side} corner."),
    "clear": _("The opening and its bar keep clear of the others in this wall."),
    "overlaps": _("The opening with its jambs overlaps {other} by {overlap}."),
    "bar_across": _("The turning bar would lie across {other} and block it: put the drive on the other side."),
    "one_piece": _("{length} comes in one piece from stock of {stock}."),
    "two_pieces": _("Two pieces, {left} and {right}, from stock of {stock}; the joint is clear of every clamp."),
    "three_pieces": _("{length} needs more than two pieces of {stock}: choose longer stock."),
    "no_clear_place": _("No joint is clear of the clamps by {gap} with stock of {stock}: choose longer stock."),
    "runs_down": _("A roll {roll} wide covers the panel's {width}; cut {run} of it."),
    "runs_across": _("A roll {roll} wide covers the panel's {height} laid across the door; cut {run} of it."),
    "no_roll_wide_enough": _("The panel is {width} by {height}; the widest roll in the book is {widest}."),
    "film_enough": _("{below} hangs below the threshold; the first trim leaves {first_trim}."),
    "no_first_trim": _(
        "Only {below} hangs below the threshold: enough for {take_up} of take-up, but skip the first trim."
    ),
    "film_too_short": _("Only {below} hangs below the threshold and {least} is needed: allow more film."),
    "rod_reaches": _("The rod is {rod} long; header, tube and all nuts take {needed}."),
    "one_nut_only": _("The rod is {rod} long: enough for one nut behind the tube ({one_nut}), not for two ({needed})."),
    "rod_too_short": _("The rod is {rod} long but {one_nut} is needed: choose a longer rod."),
    "nuts_crowded": _(
        "Between header and tube there is {room} for nuts and washers that take {stack}: set the tube further out."
    ),
    "no_strip": _("The bar runs {overhang} past its last clamp, within {limit}: no strip is needed."),
    "strip": _(
        "The bar runs {overhang} past its last clamp and sags there: a strip {strip} long with two clamps carries it."
    ),
    "strip_has_no_frame": _(
        "The bar runs {overhang} past its last clamp and sags there, but the frame is too low beside the drive to "
        "hang a strip from: add a bracket or a post."
    ),
    "inner_supports": _(
        "{width} is wide: {count} more anti-billow tubes and studs between the jambs, {spacing} apart. They stand in "
        "the way, so make them to lift out, and put them in before wind."
    ),
    "leaf_fits": _("{count} leaf of {width} by {height}."),
    "leaf_too_small": _("A leaf of {width} by {height} leaves no room for its frame; {least} is the least."),
    "side_room": _("The panels slide clear: {left} and {right} of wall for {panel} each."),
    "no_side_room": _(
        "A panel of {panel} needs as much wall beside the opening; there is {left} left and {right} right."
    ),
}
STEPS: Words = {
    "measure": _(
        "Measure the rough opening: width {width} in three heights, height {height} in three places, both diagonals "
        "{diagonal} and alike within {tolerance}."
    ),
    "channel": _(
        "Screw film channel to the header ({header}) and to both jamb studs ({jamb}): screws {inset} from each end "
        "and at most {spacing} apart."
    ),
    "header_holes": _(
        "Drill {count} holes through the header, {height} above the threshold; the outer two {inset} in from the "
        "jambs, so that the channel on the stud stays free."
    ),
    "guide_post": _(
        "Set the guide post on the {side}, parallel to the hoop's side: {length} long, {embedment} in the ground, its "
        "top {above} above the header. Have buried lines marked before you dig or drive."
    ),
    "hang_film": _(
        "Cut the film {width} wide and {height} high. Hang it level from the header channel with {above} above and "
        "{side} past each side of the opening. {below} hangs below; trim it to {first_trim}."
    ),
    "lines": _(
        "Draw two lines across the film: the first at half height, {rest} above the threshold, the second {drop} "
        "lower at {clamps}."
    ),
    "prepare_bar": _(
        "Cut the turning bar to {length}{joint_words}. The drive end, on the {side}, reaches {drive_end} past the "
        "structure's side; the free end {free_end} past the opening."
    ),
    "clamp_bar": _(
        "{people} people lift the bar; another person or trestles hold it, and someone holds the ladder. Put on "
        "{count} clamps with their upper edge on the second line, {line} above the threshold: the outer ones "
        "{outboard} outboard of the jamb studs, {spacing} apart. Fasten none for good yet."
    ),
    "clamp_bottom_bar": _(
        "{people} people hold the bar at the threshold. Wind {wraps} turns of film on it and put on {count} clamps: "
        "the outer ones {outboard} outboard of the jamb studs, {spacing} apart. Fasten none for good yet."
    ),
    "drive": _(
        "Push the round adapter into the bar's {side} end, bolt it through (7/16 in socket on the lock nut), set the "
        "gearbox on it and let it ride on the guide post."
    ),
    "strip": _(
        "Hang the film strip, {width} wide and {length} long, from the frame beside the gearbox; two clamps hold "
        "the bar."
    ),
    "sill_bar": _(
        "Flatten the sharp ends of the sill bar's channel. Screw it along the bar ({length}, {past} past both jamb "
        "studs): screws {inset} from each end and at most {spacing} apart. Fix the film's lower edge in it."
    ),
    "test_roll": _(
        "Test roll: wind up until any bar touches the header, twice, and level the bars. Expect {open} turns of the "
        "bar{crank_words}, a roll {diameter} thick and {clear_height} clear height. Keep everybody from under it."
    ),
    "trim": _(
        "Trim the film to {above} above the header channel and {below} past the lower bar; put one screw in every "
        "clamp."
    ),
    "billow_tubes": _(
        "Set {count} anti-billow tubes, {length} long, {embedment} in the ground, their middle {stand_off} in front of "
        "the threshold. Drill each {hole} from its top. Tie with threaded rods: nut and washer inside; washer and two "
        "nuts outside the header; washer, tube, washer and two nuts (one will do)."
    ),
    "lock": _("Lay spring wire ready for both jamb channels ({jamb} each): it locks the film before a storm."),
    "record": _(
        "Write down who hung it and when, take a photo, and re-tighten every screw after 24 to 72 hours and after "
        "30 days."
    ),
    "build_leaf": _("Build {count} leaf of {width} by {height}, square, with a brace in each half."),
    "hang_person": _(
        "Hang the leaf to open outwards, {gap} clear at the sides and head and {floor} at the floor. The latch must "
        "open from inside with gloves on, without a key."
    ),
    "hang_pair": _(
        "Hang both leaves, {gap} clear at the sides, middle and head and {floor} at the floor; bolt one top and "
        "bottom."
    ),
    "hang_sliding": _(
        "Fix the track, {track} long, level over the opening; the panels lap the jambs by {lap}. Fit floor guides."
    ),
    "hang_panel": _("Stand the panel in the opening, lapping it by {lap}, and hold it with turn buttons all round."),
    "coil": _("Fit the coil door of {width} by {height} as its maker says; it needs {headroom} above the opening."),
}  # fmt: skip


def part_name(key: str) -> str:
    """Return a part's name."""
    return _said(PARTS, key)


def mark_name(key: str) -> str:
    """Return what a row of marks stands for."""
    return _said(MARKS, key)


def item_name(key: str) -> str:
    """Return a hardware item's name."""
    return _said(ITEMS, key)


def place_name(key: str) -> str:
    """Return where hardware goes."""
    return _said(PLACES, key)


def field_name(key: str) -> str:
    """Return an input's name."""
    return _said(FIELDS, key)


def blocked_name(key: str) -> str:
    """Return the name of a result that a missing input blocks."""
    return _said(BLOCKED, key)


def check_name(key: str) -> str:
    """Return a check's name."""
    return _said(CHECKS, key)


def check_text(check: Check, units: str) -> str:
    """Return the outcome of a check as one sentence."""
    return _filled(REASONS, check.reason, check.figures, units)


def step_text(step: Step, units: str) -> str:
    """Return a step of the work as a sentence with its dimensions."""
    return _filled(STEPS, step.step, step.figures, units)


def missing_text(gap: Missing) -> str:
    """Return which input is missing and what it blocks."""
    blocks = ", ".join(blocked_name(key) for key in gap.blocks)
    return gettext("%(field)s is missing; it blocks: %(blocks)s.") % {
        "field": capitalised(field_name(gap.field)),
        "blocks": blocks,
    }


def reason_text(reason: Mapping[str, Any], units: str) -> str:
    """Return what a sizing keeps as the reason of its verdict in one sentence; empty where it simply fits."""
    if "check" in reason:
        check: Check = from_plain(Check, reason["check"])
        return check_text(check, units)
    if "missing" in reason:
        gap: Missing = from_plain(Missing, reason["missing"])
        return missing_text(gap)
    return refusal_text(reason["refusal"], units) if "refusal" in reason else ""


def refusal_text(refusal: Mapping[str, Any], units: str) -> str:
    """Return why the core could not take an opening; ``refusal`` is what a sizing's reason keeps."""
    is_length = bool(refusal.get("is_length", True))

    def shown(value: float | None) -> str:
        if value is None:
            return ""
        return format_length(value, units) if is_length else formats.number_format(value)

    sentences = {
        "above": _("%(field)s is %(value)s but must be more than %(limit)s."),
        "at least": _("%(field)s is %(value)s but must be at least %(limit)s."),
        "below": _("%(field)s is %(value)s but must be less than %(limit)s."),
        "at most": _("%(field)s is %(value)s but must be at most %(limit)s."),
        "exactly": _("%(field)s is %(value)s but must be %(limit)s."),
        "finite": _("%(field)s must be a number."),
    }
    return str(sentences[refusal["relation"]]) % {
        "field": capitalised(field_name(refusal["field"])),
        "value": shown(refusal.get("value")),
        "limit": shown(refusal.get("limit")),
    }


def capitalised(text: str) -> str:
    """Return a text with its first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def _said(words: Words, key: str) -> str:
    return str(words.get(key, key.replace("_", " ")))


def _filled(words: Words, key: str, figures: Facts, units: str) -> str:
    """Return a sentence with lengths in the reader's units, numbers by the locale and names in words."""
    shown = {name: format_length(value, units, short=True) for name, value in figures.lengths.items()}
    shown |= {name: _number(value) for name, value in figures.numbers.items()}
    shown |= {name: _name(name, value) for name, value in figures.names.items()}
    shown["joint_words"] = gettext(", joined %s from its left end") % shown["joint"] if "joint" in shown else ""
    shown["crank_words"] = gettext(", %s of the crank") % shown["crank"] if "crank" in shown else ""
    return capitalised(_said(words, key).format_map(_Blank(shown)))


def _name(name: str, value: str) -> str:
    if name == "field":
        return field_name(value)
    if name in ("side", "other") and value in SIDES:
        return str(SIDES[value])
    return value or gettext("What must pass")


def _number(value: float) -> str:
    whole = round(value)
    return formats.number_format(whole if abs(value - whole) < 0.05 else round(value, 1))


class _Blank(dict[str, str]):
    """Prints a figure that could not be worked out as a blank to fill in by hand."""

    def __missing__(self, key: str) -> str:
        return "____"
