"""Sunrise, noon, sunset and civil twilight against a weather service's own answers and the equations of NOAA.

SERVICE: answers of the US National Weather Service for a point, kept as fixtures in github.com/weather-gov/weather.gov.
EQUATIONS: NOAA General Solar Position Calculations (GML), zenith 90.833; they carry a mean error of a minute or two.
Tolerance 3 minutes, for planning.
"""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from maintenance.daylight import daylight_on, work_light

CLOSE = timedelta(minutes=3)
# The service's sunsets are those of a sun a quarter degree lower: under two minutes at 42 north, but eight where the
# sun hardly sinks.
GRAZING = timedelta(minutes=10)
EASTERN, GUAM, ALASKA = (timezone(timedelta(hours=hours)) for hours in (-4, 10, -8))
MOUNTAIN = timezone(timedelta(hours=-7))

SERVICE = [
    (41.967, -71.189, EASTERN, date(2026, 7, 15), "05:21:16", "12:50:47", "20:20:19"),
    (42.745, -73.752, EASTERN, date(2026, 7, 15), "05:29:00", "13:01:02", "20:33:04"),
    (13.444, 144.778, GUAM, date(2026, 5, 14), "05:54:00", "12:17:14", "18:40:29"),
]
EQUATIONS = [  # UTC, minutes and tenths; sunset may fall on the next day
    (40.0, -105.0, date(2024, 3, 20), "13:04.1", "19:07.9", "01:11.8"),
    (40.0, -105.0, date(2024, 6, 20), "11:30.7", "19:01.2", "02:31.7"),
    (40.0, -105.0, date(2024, 12, 21), "14:18.0", "18:57.8", "23:37.7"),
    (51.4769, 0.0, date(2024, 6, 20), "03:42.2", "12:01.2", "20:20.3"),
    (51.4769, 0.0, date(2024, 12, 21), "08:02.8", "11:57.8", "15:52.9"),
    (41.967, -71.189, date(2026, 7, 15), "09:21.6", "16:50.5", "00:19.5"),
]


def of_day(found, clock, zone=UTC):
    """Return seconds between a moment and a printed time of day, the nearest way round the clock."""
    hours, minutes, *seconds = clock.split(":")
    printed = int(hours) * 3600 + float(minutes) * 60 + sum(map(float, seconds))
    local = found.astimezone(zone)
    gap = local.hour * 3600 + local.minute * 60 + local.second - printed
    return timedelta(seconds=(gap + 43200) % 86400 - 43200)


@pytest.mark.parametrize(("latitude", "longitude", "zone", "day", "rise", "noon", "fall"), SERVICE)
def test_as_the_weather_service_says(latitude, longitude, zone, day, rise, noon, fall):
    found = daylight_on(day, latitude=latitude, longitude=longitude, zone=zone)

    for moment, printed in ((found.sunrise, rise), (found.noon, noon), (found.sunset, fall)):
        assert moment.astimezone(zone).date() == day
        assert abs(of_day(moment, printed, zone)) < CLOSE


@pytest.mark.parametrize(("latitude", "longitude", "day", "rise", "noon", "fall"), EQUATIONS)
def test_as_the_equations_say(latitude, longitude, day, rise, noon, fall):
    found = daylight_on(day, latitude=latitude, longitude=longitude, zone=MOUNTAIN if longitude < -90 else UTC)

    for moment, printed in ((found.sunrise, rise), (found.noon, noon), (found.sunset, fall)):
        assert abs(of_day(moment, printed)) < CLOSE
    assert found.sunrise < found.noon < found.sunset


def test_civil_twilight_is_the_light_to_work_by():
    # The service: civil twilight 04:49:41 to 20:51:54.
    found = daylight_on(date(2026, 7, 15), latitude=41.967, longitude=-71.189, zone=EASTERN)

    assert abs(of_day(found.dawn, "04:49:41", EASTERN)) < CLOSE
    assert abs(of_day(found.dusk, "20:51:54", EASTERN)) < CLOSE
    assert (found.work_light.start, found.work_light.end) == (found.dawn, found.dusk)


def test_a_sunset_after_midnight_belongs_to_the_day_before():
    # The service: sunset 2026-06-13 at 00:46:37, and no civil twilight.
    found = daylight_on(date(2026, 6, 12), latitude=64.837, longitude=-147.739, zone=ALASKA)

    assert found.sunset.astimezone(ALASKA).date() == date(2026, 6, 13)
    assert abs(of_day(found.sunset, "00:46:37", ALASKA)) < GRAZING
    assert found.dawn is None
    assert found.dusk is None
    assert found.is_light_all_day
    assert found.work_light.length == timedelta(hours=24)


def test_where_the_sun_does_not_set_there_is_always_light():
    # The service: neither sunrise nor sunset.
    found = daylight_on(date(2026, 6, 12), latitude=69.519, longitude=-157.105, zone=ALASKA)

    assert (found.sunrise, found.sunset) == (None, None)
    assert found.is_light_all_day
    assert not found.is_dark_all_day


def test_in_a_polar_night_there_is_none():
    # At 80 north the sun of the December solstice, 23.4 degrees south, is 13.4 degrees under the horizon at noon.
    day = date(2026, 12, 21)
    found = daylight_on(day, latitude=80.0, longitude=0.0, zone=UTC)

    assert found.noon_height == pytest.approx(-13.44, abs=0.05)
    assert found.is_dark_all_day
    assert not found.is_light_all_day
    assert found.work_light is None
    assert work_light([day], latitude=80.0, longitude=0.0, zone=UTC) == ()


def test_each_local_day_has_its_own_light():
    days = [date(2026, 11, 17) + timedelta(days=step) for step in range(3)]

    found = work_light(days, latitude=-36.8, longitude=174.7, zone=timezone(timedelta(hours=13)))

    local = [(light.start + timedelta(hours=13)).date() for light in found]
    assert local == days
    assert found[0].end < found[1].start < found[1].end < found[2].start
    assert found[0].start.tzinfo is UTC
    assert found[0].start < datetime(2026, 11, 17, 0, 0, tzinfo=UTC) < found[0].end
