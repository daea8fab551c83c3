"""The anti-billow tube's foot in the ground, on the calculation sheet."""

from __future__ import annotations

import numpy as np
from django.utils.translation import gettext_lazy as _

from doors.calculation.frame import Frame
from doors.calculation.maths import Group, Line, Quantity
from doors.mechanics.post import BEARING, Soil
from doors.mechanics.uproot import EARTHS


def soil_group(frame: Frame) -> Group:
    """Return what push at grade makes the foot lean, and what uproots it."""
    door, built = frame.reading.door, frame.built
    tube, soil = door.opening.design.anti_billow_tube, door.soil
    foot = (
        Quantity("L", door.rules.post_embedment, "span"),
        Quantity("D_{a}", tube.diameter if tube else np.nan, "small_length"),
    )
    lateral = BEARING[soil].lateral if soil else np.nan
    rows = [
        Line("part-leans", _("push at grade at twice the soil pressure the code allows"),
             Quantity("H_{l}", float(built.soil_leans), "force"),
             "H_{l} = (2 s_{1} L/3) D_{a}/2.34 · L^2/(L + 1.09 · 0)",
             (Quantity("s_{1}", lateral, "soil_growth"), *foot),
             _("IBC 2021, Eq. 18-1 solved for the load at grade; 1806.3.4 doubles the pressure; Table 1806.2")),
        _uprooted(soil, float(built.soil_push), foot),
    ]  # fmt: skip
    return Group("soil", _("Anti-billow tube in the ground"), rows)


def _uprooted(soil: Soil | None, push: float, foot: tuple[Quantity, ...]) -> Line:
    """Return the push that tears the foot out, by the class of ground."""
    name, result = _("push at grade that uproots the tube"), Quantity("H_{R}", push, "force")
    if soil is None:
        return Line("part-soil", name, result, inputs=foot, source=_("the class of ground is not known"))
    earth = EARTHS[soil]
    if np.isfinite(earth.shear):
        return Line(
            "part-soil", name, result,
            "H_{R} = 9 c_{u} D_{a} [√(m^2 + l^2) − m],  l = L − 1.5 D_{a},  m = 3 D_{a} + l",
            (Quantity("c_{u}", earth.shear, "stress"), *foot),
            _("Broms (1964), J. Soil Mech. Found. Div. 90 (SM2), from memory"),
        )  # fmt: skip
    passive = (1 + np.sin(earth.friction)) / (1 - np.sin(earth.friction))
    return Line(
        "part-soil", name, result, "H_{R} = γ D_{a} L^3 K_{p}/(2 (0 + L)),  K_{p} = (1 + sin φ_{s})/(1 − sin φ_{s})",
        (Quantity("γ", earth.weight, "unit_weight"), Quantity("φ_{s}", earth.friction, "degrees"),
         Quantity("K_{p}", float(passive)), *foot),
        _("Broms (1964), J. Soil Mech. Found. Div. 90 (SM3), from memory; common values of the ground"),
    )  # fmt: skip
