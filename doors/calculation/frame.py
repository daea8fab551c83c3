"""What the calculation starts from: the door as the load path takes it, and the names of its sizes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from django.utils.translation import gettext_lazy as _

from doors.calculation.maths import Group, Line, Quantity
from doors.mechanics.built import Built, State
from doors.mechanics.panel import Panel, panel
from doors.mechanics.spans import uniform
from doors.mechanics.strength import Hanging, built_of
from doors.sizing import Tube
from doors.wind.reading import WindReading
from doors.words.strengths import PRACTICE

MEASURED: Final = _("measured, opening and end wall")
BOOK: Final = _("the farm's book of materials")
RULES: Final = _("the farm's sizing rules")


@dataclass(frozen=True)
class Frame:
    """A reading with the figures that every part of the sheet refers to."""

    reading: WindReading

    @cached_property
    def built(self) -> Built:
        """The door with the capacities of its parts, as the core works them out."""
        door, design = self.reading.door, self.reading.door.opening.design
        nan, left = np.asarray(np.nan), door.film_left
        hanging = Hanging(
            turning_wall=_wall(design.turning_tube),
            sill_wall=_wall(design.sill_tube),
            billow_wall=_wall(design.anti_billow_tube),
            rod_diameter=np.asarray(design.rod.diameter) if design.rod else nan,
            stud_depth=np.asarray(np.nan if door.stud_depth is None else door.stud_depth),
            soil=door.soil,
            hold_down_spacing=np.asarray(np.nan if door.hold_down_spacing is None else door.hold_down_spacing),
            film_left=np.asarray(np.nan if left is None else left),
        )
        return built_of(
            door.given, door.figures, hanging, door.strengths, door.rules, winds_at_mid_height=door.is_mid_bar
        )

    @property
    def strip(self) -> float:
        """Height of film between two of its held edges. [m]"""
        return float(self.built.height) / (2 if self.reading.door.is_mid_bar else 1)

    def panel(self, state: State) -> Panel:
        """What a panel of film does to its edges in a closing state."""
        built = self.built
        return panel(np.asarray(self.strip), built.width, built.belly, sides_held=state != State.CLOSED)


def given_group(frame: Frame) -> Group:
    """Return the sizes and choices that everything else follows from."""
    built, door = frame.built, frame.reading.door
    design, strengths = door.opening.design, door.strengths
    film = design.film.thickness if design.film else np.nan
    rows = [
        Line("width", _("rough width"), Quantity("b", float(built.width), "span"), source=MEASURED),
        Line("height", _("rough height"), Quantity("h", float(built.height), "span"), source=MEASURED),
        Line("threshold", _("threshold above grade"), Quantity("z_{s}", float(built.threshold), "span"),
             source=MEASURED),
        Line("stud_face", _("stud, face along the wall"), Quantity("b_{p}", float(built.stud_face), "small_length"),
             source=MEASURED),
        Line("stud_depth", _("stud, depth through the wall"),
             Quantity("d_{p}", _number(door.stud_depth), "small_length"), source=MEASURED),
        Line("header_thickness", _("header, through the wall"),
             Quantity("t_{h}", _number(door.opening.wall.header_thickness), "small_length"), source=MEASURED),
        Line("header_depth", _("header, depth upright"),
             Quantity("d_{h}", _number(door.opening.header_depth), "small_length"), source=MEASURED),
        *(line for key, name, index, tube in _tubes(frame) for line in _tube_lines(key, name, index, tube)),
        Line("rod", _("tie rod"), Quantity("d_{r}", design.rod.diameter if design.rod else np.nan, "small_length"),
             source=BOOK),
        Line("film_thickness", _("film"), Quantity("t_{f}", film, "small_length"), source=BOOK),
        Line("embedment", _("anti-billow tubes in the ground"),
             Quantity("L", door.rules.post_embedment, "span"), source=RULES),
        Line("screws_apart", _("channel screws, apart"),
             Quantity("a_{s}", float(built.screw_spacing), "small_length"), source=RULES),
        Line("clamps_apart", _("clamps, apart as the sheet spaces them"),
             Quantity("a_{c}", float(built.clamp_spacing), "small_length"), source=RULES),
        Line("hold_downs_apart", _("hold-downs, apart"),
             Quantity("a_{h}", float(built.hold_down_spacing), "span"), source=_("door; not known means none")),
        Line("belly", _("belly of the film, of its span"), Quantity("β", strengths.belly), source=PRACTICE),
    ]  # fmt: skip
    return Group("given", _("What is given"), rows)


def geometry_group(frame: Frame) -> Group:
    """Return the spans and heights that follow from the sizes."""
    built, mid = frame.built, frame.reading.door.is_mid_bar
    sill, height, hole = float(built.threshold), float(built.height), float(built.hole_height)
    rows = [
        Line("strip", _("film between two held edges"), Quantity("h_{f}", frame.strip, "span"),
             "h_{f} = h/2" if mid else "h_{f} = h", (Quantity("h", height, "span"),)),
        Line("inner", _("inner studs, and as many inner anti-billow tubes"), Quantity("n", float(built.inner), "count"),
             source=RULES),
        Line("span_in", _("bar between studs"), Quantity("ℓ_{i}", float(_span_in(frame)), "span"),
             "ℓ_{i} = (b + b_{p})/(n + 1)",
             (Quantity("b", float(built.width), "span"), Quantity("b_{p}", float(built.stud_face), "small_length"))),
        Line("span_out", _("bar between anti-billow tubes"), Quantity("ℓ_{o}", float(built.billow_spacing), "span"),
             source=RULES),
        *_coefficients(frame),
        Line("middle", _("middle of the opening above grade"), Quantity("z_{m}", sill + height / 2, "span"),
             "z_{m} = z_{s} + h/2"),
        Line("hole", _("tie rods above grade"), Quantity("H_{o}", hole, "span"), "H_{o} = z_{s} + h + d_{h}/2"),
        Line("stud_height", _("top of a jamb stud above grade: at the frame, or at the header's upper edge"),
             Quantity("H_{j}", float(built.stud_height), "span"), source=_("shape of the tunnel over the jambs")),
    ]  # fmt: skip
    return Group("geometry", _("Spans and heights"), rows)


def _coefficients(frame: Frame) -> list[Line]:
    """Return the factors of a bar over equal spans, and the length of bar that the worst anti-billow tube carries."""
    built = frame.built
    moment, end, largest = (float(value) for value in uniform(built.inner + 1))
    span, width = float(built.billow_spacing), float(built.width)
    inset = (width - (float(built.inner) + 1) * span) / 2
    source = _("uniform load on n + 1 equal spans, stiffness method")
    return [
        Line("moment_factor", _("worst moment of the bar, over w ℓ²"), Quantity("k", moment), source=source),
        Line("reaction_factor", _("largest reaction, over w ℓ"), Quantity("r", largest), source=source),
        Line("end_factor", _("end reaction, over w ℓ"), Quantity("r_{e}", end), source=source),
        Line("reach", _("bar that leans on the worst anti-billow tube"),
             Quantity("x", max(largest * span, end * span + inset), "span"),
             "x = max[r ℓ_{o}, r_{e} ℓ_{o} + (b − (n + 1) ℓ_{o})/2]",
             (Quantity("ℓ_{o}", span, "span"), Quantity("b", width, "span"))),
    ]  # fmt: skip


def _span_in(frame: Frame) -> float:
    built = frame.built
    return float((built.width + built.stud_face) / (built.inner + 1))


def _tubes(frame: Frame) -> list[tuple[str, object, str, Tube | None]]:
    design = frame.reading.door.opening.design
    rows = [("turning", _("turning bar"), "b", design.turning_tube)]
    if frame.reading.door.is_mid_bar:
        rows.append(("sill", _("sill bar"), "s", design.sill_tube))
    return [*rows, ("billow", _("anti-billow tube"), "a", design.anti_billow_tube)]


def _tube_lines(key: str, name: object, index: str, tube: Tube | None) -> list[Line]:
    outside, wall = (tube.diameter, tube.wall) if tube else (np.nan, np.nan)
    return [
        Line(f"{key}_diameter", _("%(name)s, outside") % {"name": name},
             Quantity(f"D_{{{index}}}", outside, "small_length"), source=BOOK),
        Line(f"{key}_wall", _("%(name)s, wall") % {"name": name},
             Quantity(f"t_{{{index}}}", wall, "small_length"), source=BOOK),
    ]  # fmt: skip


def _wall(tube: Tube | None) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.asarray(tube.wall if tube else np.nan, dtype=np.float64)


def _number(value: float | None) -> float:
    return np.nan if value is None else value
