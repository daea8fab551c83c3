"""What the farm's own anemometer sends is a reading or is refused with a sentence."""

from datetime import UTC, datetime, timedelta

import pytest

from maintenance.weather import ForecastError, Reading, read_reading
from tests.weather_documents import NOW, READING, dumped

MPH = 1609.344 / 3600  # m/s
AT = datetime(2026, 3, 9, 11, 15, tzinfo=UTC)


def read(**changed):
    return read_reading(dumped(READING | changed), fetched_at=NOW)


def refused(content):
    with pytest.raises(ForecastError) as caught:
        read_reading(content, fetched_at=NOW)
    assert str(caught.value)
    return caught.value.reason


def test_a_reading_is_read():
    assert read() == Reading(AT, pytest.approx(41 * MPH), pytest.approx(22.5 * MPH), 250)


def test_unix_seconds_are_a_time_too():
    assert read(at=AT.timestamp()).at == AT


def test_only_the_gust_is_needed():
    content = dumped({"at": READING["at"], "gust": 20, "unit": "m/s"})

    assert read_reading(content, fetched_at=NOW) == Reading(AT, 20)


@pytest.mark.parametrize(("unit", "speed"), [("m/s", 41), ("km/h", 41 / 3.6), ("kn", 41 * 1852 / 3600)])
def test_units(unit, speed):
    assert read(unit=unit).gust == pytest.approx(speed)


def test_a_mean_above_the_gust_is_taken_for_the_gust_and_told():
    reading = read(mean=50)

    assert reading.gust == pytest.approx(50 * MPH)
    assert [remark.reason for remark in reading.remarks] == ["gust_below_mean"]


@pytest.mark.parametrize(("changed", "reason"), [({"mean": "x"}, "not_a_number"), ({"direction": 400}, "absurd")])
def test_what_else_it_says_may_be_left_out(changed, reason):
    reading = read(**changed)

    assert None in (reading.mean, reading.bearing_deg)
    assert [remark.reason for remark in reading.remarks] == [reason]


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"at": None}, "reading_time"),
        ({"at": "2026-03-09T06:15:00"}, "reading_time"),
        ({"at": True}, "reading_time"),
        ({"at": 1e300}, "reading_time"),
        ({"at": (NOW + timedelta(minutes=6)).isoformat()}, "reading_far"),
        ({"at": (NOW - timedelta(days=8)).isoformat()}, "reading_far"),
        ({"unit": None}, "reading_unit"),
        ({"unit": ["mph"]}, "reading_unit"),
        ({"unit": "F"}, "reading_unit"),
        ({"gust": None}, "reading_gust"),
        ({"gust": "20"}, "reading_gust"),
        ({"gust": True}, "reading_gust"),
        ({"gust": -1}, "reading_gust"),
        ({"gust": 269}, "reading_gust"),
        ({"gust": float("nan")}, "reading_gust"),
        ({"gust": float("inf")}, "reading_gust"),
        ({"gust": 10**500}, "reading_gust"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(changed, reason):
    assert refused(dumped(READING | changed)) == reason


@pytest.mark.parametrize(("content", "reason"), [(b"", "empty"), (b"[]", "wrong_shape"), (b"gust=5", "not_json")])
def test_what_is_no_reading_is_refused(content, reason):
    assert refused(content) == reason
