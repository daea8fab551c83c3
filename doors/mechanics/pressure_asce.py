"""Velocity pressure after ASCE 7-16 and 7-22. Planning estimates, not a design to the code.

The local code and a licensed engineer have the last word on any structure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics import wind_data as data
from doors.mechanics.choices import index_of
from doors.mechanics.wind_data import Edition, Exposure
from doors.sizing.quantity import Floats, require


@dataclass(frozen=True, slots=True)
class VelocityPressure:
    """Velocity pressure as an edition prints it and as it acts; every field has the inputs' shape.

    Attributes
    ----------
    printed : ndarray
        What the edition calls q: with the directionality factor in 7-16, without it in 7-22. [Pa]
    effective : ndarray
        What pressure coefficients multiply, the same in both editions: always with that factor. [Pa]
    """

    printed: Floats
    effective: Floats


def exposure_coefficient(
    height: ArrayLike,
    exposure: ArrayLike = Exposure.C,
    *,
    edition: Edition | str = Edition.ASCE_7_22,
    cladding: bool = True,
) -> Floats:
    r"""Return the velocity pressure exposure coefficient.

    Parameters
    ----------
    height : array_like, shape (...)
        Above ground; mean roof height for cladding. [m]
    exposure : array_like of str, shape (...), default C
        B, C or D.
    edition : {"7-16", "7-22"}
        Whose constants.
    cladding : bool, default True
        Keep exposure B at its value 30 ft up for all that is lower, as components and cladding ask.

    Returns
    -------
    ndarray, shape (...)
        :math:`K_z`. [-]

    Raises
    ------
    ValueError
        If a height is negative or above 60 ft, or an exposure or the edition is unknown.

    Notes
    -----
    :math:`K_z = k (z/z_g)^{2/\alpha}` with :math:`k` 2.01 (7-16) or 2.41 (7-22), and z not below 15 ft. The
    formula holds up to the gradient height; it stops at 60 ft here because the wall coefficients do.

    References
    ----------
    ASCE 7-16, Tables 26.10-1 and 26.11-1; ASCE 7-22, the same tables.
    """
    require("height", height, "at least", 0.0)
    require("height", height, "at most", data.HIGHEST_ROOF)
    index_of("edition", edition, data.POWER_LAWS)
    law, which = data.POWER_LAWS[Edition(edition)], index_of("exposure", exposure, Exposure)
    exponent, top = np.asarray(law.exponent)[which], np.asarray(law.gradient_height)[which]
    lowest = np.asarray(data.LOWEST_CLADDING_HEIGHT)[which] if cladding else data.LOWEST_HEIGHT
    return np.asarray(law.factor * (np.maximum(height, lowest) / top) ** (2 / exponent))


def elevation_factor(elevation: ArrayLike) -> Floats:
    r"""Return the ground elevation factor: thinner air pushes less.

    Parameters
    ----------
    elevation : array_like, shape (...)
        Of the ground above sea level. [m]

    Returns
    -------
    ndarray, shape (...)
        :math:`K_e = e^{-0.000119 z}`. [-]

    Raises
    ------
    SizingError
        If there is no land so high or so low.

    References
    ----------
    ASCE 7-16 and 7-22, Table 26.9-1.
    """
    require("elevation", elevation, "at least", data.LOWEST_LAND)
    require("elevation", elevation, "at most", data.HIGHEST_LAND)
    return np.asarray(np.exp(-data.ELEVATION_DECAY * np.asarray(elevation, dtype=np.float64)))


def velocity_pressure(
    gust: ArrayLike,
    height: ArrayLike,
    exposure: ArrayLike = Exposure.C,
    *,
    edition: Edition | str = Edition.ASCE_7_22,
    elevation: ArrayLike = 0.0,
    topography: ArrayLike = 1.0,
    directionality: ArrayLike = data.DIRECTIONALITY,
    cladding: bool = True,
) -> VelocityPressure:
    r"""Return the velocity pressure of a basic wind speed at a height.

    Parameters
    ----------
    gust : array_like, shape (...)
        3 s gust at 10 m in exposure C. [m/s]
    height : array_like, shape (...)
        Above ground. [m]
    exposure : array_like of str, shape (...), default C
        Of the site: B, C or D.
    edition : {"7-16", "7-22"}
        Whose constants and whose q.
    elevation : array_like, shape (...), default 0
        Of the ground above sea level. [m]
    topography : array_like, shape (...), default 1
        :math:`K_{zt}` of hills and ridges. [-]
    directionality : array_like, shape (...), default 0.85
        :math:`K_d`. Take 1 where the direction of the wind is known: it stands for winds that miss the worst one.
    cladding : bool, default True
        As in `exposure_coefficient`.

    Returns
    -------
    VelocityPressure
        As printed, and as it acts. [Pa]

    Raises
    ------
    ValueError
        If an input is outside its limits.

    Notes
    -----
    :math:`q = 0.613 K_z K_{zt} K_e V^2`, in 7-16 also times :math:`K_d`; 7-22 moved that factor to the pressure.
    The customary-unit constant 0.00256 is 0.06 % larger.

    References
    ----------
    ASCE 7-16 and 7-22, Eq. (26.10-1).
    """
    require_gust("gust", gust)
    require("topography", topography, "at least", 1.0)
    require("directionality", directionality, "above", 0.0)
    require("directionality", directionality, "at most", 1.0)
    profile = exposure_coefficient(height, exposure, edition=edition, cladding=cladding)
    still = profile * np.asarray(topography) * elevation_factor(elevation)
    without = np.asarray(data.VELOCITY_CONSTANT * still * np.asarray(gust, dtype=np.float64) ** 2)
    effective = np.asarray(without * np.asarray(directionality))
    return VelocityPressure(printed=effective if edition == Edition.ASCE_7_16 else without, effective=effective)


def require_gust(field: str, gust: ArrayLike) -> None:
    """Raise a SizingError unless every speed is at least 0 and below any wind on record. [m/s]"""
    require(field, gust, "at least", 0.0)
    require(field, gust, "at most", data.FASTEST_GUST)
