"""Every number of a film roll-up door, for one opening or for arrays of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from doors.sizing import layout, limits, roll
from doors.sizing.frame import Frame
from doors.sizing.layout import FilmPanel, Marks, Span
from doors.sizing.quantity import SAME, Floats, number, require
from doors.sizing.roll import Winding
from doors.sizing.rules import Rules

NOT_MEASURED = number(None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """The numbers of one opening, or of many as arrays of one shape; NaN where nothing was measured.

    Lengths in metres. ``drives_right`` is 1 for a drive on the right seen from outside, 0 for the left.
    ``frame`` is the tunnel's frame over the wall; None where its shape is not known.
    """

    rough_width: Floats
    rough_height: Floats
    offset: Floats = NOT_MEASURED
    threshold: Floats = NOT_MEASURED
    header_depth: Floats = NOT_MEASURED
    wall_width: Floats = NOT_MEASURED
    stud_face: Floats = NOT_MEASURED
    header_thickness: Floats = NOT_MEASURED
    drives_right: Floats = NOT_MEASURED
    turning_diameter: Floats = NOT_MEASURED
    turning_stock: Floats = NOT_MEASURED
    sill_diameter: Floats = NOT_MEASURED
    billow_diameter: Floats = NOT_MEASURED
    film_thickness: Floats = NOT_MEASURED
    rod_length: Floats = NOT_MEASURED
    nut_height: Floats = NOT_MEASURED
    washer_thickness: Floats = NOT_MEASURED
    gear_ratio: Floats = NOT_MEASURED
    roll_widths: tuple[float, ...] = ()
    frame: Frame | None = None


@dataclass(frozen=True, slots=True)
class Figures:
    """What follows from `Given` and the rules: NaN where an input it needs was not measured. [m]"""

    turning_bar: Span
    turning_joint: Floats
    sill_bar: Span
    clamps: Marks
    panel: FilmPanel
    roll_width: Floats
    roll_runs_down: Floats
    supports: Marks
    header_hole_height: Floats
    billow_length: Floats
    post_lean: Floats
    post_length: Floats
    drive_overhang: Floats
    strip_place: Floats
    strip_length: Floats
    header_channel: Span
    header_screws: Marks
    jamb_screws: Marks
    sill_screws: Marks
    rod_needed: Floats
    rod_needed_one_nut: Floats
    winding: Winding
    crank_turns: Floats
    clear_width: Floats
    head_needed: Floats
    arch_left: Floats
    arch_right: Floats


def work_out(given: Given, rules: Rules, *, winds_at_mid_height: bool) -> Figures:
    """Return every figure of a film roll-up door.

    Parameters
    ----------
    given : Given
        One opening, or many as arrays of one shape. [m]
    rules : Rules
        The farm's rules.
    winds_at_mid_height : bool
        True for the mid-height bar that winds the film above and below it, False for the bottom bar.

    Returns
    -------
    Figures
        Of the shape of the inputs; NaN where an input was not measured. [m]

    Raises
    ------
    SizingError
        For a size no door can have: names field, value and limit.
    """
    for name in ("rough_width", "rough_height"):
        require(name, getattr(given, name), "finite")
    for name, path in PATHS.items():
        limits.check(path, getattr(given, name))
    for width in given.roll_widths:
        limits.check("design.film.roll_widths", width)
    check_in_wall(given)
    return figures_of(given, rules, winds_at_mid_height=winds_at_mid_height)


def check_in_wall(given: Given) -> None:
    """Refuse an opening that is wider than its wall, or reaches out of it.

    Raises
    ------
    SizingError
        Naming field, value and limit.
    """
    require("rough_width", given.rough_width, "at most", given.wall_width + SAME)
    require("offset", given.offset, "at most", given.wall_width - given.rough_width + SAME)


def figures_of(given: Given, rules: Rules, *, winds_at_mid_height: bool) -> Figures:
    """Return what `work_out` does, of measurements whose limits are checked already."""
    _check_film_door(given, rules, winds_at_mid_height=winds_at_mid_height)
    bar = layout.turning_bar(given.rough_width, given.offset, given.wall_width, given.drives_right, rules)
    sill = layout.sill_bar(given.rough_width, given.stud_face, rules)
    marks = layout.clamps(given.rough_width, given.stud_face, rules)
    panel = layout.film_panel(given.rough_width, given.rough_height, given.header_depth, rules)
    roll_width, runs_down = choose_roll(panel, given.roll_widths)
    channel = Span(-given.stud_face, np.asarray(given.rough_width + 2 * given.stud_face))
    hole = np.asarray(given.rough_height + given.header_depth / 2)
    winding = _winding(given, rules, winds_at_mid_height)
    rest = np.asarray(given.threshold + (given.rough_height / 2 if winds_at_mid_height else 0.0))
    lean = _lean(given)
    nut, washer = given.nut_height, given.washer_thickness
    through = 2 * nut + given.header_thickness + 2 * washer + rules.tube_stand_off + given.billow_diameter / 2
    overhang = _overhang(bar, marks, given.drives_right)
    strip_place = _strip_place(bar, given.drives_right, rules)
    jambs = (-given.stud_face, given.rough_width + given.stud_face)
    arch_left, arch_right, arch_at_strip = _frame_heights(given, (*jambs, strip_place))
    inset = rules.header_hole_inset + given.billow_diameter / 2
    return Figures(
        turning_bar=bar,
        turning_joint=layout.joint(bar, marks, given.turning_stock, given.drives_right, rules),
        sill_bar=sill,
        clamps=marks,
        panel=panel,
        roll_width=roll_width,
        roll_runs_down=runs_down,
        supports=layout.supports(given.rough_width, rules),
        header_hole_height=hole,
        billow_length=np.asarray(rules.post_embedment + given.threshold + hole + rules.tube_hole_from_top),
        post_lean=lean,
        post_length=np.asarray(rules.post_embedment + _post_top(given, rules) / np.cos(lean)),
        drive_overhang=overhang,
        strip_place=strip_place,
        strip_length=_strip(given, rules, rest, overhang, arch_at_strip),
        header_channel=channel,
        header_screws=layout.channel_screws(channel.length, rules),
        jamb_screws=layout.channel_screws(given.rough_height, rules),
        sill_screws=layout.channel_screws(sill.length, rules),
        rod_needed=np.asarray(through + nut),
        rod_needed_one_nut=np.asarray(through),
        winding=winding,
        crank_turns=np.asarray(winding.turns_to_open * given.gear_ratio),
        clear_width=np.asarray(given.rough_width - 2 * inset),
        head_needed=np.asarray(given.threshold + given.rough_height + np.fmax(rules.headroom_film, given.header_depth)),
        arch_left=np.asarray(arch_left),
        arch_right=np.asarray(arch_right),
    )


def choose_roll(panel: FilmPanel, roll_widths: tuple[float, ...]) -> tuple[Floats, Floats]:
    """Return the roll width that wastes least film, and 1 where the film runs down the door, 0 across it.

    Parameters
    ----------
    panel : FilmPanel
        The panel to cut. [m]
    roll_widths : tuple of float
        Widths in the farm's book. [m]

    Returns
    -------
    tuple of ndarray
        Roll width [m] and direction; NaN where no roll is wide enough or none is in the book.
    """
    rolls = np.array([*sorted(roll_widths), np.inf])
    # Whichever way it runs, the narrowest roll that is wide enough wastes least.
    down = rolls[np.searchsorted(rolls, np.asarray(panel.width) - SAME)]
    across = rolls[np.searchsorted(rolls, np.asarray(panel.height) - SAME)]
    runs_down = down * panel.height <= across * panel.width
    width = np.where(runs_down, down, across)
    found = np.isfinite(width)
    return np.where(found, width, np.nan), np.where(found, runs_down, np.nan)


def _frame_heights(given: Given, places: tuple[Floats, ...]) -> Floats:
    """Return the frame's height above grade at places measured from the opening's left edge. [m]"""
    if given.frame is None:
        return np.full((len(places), *np.broadcast(given.offset, *places).shape), np.nan)
    along = np.stack(np.broadcast_arrays(*(given.offset + place for place in places)))
    known = np.isfinite(along)
    return np.asarray(np.where(known, given.frame.height_at(np.where(known, along, 0.0)), np.nan))


def _check_film_door(given: Given, rules: Rules, *, winds_at_mid_height: bool) -> None:
    """Refuse an opening with no room between its anti-billow tubes, or with the clamps' line at the threshold."""
    tube = np.nan_to_num(given.billow_diameter, nan=0.0)
    require("rough_width", given.rough_width, "above", 2 * rules.header_hole_inset + tube)
    if winds_at_mid_height:
        require("rough_height", given.rough_height, "above", 2 * rules.clamp_line_drop)


def _winding(given: Given, rules: Rules, winds_at_mid_height: bool) -> Winding:
    if winds_at_mid_height:
        return roll.mid_bar(
            given.rough_height,
            given.turning_diameter,
            given.sill_diameter,
            given.film_thickness,
            take_up=rules.clamp_line_drop,
        )
    return roll.bottom_bar(
        given.rough_height, given.turning_diameter, given.film_thickness, tail_wraps=rules.tail_wraps
    )


def _post_top(given: Given, rules: Rules) -> Floats:
    return np.asarray(given.threshold + given.rough_height + given.header_depth + rules.post_above_header)


def _lean(given: Given) -> Floats:
    """Return the guide post's lean from upright: along the chord of the hoop's side up to mid height. [rad]"""
    height = np.asarray(given.threshold + given.rough_height / 2)
    if given.frame is None:
        return np.full_like(height, np.nan)
    return np.asarray(np.arctan2(given.frame.inset_at(height, given.drives_right), height))


def _overhang(bar: Span, marks: Marks, drives_right: Floats) -> Floats:
    return np.asarray(np.where(drives_right > 0.5, bar.end - marks.last, marks.first - bar.start) + 0 * drives_right)


def _strip_place(bar: Span, drives_right: Floats, rules: Rules) -> Floats:
    """Return the middle of the strip that carries the bar near the drive, just inside the structure's side."""
    inside = rules.drive_end + rules.strip_width / 2
    return np.asarray(np.where(drives_right > 0.5, bar.end - inside, bar.start + inside))


def _strip(given: Given, rules: Rules, rest: Floats, overhang: Floats, above: Floats) -> Floats:
    """Return the strip's length; 0 where none is needed, or where nothing above the bar can carry one."""
    rise = np.minimum(above, _post_top(given, rules)) - rest
    length = np.where(rise <= SAME, 0.0, rise + rules.film_above_hanging + rules.clamp_line_drop)
    return np.asarray(np.where(overhang <= rules.strip_from + SAME, 0.0, length) + 0 * overhang)


PATHS = {
    "rough_width": "rough_width",
    "rough_height": "rough_height",
    "offset": "offset",
    "threshold": "threshold",
    "header_depth": "header_depth",
    "wall_width": "wall.width",
    "stud_face": "wall.stud_face",
    "header_thickness": "wall.header_thickness",
    "drives_right": "design.drive_side",
    "turning_diameter": "design.turning_tube.diameter",
    "turning_stock": "design.turning_tube.stock_length",
    "sill_diameter": "design.sill_tube.diameter",
    "billow_diameter": "design.anti_billow_tube.diameter",
    "film_thickness": "design.film.thickness",
    "rod_length": "design.rod.length",
    "nut_height": "design.rod.nut_height",
    "washer_thickness": "design.rod.washer_thickness",
    "gear_ratio": "design.gear_ratio",
}
