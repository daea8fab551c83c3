"""Crank and sag on the calculation sheet."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from doors.calculation.maths import Group, Line, Quantity
from doors.mechanics.tube import STANDARD_GRAVITY, STEEL_MODULUS
from doors.wind.cranking import CrankReading
from doors.wind.inputs import DoorInWind
from doors.words.strengths import PRACTICE


def crank_group(door: DoorInWind, crank: CrankReading) -> Group:
    """Return weights, torque, force on the handle, turns and time."""
    weights, effort, winding = crank.weights, crank.crank, door.figures.winding
    if weights is None:
        return Group("crank", _("Crank"), [], _("Tubes and film are needed for the weights."))
    rows = [
        Line("crank-bar_weight", _("turning bar with its clamps and the gearbox on its end"),
             Quantity("W_{b}", float(weights.turning_bar), "force"),
             "W_{b} = w_{b} ℓ_{b} + 0.03 kg g n_{c} + G_{g}",
             (Quantity("G_{g}", door.strengths.gearbox_mass * STANDARD_GRAVITY, "force"),), PRACTICE),
        Line("crank-film_weight", _("film, per height"), Quantity("ω", float(weights.film_per_height), "line_load"),
             "ω = ρ_{f} g t_{f} B", source=_("density of polyethylene, from memory")),
    ]  # fmt: skip
    if door.is_mid_bar:
        rows.append(Line("crank-sill_weight", _("sill bar with channel and clamps"),
                         Quantity("W_{s}", float(weights.sill_bar), "force"),
                         "W_{s} = (w_{s} + 0.35 kg/m g) ℓ_{s} + 0.03 kg g n_{c}", source=PRACTICE))  # fmt: skip
    if effort is None or door.opening.design.gear_ratio is None:
        return Group("crank", _("Crank"), rows, _("The drive is not chosen: no effort can be worked out."))
    values, ratio = door.strengths, door.opening.design.gear_ratio
    pull = "F = W_{b} + 2 W_{s} + ω h" if door.is_mid_bar else "F = W_{b} + ω (film wound)"
    rows += [
        Line("pull", _("force along the bar's path, closed"), Quantity("F_{1}", float(effort.pull_closed), "force"),
             pull, source=_("energy balance of a small turn")),
        Line("pull_open", _("the same, open"), Quantity("F_{2}", float(effort.pull_open), "force"), pull),
        Line("torque", _("torque at the bar, closed"), Quantity("T_{1}", float(effort.torque_closed), "moment"),
             "T_{1} = F_{1} D_{1}/2", (Quantity("D_{1}", float(winding.diameter_closed), "small_length"),)),
        Line("torque_open", _("torque at the bar, open"), Quantity("T_{2}", float(effort.torque_open), "moment"),
             "T_{2} = F_{2} D_{2}/2", (Quantity("D_{2}", float(winding.diameter_open), "small_length"),)),
        Line("handle", _("force on the handle"), Quantity("F_{c}", float(effort.handle_force), "force"),
             "F_{c} = max(T_{1}, T_{2})/(i r η)",
             (Quantity("i", ratio), Quantity("r", values.handle_radius, "small_length"),
              Quantity("η", values.efficiency)),
             _("i of the drive chosen, η common practice; 22 to 45 N suit a hand on a crank of 125 to 200 mm: "
               "ergonomics tables, secondary source")),
        Line("work", _("work put into the door"), Quantity("A", float(effort.work), "energy"),
             "A = (F_{1} + F_{2})/2 · rise", (Quantity("rise", float(winding.bar_rise), "span"),)),
        Line("turns", _("turns of the crank"), Quantity("N_{c}", float(winding.turns_to_open) * ratio),
             "N_{c} = i (D_{2} − D_{1})/(2 n t_{f})", (Quantity("n", 2.0 if door.is_mid_bar else 1.0, "count"),)),
        Line("seconds", _("time to open, seconds"), Quantity("τ", float(effort.seconds)), "τ = N_{c}/pace",
             (Quantity("pace", values.turns_per_second * 60),), PRACTICE),
        Line("locks", _("runs back when let go: 1 yes, 0 no"), Quantity("η > 1/2", float(effort.runs_back), "count"),
             "driven backwards: 2 − 1/η ≤ 0 holds", (Quantity("η", values.efficiency),),
             _("power screws, machine design textbooks, from memory")),
    ]  # fmt: skip
    return Group("crank", _("Crank"), rows)


def sag_group(door: DoorInWind, crank: CrankReading) -> Group:
    """Return the sag of the turning bar at the drive."""
    if crank.sag is None or crank.stiffness is None or crank.bar_weight is None or crank.overhang is None:
        return Group("sag", _("Sag at the drive"), [], _("Drive side, wall, offset and tube are needed."))
    loads = (
        Quantity("E", STEEL_MODULUS, "stress"),
        Quantity("E I", crank.stiffness, "stiffness"),
        Quantity("w", crank.bar_weight, "line_load"),
        Quantity("G_{g}", door.strengths.gearbox_mass * STANDARD_GRAVITY, "force"),
        Quantity("ℓ", crank.overhang, "span"),
    )
    method = _("beam by the stiffness method; film holds the bar up at each clamp and goes slack where it would push")
    rows = [
        Line("sag_bare", _("sag at the gearbox without strip"), Quantity("δ_{0}", crank.sag.tip, "small_length"),
             "E I y'''' = w, with G_{g} at the end", loads, method),
        Line("sag_strip", _("sag at the gearbox with the strip"),
             Quantity("δ_{1}", crank.sag.tip_with_strip, "small_length"), "", (), method),
        Line("moment", _("moment at the last clamp without strip"), Quantity("M_{0}", crank.sag.moment, "moment"),
             "M_{0} = w ℓ^2/2 + G_{g} ℓ_{g}", (), _("cantilever")),
        Line("moment_strip", _("largest moment with the strip"),
             Quantity("M_{1}", crank.sag.moment_with_strip, "moment"), "", (), method),
    ]  # fmt: skip
    return Group("sag", _("Sag at the drive"), rows)
