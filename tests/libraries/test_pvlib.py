"""Sunlight beside pvlib, whose sun goes by the NREL ephemeris; run by .ci/run.

FAO-56 has the sun's place from plain sines of the day: a day's energy is off by up to 1.5 % in most of the year, by
3.5 % in autumn towards 44°, and its length by minutes.
"""

from datetime import UTC, datetime

import numpy as np
import pvlib
import pytest

from maintenance.sunlight import daylight, extraterrestrial_radiation

MINUTE = 60.0
NEW_YEAR = datetime(2025, 1, 1, tzinfo=UTC).timestamp()
PLACES = [
    (-20, 246),
    (-22.9, 135),
    (40, 196),
    (40, 15),
    (44, 172),
    (44, 355),
    (0, 80),
    (-44, 355),
    (50, 105),
]


def minutes(day, degrees):
    """Return the height of the sun in each minute of a day of 2025 at Greenwich, and its power. [rad, W/m²]"""
    passed = (day - 1) * 86_400 + np.arange(0.5, 24 * 60) * MINUTE
    position = pvlib.spa.solar_position(
        NEW_YEAR + passed, degrees, 0.0, 0.0, 1013.25, 12.0, 69.2, 0.5667, esd=False
    )  # sea level, hPa, °C, clock ahead of the earth by 69.2 s
    power = pvlib.irradiance.get_extra_radiation(day, method="spencer")
    return np.radians(90 - position[1]), power  # without refraction


@pytest.mark.parametrize(("degrees", "day"), PLACES)
def test_a_days_energy_above_the_atmosphere(degrees, day):
    height, power = minutes(day, degrees)
    energy = np.sum(MINUTE * power * np.maximum(np.sin(height), 0))

    assert extraterrestrial_radiation(np.radians(degrees), day) == pytest.approx(energy, rel=0.015)


@pytest.mark.parametrize(("degrees", "day"), PLACES)
def test_how_long_the_sun_is_up(degrees, day):
    height, _ = minutes(day, degrees)

    assert daylight(np.radians(degrees), day) == pytest.approx(MINUTE * np.sum(height > 0), abs=8 * MINUTE)


@pytest.mark.parametrize("degrees", [-44, 0, 30, 44])
def test_days_and_years_over_a_whole_year(degrees):
    """The plain sine comes to the September equinox two days early, so October is the month furthest off."""
    days = np.arange(3, 366, 6)
    suns = [minutes(int(day), degrees) for day in days]
    energy = np.array([np.sum(MINUTE * power * np.maximum(np.sin(height), 0)) for height, power in suns])
    ours = extraterrestrial_radiation(np.radians(degrees), days)

    assert ours == pytest.approx(energy, rel=0.035)
    assert ours.sum() == pytest.approx(energy.sum(), rel=0.015)
