"""Threaded rods: sections, tension, and bending where they stand off a header."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics.fastener import KSI
from doors.sizing.quantity import Floats, require

ROD_YIELD = 36 * KSI  # Pa, ASTM F1554 grade 36, from memory
ROD_ULTIMATE = 60 * KSI  # Pa, ASTM A307 grade A, from memory
ROD_OMEGA = 1.67  # -, AISC 360-16, D2 and F1: on yielding, ASD
BOLT_OMEGA = 2.0  # -, AISC 360-16, J3.6: on rupture, ASD
THREADED_SHARE = 0.75  # -, AISC 360-16, Table J3.2: nominal tensile stress on the gross area, of the ultimate


@dataclass(frozen=True, slots=True)
class ThreadForm:
    """How much of its pitch a thread takes from the diameter."""

    stress: float  # -, for the tensile stress area
    root: float  # -, for the root


UNIFIED = ThreadForm(0.9743, 1.299038)  # ASME B1.1, stress area; root of a sharp thread, on the safe side
METRIC = ThreadForm(0.938194, 1.226869)  # ISO 898-1 and ISO 68-1, root diameter d3


@dataclass(frozen=True, slots=True)
class Thread:
    """Sections of a threaded rod; every field has the shape of the inputs."""

    gross_area: Floats  # m²
    tensile_area: Floats  # m²
    root_area: Floats  # m²
    root_modulus: Floats  # m³, elastic, of the root


@dataclass(frozen=True, slots=True)
class RodStrength:
    """Tension a rod carries; every field has the shape of the inputs."""

    at_yield: Floats  # N
    at_breaking: Floats  # N
    allowable: Floats  # N


def thread(diameter: ArrayLike, pitch: ArrayLike, *, form: ThreadForm = UNIFIED) -> Thread:
    r"""Return the sections of a threaded rod.

    Parameters
    ----------
    diameter, pitch : array_like, shape (...)
        Nominal diameter; distance from thread to thread, an inch over their number per inch. [m]
    form : ThreadForm, default UNIFIED
        Or METRIC.

    Returns
    -------
    Thread
        Of the inputs' shape.

    Raises
    ------
    SizingError
        If diameter or pitch is not above zero, or the pitch is half the diameter or more.

    Notes
    -----
    :math:`A_t = \frac{\pi}{4}(D - 0.9743p)^2`, root :math:`D - 1.299p`; metric
    :math:`\frac{\pi}{4}(D - 0.9382p)^2` and :math:`D - 1.2269p`.

    References
    ----------
    ASME B1.1, Appendix B; ISO 898-1:2013, 9.1.6.1, from memory.
    """
    require("pitch", pitch, "above", 0.0)
    diameter, pitch = np.asarray(diameter, dtype=np.float64), np.asarray(pitch, dtype=np.float64)
    require("pitch", pitch, "below", diameter / 2)
    root = diameter - form.root * pitch
    return Thread(
        gross_area=np.asarray(np.pi / 4 * diameter**2 + 0 * pitch),
        tensile_area=np.asarray(np.pi / 4 * (diameter - form.stress * pitch) ** 2),
        root_area=np.asarray(np.pi / 4 * root**2),
        root_modulus=np.asarray(np.pi / 32 * root**3),
    )


def rod_strength(
    sections: Thread, *, yield_stress: ArrayLike = ROD_YIELD, ultimate: ArrayLike = ROD_ULTIMATE
) -> RodStrength:
    r"""Return the tension a threaded rod carries.

    Parameters
    ----------
    sections : Thread
        Of the rod.
    yield_stress, ultimate : array_like, default ROD_YIELD, ROD_ULTIMATE
        Of its steel. [Pa]

    Returns
    -------
    RodStrength
        Of the inputs' shape.

    Raises
    ------
    SizingError
        If the yield stress is not above zero or the ultimate below it.

    Notes
    -----
    At yield :math:`F_y A_t`, at breaking :math:`F_u A_t`, allowable :math:`0.75 F_u A_g / 2`.

    References
    ----------
    AISC 360-16, J3.6 and Table J3.2 (ASD).
    """
    require("yield_stress", yield_stress, "above", 0.0)
    require("ultimate", ultimate, "at least", yield_stress)
    yield_stress, ultimate = np.asarray(yield_stress, dtype=np.float64), np.asarray(ultimate, dtype=np.float64)
    return RodStrength(
        at_yield=np.asarray(yield_stress * sections.tensile_area),
        at_breaking=np.asarray(ultimate * sections.tensile_area),
        allowable=np.asarray(THREADED_SHARE * ultimate * sections.gross_area / BOLT_OMEGA),
    )


def rod_stress(sections: Thread, tension: ArrayLike, side_load: ArrayLike, lever: ArrayLike) -> Floats:
    r"""Return the largest stress in a rod that is pulled, and pushed sideways off the header it sticks out of.

    Parameters
    ----------
    sections : Thread
        Of the rod.
    tension : array_like, shape (...)
        Along the rod. [N]
    side_load, lever : array_like, shape (...)
        Load across the rod; its distance from the face of the header. [N, m]

    Returns
    -------
    ndarray, shape (...)
        :math:`\sigma = T/A_t + Ve/S`, to be kept below yield over ``ROD_OMEGA``. [Pa]

    Raises
    ------
    SizingError
        If tension, load or lever is negative.

    Notes
    -----
    A cantilever, fixed where nut and washer clamp it to the header. The modulus is that of the root, which is
    safe: between threads the rod is thicker. Straight elastic theory; no impact, no worn thread.
    """
    for name, value in (("tension", tension), ("side_load", side_load), ("lever", lever)):
        require(name, value, "at least", 0.0)
    tension, side_load, lever = (np.asarray(value, dtype=np.float64) for value in (tension, side_load, lever))
    return np.asarray(tension / sections.tensile_area + side_load * lever / sections.root_modulus)


def rod_side_load(
    sections: Thread, tension: ArrayLike, lever: ArrayLike, *, stress: ArrayLike = ROD_YIELD / ROD_OMEGA
) -> Floats:
    r"""Return the side load that brings a pulled rod to a stress: the inverse of `rod_stress`.

    Parameters
    ----------
    sections : Thread
        Of the rod.
    tension, lever : array_like, shape (...)
        As in `rod_stress`. [N, m]
    stress : array_like, default ROD_YIELD over ROD_OMEGA
        [Pa]

    Returns
    -------
    ndarray, shape (...)
        Load across the rod; 0 where the tension alone is too much. [N]

    Raises
    ------
    SizingError
        If the tension is negative, or lever or stress not above zero.
    """
    require("tension", tension, "at least", 0.0)
    require("lever", lever, "above", 0.0)
    require("stress", stress, "above", 0.0)
    tension, lever, stress = (np.asarray(value, dtype=np.float64) for value in (tension, lever, stress))
    left = np.maximum(stress - tension / sections.tensile_area, 0)
    return np.asarray(left * sections.root_modulus / lever)
