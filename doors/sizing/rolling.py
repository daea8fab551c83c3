"""Checks that only a film roll-up door has: its bar, film, rods and supports."""

from __future__ import annotations

import math

from doors.sizing.figures import Figures
from doors.sizing.fit import blocked, check, missing_shape
from doors.sizing.hardware import known
from doors.sizing.opening import DoorKind, Opening
from doors.sizing.quantity import SAME
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Verdict


def bar_joint(opening: Opening, figures: Figures, rules: Rules) -> Check:
    """Check that the turning bar comes from one or two lengths of stock, joined clear of the clamps."""
    tube = opening.design.turning_tube
    if tube is None or tube.stock_length is None:
        return blocked("bar_joint", "design.turning_tube" if tube is None else "design.turning_tube.stock_length")
    if not known(figures.turning_bar.length):
        return blocked("bar_joint", "turning_bar")
    length, stock = float(figures.turning_bar.length), tube.stock_length
    facts = {"length": length, "stock": stock, "gap": rules.clamp_joint_gap}
    if length <= stock + SAME:
        return check("bar_joint", Verdict.PASS, "one_piece", facts)
    if length > 2 * stock + SAME:
        return check("bar_joint", Verdict.FAIL, "three_pieces", facts)
    if not known(figures.clamps.first):
        return blocked("bar_joint", "wall.stud_face")
    if not known(figures.turning_joint):
        return check("bar_joint", Verdict.FAIL, "no_clear_place", facts)
    place = float(figures.turning_joint - figures.turning_bar.start)
    return check("bar_joint", Verdict.PASS, "two_pieces", {**facts, "left": place, "right": length - place})


def clamp_reach(opening: Opening, figures: Figures, rules: Rules) -> Check:
    """Check that the clamps outboard of the studs still have bars and film under them."""
    if not known(figures.clamps.first):
        return blocked("clamps", "wall.stud_face")
    outer = -float(figures.clamps.first)
    ends = {"bar": rules.free_end, "film": rules.film_side}
    if opening.kind == DoorKind.MID_BAR:
        ends["sill"] = -float(figures.sill_bar.start)
    facts = {"outer": outer, "least": min(ends.values()), **ends}
    if outer > facts["least"] + SAME:
        return check("clamps", Verdict.FAIL, "clamps_off_bar", facts)
    return check("clamps", Verdict.PASS, "clamps_on_bar", facts)


def one_piece(opening: Opening, figures: Figures) -> Check | None:
    """Check that the tubes cut in one piece come from stock long enough; None where they do."""
    design = opening.design
    parts = [
        ("guide_post", design.post_tube, figures.post_length),
        ("anti_billow_tube", design.anti_billow_tube, figures.billow_length),
    ]
    if opening.kind == DoorKind.MID_BAR:
        parts.insert(0, ("sill_bar", design.sill_tube, figures.sill_bar.length))
    for part, tube, length in parts:
        if tube is None or tube.stock_length is None or not float(length) > tube.stock_length + SAME:
            continue
        facts = {"length": float(length), "stock": tube.stock_length}
        return check("one_piece", Verdict.WARN, "stock_short", facts, part=part)
    return None


def film_roll(opening: Opening, figures: Figures) -> Check:
    """Check that a roll in the farm's book is wide enough for the panel, down the door or across it."""
    film = opening.design.film
    if film is None or not film.roll_widths:
        return blocked("film_roll", "design.film" if film is None else "design.film.roll_widths")
    width, height = float(figures.panel.width), float(figures.panel.height)
    facts = {"width": width, "height": height, "widest": max(film.roll_widths)}
    if not known(figures.roll_width):
        return check("film_roll", Verdict.FAIL, "no_roll_wide_enough", facts)
    down = bool(figures.roll_runs_down > 0.5)
    facts |= {"roll": float(figures.roll_width), "run": height if down else width}
    return check("film_roll", Verdict.PASS, "runs_down" if down else "runs_across", facts)


def film_below(opening: Opening, figures: Figures, rules: Rules) -> Check:
    """Check that enough film hangs below the threshold to be taken up, trimmed and fastened.

    The mid-height bar takes up film above and below it before it comes to rest, so the lower edge rises by
    twice the distance between the two lines; the bottom bar takes up its tail wraps.
    """
    if not known(figures.panel.below_hanging):
        return blocked("film_below", "header_depth")
    below = float(figures.panel.below_hanging)
    if opening.kind == DoorKind.MID_BAR:
        take_up = 2 * rules.clamp_line_drop
    else:
        tube = opening.design.turning_tube
        if tube is None:
            return blocked("film_below", "design.turning_tube")
        take_up = rules.tail_wraps * math.pi * tube.diameter
    least = take_up + rules.film_below_final
    facts = {"below": below, "least": least, "first_trim": rules.film_below_first, "take_up": take_up}
    if below < least - SAME:
        return check("film_below", Verdict.FAIL, "film_too_short", facts)
    if below < rules.film_below_first - SAME:
        return check("film_below", Verdict.WARN, "no_first_trim", facts)
    return check("film_below", Verdict.PASS, "film_enough", facts)


def rod_reach(opening: Opening, figures: Figures, rules: Rules) -> Check:
    """Check that the tie rod reaches through header and tube with its nuts on."""
    design, wall = opening.design, opening.wall
    for field, value in (
        ("wall.header_thickness", wall.header_thickness),
        ("design.rod", design.rod),
        ("design.anti_billow_tube", design.anti_billow_tube),
    ):
        if value is None:
            return blocked("rod_reach", field)
    assert design.rod is not None and design.anti_billow_tube is not None  # noqa: S101, PT018 - the loop above
    room = rules.tube_stand_off - design.anti_billow_tube.diameter / 2
    stack = 2 * design.rod.washer_thickness + 2 * design.rod.nut_height
    facts = {
        "rod": design.rod.length,
        "needed": float(figures.rod_needed),
        "one_nut": float(figures.rod_needed_one_nut),
        "room": room,
        "stack": stack,
    }
    if design.rod.length < float(figures.rod_needed_one_nut) - SAME:
        return check("rod_reach", Verdict.FAIL, "rod_too_short", facts)
    if room < stack - SAME:
        return check("rod_reach", Verdict.WARN, "nuts_crowded", facts)
    if design.rod.length < float(figures.rod_needed) - SAME:
        return check("rod_reach", Verdict.WARN, "one_nut_only", facts)
    return check("rod_reach", Verdict.PASS, "rod_reaches", facts)


def drive_strip(opening: Opening, figures: Figures, rules: Rules) -> Check:
    """Check whether the bar needs a strip of film to carry it near the drive, and whether one can hang there."""
    overhang, strip = float(figures.drive_overhang), float(figures.strip_length)
    if not known(overhang):
        return blocked("drive_strip", "turning_bar" if known(figures.clamps.first) else "wall.stud_face")
    facts = {"overhang": overhang, "limit": rules.strip_from}
    if overhang <= rules.strip_from + SAME:
        return check("drive_strip", Verdict.PASS, "no_strip", facts)
    if not known(strip):
        given = {"threshold": opening.threshold, "header_depth": opening.header_depth}
        absent = (field for field, value in given.items() if value is None)
        return blocked("drive_strip", missing_shape(opening) or next(absent, "wall.shape"))
    if not strip:
        return check("drive_strip", Verdict.WARN, "strip_has_no_frame", facts)
    return check("drive_strip", Verdict.PASS, "strip", {**facts, "strip": strip})


def wide_door(opening: Opening, figures: Figures, rules: Rules) -> Check | None:
    """Say how many tubes and studs a wide door has between its jambs, and that they must lift out."""
    inner = int(figures.supports.count) - 2
    if not inner:
        return None
    facts = {"width": opening.rough_width, "spacing": float(figures.supports.spacing), "from": rules.wide_from}
    return check("wide_door", Verdict.WARN, "inner_supports", facts, count=str(inner))
