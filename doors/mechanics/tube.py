"""Round tubes: section properties from the real wall, and what a trade gauge may mean."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.sizing.quantity import Floats, require

STEEL_MODULUS = 200e9  # Pa, EN 1993-1-1:2005, 3.2.6, rounds 210; AISC 360 uses 29 000 ksi = 199.95 GPa, taken here
STEEL_DENSITY = 7850.0  # kg/m³, EN 1991-1-1:2002, Table A.4 gives 77.0 to 78.5 kN/m³
STANDARD_GRAVITY = 9.80665  # m/s², ISO 80000-3:2006
TUBE_YIELD = (
    345e6  # Pa, 50 ksi: cold-formed galvanised frame tube, from memory (ASTM F1043 group IC); a farm's to change
)
DESIGN_FACTOR = 1.67  # -, AISC 360-16, F1: safety factor on yielding in bending (ASD)


@dataclass(frozen=True, slots=True)
class Section:
    """Properties of a round tube about any axis through its middle; every field has the inputs' shape."""

    area: Floats  # m²
    second_moment: Floats  # m⁴
    modulus: Floats  # m³, elastic
    plastic_modulus: Floats  # m³
    gyration: Floats  # m
    weight: Floats  # N/m


def section(diameter: ArrayLike, wall: ArrayLike, *, density: float = STEEL_DENSITY) -> Section:
    r"""Return the section properties of a round tube.

    Parameters
    ----------
    diameter, wall : array_like, shape (...)
        Outer diameter and real wall thickness. [m]
    density : float, default steel
        [kg/m³]

    Returns
    -------
    Section
        Of the inputs' shape. [SI]

    Raises
    ------
    SizingError
        If the wall is not above zero or not thinner than half the diameter.

    Notes
    -----
    With inner diameter :math:`d = D - 2t`: :math:`A = \pi (D^2-d^2)/4`, :math:`I = \pi (D^4-d^4)/64`,
    :math:`S = 2I/D`, :math:`Z = (D^3-d^3)/6`, :math:`r = \sqrt{I/A}`. The nominal wall is used; some design
    tables reduce it by 7 %.
    """
    require("wall", wall, "above", 0.0)
    outer, thickness = np.asarray(diameter, dtype=np.float64), np.asarray(wall, dtype=np.float64)
    require("wall", thickness, "below", outer / 2)
    inner = outer - 2 * thickness
    area = np.pi / 4 * (outer**2 - inner**2)
    second = np.pi / 64 * (outer**4 - inner**4)
    return Section(
        area=np.asarray(area),
        second_moment=np.asarray(second),
        modulus=np.asarray(2 * second / outer),
        plastic_modulus=np.asarray((outer**3 - inner**3) / 6),
        gyration=np.asarray(np.sqrt(second / area)),
        weight=np.asarray(area * density * STANDARD_GRAVITY),
    )
