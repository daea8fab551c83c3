"""Velocity pressure and wall coefficients after EN 1991-1-4:2005. Planning estimates, not a design to the code.

Recommended values; a national annex may set others, and the local code and a licensed engineer have the last word.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics import wind_data as data
from doors.mechanics.choices import index_of
from doors.mechanics.wind_data import Terrain
from doors.sizing.quantity import Floats, require


@dataclass(frozen=True, slots=True)
class WindProfile:
    """Wind at a height over a terrain; every field has the inputs' shape."""

    terrain_factor: Floats  # kr, -
    roughness_factor: Floats  # cr(z), -
    mean_speed: Floats  # vm(z), m/s
    turbulence: Floats  # Iv(z), -
    peak_pressure: Floats  # qp(z), Pa


def basic_pressure(basic_speed: ArrayLike, *, air_density: float = data.AIR_DENSITY) -> Floats:
    r"""Return the basic velocity pressure.

    Parameters
    ----------
    basic_speed : array_like, shape (...)
        10-minute mean at 10 m over open country. [m/s]
    air_density : float, default 1.25
        [kg/m³]

    Returns
    -------
    ndarray, shape (...)
        :math:`q_b = \rho v_b^2 / 2`. [Pa]

    Raises
    ------
    SizingError
        If a speed is negative or above any wind on record, or the density is not above zero.

    References
    ----------
    EN 1991-1-4:2005, Eq. (4.10).
    """
    require("basic_speed", basic_speed, "at least", 0.0)
    require("basic_speed", basic_speed, "at most", data.FASTEST_GUST)
    require("air_density", air_density, "above", 0.0)
    return np.asarray(0.5 * air_density * np.asarray(basic_speed, dtype=np.float64) ** 2)


def wind_profile(
    basic_speed: ArrayLike,
    height: ArrayLike,
    terrain: ArrayLike = Terrain.COUNTRY,
    *,
    orography: ArrayLike = 1.0,
    turbulence_factor: float = 1.0,
    air_density: float = data.AIR_DENSITY,
) -> WindProfile:
    r"""Return the mean wind, its turbulence and the peak velocity pressure at a height.

    Parameters
    ----------
    basic_speed : array_like, shape (...)
        10-minute mean at 10 m over open country, direction and season included. [m/s]
    height : array_like, shape (...)
        Above ground. [m]
    terrain : array_like of str, shape (...), default II
        Category 0, I, II, III or IV.
    orography : array_like, shape (...), default 1
        :math:`c_o` of hills. [-]
    turbulence_factor : float, default 1
        :math:`k_I`. [-]
    air_density : float, default 1.25
        [kg/m³]

    Returns
    -------
    WindProfile

    Raises
    ------
    ValueError
        If a height is negative or above 200 m, the terrain is unknown, or another input is outside its limits.

    Notes
    -----
    :math:`k_r = 0.19 (z_0/0.05)^{0.07}`, :math:`c_r = k_r \ln(z/z_0)`, :math:`v_m = c_r c_o v_b`,
    :math:`I_v = k_I / (c_o \ln(z/z_0))`, :math:`q_p = (1 + 7 I_v) \rho v_m^2 / 2`; z not below
    :math:`z_{min}`.

    References
    ----------
    EN 1991-1-4:2005, 4.3 to 4.5, Eq. (4.3) to (4.8), Table 4.1.
    """
    require("height", height, "at least", 0.0)
    require("height", height, "at most", data.PROFILE_TOP)
    require("orography", orography, "above", 0.0)
    require("turbulence_factor", turbulence_factor, "above", 0.0)
    which = index_of("terrain", terrain, data.ROUGHNESS)
    rows = np.array(list(data.ROUGHNESS.values()))[which]
    length, lowest = rows[..., 0], rows[..., 1]
    country = data.ROUGHNESS[Terrain.COUNTRY].length
    terrain_factor = data.TERRAIN_SCALE * (length / country) ** data.TERRAIN_POWER
    over_roughness = np.log(np.maximum(height, lowest) / length)
    roughness_factor = terrain_factor * over_roughness
    hills = np.asarray(orography, dtype=np.float64)
    mean_pressure = basic_pressure(basic_speed, air_density=air_density) * (roughness_factor * hills) ** 2
    turbulence = turbulence_factor / (hills * over_roughness)
    return WindProfile(
        terrain_factor=np.asarray(terrain_factor),
        roughness_factor=np.asarray(roughness_factor),
        mean_speed=np.asarray(roughness_factor * hills * np.asarray(basic_speed, dtype=np.float64)),
        turbulence=np.asarray(turbulence),
        peak_pressure=np.asarray((1 + data.PEAK_FACTOR * turbulence) * mean_pressure),
    )


def wall_coefficient(zone: ArrayLike, area: ArrayLike, height_over_depth: ArrayLike) -> Floats:
    r"""Return the external pressure coefficient of a wall.

    Parameters
    ----------
    zone : array_like of str, shape (...)
        D faces the wind, E lies behind; A, B and C follow each other along the sides.
    area : array_like, shape (...)
        Loaded area of the part. [m²]
    height_over_depth : array_like, shape (...)
        Height of the house over its length along the wind. [-]

    Returns
    -------
    ndarray, shape (...)
        :math:`c_{pe}`, positive toward the wall. [-]

    Raises
    ------
    ValueError
        If an area or a ratio is not above zero, a ratio is above 5, or a zone is unknown.

    Notes
    -----
    :math:`c_{pe} = c_{pe,1} - (c_{pe,1} - c_{pe,10}) \log_{10} A` from 1 to 10 m², level outside; straight
    between the table's ratios 0.25, 1 and 5, level below. Taller houses need another clause.

    References
    ----------
    EN 1991-1-4:2005, 7.2.1 (Fig. 7.2) and 7.2.2 (Table 7.1).
    """
    require("area", area, "above", 0.0)
    require("height_over_depth", height_over_depth, "above", 0.0)
    require("height_over_depth", height_over_depth, "at most", data.WALL_RATIOS[-1])
    which = index_of("zone", zone, data.WALL_COEFFICIENTS)
    ratio, table = np.asarray(height_over_depth, dtype=np.float64), data.WALL_COEFFICIENTS.values()
    by_ratio = np.array([[np.interp(ratio, data.WALL_RATIOS, row) for row in rows] for rows in table])
    small, large = (np.choose(which, list(by_ratio[:, size])) for size in (0, 1))
    return np.asarray(small - (small - large) * np.log10(np.clip(area, 1.0, 10.0)))
