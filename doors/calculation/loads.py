"""Loads on the calculation sheet: gust, pressures and coefficients, and what the film makes of them."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext_lazy as _

from doors.calculation.frame import Frame
from doors.calculation.maths import Group, Line, Quantity
from doors.mechanics.built import State
from doors.mechanics.film import FILM_MODULUS
from doors.mechanics.membrane import arc
from doors.mechanics.pressure_asce import exposure_coefficient
from doors.mechanics.walls_asce import internal_coefficient, wall_coefficients
from doors.mechanics.wind_data import HIGHEST_ROOF, REFERENCE_HEIGHT, Exposure
from doors.wind.path import load_path
from doors.wind.reading import StateResult
from doors.words.wind import STATES


def load_group(frame: Frame) -> Group:
    """Return the gust looked at and the pressures it brings."""
    reading, built = frame.reading, frame.built
    area = float(built.width * built.height)
    push, suction = (abs(float(value)) for value in wall_coefficients(area))
    inside = float(internal_coefficient(reading.door.enclosure))
    worst, q = reading.coefficients, reading.velocity_pressure
    coefficient = {"c_{i}": float(worst.inward), "c_{o}": float(worst.outward)}
    wall = "ASCE 7-16, Fig. 30.3-1, zone 4"
    rows = [
        Line("gust", _("gust at the door looked at"), Quantity("V", reading.gust, "speed"),
             source=_("chosen on the page")),
        Line("velocity", _("velocity pressure"), Quantity("q", q, "pressure"), "q = 0.613 V^2  (V in m/s, q in Pa)",
             (Quantity("V", reading.gust, "speed"),), "ASCE 7-16, Eq. (26.10-1.si), other factors 1"),
        Line("area", _("effective wind area, the opening's"), Quantity("A", area, "area"), "A = b h",
             source=_("simplified: the whole opening; a part's own area (ASCE 7-16, 26.2) is smaller, so worse")),
        Line("push", _("greatest external coefficient, pressing"), Quantity("(GC_{p})^{+}", push),
             "straight over log A from 1.0 at 10 ft^2 to 0.7 at 500 ft^2", (Quantity("A", area, "area"),), wall),
        Line("suction", _("greatest external coefficient, sucking"), Quantity("|(GC_{p})^{−}|", suction),
             "straight over log A from 1.1 at 10 ft^2 to 0.8 at 500 ft^2", (Quantity("A", area, "area"),), wall),
        Line("inside", _("internal coefficient, either sign"), Quantity("(GC_{pi})", inside),
             source=_("ASCE 7-16, Table 26.13-1, by how open the rest of the house is")),
        Line("inward", _("net coefficient, pushed in, wind from the worst direction"),
             Quantity("c_{i}", coefficient["c_{i}"]), "c_{i} = (GC_{p})^{+} + (GC_{pi})", source="ASCE 7-16, 30.3"),
        Line("outward", _("net coefficient, sucked out, wind from the worst direction"),
             Quantity("c_{o}", coefficient["c_{o}"]), "c_{o} = |(GC_{p})^{−}| + (GC_{pi})", source="ASCE 7-16, 30.3"),
        *(
            Line(f"net_{symbol[3]}", name, Quantity(f"p_{{{symbol[3]}}}", q * value, "pressure"),
                 f"p_{{{symbol[3]}}} = {symbol} q", (Quantity(symbol, value), Quantity("q", q, "pressure")))
            for (symbol, value), name in zip(
                coefficient.items(), (_("net pressure, pushed in"), _("net pressure, sucked out")), strict=True
            )
        ),
        *_forecast(frame),
    ]  # fmt: skip
    return Group(
        "loads", _("Wind"), rows,
        _("The gust is a 3 s gust at the door itself: its site is in it, so that no exposure is counted twice."),
    )  # fmt: skip


def _forecast(frame: Frame) -> list[Line]:
    reading = frame.reading
    door = reading.door
    head = min((door.opening.threshold or 0.0) + door.opening.rough_height, HIGHEST_ROOF)
    here = float(exposure_coefficient(head, door.exposure))
    there = float(exposure_coefficient(REFERENCE_HEIGHT, Exposure.C))
    table = "ASCE 7-22, Tables 26.10-1 and 26.11-1"
    return [
        Line("exposure", _("exposure coefficient at the door's head, exposure %(exposure)s") % {
            "exposure": str(door.exposure)}, Quantity("K_{z}", here), "K_{z} = 2.41 (z/z_{g})^{2/α}",
            (Quantity("z", head, "span"),), table),
        Line("reference", _("the same 10 m up in open country"), Quantity("K_{10}", there), "", (), table),
        Line("forecast", _("forecast gust that brings it: 3 s, 10 m up, open country"),
             Quantity("V_{10}", reading.forecast(reading.gust), "speed"), "V_{10} = V/√(K_{z}/K_{10})",
             (Quantity("V", reading.gust, "speed"), Quantity("K_{z}", here), Quantity("K_{10}", there)),
             _("pressure grows with the square of speed; no windbreak or hill counted")),
    ]  # fmt: skip


def film_group(frame: Frame, state: StateResult) -> Group:
    """Return what a panel of film does to its edges in a closing state, for a net pressure of 1 Pa."""
    panel, built = frame.panel(state.state), frame.built
    sides_held = state.state != State.CLOSED
    width, strip, belly = float(built.width), frame.strip, float(built.belly)
    sag = belly * (min(strip, width) if sides_held else strip)
    down = float(panel.down)
    heights = (Quantity("h_{f}", strip, "span"), Quantity("b", width, "span"))
    radius = float(arc(strip, sag).radius)
    rows = [
        Line("sag", _("belly taken for the pulls"), Quantity("s", sag, "small_length"),
             "s = β min(h_{f}, b)" if sides_held else "s = β h_{f}", (Quantity("β", belly), *heights)),
        Line("down", _("share carried up and down"), Quantity("κ", down),
             "κ = b^4/(b^4 + h_{f}^4)" if sides_held else "κ = 1: the sides are loose", heights if sides_held else (),
             _("crossing strips of one belly, as Grashof and Rankine for slabs; planning rule")),
        Line("radius", _("radius of the upright strip"), Quantity("R", radius, "span"), "R = (h_{f}^2/4 + s^2)/(2 s)",
             source=_("circular arc")),
        *_sides(frame, panel_sides=sides_held, sag=sag),
        Line("edge", _("film leans on header and bars, from one panel"), Quantity("e", float(panel.edge), "line_rate"),
             "e = κ h_{f}/2", (Quantity("κ", down), heights[0])),
        Line("along", _("film pulls header down and lower bar up"),
             Quantity("u", float(panel.along), "line_rate"), "u = κ (R − s)",
             (Quantity("R", radius, "span"), Quantity("s", sag, "small_length"))),
        Line("pull", _("film's whole pull on its upper and lower edge"),
             Quantity("P", float(panel.pull), "line_rate"), "P = κ R"),
        *_at_sides(float(panel.side), float(panel.across), sides_held=sides_held),
        Line("tension", _("greatest pull in the film"), Quantity("T", float(panel.tension), "line_rate"),
             "T = max[κ R, (1 − κ) R_{b}]" if sides_held else "T = R"),
        *_belly(frame, state, sag),
    ]  # fmt: skip
    heading = _("Film %(state)s, for 1 Pa") % {"state": str(STATES[state.state]).lower()}
    keyed = [replace(line, key=f"film-{state.state}-{line.key}") for line in rows]
    return Group(f"film-{state.state}", heading, keyed)


def _sides(frame: Frame, *, panel_sides: bool, sag: float) -> list[Line]:
    if not panel_sides:
        return []
    across = float(arc(frame.built.width, sag).radius)
    return [Line("radius_across", _("radius of the level strip"), Quantity("R_{b}", across, "span"),
                 "R_{b} = (b^2/4 + s^2)/(2 s)", source=_("circular arc"))]  # fmt: skip


def _at_sides(side: float, across: float, *, sides_held: bool) -> list[Line]:
    if not sides_held:
        return []
    return [
        Line("side", _("film leans on each jamb"), Quantity("f", side, "line_rate"), "f = (1 − κ) b/2"),
        Line("across", _("film pulls each jamb inward along the wall"), Quantity("g", across, "line_rate"),
             "g = (1 − κ)(R_{b} − s)"),
    ]  # fmt: skip


def _belly(frame: Frame, state: StateResult, sag: float) -> list[Line]:
    """Return the belly that is drawn: slack film that stretches under the gust looked at."""
    film = frame.reading.door.opening.design.film
    path = load_path(frame.reading, state)
    if film is None or path.belly is None:
        return []
    slack = float(arc(frame.strip, frame.reading.door.strengths.belly * frame.strip).strain)
    return [
        Line("belly_drawn", _("belly under the gust, as drawn"), Quantity("s_{V}", path.belly, "small_length"),
             "E_{f} t_{f} (ℓ/ℓ_{0} − 1) = κ p R_{V},  ℓ_{0} = (1 + k) h_{f},  s_{V} from the arc ℓ over h_{f}",
             (Quantity("E_{f}", FILM_MODULUS, "stress"), Quantity("t_{f}", film.thickness, "small_length"),
              Quantity("k", slack), Quantity("p", path.pressure, "pressure")),
             _("elastic strip; modulus of polyethylene from memory (ASTM D882)")),
    ]  # fmt: skip
