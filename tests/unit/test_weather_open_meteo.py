"""Hourly answers: gusts belong to the hour before their time, and no unit or clock is taken on trust."""

from datetime import UTC, datetime

import pytest

from maintenance.weather import ForecastError, read_open_meteo
from tests.weather_documents import HOUR, NOW, at, dumped, open_meteo


def read(count=24, **changed):
    return read_open_meteo(dumped(open_meteo(count, **changed)), fetched_at=NOW)


def reasons(forecast):
    return [(remark.reason, remark.params.get("figure")) for remark in forecast.remarks]


def test_an_answer_becomes_hours():
    forecast = read(4)

    assert forecast.remarks == ()
    assert (forecast.issued_at, forecast.place.cell) == (None, "41.2580,-96.4970")
    assert [spell.start for spell in forecast.spells] == [at(-1), at(0), at(1), at(2)]
    assert [spell.gust for spell in forecast.spells] == [12, 13, 14, 15]  # each of the hour that ends
    assert [spell.wind for spell in forecast.spells] == [6, 7, 8, 9]  # the stronger of both ends
    assert [spell.bearing_deg for spell in forecast.spells] == [200, 210, 220, 230]
    assert [spell.temperature for spell in forecast.spells] == pytest.approx([276.65, 276.55, 276.45, 276.35])
    assert [spell.rain for spell in forecast.spells] == pytest.approx([0.0004] * 4)
    assert [spell.thunder for spell in forecast.spells] == [False, False, True, True]


@pytest.mark.parametrize(
    ("unit", "value"), [("km/h", 90), ("m/s", 25), ("mp/h", 55.9234), ("mph", 55.9234), ("kn", 48.5961)]
)
def test_every_unit_of_speed_is_read(unit, value):
    forecast = read(3, wind_gusts_10m=[value] * 3, units={"wind_gusts_10m": unit})

    assert [spell.gust for spell in forecast.spells] == pytest.approx([25] * 3, abs=1e-4)


def test_inches_and_fahrenheit_are_read():
    forecast = read(
        2, precipitation=[1, 1], snowfall=[2, 2], temperature_2m=[14, 14],
        units={"precipitation": "inch", "snowfall": "inch", "temperature_2m": "°F"},
    )  # fmt: skip

    assert (forecast.spells[0].rain, forecast.spells[0].snow) == pytest.approx((0.0254, 0.0508))
    assert forecast.spells[0].temperature == pytest.approx(263.15)


def test_a_model_without_gusts_is_told_and_not_calm():
    forecast = read(3, wind_gusts_10m=[None] * 3, units={"wind_gusts_10m": "undefined"})

    assert [spell.gust for spell in forecast.spells] == [None] * 3
    assert reasons(forecast) == [("no_layer", "gust"), ("gust_unknown", "gust")]


def test_an_unknown_unit_leaves_the_series_out():
    forecast = read(3, units={"wind_gusts_10m": "undefined"})

    assert [spell.gust for spell in forecast.spells] == [None] * 3
    assert reasons(forecast) == [("unknown_unit", "gust"), ("gust_unknown", "gust")]


def test_a_gust_below_the_mean_is_told_and_a_zero_is_not_known():
    forecast = read(3, wind_gusts_10m=[0, 5, 30], wind_speed_10m=[8, 8, 8])

    assert [spell.gust for spell in forecast.spells] == [None, 8, 30]
    assert [reason for reason, _ in reasons(forecast)] == ["gust_zero", "gust_below_mean", "gust_unknown"]


def local_times(first, count):
    """Return hours as the service writes them: on one offset, whatever the clocks do."""
    return [f"{datetime.fromtimestamp(first + hour * 3600, UTC):%Y-%m-%dT%H:%M}" for hour in range(count)]


def test_local_times_are_placed_by_the_offset_even_where_no_clock_shows_them():
    # Clocks in Chicago went from 02:00 to 03:00 on 8 March 2026; the answer is written at -06:00 throughout.
    midnight = datetime(2026, 3, 8, 6, tzinfo=UTC)

    forecast = read(
        5, time=local_times(midnight.timestamp() - 6 * 3600, 5), utc_offset_seconds=-21_600, timezone="America/Chicago"
    )

    assert [spell.end for spell in forecast.spells] == [midnight + hour * HOUR for hour in range(5)]
    assert reasons(forecast) == [("clock_changes", None)]
    assert "2026-03-08T02:00" in str(forecast.remarks[0])


@pytest.mark.parametrize("offset", [None, "-6", True, 1e9, float("nan")])
def test_local_times_without_a_sound_offset_are_refused(offset):
    with pytest.raises(ForecastError) as caught:
        read(3, time=["2026-03-09T11:00", "2026-03-09T12:00", "2026-03-09T13:00"], utc_offset_seconds=offset)

    assert caught.value.reason == "no_wind"


def test_a_time_that_cannot_be_used_leaves_a_hole_that_is_told():
    document = open_meteo(6)
    document["hourly"]["time"][3] = "noon"

    forecast = read_open_meteo(dumped(document), fetched_at=NOW)

    assert [(spell.start, spell.gust) for spell in forecast.spells] == [
        (at(-1), 12), (at(0), 13), (at(1), 14), (at(2), None), (at(3), 16), (at(4), 17),
    ]  # fmt: skip
    assert [reason for reason, _ in reasons(forecast)] == ["bad_interval", "gap", "gust_unknown"]


@pytest.mark.parametrize("time", [0, -1e300, 1e300, True, None, "0001-01-01T00:00", [1]])
def test_times_far_away_are_left_out(time):
    document = open_meteo(4)
    document["hourly"]["time"][0] = time

    forecast = read_open_meteo(dumped(document), fetched_at=NOW)

    assert [spell.gust for spell in forecast.spells] == [13, 14, 15]
    assert reasons(forecast)[0][0] in ("bad_interval", "far")


def test_a_local_time_at_the_beginning_of_the_calendar_is_left_out():
    times = ["0001-01-01T00:00", "2026-03-09T11:00"]

    forecast = read(2, time=times, utc_offset_seconds=3600)

    assert [spell.end for spell in forecast.spells] == [at(-1)]
    assert reasons(forecast) == [("bad_interval", "time")]


@pytest.mark.parametrize("gusts", [[20, 30, 15], [30, 20, 15]])
def test_of_a_time_that_comes_twice_the_worse_counts(gusts):
    noon, one = int(at(1).timestamp()), int(at(2).timestamp())

    forecast = read(3, time=[noon, noon, one], wind_gusts_10m=gusts)

    assert [(spell.end, spell.gust) for spell in forecast.spells] == [(at(1), 30), (at(2), 15)]
    assert reasons(forecast) == [("overlap", "time")]


def test_series_of_another_length_or_kind_are_left_out():
    forecast = read(3, wind_gusts_10m=[20, 20], snowfall={"a": 1}, weather_code=[3, "storm", None])

    assert [spell.gust for spell in forecast.spells] == [None] * 3
    assert [spell.snow for spell in forecast.spells] == [None] * 3
    assert [spell.thunder for spell in forecast.spells] == [False, False, None]
    assert reasons(forecast) == [
        ("short_layer", "gust"), ("bad_layer", "snow"), ("not_a_number", "thunder"), ("gust_unknown", "gust"),
    ]  # fmt: skip


def test_an_unknown_place_is_told():
    assert reasons(read(3, latitude="north")) == [("no_place", None)]


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (dumped({"error": True, "reason": "Latitude must be in range of -90 to 90."}), "problem"),
        (dumped({"latitude": 1, "longitude": 2}), "wrong_shape"),
        (dumped({"hourly": {"time": []}}), "wrong_shape"),
        (dumped({"hourly": {"time": []}, "hourly_units": {}}), "no_wind"),
        (dumped(open_meteo(5001)), "too_many"),
    ],
)
def test_what_is_no_forecast_is_refused(content, reason):
    with pytest.raises(ForecastError) as caught:
        read_open_meteo(content, fetched_at=NOW)

    assert caught.value.reason == reason


def test_the_services_own_words_are_told():
    with pytest.raises(ForecastError, match="Latitude must be in range"):
        read_open_meteo(dumped({"error": True, "reason": "Latitude must be in range of -90 to 90."}), fetched_at=NOW)
