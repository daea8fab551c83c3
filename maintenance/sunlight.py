"""The sun's energy on a level square metre in a day: outside the atmosphere, on the ground, kept by the ground."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]

DAY = 86_400.0  # s
SOLAR_CONSTANT = 0.0820e6 / 60  # W/m², FAO-56, Eq. 21
OVERCAST, SUNSHINE = 0.25, 0.50  # -, FAO-56, Eq. 35: where no calibration is at hand
GRASS = 0.23  # -, albedo of the grass reference crop, FAO-56, Eq. 38
BRIGHTEST = 50e6  # J/m² a day; above Eq. 21 on any day anywhere (48.5e6 at the South Pole in December)


def extraterrestrial_radiation(latitude: ArrayLike, day_of_year: ArrayLike, days_in_year: ArrayLike = 365) -> Floats:
    r"""Return the sun's energy on a level square metre above the atmosphere in a day.

    Parameters
    ----------
    latitude : array_like, shape (...)
        From -π/2 to π/2, north positive. [rad]
    day_of_year : array_like, shape (...)
        1 on 1 January.
    days_in_year : array_like, default 365
        365 or 366.

    Returns
    -------
    ndarray, shape (...)
        :math:`R_a`; 0 in the polar night. [J/m² per day]

    Raises
    ------
    ValueError
        If an input is outside its limits.

    Notes
    -----
    :math:`R_a = (86400/\pi) G_{sc} d_r (\omega_s \sin\varphi \sin\delta + \cos\varphi \cos\delta \sin\omega_s)`.
    The paper divides every year by 365. Here a leap year is divided by 366 and 29 February is its day 60, so that
    each year closes where the next begins. Beside an ephemeris, at 44° north or south, a year is off by 1 % and a day
    by up to 3.5 %, around October; nearer the poles both are further off.

    References
    ----------
    FAO Irrigation and Drainage Paper 56 (1998), Eq. 21 and 23-25.
    """
    latitude, angle = _angles(latitude, day_of_year, days_in_year)
    declination = _declination(angle)
    sunset = _sunset(latitude, declination)
    heights = sunset * np.sin(latitude) * np.sin(declination)
    heights = heights + np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    nearness = 1 + 0.033 * np.cos(angle)
    return np.asarray(DAY / np.pi * SOLAR_CONSTANT * nearness * np.maximum(heights, 0))  # no last digit below 0


def daylight(latitude: ArrayLike, day_of_year: ArrayLike, days_in_year: ArrayLike = 365) -> Floats:
    """Return how long the sun's centre is above a level horizon, without refraction.

    Parameters
    ----------
    latitude, day_of_year, days_in_year : array_like, shape (...)
        As in `extraterrestrial_radiation`.

    Returns
    -------
    ndarray, shape (...)
        0 in the polar night, a whole day under the midnight sun. [s]

    Raises
    ------
    ValueError
        If an input is outside its limits.

    References
    ----------
    FAO Irrigation and Drainage Paper 56 (1998), Eq. 25 and 34.
    """
    latitude, angle = _angles(latitude, day_of_year, days_in_year)
    return np.asarray(DAY / np.pi * _sunset(latitude, _declination(angle)))


def solar_radiation(extraterrestrial: ArrayLike, relative_sunshine: ArrayLike) -> Floats:
    r"""Return the sun's energy that reaches the ground, by the share of the daylight in which it shone.

    Parameters
    ----------
    extraterrestrial : array_like, shape (...)
        [J/m² per day]
    relative_sunshine : array_like, shape (...)
        Hours of bright sunshine over hours of daylight, :math:`n/N`, from 0 to 1. [-]

    Returns
    -------
    ndarray, shape (...)
        :math:`R_s = (0.25 + 0.50\,n/N) R_a`. [J/m² per day]

    Raises
    ------
    ValueError
        If an input is outside its limits.

    References
    ----------
    FAO Irrigation and Drainage Paper 56 (1998), Eq. 35.
    """
    outside = within("extraterrestrial", extraterrestrial, 0, BRIGHTEST)
    shone = within("relative_sunshine", relative_sunshine, 0, 1)
    return np.asarray((OVERCAST + SUNSHINE * shone) * outside)


def clear_sky_radiation(extraterrestrial: ArrayLike, altitude: ArrayLike = 0.0) -> Floats:
    r"""Return the sun's energy that reaches the ground on a day without clouds.

    Parameters
    ----------
    extraterrestrial : array_like, shape (...)
        [J/m² per day]
    altitude : array_like, default 0
        Of the place above the sea, from -500 to 6000. [m]

    Returns
    -------
    ndarray, shape (...)
        :math:`R_{so} = (0.75 + 2\cdot10^{-5} z) R_a`. [J/m² per day]

    Raises
    ------
    ValueError
        If an input is outside its limits.

    References
    ----------
    FAO Irrigation and Drainage Paper 56 (1998), Eq. 36 and 37.
    """
    outside = within("extraterrestrial", extraterrestrial, 0, BRIGHTEST)
    return np.asarray((0.75 + 2e-5 * within("altitude", altitude, -500, 6000)) * outside)


def net_shortwave(radiation: ArrayLike, albedo: ArrayLike = GRASS) -> Floats:
    """Return the sun's energy that the ground keeps and does not throw back.

    Parameters
    ----------
    radiation : array_like, shape (...)
        [J/m² per day]
    albedo : array_like, default grass
        Share thrown back, from 0 to 1. [-]

    Returns
    -------
    ndarray, shape (...)
        [J/m² per day]

    Raises
    ------
    ValueError
        If an input is outside its limits.

    References
    ----------
    FAO Irrigation and Drainage Paper 56 (1998), Eq. 38.
    """
    return np.asarray((1 - within("albedo", albedo, 0, 1)) * within("radiation", radiation, 0, BRIGHTEST))


def within(name: str, value: ArrayLike, low: float, high: float) -> Floats:
    """Return the values as an array, or raise a ValueError for the first that is not from ``low`` to ``high``."""
    values = np.asarray(value, dtype=np.float64)
    wrong = ~((values >= low) & (values <= high) & np.isfinite(values))  # NaN is in no range
    if np.any(wrong):
        raise ValueError(f"{name} is {values[wrong].flat[0]:g}: must be finite and from {low:g} to {high:g}")
    return values


def _angles(latitude: ArrayLike, day_of_year: ArrayLike, days_in_year: ArrayLike) -> tuple[Floats, Floats]:
    """Return latitude and place in the year. [rad]"""
    year = within("days_in_year", days_in_year, 365, 366)
    day = within("day_of_year", day_of_year, 1, 366)
    if np.any(day > year):
        raise ValueError("day_of_year is 366 in a year of 365 days: pass days_in_year=366 for a leap year")
    return within("latitude", latitude, -np.pi / 2, np.pi / 2), np.asarray(2 * np.pi * day / year)


def _declination(angle: Floats) -> Floats:
    """FAO-56, Eq. 24. [rad]"""
    return np.asarray(0.409 * np.sin(angle - 1.39))


def _sunset(latitude: Floats, declination: Floats) -> Floats:
    """FAO-56, Eq. 25; 0 where the sun does not rise, pi where it does not set. [rad]"""
    return np.asarray(np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1, 1)))
