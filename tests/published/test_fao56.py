"""Sunlight against FAO Irrigation and Drainage Paper 56 (R. Allen and others, 1998), and doses worked out from it.

Examples 8 to 12 as quoted by the tests of github.com/woodcrafty/PyETo and github.com/pyet-org/pyet; the same without
intermediate rounding on ncl.ucar.edu (radext_fao56, radsol_fao56, radsol_clrsky_fao56, netsw_fao56). Annex 2, Tables
2.6 and 2.7, in a public transcription, north of the equator.
"""

from datetime import date

import numpy as np
import pytest

from doors.mechanics.film import KILOLANGLEY
from maintenance.calm import wind_at_two_metres
from maintenance.dose import YEARLY_LIGHT_LOSS, Climate, dose, dose_table, light_left
from maintenance.sunlight import (
    clear_sky_radiation,
    daylight,
    extraterrestrial_radiation,
    net_shortwave,
    solar_radiation,
)

HOUR = 3600.0
RIO = np.radians(-(22 + 54 / 60))
FIFTEENTHS = [15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349]
EVERY_DAY = np.arange(1, 366)


def test_example_8_the_third_of_september_at_twenty_degrees_south():
    assert extraterrestrial_radiation(-0.35, 246) / 1e6 == pytest.approx(32.2, abs=0.05)
    # Sunset hour angle 1.527 rad.
    assert daylight(-0.35, 246) * np.pi / (24 * HOUR) == pytest.approx(1.527, abs=5e-4)


def test_example_9_daylight_on_that_day():
    assert daylight(np.radians(-20), 246) / HOUR == pytest.approx(11.7, abs=0.05)


def test_example_10_may_in_rio_de_janeiro():
    outside = extraterrestrial_radiation(-0.40, 135)
    daytime = daylight(-0.40, 135)

    assert outside / 1e6 == pytest.approx(25.1, abs=0.05)
    assert daytime / HOUR == pytest.approx(10.9, abs=0.05)
    assert solar_radiation(25.1e6, 7.1 / 10.9) / 1e6 == pytest.approx(14.45, abs=0.005)
    assert solar_radiation(outside, 220 / 31 * HOUR / daytime) / 1e6 == pytest.approx(14.5, abs=0.1)
    assert extraterrestrial_radiation(RIO, 135) / 1e6 == pytest.approx(25.111, abs=5e-4)


def test_example_11_clear_sky_in_rio_de_janeiro():
    assert clear_sky_radiation(25.1e6) / 1e6 == pytest.approx(18.8, abs=0.05)
    assert clear_sky_radiation(extraterrestrial_radiation(RIO, 135)) / 1e6 == pytest.approx(18.83327, abs=5e-4)


def test_example_12_what_the_ground_keeps():
    # The paper prints 11.1 for 0.77 x 14.5 = 11.165, from its unrounded 14.456.
    assert net_shortwave(14.5e6) / 1e6 == pytest.approx(11.1, abs=0.1)
    assert net_shortwave(14.4561e6) / 1e6 == pytest.approx(11.1312, abs=5e-5)


# Table 2.6 [MJ/m² per day], on the 15th of each month
OUTSIDE = {
    50: [8.9, 14.4, 22.2, 31.5, 38.5, 41.7, 40.2, 34.4, 25.7, 16.9, 10.2, 7.5],
    42: [13.8, 19.2, 26.3, 34.1, 39.5, 41.9, 40.8, 36.3, 29.2, 21.4, 15.1, 12.4],
    40: [15.0, 20.4, 27.2, 34.7, 39.7, 41.9, 40.8, 36.7, 30.0, 22.5, 16.3, 13.6],
    36: [17.5, 22.6, 29.0, 35.7, 40.0, 41.7, 40.8, 37.4, 31.5, 24.6, 18.7, 16.1],
    20: [26.8, 30.6, 34.7, 37.9, 39.3, 39.5, 39.3, 38.3, 35.8, 31.8, 27.7, 25.6],
}


@pytest.mark.parametrize("degrees", OUTSIDE)
def test_annex_2_radiation_above_the_atmosphere(degrees):
    outside = extraterrestrial_radiation(np.radians(degrees), FIFTEENTHS) / 1e6

    assert outside == pytest.approx(OUTSIDE[degrees], abs=0.15)  # the table is for mid-month, not one set day


# Table 2.7 [h]
DAYTIME = {
    44: [9.1, 10.3, 11.6, 13.2, 14.6, 15.3, 15.0, 13.8, 12.3, 10.7, 9.4, 8.7],
    40: [9.5, 10.5, 11.7, 13.1, 14.2, 14.8, 14.6, 13.6, 12.2, 10.9, 9.7, 9.2],
    30: [10.3, 11.0, 11.8, 12.7, 13.5, 13.9, 13.8, 13.1, 12.2, 11.3, 10.5, 10.1],
}


@pytest.mark.parametrize("degrees", DAYTIME)
def test_annex_2_daylight(degrees):
    assert daylight(np.radians(degrees), FIFTEENTHS) / HOUR == pytest.approx(DAYTIME[degrees], abs=0.1)


def test_example_10_in_langleys():
    # 14.45e6 / 41 840 J/m² = 345.4 Ly a day; 31 days are 10.71 kLy.
    assert 1000 * solar_radiation(25.1e6, 7.1 / 10.9) / KILOLANGLEY == pytest.approx(345.4, abs=0.05)

    rio = Climate(-0.40, (0, 0, 0, 0, 7.1 / 10.9, 0, 0, 0, 0, 0, 0, 0))
    may = dose_table(rio, date(2025, 5, 1), date(2025, 6, 1))

    # The paper takes the 15th for the whole month.
    assert dose(may, [(may.first, may.last)]) / KILOLANGLEY == pytest.approx(10.71, rel=0.005)


# Eq. 21 summed over days 1 to 365, worked out apart from this program [MJ/m², kLy]
YEARLY = {30: (11_489, 274.6), 36: (10_809, 258.4), 40: (10_303, 246.3), 42: (10_036, 239.9), 44: (9_761, 233.3)}


@pytest.mark.parametrize("degrees", YEARLY)
def test_a_year_above_the_atmosphere(degrees):
    year = extraterrestrial_radiation(np.radians(degrees), EVERY_DAY).sum()

    assert (year / 1e6, year / KILOLANGLEY) == pytest.approx(YEARLY[degrees], rel=0.002)


def test_a_year_of_sun_on_a_sheet_at_forty_degrees():
    # 0.25 + 0.50 x 0.6 = 0.55 of 10 303 MJ/m².
    table = dose_table(Climate(np.radians(40), (0.6,) * 12), date(2025, 1, 1), date(2026, 1, 1))
    year = dose(table, [(date(2025, 1, 1), date(2026, 1, 1))])

    assert year / 1e6 == pytest.approx(5667, rel=0.002)
    assert year / KILOLANGLEY == pytest.approx(135.4, rel=0.002)


def test_light_that_aged_film_lets_through():
    # 2-5 % a year, J. Bartok, Greenhouse Management, April 2014; 0.98⁴ = 0.922, 0.95⁴ = 0.815, 0.95⁵ = 0.774.
    assert light_left([4, 4, 5], [YEARLY_LIGHT_LOSS[0], *[YEARLY_LIGHT_LOSS[1]] * 2]) == pytest.approx(
        [0.922, 0.815, 0.774], abs=5e-4
    )


def test_example_14_wind_at_two_metres():
    """Example 14: 3.2 m/s at 10 m blow with 2.4 m/s at 2 m; the factor of its Annex 2, Table 2.9, is 0.75."""
    assert wind_at_two_metres(3.2, 10) == pytest.approx(2.4, abs=0.05)
    assert wind_at_two_metres(1, 10) == pytest.approx(0.748, abs=0.0005)
    assert wind_at_two_metres(1, 2) == pytest.approx(1, abs=0.002)


@pytest.mark.parametrize(("wind", "height"), [(-0.1, 10), (float("nan"), 10), (3, 0.4), (3, float("inf"))])
def test_wind_that_cannot_be_is_refused(wind, height):
    with pytest.raises(ValueError, match="must be"):
        wind_at_two_metres(wind, height)
