"""Calm windows by hand: a still morning, nights the clocks change, gaps, and what cannot be a forecast."""

import time
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import inf, nan
from zoneinfo import ZoneInfo

import pytest

from maintenance.calm import HoldUps, Needs, Spell, Window, calm_windows, hold_ups

MPH = 0.44704  # m/s, exact
BERLIN = ZoneInfo("Europe/Berlin")
NEW_YORK = ZoneInfo("America/New_York")
HOUR = timedelta(hours=1)
NOTHING = timedelta(0)


def fahrenheit(degrees):
    return (degrees + 459.67) / 1.8


# Film is pulled on in under 5 mph, dry, above 40 °F, by daylight; two hours at least: common practice, no source.
FILM = Needs(
    most_gust=5 * MPH,
    is_dry=True,
    least_temperature=fahrenheit(40),
    needs_daylight=True,
    least_length=2 * HOUR,
)
FORECAST = {"gust": 4 * MPH, "rain": 0.0, "temperature": 280.0}
WIND = Needs(most_gust=5.0)


def at(hour, minute=0, *, day=date(2026, 11, 30), zone=UTC):
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone)


def spell(start, end, **figures):
    return Spell(start=at(start), end=at(end), **(FORECAST | figures))


def windows(spells, needs=WIND, daylight=(), shifts=None):
    return [(each.start, each.end) for each in calm_windows(spells, needs, daylight=daylight, shifts=shifts)]


def monday(hour, minute=0):
    return at(hour, minute, zone=NEW_YORK)


# A Monday in New York, which is UTC-5 then: cold at first, still from 8:00 to 11:30, then 12 mph.
MONDAY = [
    Spell(start=monday(6), end=monday(7), gust=6 * MPH, rain=0.0, temperature=fahrenheit(35)),
    Spell(start=monday(7), end=monday(8), gust=4 * MPH, rain=0.0, temperature=fahrenheit(38)),
    Spell(start=monday(8), end=monday(9), gust=3 * MPH, rain=0.0, temperature=fahrenheit(42)),
    Spell(start=monday(9), end=monday(11, 30), gust=4 * MPH, rain=0.0, temperature=fahrenheit(46)),
    Spell(start=monday(11, 30), end=monday(17), gust=12 * MPH, rain=0.0, temperature=fahrenheit(50)),
]
DAYLIGHT = [(monday(7, 10), monday(16, 46))]
SHIFT = [(monday(7), monday(17))]


def test_a_still_monday_morning():
    found = calm_windows(MONDAY, FILM, daylight=DAYLIGHT, shifts=SHIFT)

    assert found == [Window(at(13), at(16, 30), most_gust=4 * MPH, least_temperature=fahrenheit(42))]
    assert {each.tzinfo for each in (found[0].start, found[0].end)} == {UTC}


def test_where_the_hours_of_monday_go():
    """11 h forecast, 1 h before the shift, 10 min and 14 min dark; cold 7:10-8:00, wind 11:30-16:46."""
    assert hold_ups(MONDAY, FILM, daylight=DAYLIGHT, shifts=SHIFT) == HoldUps(
        span=11 * HOUR,
        off_shift=HOUR,
        dark=timedelta(minutes=24),
        working=timedelta(hours=9, minutes=36),
        wind=timedelta(hours=5, minutes=16),
        rain=NOTHING,
        cold=timedelta(minutes=50),
        heat=NOTHING,
        unknown=NOTHING,
        too_short=NOTHING,
        calm=timedelta(hours=3, minutes=30),
    )


def test_work_longer_than_the_still_hours_finds_none():
    needs = replace(FILM, least_length=timedelta(hours=3, minutes=31))
    lost = hold_ups(MONDAY, needs, daylight=DAYLIGHT, shifts=SHIFT)

    assert calm_windows(MONDAY, needs, daylight=DAYLIGHT, shifts=SHIFT) == []
    assert (lost.calm, lost.too_short) == (NOTHING, timedelta(hours=3, minutes=30))


def test_exactly_as_long_as_needed_will_do():
    needs = replace(FILM, least_length=timedelta(hours=3, minutes=30))

    assert windows(MONDAY, needs, DAYLIGHT, SHIFT) == [(at(13), at(16, 30))]


@pytest.mark.parametrize(
    ("day", "hours"),
    [(date(2026, 3, 28), 8), (date(2026, 3, 29), 7), (date(2026, 10, 25), 9)],
    ids=["any night", "clocks go on", "clocks go back"],
)
def test_a_night_shift_is_as_long_as_it_is(day, hours):
    """Midnight to eight on the clock; the clocks of Berlin change at 1:00 UTC."""
    shift = (at(0, day=day, zone=BERLIN), at(8, day=day, zone=BERLIN))
    forecast = [Spell(start=at(0, day=day) - 12 * HOUR, end=at(0, day=day) + 24 * HOUR, **FORECAST)]

    [window] = calm_windows(forecast, WIND, daylight=[], shifts=[shift])

    assert window.end - window.start == hours * HOUR
    assert hold_ups(forecast, WIND, daylight=[], shifts=[shift]).working == hours * HOUR
    assert calm_windows(forecast, Needs(least_length=hours * HOUR + HOUR), daylight=[], shifts=[shift]) == []


def test_the_hour_that_comes_twice_is_two_spells():
    """On 25 October the clocks of Berlin show 2:30 twice."""
    twice = datetime(2026, 10, 25, 2, 30, tzinfo=BERLIN)
    forecast = [Spell(start=twice, end=twice.replace(fold=1), **FORECAST)]
    half_past = at(0, 30, day=date(2026, 10, 25))

    assert windows(forecast) == [(half_past, half_past + HOUR)]


@pytest.mark.parametrize(
    ("needs", "figures"),
    [
        (Needs(most_gust=5.0), {"gust": 5.01}),
        (Needs(most_wind=5.0), {"wind": 5.01}),
        (Needs(is_dry=True), {"rain": 1e-6}),
        (Needs(least_temperature=280.0), {"temperature": 279.99}),
        (Needs(most_temperature=280.0), {"temperature": 280.01}),
        (Needs(most_gust=5.0), {"gust": None}),
        (Needs(most_wind=5.0), {"wind": None}),
        (Needs(is_dry=True), {"rain": None}),
        (Needs(least_temperature=280.0), {"temperature": None}),
        (Needs(most_temperature=280.0), {"temperature": None}),
    ],
)
def test_what_is_too_much_or_unknown_breaks_a_window(needs, figures):
    fine = {"wind": 5.0, "gust": 5.0, "rain": 0.0, "temperature": 280.0}
    forecast = [spell(8, 10, **fine), spell(10, 11, **(fine | figures)), spell(11, 12, **fine)]

    assert windows(forecast, needs) == [(at(8), at(10)), (at(11), at(12))]


@pytest.mark.parametrize(
    ("needs", "figures", "reason"),
    [
        (Needs(most_gust=5.0), {"gust": 6.0}, "wind"),
        (Needs(most_wind=5.0), {"wind": 6.0}, "wind"),
        (Needs(is_dry=True), {"rain": 0.001}, "rain"),
        (Needs(least_temperature=280.0), {"temperature": 279.0}, "cold"),
        (Needs(most_temperature=280.0), {"temperature": 281.0}, "heat"),
        (Needs(is_dry=True), {"rain": None}, "unknown"),
    ],
)
def test_each_reason_by_its_name(needs, figures, reason):
    lost = hold_ups([spell(8, 10, **figures)], needs, daylight=[], shifts=None)
    reasons = {name: getattr(lost, name) for name in ("wind", "rain", "cold", "heat", "unknown", "calm")}

    assert reasons == dict.fromkeys(reasons, NOTHING) | {reason: 2 * HOUR}


def test_an_hour_of_wind_and_rain_counts_in_both():
    forecast = [spell(8, 9, gust=9.0, rain=0.002), spell(9, 12)]
    lost = hold_ups(forecast, Needs(most_gust=5.0, is_dry=True), daylight=[], shifts=None)

    assert (lost.wind, lost.rain, lost.calm, lost.working) == (HOUR, HOUR, 3 * HOUR, 4 * HOUR)


def test_wind_in_the_night_keeps_nobody_from_work():
    lost = hold_ups([spell(0, 7, gust=20.0), spell(7, 9)], WIND, daylight=[], shifts=[(at(7), at(9))])

    assert (lost.off_shift, lost.wind, lost.calm) == (7 * HOUR, NOTHING, 2 * HOUR)


def test_what_the_work_does_not_mind_may_be_unknown_but_is_not_said_to_be_calm():
    forecast = [spell(8, 9, gust=3.0, temperature=281.0), spell(9, 10, gust=None, temperature=None)]

    assert calm_windows(forecast, Needs(is_dry=True), daylight=[], shifts=None) == [Window(at(8), at(10), None, None)]


def test_a_gap_breaks_a_window_and_is_unknown():
    forecast = [spell(8, 10), spell(11, 12)]

    assert windows(forecast) == [(at(8), at(10)), (at(11), at(12))]
    assert hold_ups(forecast, WIND, daylight=[], shifts=None).unknown == HOUR


def test_the_worse_of_two_spells_counts():
    forecast = [spell(8, 12, gust=3.0, temperature=282.0), spell(10, 11, gust=9.0), spell(11, 12, temperature=275.0)]

    assert calm_windows(forecast, WIND, daylight=[], shifts=None) == [
        Window(at(8), at(10), 3.0, 282.0),
        Window(at(11), at(12), 3.0, 275.0),
    ]


def test_shifts_that_touch_or_overlap_are_one():
    forecast = [spell(6, 20)]

    assert windows(forecast, shifts=[(at(12), at(16)), (at(8), at(12))]) == [(at(8), at(16))]
    assert windows(forecast, shifts=[(at(8), at(13)), (at(12), at(16)), (at(9), at(10))]) == [(at(8), at(16))]
    assert windows(forecast, shifts=[(at(8), at(12)), (at(13), at(16))]) == [(at(8), at(12)), (at(13), at(16))]


def test_daylight_counts_only_where_it_is_needed():
    assert windows([spell(6, 20)], Needs(needs_daylight=True), daylight=[(at(8), at(9))]) == [(at(8), at(9))]
    assert windows([spell(6, 20)], Needs(needs_daylight=True)) == []
    assert windows([spell(6, 20)], Needs()) == [(at(6), at(20))]


def test_nobody_on_shift_no_window():
    assert windows([spell(6, 20)], shifts=[]) == []
    assert hold_ups([spell(6, 20)], WIND, daylight=[], shifts=[]).off_shift == 14 * HOUR


def test_no_forecast_no_window():
    lost = hold_ups([], WIND, daylight=[], shifts=None)

    assert windows([]) == []
    assert (lost.span, lost.working, lost.calm, lost.unknown) == (NOTHING, NOTHING, NOTHING, NOTHING)


def test_a_week_of_hours_at_sixty_tunnels():
    begin = at(0)
    week = [
        Spell(start=begin + n * HOUR, end=begin + (n + 1) * HOUR, gust=float(n % 11), rain=0.0, temperature=285.0)
        for n in range(168)
    ]
    days = [(begin + n * 24 * HOUR + 8 * HOUR, begin + n * 24 * HOUR + 17 * HOUR) for n in range(7)]
    begun = time.process_time()
    for _ in range(60):
        calm_windows(week, FILM, daylight=days, shifts=days)
        hold_ups(week, FILM, daylight=days, shifts=days)

    assert time.process_time() - begun < 3


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Spell(start=datetime(2026, 1, 1), end=at(9)), "need a zone"),
        (lambda: Spell(start=at(9), end=datetime(2026, 12, 1)), "need a zone"),
        (lambda: Spell(start=at(9), end=at(9)), "must end after it starts"),
        (lambda: Spell(start=at(9), end=at(8)), "must end after it starts"),
        (lambda: spell(8, 9, wind=-0.1), "wind must be finite and not negative"),
        (lambda: spell(8, 9, gust=nan), "gust must be finite"),
        (lambda: spell(8, 9, rain=-1e-9), "rain must be finite and not negative"),
        (lambda: spell(8, 9, temperature=inf), "temperature must be finite"),
        (lambda: spell(8, 9, temperature=-5.0), "temperature must be finite and not negative"),
        (lambda: Needs(most_wind=nan), "most_wind must be finite"),
        (lambda: Needs(most_gust=-1.0), "most_gust must be finite and not negative"),
        (lambda: Needs(least_temperature=inf), "least_temperature must be finite"),
        (lambda: Needs(most_temperature=-1.0), "most_temperature must be finite and not negative"),
        (lambda: Needs(least_temperature=290.0, most_temperature=280.0), "above most_temperature"),
        (lambda: Needs(least_length=-HOUR), "least_length must not be negative"),
        (lambda: windows([spell(8, 9)], shifts=[(datetime(2026, 1, 1), at(9))]), "need a zone"),
        (lambda: windows([spell(8, 9)], shifts=[(at(9), at(9))]), "must end after it starts"),
        (lambda: windows([], Needs(needs_daylight=True), daylight=[(at(9), at(8))]), "must end after it starts"),
        (lambda: hold_ups([], WIND, daylight=[], shifts=[(at(9), at(8))]), "must end after it starts"),
    ],
)
def test_what_cannot_be(make, words):
    with pytest.raises(ValueError, match=words):
        make()
