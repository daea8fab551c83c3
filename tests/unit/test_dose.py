"""Limits of sunlight and doses; days counted by hand."""

from datetime import date, timedelta

import numpy as np
import pytest

from maintenance.dose import HORIZON, Climate, EndOfLife, dose, dose_table, end_of_life, light_left
from maintenance.sunlight import (
    clear_sky_radiation,
    daylight,
    extraterrestrial_radiation,
    net_shortwave,
    solar_radiation,
)

FORTY = np.radians(40)
HALF = (0.5,) * 12
CLIMATE = Climate(FORTY, HALF)
FIRST, LAST = date(2020, 1, 1), date(2021, 1, 1)
ON = date(2025, 1, 1)
MEGAJOULE = 1e6


def steady(first, last):
    """Return a table in which each day has been measured as 1 MJ/m²."""
    days = (last - first).days
    return dose_table(CLIMATE, first, last, {first + timedelta(days=number): MEGAJOULE for number in range(days)})


LONG = steady(FIRST, ON + HORIZON)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: extraterrestrial_radiation(1.6, 1), "latitude is 1.6"),
        (lambda: extraterrestrial_radiation([0.0, -1.6], 1), "latitude is -1.6"),
        (lambda: extraterrestrial_radiation(np.nan, 1), "latitude is nan"),
        (lambda: extraterrestrial_radiation(0.0, 0), "day_of_year is 0"),
        (lambda: extraterrestrial_radiation(0.0, 367, 366), "day_of_year is 367"),
        (lambda: extraterrestrial_radiation(0.0, 366), "day_of_year is 366 in a year of 365"),
        (lambda: extraterrestrial_radiation(0.0, 1, 364), "days_in_year is 364"),
        (lambda: daylight(0.0, 1, 367), "days_in_year is 367"),
        (lambda: solar_radiation(-1.0, 0.5), "extraterrestrial is -1"),
        (lambda: solar_radiation(51e6, 0.5), "extraterrestrial is 5.1e"),
        (lambda: solar_radiation(1.0, 1.01), "relative_sunshine is 1.01"),
        (lambda: solar_radiation(1.0, -0.01), "relative_sunshine is -0.01"),
        (lambda: clear_sky_radiation(-1.0), "extraterrestrial is -1"),
        (lambda: clear_sky_radiation(1.0, 6001), "altitude is 6001"),
        (lambda: clear_sky_radiation(1.0, -501), "altitude is -501"),
        (lambda: net_shortwave(-1.0), "radiation is -1"),
        (lambda: net_shortwave(1.0, 1.01), "albedo is 1.01"),
        (lambda: Climate(40.0, HALF), "latitude is 40"),
        (lambda: Climate(FORTY, (0.5,) * 11), "shape \\(11,\\)"),
        (lambda: Climate(FORTY, (*HALF[1:], 7.1)), "sunshine is 7.1"),
        (lambda: Climate(FORTY, HALF, -0.1), "uncertainty is -0.1"),
        (lambda: Climate(FORTY, HALF, 0.91), "uncertainty is 0.91"),
        (lambda: dose_table(CLIMATE, FIRST, FIRST), "must come after its first"),
        (lambda: dose_table(CLIMATE, FIRST, LAST, {FIRST: -1.0}), "measured is -1"),
        (lambda: dose_table(CLIMATE, FIRST, LAST, {FIRST: 50.1e6}), "measured is 5.01e"),
        (lambda: dose_table(CLIMATE, FIRST, LAST, {FIRST: np.nan}), "measured is nan"),
        (lambda: LONG.between(date(2019, 12, 31), FIRST), "2019-12-31 is outside the table"),
        (lambda: LONG.between([FIRST], [LONG.last + timedelta(days=1)]), "is outside the table"),
        (lambda: LONG.between(LAST, FIRST), "ends on 2020-01-01, before it starts on 2021-01-01"),
        (lambda: LONG.between([FIRST, LAST], FIRST), "ends on 2020-01-01, before it starts on 2021-01-01"),
        (lambda: dose(LONG, [(date(2019, 1, 1), LAST)]), "2019-01-01 is outside the table"),
        (lambda: dose(LONG, [(FIRST, None)]), "NaT is outside the table"),
        (lambda: dose(LONG, [(LAST, FIRST)]), "before it starts"),
        (lambda: end_of_life(LONG, 0.0, [], ON), "rated_dose is 0"),
        (lambda: end_of_life(LONG, np.inf, [], ON), "rated_dose is inf"),
        (lambda: end_of_life(LONG, np.nan, [], ON), "rated_dose is nan"),
        (lambda: end_of_life(LONG, 1.0, [], ON, [0, 1]), "laid_up is \\[0, 1\\]"),
        (lambda: end_of_life(LONG, 1.0, [], ON, [13]), "laid_up is \\[13\\]"),
        (lambda: end_of_life(LONG, 1.0, [], ON + timedelta(days=1)), "must reach 2065-01-02"),
        (lambda: end_of_life(LONG, 1.0, [], FIRST - timedelta(days=1)), "2019-12-31 is outside the table"),
        (lambda: end_of_life(LONG, 1.0, [(LAST, FIRST)], ON), "before it starts"),
        (lambda: light_left(-1, 0.02), "years is -1"),
        (lambda: light_left(np.inf, 0.02), "years is inf"),
        (lambda: light_left(1, 1.01), "yearly_loss is 1.01"),
    ],
)
def test_limits(call, name):
    with pytest.raises(ValueError, match=name):
        call()


def test_poles():
    # Day 172 is the northern midsummer, day 355 its midwinter.
    assert daylight(np.pi / 2, [172, 355]).tolist() == [86_400, 0]
    assert daylight(-np.pi / 2, [172, 355]).tolist() == [0, 86_400]
    assert extraterrestrial_radiation([np.pi / 2, -np.pi / 2], [355, 172]).tolist() == [0, 0]


def test_the_brightest_day_anywhere_is_within_the_limit():
    days = np.arange(1, 366)
    latitudes = np.linspace(-np.pi / 2, np.pi / 2, 181)[:, None]

    assert extraterrestrial_radiation(latitudes, days).max() < 50e6


def test_places_and_days_make_a_grid():
    grid = extraterrestrial_radiation(np.array([[-0.5], [0.0], [0.5]]), [1, 91, 182, 274])

    assert grid.shape == (3, 4)
    assert grid[1, 2] == extraterrestrial_radiation(0.0, 182)


def test_altitude_clears_the_sky():
    # 0.75 + 2e-5 x 1000 = 0.77.
    assert clear_sky_radiation(30e6, 1000) == pytest.approx(23.1e6)


def test_a_day_of_overcast_and_one_of_sun():
    assert solar_radiation(40e6, [0, 1]).tolist() == [10e6, 30e6]


def test_a_year_closes_on_its_last_day_leap_or_not():
    assert extraterrestrial_radiation(FORTY, 366, 366) == pytest.approx(extraterrestrial_radiation(FORTY, 365))


def test_the_calendar_gives_the_day_its_number_and_its_month():
    sunshine = tuple(number / 12 for number in range(1, 13))
    table = dose_table(Climate(FORTY, sunshine), date(2023, 1, 1), date(2026, 1, 1))
    days = [date(2023, 3, 1), date(2024, 2, 29), date(2024, 3, 1), date(2024, 12, 31), date(2025, 12, 31)]
    numbers, lengths = [60, 60, 61, 366, 365], [365, 366, 366, 366, 365]  # counted on a calendar

    outside = extraterrestrial_radiation(FORTY, numbers, lengths)

    taken = table.between(days, [day + timedelta(days=1) for day in days])
    assert taken == pytest.approx(solar_radiation(outside, [3 / 12, 2 / 12, 3 / 12, 1, 1]))


def test_measured_days_outside_the_table_are_passed_over():
    table = dose_table(CLIMATE, FIRST, LAST, {FIRST - timedelta(days=1): 1.0, LAST: 2.0})

    assert dose(table, [(FIRST, LAST)]) == dose(dose_table(CLIMATE, FIRST, LAST), [(FIRST, LAST)])


@pytest.mark.parametrize(
    ("spans", "days"),
    [
        ([], 0),
        ([(FIRST, FIRST)], 0),
        ([(FIRST, LAST)], 366),
        ([(date(2020, 3, 1), date(2020, 4, 1)), (date(2020, 2, 1), date(2020, 3, 1))], 60),
        ([(date(2020, 3, 1), date(2020, 4, 1)), (date(2020, 3, 15), date(2020, 4, 11))], 41),
        ([(date(2020, 3, 1), date(2020, 6, 1)), (date(2020, 4, 1), date(2020, 5, 1)), (date(2020, 5, 9), LAST)], 306),
        ([(date(2020, 3, 1), date(2020, 3, 2)), (date(2020, 3, 3), date(2020, 3, 4))], 2),
    ],
)
def test_the_days_of_the_spans_count_once(spans, days):
    assert dose(LONG, iter(spans)) == days * MEGAJOULE


def test_many_sheets_at_once():
    taken = LONG.between([FIRST, LAST], [LAST, date(2021, 1, 11)])

    assert taken.tolist() == [366 * MEGAJOULE, 10 * MEGAJOULE]
    assert LONG.between(FIRST, [FIRST, LAST]).tolist() == [0, 366 * MEGAJOULE]


JANUARY = [(FIRST, date(2020, 2, 1))]  # 31 days


@pytest.mark.parametrize(
    ("days", "spans", "laid_up", "reached"),
    [
        (1, [], (), ON),
        (0.5, [], (), ON),
        (31, [], (), date(2025, 1, 31)),
        (31.5, [], (), date(2025, 2, 1)),
        (31, JANUARY, (), date(2020, 1, 31)),  # already reached
        (32, JANUARY, (), ON),
        (32, [*JANUARY, (date(2020, 6, 1), date(2020, 6, 1))], (), ON),
        (1, [], {1, 2}, date(2025, 3, 1)),
        (306, [], {1, 2}, date(2025, 12, 31)),  # March to December
        (307, [], {1, 2}, date(2026, 3, 1)),
        (335, [], {1}, date(2026, 2, 1)),  # 334 days in 2025
        (300, [], {11, 12}, date(2025, 10, 27)),  # the 300th day of the year
        (305, [], {11, 12}, date(2026, 1, 1)),
        (31, [(ON, date(2025, 1, 11))], {1}, date(2025, 2, 21)),  # ten days of a month laid up lay out all the same
        (14_610, [], (), date(2064, 12, 31)),
        (14_611, [], (), None),
        (31, JANUARY, range(1, 13), date(2020, 1, 31)),
        (32, JANUARY, range(1, 13), None),
        (1, [], range(1, 13), None),
    ],
)
def test_the_last_day_under_a_steady_sun(days, spans, laid_up, reached):
    end = end_of_life(LONG, days * MEGAJOULE, spans, ON, laid_up)

    assert end == EndOfLife(reached, reached, reached)  # measured sun is certain


def test_no_sheet_ends_in_the_polar_night():
    pole = dose_table(Climate(np.pi / 2, HALF), FIRST, ON + HORIZON)
    autumn = dose(pole, [(ON, date(2025, 12, 31))])

    end = end_of_life(pole, autumn + 1000, [], ON)

    # The sun comes up when Eq. 24 turns positive, at 365 x 1.39/2π = day 80.7; 22 March is day 81.
    assert end.expected == date(2026, 3, 22)


def test_a_wide_estimate_may_leave_the_late_day_open():
    # At 0.9 the sun may shine a tenth of what is expected: 30 years become more than 40, or less than 20.
    table = dose_table(Climate(FORTY, HALF, 0.9), ON, ON + HORIZON)
    end = end_of_life(table, dose(table, [(ON, date(2055, 1, 1))]), [], ON)

    assert end.early.year == 2040
    assert abs(end.expected - date(2055, 1, 1)) <= timedelta(days=1)
    assert end.late is None


def test_light():
    assert light_left([0, 1, 2], 0.5).tolist() == [1, 0.5, 0.25]
    assert light_left(0, 1) == 1
