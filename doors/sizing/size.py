"""Size one opening: the whole sheet an installer works from."""

from __future__ import annotations

import math
from typing import Any

from doors.sizing import fit, hardware, leaf, rolling, steps
from doors.sizing.figures import Figures, Given, check_sizes, work_out
from doors.sizing.frame import Frame, frame_of
from doors.sizing.hardware import known
from doors.sizing.missing import blocks_cutting, missing
from doors.sizing.opening import FILM_ROLLS, DoorKind, Opening, Side
from doors.sizing.quantity import Floats, number, require
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Missing, Panel, Roll, Sheet, Verdict

CORE_VERSION = "1.0"  # raise it when a formula or a default changes: installed doors keep the sheet they have
PRACTICE = Rules()


def size(opening: Opening, rules: Rules = PRACTICE) -> Sheet:
    """Return the sheet of one opening.

    Parameters
    ----------
    opening : Opening
        The opening, its wall, the door's design, what must pass. [m]
    rules : Rules, default common practice
        The farm's rules.

    Returns
    -------
    Sheet
        Cut list, hardware, marks, film, roll, checks, steps. What hangs on a missing measurement is left out
        and named in ``missing``. [m]

    Raises
    ------
    SizingError
        For a size no opening can have: names field, value and limit.
    """
    _check_parts(opening)
    frame = frame_of(opening.wall)
    given = given_of(opening, frame)
    gaps = missing(opening)
    if opening.kind in FILM_ROLLS:
        return _film_door(opening, given, frame, rules, gaps)
    check_sizes(given)
    return _leaf_door(opening, frame, rules, gaps)


def given_of(opening: Opening, frame: Frame | None) -> Given:
    """Return an opening's numbers as the figures take them: NaN where nothing was measured. [m]"""
    wall, design = opening.wall, opening.design
    tube, rod, film = design.turning_tube, design.rod, design.film
    drive = design.drive_side
    return Given(
        rough_width=number(opening.rough_width),
        rough_height=number(opening.rough_height),
        offset=number(opening.offset),
        threshold=number(opening.threshold),
        header_depth=number(opening.header_depth),
        wall_width=number(wall.width),
        stud_face=number(wall.stud_face),
        header_thickness=number(wall.header_thickness),
        drives_right=number(None if drive is None else float(drive == Side.RIGHT)),
        turning_diameter=number(tube.diameter if tube else None),
        turning_stock=number(tube.stock_length if tube else None),
        sill_diameter=number(design.sill_tube.diameter if design.sill_tube else None),
        billow_diameter=number(design.anti_billow_tube.diameter if design.anti_billow_tube else None),
        film_thickness=number(film.thickness if film else None),
        rod_length=number(rod.length if rod else None),
        nut_height=number(rod.nut_height if rod else None),
        washer_thickness=number(rod.washer_thickness if rod else None),
        gear_ratio=number(design.gear_ratio),
        roll_widths=film.roll_widths if film else (),
        frame=frame,
    )


def _check_parts(opening: Opening) -> None:
    """Refuse NaN where a value was given, tubes thinner than their walls, and parts of no size."""
    design = opening.design
    for name in ("turning_tube", "sill_tube", "post_tube", "anti_billow_tube"):
        tube = getattr(design, name)
        if tube is None:
            continue
        for field in ("diameter", "wall"):
            require(f"design.{name}.{field}", float(getattr(tube, field)), "finite")
            require(f"design.{name}.{field}", float(getattr(tube, field)), "above", 0.0)
        require(f"design.{name}.wall", float(tube.wall), "below", tube.diameter / 2)
    for path, value in _given_values(opening):
        if value is not None:
            require(path, float(value), "finite")
    if opening.machine is not None:
        require("machine.width", float(opening.machine.width), "above", 0.0)
        require("machine.height", float(opening.machine.height), "above", 0.0)


def _given_values(opening: Opening) -> list[tuple[str, float | None]]:
    wall, design = opening.wall, opening.design
    values: list[tuple[str, float | None]] = [
        ("rough_width", opening.rough_width),
        ("rough_height", opening.rough_height),
        ("offset", opening.offset),
        ("threshold", opening.threshold),
        ("header_depth", opening.header_depth),
        ("wall.width", wall.width),
        ("wall.ridge", wall.ridge),
        ("wall.side", wall.side),
        ("wall.stud_face", wall.stud_face),
        ("wall.header_thickness", wall.header_thickness),
        ("design.gear_ratio", design.gear_ratio),
    ]
    if design.film is not None:
        values.append(("design.film.thickness", design.film.thickness))
        values += [("design.film.roll_widths", width) for width in design.film.roll_widths]
    if design.rod is not None:
        values += [(f"design.rod.{name}", getattr(design.rod, name)) for name in ("length", "nut_height")]
    if opening.machine is not None:
        values += [("machine.width", opening.machine.width), ("machine.height", opening.machine.height)]
    for other in opening.neighbours:
        values += [(f"neighbours.{name}", getattr(other, name)) for name in ("left", "width", "head")]
    return values


def _film_door(opening: Opening, given: Given, frame: Frame | None, rules: Rules, gaps: tuple[Missing, ...]) -> Sheet:
    mid = opening.kind == DoorKind.MID_BAR
    figures = work_out(given, rules, winds_at_mid_height=mid)
    diagonal = math.hypot(opening.rough_width, opening.rough_height)
    clear_width, clear_height = _or_none(figures.clear_width), _or_none(figures.winding.clear_height)
    bar = figures.turning_bar
    reach = None
    if opening.offset is not None and known(bar.start, bar.length):
        reach = (opening.offset + float(bar.start), opening.offset + float(bar.end))
    checks = (
        fit.width_in_range(opening, rules),
        fit.studs_in_wall(opening),
        fit.arch(opening, frame, rules),
        fit.machine(opening, clear_width, clear_height, rules),
        fit.side_operator(opening, rules),
        fit.neighbours(opening, reach),
        rolling.bar_joint(opening, figures, rules),
        rolling.film_roll(opening, figures),
        rolling.film_below(opening, figures, rules),
        rolling.rod_reach(opening, figures, rules),
        rolling.drive_strip(figures, rules),
        rolling.wide_door(opening, figures, rules),
    )
    return Sheet(
        **_head(opening, checks, gaps, frame, rules),
        clear_width=clear_width,
        clear_height=clear_height,
        diagonal=diagonal,
        turning_bar=_or_none(bar.length),
        turning_bar_start=_or_none(bar.start),
        cuts=hardware.cuts(opening, figures, rules, has_sill_bar=mid),
        hardware=hardware.hardware(opening, figures, has_sill_bar=mid),
        rows=hardware.rows(opening, figures, rules, has_sill_bar=mid),
        panel=_panel(figures, rules),
        roll=_roll(opening, figures, rules),
        steps=steps.film_door(opening, figures, rules, diagonal=diagonal),
    )


def _leaf_door(opening: Opening, frame: Frame | None, rules: Rules, gaps: tuple[Missing, ...]) -> Sheet:
    leaves = leaf.leaf_of(opening, rules)
    for_people = opening.kind == DoorKind.PERSON and opening.machine is None
    diagonal = math.hypot(opening.rough_width, opening.rough_height)
    checks = (
        leaf.leaf_size(leaves, rules),
        fit.studs_in_wall(opening),
        fit.arch(opening, frame, rules),
        None if for_people else fit.machine(opening, leaves.clear_width, leaves.clear_height, rules),
        leaf.side_room(opening, leaves),
        fit.neighbours(opening, None),
    )
    fits = checks[0] is not None and checks[0].verdict != Verdict.FAIL
    return Sheet(
        **_head(opening, checks, gaps, frame, rules),
        clear_width=leaves.clear_width,
        clear_height=leaves.clear_height,
        diagonal=diagonal,
        turning_bar=None,
        turning_bar_start=None,
        cuts=leaf.cuts(opening, leaves, rules) if fits else (),
        hardware=leaf.hardware(opening, leaves) if fits else (),
        rows=(),
        panel=None,
        roll=None,
        steps=steps.leaf_door(opening, leaves, rules, diagonal=diagonal),
    )


def _head(
    opening: Opening,
    checks: tuple[Check | None, ...],
    gaps: tuple[Missing, ...],
    frame: Frame | None,
    rules: Rules,
) -> dict[str, Any]:
    made = tuple(check for check in checks if check is not None)
    arch_low = any(check.reason == "arch_low" for check in made) and frame is not None
    too_wide = any(check.reason == "too_wide" for check in made) and frame is not None
    offers = fit.sizes_that_fit(opening, frame, rules) if frame is not None and (arch_low or too_wide) else ()
    return {
        "core_version": CORE_VERSION,
        "kind": str(opening.kind),
        "code": opening.code,
        "verdict": _verdict(made, gaps),
        "checks": made,
        "missing": gaps,
        "sizes_that_fit": offers,
    }


def _verdict(checks: tuple[Check, ...], gaps: tuple[Missing, ...]) -> Verdict:
    """Return the sheet's verdict: refused, not ready to cut, with warnings, or fit."""
    verdicts = {check.verdict for check in checks}
    if Verdict.FAIL in verdicts:
        return Verdict.FAIL
    if blocks_cutting(gaps):
        return Verdict.BLOCKED
    return Verdict.WARN if verdicts & {Verdict.WARN, Verdict.BLOCKED} else Verdict.PASS


def _panel(figures: Figures, rules: Rules) -> Panel:
    runs = "" if not known(figures.roll_runs_down) else "down" if figures.roll_runs_down > 0.5 else "across"
    return Panel(
        width=float(figures.panel.width),
        height=float(figures.panel.height),
        side_allowance=rules.film_side,
        above_hanging=rules.film_above_hanging,
        above_trimmed=rules.film_above_trimmed,
        below_hanging=_or_none(figures.panel.below_hanging),
        below_first_trim=rules.film_below_first,
        below_final=rules.film_below_final,
        roll_width=_or_none(figures.roll_width),
        roll_runs=runs,
    )


def _roll(opening: Opening, figures: Figures, rules: Rules) -> Roll | None:
    winding = figures.winding
    if not known(winding.diameter_open):
        return None
    mid = opening.kind == DoorKind.MID_BAR
    rest = opening.rough_height / 2 if mid else 0.0
    return Roll(
        windings=2 if mid else 1,
        first_line=rest,
        second_line=rest - rules.clamp_line_drop if mid else 0.0,
        turns_to_first_line=float(winding.turns_to_rest),
        turns_to_open=float(winding.turns_to_open),
        crank_turns_to_open=_or_none(figures.crank_turns),
        diameter_closed=float(winding.diameter_closed),
        diameter_open=float(winding.diameter_open),
        film_wound=float(winding.film_wound),
        bar_rise=float(winding.bar_rise),
    )


def _or_none(value: Floats | float) -> float | None:
    return float(value) if known(value) else None
