"""The storm core's numbers against printed ones: weather services' criteria, scheduling examples, snow loads."""

from itertools import permutations

import pytest

from doors.sizing import FOOT, INCH
from maintenance.storm.criteria import product_of
from maintenance.storm.due_dates import Due, by_due_date, greatest_lateness, most_on_time
from maintenance.storm.levels import KEYS, LevelRules
from maintenance.storm.quantity import KNOT, MPH
from maintenance.storm.snow import water_load

# Wind advisory: 31 to 39 mph or gusts 46 to 57; high wind warning: 40 mph or gusts from 58. wmdt.com/2020/07
# /weather-tidbits-wind-alerts.
MEANS = {30: "none", 31: "wind_advisory", 39: "wind_advisory", 40: "high_wind_warning"}
GUSTS = {45: "none", 46: "wind_advisory", 57: "wind_advisory", 58: "high_wind_warning"}
# The same in knots, as weather offices write them: 26 and 34 kn, 40 and 50 kn (the latter is 57.54 mph).
KNOTS = {39: "none", 40: "wind_advisory", 49: "wind_advisory", 50: "high_wind_warning"}


@pytest.mark.parametrize("speed", MEANS)
def test_criteria_by_mean_wind(speed):
    assert product_of(speed * MPH, None, step=0.0) == MEANS[speed]


@pytest.mark.parametrize("speed", GUSTS)
def test_criteria_by_gust(speed):
    assert product_of(10 * MPH, speed * MPH, step=0.0) == GUSTS[speed]


@pytest.mark.parametrize("speed", KNOTS)
def test_whole_knots_reach_a_criterion_in_miles_per_hour(speed):
    assert product_of(None, speed * KNOT) == KNOTS[speed]


def test_exact_knots_do_not():
    assert product_of(None, 50 * KNOT, step=0.0) == "wind_advisory"


def test_no_wind_known_is_no_calm():
    assert product_of(None, None) == "unknown"


def test_levels_in_metres_per_second():
    # 20.6 and 25.9 m/s as printed beside 46 and 58 mph.
    assert KEYS[3:5] == ("batten", "storm")
    assert LevelRules().thresholds[3:5] == pytest.approx([20.6, 25.9], abs=0.05)


# Pinedo, Scheduling, example 3.3.3, from memory: at most three of five jobs on time, with a total of 16; the greatest
# lateness by due date is 10.
PINEDO = [Due(*pair) for pair in zip((7, 8, 4, 6, 6), (9, 17, 18, 19, 21), strict=True)]


def test_moore_and_hodgson_on_pinedos_example():
    on_time, late = most_on_time(PINEDO)

    assert on_time == (2, 3, 4)
    assert sum(PINEDO[index].time for index in on_time) == 16
    assert len(late) == 2


def test_jacksons_rule_on_pinedos_example():
    order = by_due_date(PINEDO)

    assert greatest_lateness(PINEDO, order) == 10
    assert min(greatest_lateness(PINEDO, other) for other in permutations(range(5))) == 10


def test_an_inch_of_water_weighs_5_2_pounds_per_square_foot():
    # Bartok, University of Connecticut: each inch of rainwater equivalent is 5.2 psf; 1.2 in 6.2 psf.
    psf = 4.4482216152605 / FOOT**2

    assert water_load(INCH) / psf == pytest.approx(5.2, abs=0.05)
    assert water_load(1.2 * INCH) / psf == pytest.approx(6.2, abs=0.05)
    # On a house of 25 by 96 ft that is 6.2 short tons of 2000 lb; by hand 5.2 x 2400 / 2000.
    assert water_load(INCH) * 25 * FOOT * 96 * FOOT / 4.4482216152605 / 2000 == pytest.approx(6.2, abs=0.05)
