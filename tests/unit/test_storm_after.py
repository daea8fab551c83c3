"""Snow on the covers, and what comes after a storm: by hand."""

from datetime import UTC, datetime, timedelta

import pytest

from doors.sizing import INCH
from maintenance.storm.after import (
    Alarms,
    ReopenRules,
    Suffered,
    Warned,
    count_alarms,
    inspections,
    reopen,
)
from maintenance.storm.events import Event
from maintenance.storm.quantity import HOUR, KELVIN, MPH, Fact, Interval, StormError
from maintenance.storm.snow import SnowRules, read_snow, water_load
from maintenance.storm.spells import Spell

START = datetime(2026, 11, 20, tzinfo=UTC)
PSF = 47.88025898033584  # Pa in a pound-force on a square foot


def hour(number):
    return START + timedelta(hours=number)


def spell(number, **changes):
    return Spell(hour(number), hour(number + 1), **({"gust": 1.0, "snow": 0.0, "rain": 0.0} | changes))


def keys(reading):
    return [fact.key for fact in reading.facts]


# Snow --------------------------------------------------------------------------


def test_six_inches_of_wet_snow_with_1_2_inches_of_water():
    reading = read_snow([spell(0, snow=6 * INCH, rain=1.2 * INCH, temperature=KELVIN + 1)])

    assert reading.load / PSF == pytest.approx(6.24, abs=0.005)  # 5.2 psf an inch
    assert (reading.depth, reading.water) == (6 * INCH, 1.2 * INCH)
    assert reading.clear_by == hour(0)
    assert keys(reading) == ["clear_both_sides", "shovel_lee_exit", "clear_under_bar", "clear_beside"]


def test_snow_of_several_days_adds_up():
    reading = read_snow([spell(0, snow=3 * INCH, rain=0.5 * INCH), spell(30, snow=3 * INCH, rain=0.6 * INCH)])

    assert reading.water == pytest.approx(1.1 * INCH)
    assert reading.clear_by == hour(30)  # 5 psf are 0.96 in of water


def test_what_was_cleared_is_off():
    both = [spell(0, snow=3 * INCH, rain=0.5 * INCH), spell(1, snow=1 * INCH, rain=0.1 * INCH)]

    assert read_snow(both, cleared_at=hour(1)).water == pytest.approx(0.1 * INCH)
    assert read_snow(both, cleared_at=hour(1)).clear_by is None


@pytest.mark.parametrize(("temperature", "ratio"), [(KELVIN - 5, 12), (KELVIN - 1, 4), (KELVIN + 1, 4), (None, 4)])
def test_water_not_given_is_estimated_and_wet_where_nobody_knows(temperature, ratio):
    reading = read_snow([spell(0, snow=12 * INCH, rain=None, temperature=temperature)])

    assert reading.water == pytest.approx(12 * INCH / ratio)
    assert Fact("estimated_water", reading.water) in reading.facts


def test_rain_counts_once_there_is_snow_to_hold_it():
    reading = read_snow([spell(0, rain=0.01), spell(1, snow=0.05, rain=0.005), spell(2, rain=0.02)])

    assert reading.water == pytest.approx(0.025)
    assert Fact("rain_on_snow", 0.02, at=hour(2)) in reading.facts


def test_wind_after_snow_makes_it_uneven_and_frost_holds_the_bar():
    reading = read_snow([
        spell(0, gust=30 * MPH), spell(1, snow=0.02, rain=0.002), spell(2, gust=28 * MPH, temperature=KELVIN - 3),
    ])  # fmt: skip

    assert Fact("uneven", 28 * MPH, 15 * MPH, hour(2)) in reading.facts
    assert Fact("bar_freezes_down", KELVIN - 3, KELVIN, hour(2)) in reading.facts


def test_no_snow_needs_nothing():
    assert read_snow([spell(0), spell(1, rain=0.02)]).facts == ()
    assert read_snow([]).load == 0


def test_snow_not_known_is_told():
    reading = read_snow([spell(0), spell(1, snow=None), spell(2, gust=None)])

    assert reading.facts == (Fact("snow_unknown", at=hour(1)), Fact("gust_unknown", at=hour(2)))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"wet_ratio": 0.5}, "snow.wet_ratio"),
        ({"dry_ratio": 3.0}, "snow.dry_ratio"),
        ({"clear_at": -1.0}, "snow.clear_at"),
    ],
)
def test_rules_of_snow_have_limits(changes, field):
    with pytest.raises(StormError) as caught:
        SnowRules(**changes)

    assert caught.value.field == field


def test_no_water_is_negative():
    with pytest.raises(StormError, match="water is -1"):
        water_load(-1.0)


# Inspections -------------------------------------------------------------------


def test_where_to_look_first():
    found = inspections([
        Suffered(place="fine", gust=20.0, limit=40.0),
        Suffered(place="just over", gust=41.0, limit=40.0),
        Suffered(place="no gust", limit=40.0),
        Suffered(place="far over", gust=60.0, limit=40.0),
        Suffered(place="damaged", gust=10.0, limit=40.0, was_damaged=True),
        Suffered(place="open", gust=20.0, limit=40.0, was_open=True),
        Suffered(place="no strength", gust=20.0, limit=0.0),
        Suffered(place="no limit", gust=20.0),
    ])  # fmt: skip

    assert [one.place for one in found] == [
        "open", "damaged", "no strength", "far over", "just over", "no gust", "no limit", "fine",
    ]  # fmt: skip
    by_place = {one.place: one for one in found}
    assert by_place["far over"].ratio == 1.5
    assert by_place["far over"].reasons == (Fact("over_limit", 60.0, 40.0),)
    assert by_place["no gust"].reasons == (Fact("gust_unknown", None, 40.0),)
    assert by_place["no limit"].reasons == (Fact("limit_unknown", 20.0),)
    assert by_place["open"].reasons == (Fact("was_open"),)
    assert by_place["fine"].reasons == ()


# Alarms ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("warned", "reached", "expected"),
    [
        (3, 3, Alarms(1, 0, 0, 0)), (3, 1, Alarms(0, 1, 0, 0)), (3, 4, Alarms(0, 0, 1, 0)), (0, 2, Alarms(0, 0, 1, 0)),
        (0, 0, Alarms(0, 0, 0, 0)), (2, None, Alarms(0, 0, 0, 1)), (0, None, Alarms(0, 0, 0, 0)),
    ],
)  # fmt: skip
def test_a_warning_and_what_came(warned, reached, expected):
    assert count_alarms([Warned(warned, reached)]) == expected


def test_the_share_of_false_alarms():
    counted = count_alarms([Warned(2, 2), Warned(2, 0), Warned(3, 2), Warned(2, 2), Warned(0, 1), Warned(2, None)])

    assert counted == Alarms(hits=2, false=2, missed=1, unknown=1)
    assert counted.false_share == 0.5
    assert count_alarms([]).false_share is None


def test_a_farm_may_count_strong_warnings_only():
    assert count_alarms([Warned(1, 0), Warned(2, 0), Warned(0, 1)], least=2) == Alarms(0, 1, 0, 0)
    with pytest.raises(StormError, match="least is 0"):
        count_alarms([], least=0)


# Opening again -----------------------------------------------------------------


def ended(number):
    return Event(hour(0), Fact("gust"), hour(1), 20.0, None, hour(number), ())


def test_closed_tunnels_are_opened_at_first_light_after_the_calm():
    light = (Interval(hour(7), hour(17)), Interval(hour(31), hour(41)))

    assert reopen(ended(20), light) == (Fact("closed_tunnel_heats", at=hour(31)), Fact("open_by", at=hour(44)))
    assert reopen(ended(9), light) == (Fact("closed_tunnel_heats", at=hour(10)), Fact("open_by", at=hour(33)))


def test_they_are_never_due_before_it_is_light():
    light = (Interval(hour(31), hour(41)),)

    assert reopen(ended(20), light, ReopenRules(latest=2 * HOUR))[1] == Fact("open_by", at=hour(31))
    assert reopen(ended(20), ())[0] == Fact("closed_tunnel_heats", at=hour(21))
