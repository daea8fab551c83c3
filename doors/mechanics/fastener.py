"""What self-drilling screws in thin steel hold."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from doors.sizing.quantity import INCH, POUND_FORCE, Floats, require

PSI = POUND_FORCE / INCH**2  # Pa
KSI = 1000 * PSI  # Pa

SCREW_OMEGA = 3.0  # -, AISI S100-16, J4: allowable strength is nominal over this (ASD)
SCREW_PHI = 0.5  # -, AISI S100-16, J4: design strength is nominal times this (LRFD)
THINNEST_SCREW, THICKEST_SCREW = 0.08 * INCH, 0.25 * INCH  # m, AISI S100-16, J4
SCREW_SPACING, SCREW_EDGE = 3.0, 1.5  # diameters, AISI S100-16, J4.1 and J4.2
LEAST_HEAD, MOST_HEAD = 5 / 16 * INCH, 3 / 4 * INCH  # m, AISI S100-16, J4.4 and J4.4.2, from memory
SHEET_ULTIMATE = 45 * KSI  # Pa, ASTM A653 SS grade 33, from memory; unknown sheet: no more than 33 ksi


def screw_diameter(number: ArrayLike) -> Floats:
    """Return the diameter of a screw by its trade number; a 1/4 in screw has none.

    Parameters
    ----------
    number : array_like, shape (...)
        From 0 to 24. [-]

    Returns
    -------
    ndarray, shape (...)
        0.060 in and 0.013 in for each number. [m]

    Raises
    ------
    SizingError
        If the number is outside its range.

    References
    ----------
    ASME B18.6.4, nominal sizes.
    """
    require("number", number, "at least", 0.0)
    require("number", number, "at most", 24.0)
    return np.asarray((0.060 + 0.013 * np.asarray(number, dtype=np.float64)) * INCH)


def screw_shear(
    diameter: ArrayLike,
    near: ArrayLike,
    far: ArrayLike,
    *,
    near_ultimate: ArrayLike = SHEET_ULTIMATE,
    far_ultimate: ArrayLike = SHEET_ULTIMATE,
    spacing: ArrayLike = np.nan,
    edge: ArrayLike = np.nan,
) -> Floats:
    r"""Return the nominal shear of a screw through two sheets: tilting and bearing.

    Parameters
    ----------
    diameter : array_like, shape (...)
        Of the screw, from 0.08 to 0.25 in. [m]
    near, far : array_like, shape (...)
        Thickness, without zinc, of the sheet under the head and of the other. [m]
    near_ultimate, far_ultimate : array_like, default SHEET_ULTIMATE
        Their tensile strengths. [Pa]
    spacing, edge : array_like, default not known
        Between screws, and from a screw to the edge of a sheet; at least 3 and 1.5 diameters. [m]

    Returns
    -------
    ndarray, shape (...)
        Nominal strength: divide by ``SCREW_OMEGA`` or multiply by ``SCREW_PHI``. [N]

    Raises
    ------
    SizingError
        If the diameter, the spacing or the edge is outside its limits, or another input is not above zero.

    Notes
    -----
    :math:`t_2 \le t_1`: the least of :math:`4.2\sqrt{t_2^3 d}F_{u2}`, :math:`2.7 t_1 d F_{u1}` and
    :math:`2.7 t_2 d F_{u2}`; :math:`t_2 \ge 2.5 t_1`: of the last two; between, in a straight line. The
    screw's own shear strength is the maker's to state and may be less.

    References
    ----------
    AISI S100-16, J4.3.1 (S100-12, E4.3.1).
    """
    _check_screw(diameter, spacing, edge)
    _check_sheets(near=near, far=far, near_ultimate=near_ultimate, far_ultimate=far_ultimate)
    diameter, near, far, near_ultimate, far_ultimate = (
        np.asarray(value, dtype=np.float64) for value in (diameter, near, far, near_ultimate, far_ultimate)
    )
    bearing = np.minimum(2.7 * near * diameter * near_ultimate, 2.7 * far * diameter * far_ultimate)
    tilting = np.minimum(4.2 * np.sqrt(far**3 * diameter) * far_ultimate, bearing)
    share = np.clip((far / near - 1) / 1.5, 0, 1)
    return np.asarray(tilting + share * (bearing - tilting))


def screw_pull_out(
    diameter: ArrayLike,
    thickness: ArrayLike,
    *,
    ultimate: ArrayLike = SHEET_ULTIMATE,
    spacing: ArrayLike = np.nan,
    edge: ArrayLike = np.nan,
) -> Floats:
    r"""Return the nominal force that draws a screw's thread out of the sheet it bites.

    Parameters
    ----------
    diameter, spacing, edge : array_like, shape (...)
        As in `screw_shear`. [m]
    thickness : array_like, shape (...)
        Of the sheet, without zinc, or the depth the full thread enters it if that is less. [m]
    ultimate : array_like, default SHEET_ULTIMATE
        Tensile strength of the sheet. [Pa]

    Returns
    -------
    ndarray, shape (...)
        Nominal strength, :math:`0.85 t_c d F_{u2}`. [N]

    Raises
    ------
    SizingError
        As `screw_shear`.

    References
    ----------
    AISI S100-16, J4.4.1 (S100-12, E4.4.1). Later editions adjust it for thickness, from memory.
    """
    _check_screw(diameter, spacing, edge)
    _check_sheets(thickness=thickness, ultimate=ultimate)
    diameter, thickness, ultimate = (np.asarray(value, dtype=np.float64) for value in (diameter, thickness, ultimate))
    return np.asarray(0.85 * thickness * diameter * ultimate)


def screw_pull_over(
    head: ArrayLike,
    thickness: ArrayLike,
    *,
    ultimate: ArrayLike = SHEET_ULTIMATE,
    least_head: float = LEAST_HEAD,
) -> Floats:
    r"""Return the nominal force that draws the sheet over the head of a screw or its washer.

    Parameters
    ----------
    head : array_like, shape (...)
        Diameter of head or washer; what goes beyond 3/4 in does not count. [m]
    thickness : array_like, shape (...)
        Of the sheet under the head, without zinc. [m]
    ultimate : array_like, default SHEET_ULTIMATE
        Tensile strength of the sheet. [Pa]
    least_head : float, default 5/16 in
        What the standard asks of a screw in tension; tables of small screws go below. [m]

    Returns
    -------
    ndarray, shape (...)
        Nominal strength, :math:`1.5 t_1 d_w F_{u1}`; half of it where the pull is off the screw's axis. [N]

    Raises
    ------
    SizingError
        If the head is too small, or thickness or strength not above zero.

    References
    ----------
    AISI S100-16, J4.4.2 (S100-12, E4.4.2).
    """
    require("head", head, "at least", least_head)
    _check_sheets(thickness=thickness, ultimate=ultimate)
    head, thickness, ultimate = (np.asarray(value, dtype=np.float64) for value in (head, thickness, ultimate))
    return np.asarray(1.5 * thickness * np.minimum(head, MOST_HEAD) * ultimate)


def _check_screw(diameter: ArrayLike, spacing: ArrayLike, edge: ArrayLike) -> None:
    require("diameter", diameter, "at least", THINNEST_SCREW)
    require("diameter", diameter, "at most", THICKEST_SCREW)
    require("spacing", spacing, "at least", SCREW_SPACING * np.asarray(diameter))
    require("edge", edge, "at least", SCREW_EDGE * np.asarray(diameter))


def _check_sheets(**values: ArrayLike) -> None:
    for name, value in values.items():
        require(name, value, "above", 0.0)
