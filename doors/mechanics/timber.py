"""What a wood jamb or header holds: screws pulled out of it, washers pressed into it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics.fastener import PSI
from doors.sizing.quantity import INCH, Floats, require

WIND_DURATION = 1.6  # -, NDS 2018, Table 2.3.2, load duration factor; not for bearing across the grain
WET_WITHDRAWAL = 0.7  # -, NDS 2018, Table 11.3.3, wet in service, from memory
WET_BEARING = 0.67  # -, NDS Supplement 2018, Table 4A, wet in service, from memory
WITHDRAWAL = 2850 * PSI  # Pa, NDS 2018, Eq. 12.2-2
LIGHTEST_WOOD, HEAVIEST_WOOD = 0.31, 0.73  # -, NDS 2018, Table 12.2B, range of specific gravity, from memory
THINNEST_WOOD_SCREW, THICKEST_WOOD_SCREW = 0.138 * INCH, 0.372 * INCH  # m, NDS 2018, Table 12.2B, No. 6 to 24
BEARING_SPREAD, SHORT_BEARING, CLEAR_OF_END = 0.375 * INCH, 6 * INCH, 3 * INCH  # m, NDS 2018, 3.10.4

# m, actual width of 2 in lumber: factor on bending; NDS Supplement 2018, Table 4A, transcribed; straight between
SIZES, SIZE_FACTORS = (
    tuple(inches * INCH for inches in (3.5, 4.5, 5.5, 7.25, 9.25, 11.25, 13.25)),
    (1.5, 1.4, 1.3, 1.2, 1.1, 1.0, 0.9),
)


@dataclass(frozen=True, slots=True)
class Wood:
    """A group of species."""

    gravity: float  # -, oven-dry
    bearing: float  # Pa, reference compression perpendicular to grain


WOODS = {  # NDS Supplement 2018, Table 4A and 4B, and NDS 2018, Table 12.3.3A; from memory
    "spruce-pine-fir": Wood(0.42, 425 * PSI),
    "hem-fir": Wood(0.43, 405 * PSI),
    "douglas fir-larch": Wood(0.50, 625 * PSI),
    "southern pine": Wood(0.55, 565 * PSI),
}


def size_factor(width: ArrayLike) -> Floats:
    """Return what the bending strength of sawn lumber is multiplied by for its size.

    Parameters
    ----------
    width : array_like, shape (...)
        The larger side of its section. [m]

    Returns
    -------
    ndarray, shape (...)
        1.5 up to 3 1/2 in, 1 at 11 1/4 in, 0.9 from 13 1/4 in on. [-]

    Raises
    ------
    SizingError
        If the width is not above zero.

    Notes
    -----
    Lumber 2 in and 3 in thick, No. 2 and better. Bent flatwise it may take up to a fifth more, left out here.

    References
    ----------
    NDS Supplement 2018, Table 4A, size factor.
    """
    require("width", width, "above", 0.0)
    return np.asarray(np.interp(np.asarray(width, dtype=np.float64), SIZES, SIZE_FACTORS))


def wood_screw_withdrawal(
    diameter: ArrayLike, penetration: ArrayLike, gravity: ArrayLike, *, adjustment: ArrayLike = 1.0
) -> Floats:
    r"""Return the force that a wood screw in side grain may be pulled with.

    Parameters
    ----------
    diameter : array_like, shape (...)
        Of the screw, No. 6 to No. 24. [m]
    penetration : array_like, shape (...)
        Of its thread into the member that holds it. [m]
    gravity : array_like, shape (...)
        Specific gravity of the wood, oven-dry, from 0.31 to 0.73. [-]
    adjustment : array_like, default 1
        Product of the factors that apply, such as ``WIND_DURATION * WET_WITHDRAWAL``. [-]

    Returns
    -------
    ndarray, shape (...)
        Allowable withdrawal. [N]

    Raises
    ------
    SizingError
        If diameter, gravity or adjustment is outside its limits or the penetration negative.

    Notes
    -----
    :math:`2850\,\mathrm{psi}\; G^2 D p` times the adjustment. Never in end grain. The screw's own tensile
    strength and the head drawn through a side member are checks of their own.

    References
    ----------
    NDS 2018, 12.2.2, Eq. 12.2-2 (ASD).
    """
    require("diameter", diameter, "at least", THINNEST_WOOD_SCREW)
    require("diameter", diameter, "at most", THICKEST_WOOD_SCREW)
    require("penetration", penetration, "at least", 0.0)
    require("gravity", gravity, "at least", LIGHTEST_WOOD)
    require("gravity", gravity, "at most", HEAVIEST_WOOD)
    require("adjustment", adjustment, "above", 0.0)
    diameter, penetration, gravity, adjustment = (
        np.asarray(value, dtype=np.float64) for value in (diameter, penetration, gravity, adjustment)
    )
    return np.asarray(WITHDRAWAL * gravity**2 * diameter * penetration * adjustment)


def washer_bearing(
    washer: ArrayLike,
    hole: ArrayLike,
    bearing: ArrayLike,
    *,
    end_distance: ArrayLike = 0.0,
    adjustment: ArrayLike = 1.0,
) -> Floats:
    r"""Return the force that a round washer may press into wood across its grain.

    Parameters
    ----------
    washer, hole : array_like, shape (...)
        Outer diameter of the washer; diameter of the hole in the wood. [m]
    bearing : array_like, shape (...)
        Reference compression across the grain, such as ``WOODS["hem-fir"].bearing``. [Pa]
    end_distance : array_like, default 0
        From the washer to the end of the member. [m]
    adjustment : array_like, default 1
        Product of the factors that apply, such as ``WET_BEARING``; wind adds nothing here. [-]

    Returns
    -------
    ndarray, shape (...)
        Allowable force. [N]

    Raises
    ------
    SizingError
        If hole, bearing or adjustment is not above zero, the washer is not wider than the hole, or the end
        distance is negative.

    Notes
    -----
    :math:`F_{c\perp} C_b \frac{\pi}{4}(D^2 - d^2)` times the adjustment. The wood beside a washer helps:
    :math:`C_b = (D + 3/8\,\mathrm{in})/D`, but 1 from 6 in on, and within 3 in of the end. The washer must
    be thick enough not to dish. The reference is set for 0.04 in of crushing, not for failure.

    References
    ----------
    NDS 2018, 3.10.2 and 3.10.4.
    """
    require("hole", hole, "above", 0.0)
    require("washer", washer, "above", hole)
    require("bearing", bearing, "above", 0.0)
    require("end_distance", end_distance, "at least", 0.0)
    require("adjustment", adjustment, "above", 0.0)
    washer, hole, bearing, end_distance, adjustment = (
        np.asarray(value, dtype=np.float64) for value in (washer, hole, bearing, end_distance, adjustment)
    )
    helped = (washer < SHORT_BEARING) & (end_distance >= CLEAR_OF_END)
    spread = np.where(helped, 1 + BEARING_SPREAD / washer, 1.0)
    return np.asarray(bearing * spread * np.pi / 4 * (washer**2 - hole**2) * adjustment)
