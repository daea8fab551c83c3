"""The backward clock by hand: work time, what ends it, what does not fit. Times are UTC, days of a made-up November."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from maintenance.storm.deadline import ClockRules, Load, read_clocks
from maintenance.storm.quantity import HOUR, KELVIN, MINUTE, MPH, Fact, Interval, StormError
from maintenance.storm.spells import Spell
from maintenance.storm.work_time import Shift, Stop, capacity, in_pairs, latest_start, stretches, what_stops

DAY_1 = datetime(2026, 11, 17, tzinfo=UTC)


def at(day, hour, minute=0):
    return DAY_1 + timedelta(days=day - 1, hours=hour, minutes=minute)


def spell(start, end, gust=10, **changes):
    return Spell(start, end, gust=None if gust is None else gust * MPH, **changes)


def shift(day, start=8, end=16, people=2):
    return Shift(at(day, start), at(day, end), people)


MORNING = at(1, 8)
LIGHT = tuple(Interval(at(day, 7), at(day, 17)) for day in (1, 2, 3))
SHIFTS = (shift(1), shift(2))
FORECAST = (spell(at(1, 0), at(2, 20)), spell(at(2, 20), at(3, 6), 60))
PLAIN = ClockRules(reserve=1.0)


def clock(forecast=FORECAST, *, hours=4.0, now=MORNING, shifts=SHIFTS, light=LIGHT, rules=PLAIN, dry=0.0, paired=0.0):
    load = Load(hours * HOUR, dry=dry * HOUR, paired=paired * HOUR)
    return read_clocks(forecast, now=now, load=load, shifts=shifts, daylight=light, rules=rules).expected


def test_work_goes_back_from_the_end_of_the_last_shift():
    found = clock(hours=4)

    assert (found.deadline, found.latest_start) == (at(2, 16), at(2, 14))
    assert found.decides == ("shift",)
    assert found.margin == timedelta(days=1, hours=6)
    assert (found.capacity, found.missing) == (32 * HOUR, 0.0)


def test_the_reserve_makes_it_earlier():
    assert clock(hours=4, rules=ClockRules(reserve=1.5)).latest_start == at(2, 13)


def test_work_for_more_than_a_shift_goes_on_the_day_before():
    # 16 person-hours fill the second day; 4 more take two hours of the first.
    assert clock(hours=20).latest_start == at(1, 14)


def test_work_for_exactly_one_shift_begins_with_it():
    assert clock(hours=16).latest_start == at(2, 8)


def test_shifts_that_overlap_add_their_people():
    early, late = Shift(at(2, 8), at(2, 14), 1), Shift(at(2, 10), at(2, 16), 1)

    # 14 to 16 one person, 10 to 14 two: 10 person-hours; one more before 10.
    assert clock(hours=11, shifts=(early, late)).latest_start == at(2, 9)


def test_darkness_ends_the_work():
    found = clock(shifts=(shift(2, end=20),))

    assert (found.deadline, found.decides) == (at(2, 17), ("daylight",))
    assert Fact("shift", at=at(2, 20)) in found.bounds


def test_the_wind_ends_the_work():
    found = clock((spell(at(1, 0), at(2, 12)), spell(at(2, 12), at(3, 0), 60)))

    assert (found.deadline, found.decides, found.latest_start) == (at(2, 12), ("gust",), at(2, 10))
    assert found.bounds[0] == Fact("gust", 60 * MPH, 30 * MPH, at(2, 12))


def test_a_gap_in_the_forecast_ends_the_work():
    found = clock((spell(at(1, 0), at(2, 12)), spell(at(2, 18), at(3, 0), 60)))

    assert (found.deadline, found.decides) == (at(2, 12), ("gust_unknown",))
    assert found.unknown_from == at(2, 12)
    assert Fact("gust_unknown", at=at(2, 12)) in found.facts


def test_nobody_works_in_a_breeze_that_passes():
    # 31 mph on the afternoon of the first day, then a calm of more than a day, then the storm.
    breeze = (
        spell(at(1, 0), at(1, 12)), spell(at(1, 12), at(1, 18), 31), spell(at(1, 18), at(2, 20)),
        spell(at(2, 20), at(3, 6), 60),
    )  # fmt: skip
    found = clock(breeze, hours=20)

    assert found.event.onset == at(2, 20)
    assert found.latest_start == at(1, 10)


def test_a_breeze_at_the_end_of_the_last_shift_decides():
    breeze = (
        spell(at(1, 0), at(1, 12)), spell(at(1, 12), at(1, 18), 31), spell(at(1, 18), at(2, 20)),
        spell(at(2, 20), at(3, 6), 60),
    )  # fmt: skip
    found = clock(breeze, shifts=(shift(1),))

    assert (found.deadline, found.decides) == (at(1, 12), ("gust",))


def test_without_a_storm_there_is_no_deadline_but_an_end_of_what_is_known():
    found = clock((spell(at(1, 0), at(3, 0)),))

    assert (found.event, found.deadline, found.latest_start, found.margin) == (None, None, None, None)
    assert found.unknown_from == at(3, 0)
    assert not found.is_too_late


def test_without_a_forecast_nothing_is_known():
    found = clock(())

    assert (found.event, found.unknown_from) == (None, at(1, 8))


def test_what_is_over_is_left_out():
    found = clock((spell(at(1, 0), at(1, 6), 60), *(replace(one) for one in FORECAST[1:]), spell(at(1, 6), at(2, 20))))

    assert found.event.onset == at(2, 20)


def test_a_storm_that_blows_leaves_no_time():
    found = clock((spell(at(1, 0), at(1, 20), 60),), now=at(1, 10))

    assert (found.deadline, found.latest_start, found.decides) == (None, None, ("no_work_time",))
    assert (found.capacity, found.missing) == (0.0, 4 * HOUR)
    assert found.is_too_late


def test_no_work_may_begin_at_the_deadline():
    assert clock(hours=0).latest_start == at(2, 16)
    assert clock(hours=0, shifts=()).latest_start is None


def test_too_late_says_by_how_much_and_what_fits():
    found = clock(hours=8, now=at(2, 13))

    # Two people for three hours are 6 of 8 person-hours; the start was at noon.
    assert (found.latest_start, found.margin) == (at(2, 12), -timedelta(hours=1))
    assert (found.capacity, found.missing) == (6 * HOUR, 2 * HOUR)


def test_more_work_than_all_shifts_hold_never_fitted():
    found = clock(hours=40)

    assert (found.latest_start, found.bound_by, found.missing) == (None, "total", 8 * HOUR)
    assert found.is_too_late


def test_time_before_the_forecast_is_not_known():
    found = clock((spell(at(1, 12), at(2, 20)), *FORECAST[1:]), hours=32)

    # The four hours of two people from 8 to 12 are not counted.
    assert found.unknown_from == at(1, 8)
    assert (found.capacity, found.missing) == (24 * HOUR, 8 * HOUR)


# Dry film ------------------------------------------------------------------------


def rain(*, drying=2.0, temperature=None, **wet):
    forecast = (
        spell(at(1, 0), at(2, 12), rain=0.0), spell(at(2, 12), at(2, 13), temperature=temperature, **wet),
        spell(at(2, 13), at(2, 20), rain=0.0), FORECAST[1],
    )  # fmt: skip
    return clock(forecast, hours=6, dry=4, rules=ClockRules(reserve=1.0, drying=drying * HOUR))


def test_rain_stops_what_needs_dry_film_until_it_has_dried():
    found = rain(rain=0.001)

    # Dry time is up to 12 and from 15 to 16: 2 person-hours there, 2 more from 11 to 12.
    assert (found.latest_start, found.bound_by) == (at(2, 11), "dry")
    assert (found.deadline, found.dry_deadline) == (at(2, 16), at(2, 16))
    assert Fact("rain", at=at(2, 12)) in found.bounds


def test_snow_is_wet_too_and_long_drying_ends_the_day():
    found = rain(snow=0.01, rain=0.0, drying=6.0)

    assert (found.latest_start, found.dry_deadline) == (at(2, 10), at(2, 12))


def test_film_is_iced_at_freezing_point():
    found = rain(rain=0.0, temperature=KELVIN)

    # Only the hour itself is lost: 13 to 16 hold 6, so 4 begin at 14; the whole 6 at 13 set the start.
    assert (found.latest_start, found.bound_by) == (at(2, 13), "total")
    assert Fact("ice", at=at(2, 12)) in found.bounds


def test_other_work_goes_on_in_the_rain():
    forecast = (spell(at(1, 0), at(2, 20), rain=0.01), FORECAST[1])

    assert clock(forecast, hours=4).latest_start == at(2, 14)
    wet = clock(forecast, hours=4, dry=1)
    assert (wet.latest_start, wet.bound_by, wet.missing) == (None, "dry", 1 * HOUR)
    assert wet.dry_deadline is None


def test_rain_not_known_is_told_where_it_matters():
    assert clock(dry=1).facts == (Fact("rain_unknown", at=at(1, 0)),)
    assert clock().facts == ()


# People --------------------------------------------------------------------------


def test_an_odd_person_waits_while_pairs_work():
    found = clock(hours=8, paired=8, shifts=(shift(2, people=3),))

    assert (found.latest_start, found.bound_by) == (at(2, 12), "paired")


def test_one_person_alone_cannot_do_the_work_of_two():
    found = clock(hours=8, paired=2, shifts=(shift(2, people=1),))

    assert (found.latest_start, found.bound_by, found.missing) == (None, "paired", 2 * HOUR)
    assert Fact("nobody_to_pair_with", 2 * HOUR) in found.facts


# The upper value -----------------------------------------------------------------


def test_the_upper_gust_has_a_clock_of_its_own():
    forecast = (
        spell(at(1, 0), at(2, 10)),
        spell(at(2, 10), at(2, 20), 25, upper_gust=40 * MPH),
        spell(at(2, 20), at(3, 6), 60),
    )
    given = {"now": at(1, 8), "load": Load(4 * HOUR), "shifts": SHIFTS, "daylight": LIGHT}

    clocks = read_clocks(forecast, rules=PLAIN, **given)
    assert clocks.expected.latest_start == at(2, 14)
    assert clocks.upper.latest_start == at(2, 8)
    assert clocks.acted_on is clocks.expected
    cautious = read_clocks(forecast, rules=replace(PLAIN, act_on_upper=True), **given)
    assert cautious.acted_on is cautious.upper


def test_without_upper_gusts_there_is_one_clock():
    given = {"now": at(1, 8), "load": Load(4 * HOUR), "shifts": SHIFTS, "daylight": LIGHT}

    clocks = read_clocks(FORECAST, rules=replace(PLAIN, act_on_upper=True), **given)

    assert clocks.upper is None
    assert clocks.acted_on is clocks.expected


# The night the clocks change -----------------------------------------------------


def test_clocks_that_go_back_change_no_work_time():
    # New York, 1 November 2026: 06:00 UTC is 01:00 for the second time. A night shift lasts as long as it lasts.
    night = datetime(2026, 11, 1, 4, tzinfo=UTC)
    forecast = (
        Spell(night, night + timedelta(hours=6), gust=1.0),
        Spell(night + timedelta(hours=6), night + timedelta(hours=8), gust=30.0),
    )
    load = Load(2 * HOUR)
    shifts, light = (Shift(night, night + timedelta(hours=5)),), (Interval(night, night + timedelta(hours=8)),)

    found = read_clocks(forecast, now=night, load=load, shifts=shifts, daylight=light, rules=PLAIN).expected

    assert found.latest_start == night + timedelta(hours=3)


# Parts ---------------------------------------------------------------------------


def test_stretches_are_where_everything_agrees():
    found = stretches((shift(1),), LIGHT, (Stop(at(1, 10), at(1, 11), "gust"),), at(1, 12))

    assert [(one.start, one.end, one.people) for one in found] == [
        (at(1, 8), at(1, 10), 2),
        (at(1, 11), at(1, 12), 2),
    ]
    assert capacity(found, at(1, 9)) == 4 * HOUR
    assert in_pairs(stretches((shift(1, people=1),), LIGHT, (), at(1, 12))) == ()
    assert stretches((shift(1, people=0),), LIGHT, (), at(1, 12)) == ()


def test_all_that_stops_work_is_named():
    stops = (Stop(at(1, 18), at(1, 20), "gust"), Stop(at(1, 18), at(1, 19), "gust"))

    assert what_stops(at(1, 18), (shift(1),), LIGHT, stops) == ("shift", "daylight", "gust")
    assert what_stops(at(1, 9), (shift(1),), LIGHT, stops) == ()


def test_latest_start_of_impossible_work():
    assert latest_start((), 1.0) is None
    with pytest.raises(StormError, match="work is -1"):
        latest_start((), -1.0)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: ClockRules(reserve=0.9), "reserve"),
        (lambda: ClockRules(reserve=float("nan")), "reserve"),
        (lambda: ClockRules(reserve=float("inf")), "clock.reserve"),
        (lambda: ClockRules(drying=-1.0), "clock.drying"),
        (lambda: Load(-1.0), "load.total"),
        (lambda: Load(1.0, dry=2.0), "load.dry"),
        (lambda: Load(1.0, paired=2.0), "load.paired"),
        (lambda: Shift(at(1, 8), at(1, 16), -1), "shift.people"),
        (lambda: Shift(at(1, 8), at(1, 8)), "shift.end"),
    ],
)
def test_what_no_clock_can_take(make, field):
    with pytest.raises(StormError) as caught:
        make()

    assert caught.value.field == field


def test_a_time_that_is_not_utc_is_refused():
    with pytest.raises(StormError, match="now is"):
        clock(now=datetime(2026, 11, 17, 8))


def test_minutes_are_kept_to_the_second():
    assert clock(hours=7 * MINUTE / HOUR).latest_start == at(2, 15, 56) + timedelta(seconds=30)
