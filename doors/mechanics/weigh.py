"""What moves of a door, or is lifted to hang it, and how heavy it is."""

from __future__ import annotations

import math
from collections.abc import Mapping

from doors.mechanics.film import areal_mass
from doors.mechanics.strength import CHANNEL_MASS, CLAMP_MASS
from doors.mechanics.tube import STANDARD_GRAVITY, section
from doors.sizing.opening import DoorKind, Opening, Tube
from doors.sizing.quantity import INCH
from doors.sizing.rules import Rules
from doors.sizing.sheet import Cut, Sheet

TIMBER_DENSITY = 420.0  # kg/m³, mean of softwood class C24, EN 338:2016, Table 1, from memory
BOARD_THICKNESS = 1.5 * INCH  # m, a leaf's members, 2 in boards as sold; common practice, no source
CURTAIN_MASS = 7.3  # kg/m², light steel coil curtain, about 1.5 lb/ft²; common practice, no source
LEAF_MEMBERS = frozenset({"leaf_stile", "leaf_rail", "leaf_brace"})


def moving_weight(opening: Opening, sheet: Sheet, rules: Rules) -> float | None:
    """Return the weight of all that moves: bars with their film, leaves, or a coil's curtain. [N]

    Parameters
    ----------
    opening : Opening
        With the design the sheet was made from. [m]
    sheet : Sheet
        Its cut list and clamps are weighed; posts, tubes that stand and channel on the frame are not. [m]
    rules : Rules
        For the face of a leaf's members. [m]

    Returns
    -------
    float or None
        None where the cut list lacks a part that moves. [N]

    Notes
    -----
    Hinges, hangers, screws and the gearbox are left out.
    """
    if opening.kind == DoorKind.COIL:
        return CURTAIN_MASS * opening.rough_width * opening.rough_height * STANDARD_GRAVITY
    cuts = {cut.part: cut for cut in sheet.cuts}
    if not _moving_parts(opening) <= cuts.keys():
        return None
    clamps = sum(line.count for line in sheet.hardware if line.item == "clamp" and line.place != "drive_strip")
    parts = math.fsum(_mass(cut, opening, rules) for cut in cuts.values())
    return (parts + clamps * CLAMP_MASS) * STANDARD_GRAVITY


def _moving_parts(opening: Opening) -> frozenset[str]:
    """Return the parts without which a door's weight is not known."""
    if opening.kind == DoorKind.MID_BAR:
        return frozenset({"turning_bar", "sill_bar", "film_panel"})
    return frozenset({"turning_bar", "film_panel"}) if opening.kind == DoorKind.BOTTOM_BAR else LEAF_MEMBERS


def _mass(cut: Cut, opening: Opening, rules: Rules) -> float:
    """Return the mass of one line of the cut list, 0 for what stands still. [kg]"""
    design, length = opening.design, cut.length * cut.count
    tubes: Mapping[str, Tube | None] = {"turning_bar": design.turning_tube, "sill_bar": design.sill_tube}
    tube = tubes.get(cut.part)
    if tube is not None:
        return float(section(tube.diameter, tube.wall).weight) / STANDARD_GRAVITY * length
    if cut.part in LEAF_MEMBERS:
        return TIMBER_DENSITY * rules.leaf_member * BOARD_THICKNESS * length
    if cut.part in ("film_panel", "leaf_film") and design.film is not None:
        return float(areal_mass(design.film.thickness)) * length * (cut.width or 0.0)
    return CHANNEL_MASS * length if cut.part == "sill_channel" else 0.0
