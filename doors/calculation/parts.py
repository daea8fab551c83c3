"""What each part can take, on the calculation sheet: sections, then capacities at yield, rupture or uprooting."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from django.utils.translation import gettext_lazy as _

from doors.calculation.frame import Frame
from doors.calculation.maths import Group, Line, Quantity
from doors.mechanics.fastener import SHEET_ULTIMATE
from doors.mechanics.film import FILM_DENSITY, areal_mass
from doors.mechanics.rod import ROD_YIELD, thread
from doors.mechanics.strength import CHANNEL_MASS, CLAMP_MASS, NOMINAL_BEARING, NOMINAL_CONNECTION, WASHER_OF_ROD
from doors.mechanics.timber import WITHDRAWAL, WOODS, size_factor
from doors.mechanics.tube import STANDARD_GRAVITY, STEEL_DENSITY, section
from doors.sizing import Tube
from doors.words.strengths import PRACTICE, STRENGTH_GROUPS

SOURCES = {name: words.source for group in STRENGTH_GROUPS for name, words in group.rows.items()}
AISI = "AISI S100-16"


def section_group(frame: Frame) -> Group:
    """Return the properties of tubes, timber and rod."""
    design = frame.reading.door.opening.design
    rows = list(_tube(frame, "turning", _("turning bar"), "b", design.turning_tube))
    if frame.reading.door.is_mid_bar:
        rows += _tube(frame, "sill", _("sill bar"), "s", design.sill_tube)
    rows += _tube(frame, "billow", _("anti-billow tube"), "a", design.anti_billow_tube)
    if design.rod is not None:
        pitch = frame.reading.door.strengths.rod_pitch
        area = float(thread(design.rod.diameter, pitch).tensile_area)
        rows.append(
            Line("rod_area", _("tie rod, tensile stress area"), Quantity("A_{t}", area * 1e6, "number"),
                 "A_{t} = π/4 (d_{r} − 0.9743 p_{r})^2  [mm^2]",
                 (Quantity("d_{r}", design.rod.diameter, "small_length"), Quantity("p_{r}", pitch, "small_length")),
                 "ASME B1.1, Appendix B")
        )  # fmt: skip
    return Group("sections", _("Sections"), rows)


def _tube(frame: Frame, key: str, name: object, index: str, tube: Tube | None) -> Iterator[Line]:
    if tube is None:
        return
    one = section(tube.diameter, tube.wall)
    sizes = (
        Quantity(f"D_{{{index}}}", tube.diameter, "small_length"),
        Quantity(f"t_{{{index}}}", tube.wall, "small_length"),
    )
    source = _("round tube, nominal wall; d = D − 2t")
    symbols = {"name": name}
    yield Line(f"{key}_second", _("%(name)s, second moment of area") % symbols,
               Quantity(f"I_{{{index}}}", float(one.second_moment), "second_moment"), "I = π (D^4 − d^4)/64", sizes,
               source)  # fmt: skip
    yield Line(f"{key}_modulus", _("%(name)s, elastic section modulus") % symbols,
               Quantity(f"S_{{{index}}}", float(one.modulus), "modulus"), "S = 2 I/D", sizes, source)  # fmt: skip
    yield Line(f"{key}_weight", _("%(name)s, weight") % symbols,
               Quantity(f"w_{{{index}}}", float(one.weight), "line_load"), "w = ρ g π (D^2 − d^2)/4",
               (Quantity("ρ", STEEL_DENSITY, "density"),), "EN 1991-1-1, Table A.4")  # fmt: skip


def capacity_group(frame: Frame) -> Group:
    """Return what each part can take."""
    rows = [*_bars(frame), *_timber(frame), *_rod(frame), *_screws(frame), *_film(frame), *_rest(frame)]
    note = _(
        "At first yield of steel and film, at the nominal resistance of timber and screws, and where a post is "
        "uprooted: no safety is taken off. Such figures rank doors; a design needs the code's factors."
    )
    return Group("capacities", _("What each part can take"), rows, note)


def _bars(frame: Frame) -> Iterator[Line]:
    built, design, strengths = frame.built, frame.reading.door.opening.design, frame.reading.door.strengths
    rows = [("turning", _("turning bar, bending"), "b", design.turning_tube, built.bar_moment)]
    if frame.reading.door.is_mid_bar:
        rows.append(("sill", _("sill bar, bending"), "s", design.sill_tube, built.sill_moment))
    rows.append(("billow", _("anti-billow tube, bending"), "a", design.anti_billow_tube, built.billow_moment))
    for key, name, index, tube, moment in rows:
        modulus = float(section(tube.diameter, tube.wall).modulus) if tube else np.nan
        yield Line(f"part-{key}", name, Quantity(f"M_{{R{index}}}", float(moment), "moment"),
                   f"M_{{R{index}}} = f_{{y}} S_{{{index}}}",
                   (Quantity("f_{y}", strengths.tube_yield, "stress"), Quantity(f"S_{{{index}}}", modulus, "modulus")),
                   SOURCES["tube_yield"])  # fmt: skip


def _timber(frame: Frame) -> Iterator[Line]:
    built, door = frame.built, frame.reading.door
    face, depth = float(built.stud_face), np.nan if door.stud_depth is None else door.stud_depth
    wall, opening = door.opening.wall, door.opening
    thick = np.nan if wall.header_thickness is None else wall.header_thickness
    deep = np.nan if opening.header_depth is None else opening.header_depth
    stud, header = float(size_factor(max(face, depth))), float(size_factor(max(thick, deep)))
    bending = Quantity("f_{b}", door.strengths.wood_bending, "stress")
    studs = (Quantity("b_{p}", face, "small_length"), Quantity("d_{p}", depth, "small_length"))
    headers = (Quantity("t_{h}", thick, "small_length"), Quantity("d_{h}", deep, "small_length"))
    plies = Quantity("n_{p}", door.strengths.header_plies)
    source = SOURCES["wood_bending"]
    table = "NDS Supplement 2018, Table 4A"
    yield Line("stud_factor", _("size factor of a stud, by its larger side"), Quantity("C_{F,p}", stud), "",
               studs, table)  # fmt: skip
    yield Line("header_factor", _("size factor of the header, by its larger side"), Quantity("C_{F,h}", header), "",
               headers, table)  # fmt: skip
    yield Line("part-stud", _("stud, bent through the wall"),
               Quantity("M_{Rp}", float(built.stud_moment), "moment"), "M_{Rp} = f_{b} C_{F,p} b_{p} d_{p}^2/6",
               (bending, *studs), source)  # fmt: skip
    yield Line("part-stud_sideways", _("stud, bent along the wall"),
               Quantity("M_{Rp∥}", float(built.stud_moment_sideways), "moment"),
               "M_{Rp∥} = f_{b} C_{F,p} d_{p} b_{p}^2/6", (bending, *studs), source)  # fmt: skip
    yield Line("part-header", _("header, bent through the wall"),
               Quantity("M_{Rh}", float(built.header_moment), "moment"),
               "M_{Rh} = f_{b} C_{F,h} d_{h} t_{h}^2/(6 n_{p})",
               (bending, *headers, plies), source,
               note=_("nailed boards slide on each other when bent flatwise: each carries its own share"))  # fmt: skip
    yield Line("part-header_down", _("header, bent downward"),
               Quantity("M_{Rh↓}", float(built.header_moment_down), "moment"),
               "M_{Rh↓} = f_{b} C_{F,h} t_{h} d_{h}^2/6", (bending, *headers), source)  # fmt: skip


def _rod(frame: Frame) -> Iterator[Line]:
    built, door = frame.built, frame.reading.door
    strengths, rod = door.strengths, door.opening.design.rod
    diameter = rod.diameter if rod else np.nan
    bearing = WOODS[strengths.wood].bearing
    washer = max(strengths.washer, WASHER_OF_ROD * diameter) if rod else np.nan
    yield Line(
        "part-rod", _("tie rod and its washer in the header, pulled"),
        Quantity("T_{R}", float(built.rod_pull), "force"),
        "T_{R} = min[F_{y} A_{t},  1.67 F_{c⊥} π/4 (D_{w}^2 − (d_{r} + 1/16 in)^2)]",
        (Quantity("F_{y}", ROD_YIELD, "stress"), Quantity("F_{c⊥}", bearing, "stress"),
         Quantity("D_{w}", washer, "small_length"), Quantity("d_{r}", diameter, "small_length"),
         Quantity("K_{F}", NOMINAL_BEARING)),
        _("ASTM F1554 grade 36, AISC 360-16 J3; NDS 2018, 3.10 and Table 4.3.1; from memory"),
    )  # fmt: skip


def _screws(frame: Frame) -> Iterator[Line]:
    built, strengths = frame.built, frame.reading.door.strengths
    design = frame.reading.door.opening.design
    gravity = WOODS[strengths.wood].gravity
    screw = Quantity("d_{t}", strengths.sheet_screw, "small_length")
    ultimate = Quantity("F_{u}", SHEET_ULTIMATE, "stress")
    wall = design.turning_tube.wall if design.turning_tube else np.nan
    yield Line(
        "part-wood_screw", _("channel screw drawn out of the timber"),
        Quantity("W_{R}", float(built.wood_screw), "force"), "W_{R} = 3.32 · 2850 psi G^2 d_{w} p_{w}",
        (Quantity("K_{F}", NOMINAL_CONNECTION), Quantity("C", WITHDRAWAL, "stress"), Quantity("G", gravity),
         Quantity("d_{w}", strengths.wood_screw, "small_length"),
         Quantity("p_{w}", strengths.wood_penetration, "small_length")),
        _("NDS 2018, Eq. 12.2-2 times the format conversion of Table 11.3.1"),
    )  # fmt: skip
    yield Line(
        "part-clamp", _("clamp, its screw drawn out of the bar"), Quantity("C_{R}", float(built.clamp), "force"),
        "C_{R} = 0.85 t_{b} d_{t} F_{u}", (Quantity("t_{b}", wall, "small_length"), screw, ultimate),
        f"{AISI}, J4.4.1; ASTM A653 SS grade 33",
    )  # fmt: skip
    if not frame.reading.door.is_mid_bar:
        return
    lower = design.sill_tube.wall if design.sill_tube else np.nan
    yield Line(
        "part-tube_screw", _("channel screw in the sill bar, tilting and bearing"),
        Quantity("Q_{R}", float(built.tube_screw), "force"),
        "t_{s} ≤ t_{c}: min[4.2 √(t_{s}^3 d_{t}) F_{u},  2.7 t_{c} d_{t} F_{u},  2.7 t_{s} d_{t} F_{u}];  "
        "t_{s} ≥ 2.5 t_{c}: the last two; straight between",
        (Quantity("t_{c}", strengths.channel_thickness, "small_length"), Quantity("t_{s}", lower, "small_length"),
         screw, ultimate),
        f"{AISI}, J4.3.1",
    )  # fmt: skip


def _film(frame: Frame) -> Iterator[Line]:
    built, door = frame.built, frame.reading.door
    film = door.opening.design.film
    left = np.nan if door.film_left is None else door.film_left
    ages = (
        Quantity("a", np.nan if door.film_years is None else door.film_years, "years"),
        Quantity("a_{r}", np.nan if door.rated_years is None else door.rated_years, "years"),
    )
    yield Line(
        "film_left", _("share of its strength the film has left"), Quantity("φ", left),
        "φ = 1 − 0.5 a/a_{r}, not below 0", ages,
        _("planning line; end of life at half the elongation, doi.org/10.2478/adms-2024-0008"),
    )  # fmt: skip
    yield Line(
        "part-film", _("film, until it stays stretched"), Quantity("T_{Rf}", float(built.film_pull), "line_load"),
        "T_{Rf} = φ t_{f} f_{f}",
        (Quantity("t_{f}", film.thickness if film else np.nan, "small_length"),
         Quantity("f_{f}", door.strengths.film_yield, "stress")), SOURCES["film_yield"],
    )  # fmt: skip


def _rest(frame: Frame) -> Iterator[Line]:
    built, door = frame.built, frame.reading.door
    film = door.opening.design.film
    areal = float(areal_mass(film.thickness)) * STANDARD_GRAVITY if film else np.nan
    mid = door.is_mid_bar
    yield Line(
        "part-lower", _("what hangs on the film's lower edge"),
        Quantity("G_{l}", float(built.lower_weight), "force"),
        "G_{l} = (w_{s} + 0.35 kg/m g) ℓ_{s} + 0.03 kg g n_{c} + w_{f} B h_{f}/2" if mid
        else "G_{l} = w_{b} ℓ_{b} + 0.03 kg g n_{c} + w_{f} B h_{f}/2",
        (Quantity("ℓ_{s}" if mid else "ℓ_{b}",
                  float((door.figures.sill_bar if mid else door.figures.turning_bar).length), "span"),
         Quantity("n_{c}", float(door.figures.clamps.count), "count"),
         Quantity("w_{f}", areal, "pressure"), Quantity("B", float(door.figures.panel.width), "span")),
        _("channel %(channel)s kg/m, clamp %(clamp)s kg: common practice; film %(film)s kg/m³, from memory") % {
            "channel": CHANNEL_MASS, "clamp": CLAMP_MASS, "film": f"{FILM_DENSITY:.0f}"},
    )  # fmt: skip
    yield Line("part-hold_down", _("one hook or strap"), Quantity("F_{h}", float(built.hold_down), "force"),
               source=PRACTICE)  # fmt: skip
