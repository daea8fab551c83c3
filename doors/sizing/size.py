"""Size one opening: the whole sheet an installer works from."""

from __future__ import annotations

import math
from typing import Any

from doors.sizing import fit, hardware, leaf, rolling, steps
from doors.sizing.figures import Figures, Given, check_in_wall, figures_of
from doors.sizing.frame import Frame, frame_of
from doors.sizing.hardware import known
from doors.sizing.limits import check_opening
from doors.sizing.missing import blocks_cutting, missing
from doors.sizing.opening import FILM_ROLLS, DoorKind, Opening, Side
from doors.sizing.quantity import Floats, SizingError, number
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Missing, Panel, Roll, Sheet, Size, Verdict

CORE_VERSION = "1.1"  # raise it when a formula or a default changes: installed doors keep the sheet they have
PRACTICE = Rules()
OF_SIZE = frozenset({"arch", "jambs", "leaf", "machine", "side_room", "width"})  # checks that a smaller size can pass


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
    check_opening(opening)
    frame = frame_of(opening.wall)
    if opening.kind in FILM_ROLLS:
        return _film_door(opening, frame, rules)
    return _leaf_door(opening, frame, rules)


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


def _film_door(opening: Opening, frame: Frame | None, rules: Rules) -> Sheet:
    mid = opening.kind == DoorKind.MID_BAR
    figures = _figures_of(opening, frame, rules)
    diagonal = math.hypot(opening.rough_width, opening.rough_height)
    return Sheet(
        **_head(opening, _film_checks(opening, figures, frame, rules), frame, rules),
        clear_width=_or_none(figures.clear_width),
        clear_height=_or_none(figures.winding.clear_height),
        diagonal=diagonal,
        turning_bar=_or_none(figures.turning_bar.length),
        turning_bar_start=_or_none(figures.turning_bar.start),
        cuts=hardware.cuts(opening, figures, rules, has_sill_bar=mid),
        hardware=hardware.hardware(opening, figures, has_sill_bar=mid),
        rows=hardware.rows(opening, figures, rules, has_sill_bar=mid),
        panel=_panel(figures, rules),
        roll=_roll(opening, figures, rules),
        steps=steps.film_door(opening, figures, rules, diagonal=diagonal),
    )


def _leaf_door(opening: Opening, frame: Frame | None, rules: Rules) -> Sheet:
    check_in_wall(given_of(opening, frame))
    leaves = leaf.leaf_of(opening, rules)
    checks = _leaf_checks(opening, leaves, frame, rules)
    diagonal = math.hypot(opening.rough_width, opening.rough_height)
    fits = leaf.leaf_size(opening, leaves, rules).verdict != Verdict.FAIL
    return Sheet(
        **_head(opening, checks, frame, rules),
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


def _figures_of(opening: Opening, frame: Frame | None, rules: Rules) -> Figures:
    given = given_of(opening, frame)
    check_in_wall(given)
    return figures_of(given, rules, winds_at_mid_height=opening.kind == DoorKind.MID_BAR)


def _film_checks(opening: Opening, figures: Figures, frame: Frame | None, rules: Rules) -> tuple[Check, ...]:
    bar, reach, heights = figures.turning_bar, None, None
    if opening.offset is not None and known(bar.start):
        reach = (opening.offset + float(bar.start), opening.offset + float(bar.end))
    if known(figures.arch_left):
        heights = (float(figures.arch_left), float(figures.arch_right))
    clear_width, clear_height = _or_none(figures.clear_width), _or_none(figures.winding.clear_height)
    checks = (
        fit.width_in_range(opening, rules),
        fit.studs_in_wall(opening),
        fit.arch(opening, frame, heights, rules),
        fit.machine(opening, clear_width, clear_height, rules),
        fit.side_operator(opening, rules),
        fit.neighbours(opening, reach),
        rolling.bar_joint(opening, figures, rules),
        rolling.clamp_reach(opening, figures, rules),
        rolling.one_piece(opening, figures),
        rolling.film_roll(opening, figures),
        rolling.film_below(opening, figures, rules),
        rolling.rod_reach(opening, figures, rules),
        rolling.drive_strip(opening, figures, rules),
        rolling.wide_door(opening, figures, rules),
    )
    return tuple(check for check in checks if check is not None)


def _leaf_checks(opening: Opening, leaves: leaf.Leaf, frame: Frame | None, rules: Rules) -> tuple[Check, ...]:
    for_people = opening.kind == DoorKind.PERSON and opening.machine is None
    checks = (
        leaf.leaf_size(opening, leaves, rules),
        fit.studs_in_wall(opening),
        fit.arch(opening, frame, None, rules),
        None if for_people else fit.machine(opening, leaves.clear_width, leaves.clear_height, rules),
        leaf.side_room(opening, leaves),
        fit.neighbours(opening, None),
    )
    return tuple(check for check in checks if check is not None)


def _head(opening: Opening, checks: tuple[Check, ...], frame: Frame | None, rules: Rules) -> dict[str, Any]:
    gaps = missing(opening, checks)
    return {
        "core_version": CORE_VERSION,
        "kind": str(opening.kind),
        "code": opening.code,
        "verdict": _verdict(checks, gaps),
        "checks": checks,
        "missing": gaps,
        "sizes_that_fit": _sizes_that_fit(opening, checks, frame, rules),
    }


def _sizes_that_fit(opening: Opening, checks: tuple[Check, ...], frame: Frame | None, rules: Rules) -> tuple[Size, ...]:
    """Return smaller sizes for an opening too high or too wide, each sized again to see that it fits."""
    outcome = {check.check: check.verdict for check in checks}
    if frame is None or outcome["arch"] == Verdict.BLOCKED:
        return ()
    failing = _failing(checks)
    if not failing & {"arch", "width"}:
        return ()
    return tuple(
        Size(rough_width=less.rough_width, rough_height=less.rough_height)
        for less in fit.smaller(opening, frame, rules)
        if _fits(less, failing - OF_SIZE, rules)
    )


def _fits(opening: Opening, others: frozenset[str], rules: Rules) -> bool:
    """Return whether an opening made to fit under its frame fails in nothing but ``others``, which no size can help."""
    try:
        if opening.kind in FILM_ROLLS:
            checks = _film_checks(opening, _figures_of(opening, None, rules), None, rules)
        else:
            checks = _leaf_checks(opening, leaf.leaf_of(opening, rules), None, rules)
    except SizingError:
        return False
    return _failing(checks) <= others


def _failing(checks: tuple[Check, ...]) -> frozenset[str]:
    return frozenset(check.check for check in checks if check.verdict == Verdict.FAIL)


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
