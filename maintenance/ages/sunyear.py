"""A farm's year of sun: what reaches it in each month, outside the air and on the ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from maintenance.dose import Climate
from maintenance.sunlight import Floats, daylight, extraterrestrial_radiation, solar_radiation

DAYS: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True, slots=True)
class SunMonth:
    """Means of a month's days."""

    outside: float  # J/m² per day, above the air
    daylight: float  # s
    ground: float  # J/m² per day


@dataclass(frozen=True, slots=True)
class SunYear:
    """Twelve months from January, and the sum of a year of 365 days."""

    months: tuple[SunMonth, ...]
    total: float  # J/m²


def sun_year(climate: Climate) -> SunYear:
    """Return the mean day of each month and the sum of a year on a level square metre.

    Parameters
    ----------
    climate : Climate
        [SI]

    References
    ----------
    FAO Irrigation and Drainage Paper 56 (1998), Eq. 21, 34 and 35.
    """
    days = np.arange(1, 366)
    outside = extraterrestrial_radiation(climate.latitude, days)
    light = daylight(climate.latitude, days)
    ground = solar_radiation(outside, np.repeat(climate.sunshine, DAYS))
    means = zip(*(_by_month(values) for values in (outside, light, ground)), strict=True)
    return SunYear(tuple(SunMonth(*month) for month in means), float(np.sum(ground)))


def _by_month(days: Floats) -> list[float]:
    return [float(np.mean(month)) for month in np.split(days, np.cumsum(DAYS)[:-1])]
