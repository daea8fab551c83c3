"""Gridpoint documents become hours; what cannot be used is told and never calm."""

import json
from datetime import timedelta

import pytest

from maintenance.weather import ForecastError, GridAddress, read_gridpoint, read_points
from tests.weather_documents import DRY, HOUR, NOW, THUNDER, at, dumped, gridpoint, layer, points, stamp

KNOT = 1852 / 3600  # m/s
KM_H = "wmoUnit:km_h-1"


def read(**layers):
    return read_gridpoint(dumped(gridpoint(**layers)), fetched_at=NOW)


def reasons(forecast):
    return [(remark.reason, remark.params.get("figure")) for remark in forecast.remarks]


def gusts(forecast):
    return [spell.gust for spell in forecast.spells]


def test_a_whole_document_becomes_hours_in_si():
    forecast = read()

    assert forecast.remarks == ()
    assert forecast.issued_at.isoformat() == "2026-03-09T09:41:05+00:00"
    assert (forecast.source, forecast.place.cell, forecast.fetched_at) == ("NWS", "QQZ/12,34", NOW)
    assert (forecast.place.latitude, forecast.place.longitude) == pytest.approx((41.26, -96.5))
    assert [spell.start for spell in forecast.spells] == [at(hour) for hour in range(30)]
    assert all(spell.end - spell.start == HOUR for spell in forecast.spells)
    assert gusts(forecast) == pytest.approx([17 * KNOT] * 2 + [40 * KNOT] + [50 * KNOT] * 3 + [21 * KNOT] * 24)
    first, fourth = forecast.spells[0], forecast.spells[3]
    assert (first.wind, first.bearing_deg, first.temperature) == pytest.approx((9 * KNOT, 220, 277.15))
    assert (first.rain, first.snow, first.thunder) == (pytest.approx(0.002), 0.0, False)
    assert (fourth.temperature, fourth.thunder) == (pytest.approx(271.65), True)
    assert sum(spell.snow or 0 for spell in forecast.spells) == pytest.approx(0.0508)


@pytest.mark.parametrize(
    "time",
    [
        "2026-03-09T13:00:00+00:00/PT3H",
        "2026-03-09T13:00:00Z/PT3H",
        "2026-03-09T08:00:00-05:00/PT3H",
        "2026-03-09T13:00:00+00:00/2026-03-09T16:00:00+00:00",
        "PT3H/2026-03-09T16:00:00+00:00",
        "2026-03-09T13:00:00+00:00/PT2H60M",
        "2026-03-09T13:00:00+00:00/P0DT3H",
    ],
)
def test_an_interval_may_be_written_in_every_way_of_iso_8601(time):
    forecast = read(windGust={"uom": KM_H, "values": [{"validTime": time, "value": 92.6}]})

    assert [spell.start for spell in forecast.spells if spell.gust] == [at(2), at(3), at(4)]


def test_now_may_stand_for_an_end():
    values = [
        {"validTime": f"{stamp(0)}/NOW", "value": 37.04},
        {"validTime": "NOW/PT2H", "value": 74.08},
    ]

    forecast = read(windGust={"uom": KM_H, "values": values})

    # NOW is 11:20: the first hour is touched by both, and the stronger gust holds in it.
    assert gusts(forecast)[:4] == [pytest.approx(40 * KNOT)] * 3 + [None]


@pytest.mark.parametrize(
    ("length", "hours"), [("PT1H", 1), ("PT18H", 18), ("P1D", 24), ("PT72H", 72), ("P1DT12H", 36), ("P1W", 168)]
)
def test_long_intervals_are_laid_out_over_all_their_hours(length, hours):
    forecast = read(windGust=layer(KM_H, (0, length, 92.6)))

    assert sum(spell.gust is not None for spell in forecast.spells) == hours


def test_merged_hours_and_single_hours_agree():
    merged = layer(KM_H, (0, "PT6H", 55.56), (6, "PT2H", 74.08))
    single = layer(KM_H, *((hour, "PT1H", 55.56) for hour in range(6)), (6, "PT1H", 74.08), (7, "PT1H", 74.08))

    assert read(windGust=merged) == read(windGust=single)


def test_rain_is_a_total_and_is_shared_out_by_time():
    forecast = read(quantitativePrecipitation=layer("wmoUnit:mm", (0.5, "PT2H", 8.0)))

    assert [spell.rain for spell in forecast.spells[:3]] == pytest.approx([0.002, 0.004, 0.002])
    assert forecast.spells[3].rain is None


@pytest.mark.parametrize(
    ("uom", "value"),
    [
        ("wmoUnit:km_h-1", 92.6),
        ("unit:km_h-1", 92.6),
        ("km_h-1", 92.6),
        ("wmoUnit:m_s-1", 25.72222),
        ("nwsUnit:kt", 50),
        ("https://codes.wmo.int/common/unit:km_h-1", 92.6),
    ],
)
def test_a_unit_is_known_by_its_last_part(uom, value):
    assert read(windGust=layer(uom, (0, "PT1H", value))).spells[0].gust == pytest.approx(50 * KNOT, abs=1e-5)


def test_fahrenheit_is_read():
    forecast = read(temperature=layer("wmoUnit:degF", (0, "PT1H", 32), (1, "PT1H", -40)))

    assert [spell.temperature for spell in forecast.spells[:2]] == pytest.approx([273.15, 233.15])


def test_a_null_gust_is_not_known_and_told():
    forecast = read(windGust=layer(KM_H, (0, "PT1H", None), (1, "PT29H", 92.6)))

    assert forecast.spells[0].gust is None
    assert reasons(forecast) == [("gust_unknown", "gust")]
    assert "2026-03-09T11:00:00+00:00" in str(forecast.remarks[0])


@pytest.mark.parametrize("windGust", [None, {"uom": KM_H, "values": []}, {"values": []}])
def test_without_gusts_the_mean_remains_and_both_are_told(windGust):
    forecast = read(windGust=windGust)

    assert set(gusts(forecast)) == {None}
    assert all(spell.wind for spell in forecast.spells)
    assert reasons(forecast) == [("no_layer", "gust"), ("gust_unknown", "gust")]


@pytest.mark.parametrize(
    ("entry", "reason"),
    [
        ({"validTime": f"{stamp(2)}/PT1H", "value": "fast"}, "not_a_number"),
        ({"validTime": f"{stamp(2)}/PT1H", "value": True}, "not_a_number"),
        ({"validTime": f"{stamp(2)}/PT1H", "value": [92.6]}, "not_a_number"),
        ({"validTime": f"{stamp(2)}/PT1H", "value": -1}, "absurd"),
        ({"validTime": f"{stamp(2)}/PT1H", "value": 432.1}, "absurd"),  # 120 m/s is 432 km/h
        ({"validTime": f"{stamp(2)}/PT1H", "value": float("nan")}, "absurd"),
        ({"validTime": f"{stamp(2)}/PT1H", "value": float("inf")}, "absurd"),
        ({"validTime": f"{stamp(2)}/PT1H", "value": 10**400}, "absurd"),
        ({"validTime": f"{stamp(2)}/PT0H", "value": 92.6}, "bad_interval"),
        ({"validTime": f"{stamp(2)}/P1Y", "value": 92.6}, "bad_interval"),
        ({"validTime": f"{stamp(2)}/P1M", "value": 92.6}, "bad_interval"),
        ({"validTime": f"{stamp(2)}/P99999D", "value": 92.6}, "bad_interval"),
        ({"validTime": f"{stamp(2)}/P", "value": 92.6}, "bad_interval"),
        ({"validTime": f"{stamp(2)}/PT", "value": 92.6}, "bad_interval"),
        ({"validTime": f"{stamp(2)}/{stamp(1)}", "value": 92.6}, "bad_interval"),
        ({"validTime": "NOW/NOW", "value": 92.6}, "bad_interval"),
        ({"validTime": "P9999D/0001-01-02T00:00:00Z", "value": 92.6}, "bad_interval"),
        ({"validTime": "2026-03-09T13:00:00/PT1H", "value": 92.6}, "bad_interval"),  # no offset
        ({"validTime": "2026-02-30T13:00:00Z/PT1H", "value": 92.6}, "bad_interval"),
        ({"validTime": None, "value": 92.6}, "bad_interval"),
        ({"value": 92.6}, "bad_interval"),
        ({"validTime": f"{stamp(2)}/PT1H"}, "bad_interval"),
        ("gust", "bad_interval"),
        ({"validTime": "1726-03-09T13:00:00Z/PT1H", "value": 92.6}, "far"),
        ({"validTime": "2426-03-09T13:00:00Z/PT1H", "value": 92.6}, "far"),
    ],
)
def test_an_entry_that_cannot_be_used_is_left_out_and_told(entry, reason):
    values = [{"validTime": f"{stamp(0)}/PT2H", "value": 92.6}, entry]

    forecast = read(windGust={"uom": KM_H, "values": values})

    assert gusts(forecast)[:3] == [pytest.approx(50 * KNOT)] * 2 + [None]
    assert reasons(forecast) == [(reason, "gust"), ("gust_unknown", "gust")]


@pytest.mark.parametrize(
    ("layer_name", "figure", "uom", "value"),
    [
        ("temperature", "temperature", "wmoUnit:degC", -273.2),
        ("windDirection", "bearing_deg", "wmoUnit:degree_(angle)", 361),
        ("quantitativePrecipitation", "rain", "wmoUnit:mm", -0.1),
        ("snowfallAmount", "snow", "wmoUnit:mm", 5000.1),
    ],
)
def test_figures_that_cannot_be_true_are_left_out(layer_name, figure, uom, value):
    forecast = read(**{layer_name: layer(uom, (0, "PT1H", value))})

    assert getattr(forecast.spells[0], figure) is None
    assert reasons(forecast) == [("absurd", figure)]


@pytest.mark.parametrize("uom", ["wmoUnit:percent", "furlongs", "", None, 5, "x" * 1000])
def test_an_unknown_unit_leaves_the_layer_out(uom):
    forecast = read(windGust={"uom": uom, "values": [{"validTime": f"{stamp(0)}/PT1H", "value": 9}]})

    assert set(gusts(forecast)) == {None}
    assert reasons(forecast) == [("unknown_unit", "gust"), ("gust_unknown", "gust")]


@pytest.mark.parametrize("second", [(0, "PT2H", 37.04), (1, "PT1H", 37.04), (0.5, "PT1H", 37.04)])
def test_where_gusts_overlap_the_stronger_holds(second):
    forecast = read(windGust=layer(KM_H, (0, "PT2H", 92.6), second))

    assert gusts(forecast)[:2] == [pytest.approx(50 * KNOT)] * 2
    assert reasons(forecast) == [("overlap", "gust"), ("gust_unknown", "gust")]


def test_where_temperatures_overlap_the_colder_holds_and_rain_counts_once():
    forecast = read(
        temperature=layer("wmoUnit:degC", (0, "PT1H", -5), (0, "PT1H", 5)),
        quantitativePrecipitation=layer("wmoUnit:mm", (0, "PT1H", 4), (0, "PT1H", 4)),
    )

    assert forecast.spells[0].temperature == pytest.approx(268.15)
    assert forecast.spells[0].rain == pytest.approx(0.004)
    assert reasons(forecast) == [("overlap", "temperature"), ("overlap", "rain")]


def test_a_gust_below_the_mean_gives_way_to_it():
    forecast = read(windSpeed=layer(KM_H, (0, "P2D", 55.56)), windGust=layer(KM_H, (0, "P1D", 37.04), (24, "P1D", 0)))

    assert gusts(forecast) == [pytest.approx(30 * KNOT)] * 24 + [None] * 24
    assert [reason for reason, _ in reasons(forecast)] == ["gust_below_mean", "gust_zero", "gust_unknown"]


def test_calm_stays_calm():
    forecast = read(windSpeed=layer(KM_H, (0, "PT1H", 0)), windGust=layer(KM_H, (0, "PT1H", 0)))

    assert (forecast.spells[0].wind, forecast.spells[0].gust) == (0, 0)


def test_hours_that_are_left_out_are_spells_of_nothing():
    one = dict.fromkeys(("temperature", "windDirection", "windSpeed", "weather", "snowfallAmount"))

    forecast = read(**one, quantitativePrecipitation=None, windGust=layer(KM_H, (0, "PT1H", 92.6), (4, "PT1H", 92.6)))

    assert [(spell.start, spell.end) for spell in forecast.spells] == [
        (at(0), at(1)), (at(1), at(4)), (at(4), at(5))
    ]  # fmt: skip
    assert forecast.spells[1].gust is None
    assert ("gap", None) in reasons(forecast)


def test_thunder_is_yes_no_or_not_known():
    broken = {"values": [{"validTime": f"{stamp(3)}/PT1H", "value": "thunderstorms"}]}
    good = layer(None, (0, "PT1H", DRY), (1, "PT1H", THUNDER), (2, "PT1H", None), (2, "PT1H", []))

    forecast = read(weather={"values": good["values"] + broken["values"]})

    assert [spell.thunder for spell in forecast.spells[:4]] == [False, True, False, None]
    assert ("bad_layer", "thunder") in reasons(forecast)


@pytest.mark.parametrize(
    ("updated", "reason"),
    [
        ("2026-03-08T17:00:00+00:00", "stale"),
        ("2026-03-09T13:00:00+00:00", "issue_future"),
        ("yesterday", "issue_unknown"),
        (1773049265, "issue_unknown"),
    ],
)
def test_the_age_of_a_forecast_is_looked_at(updated, reason):
    assert reasons(read(updateTime=updated)) == [(reason, None)]


def test_a_forecast_of_eighteen_hours_is_still_fresh():
    updated = (NOW - timedelta(hours=18)).isoformat()

    assert read(updateTime=updated).remarks == ()


@pytest.mark.parametrize(
    "geometry",
    [None, {}, {"coordinates": [[]]}, {"coordinates": [[[1, 2, 3]] * 3]}, {"coordinates": [[[-96, 141]] * 3]}, "x"],
)
def test_a_document_without_a_place_is_read_and_told(geometry):
    forecast = read_gridpoint(dumped(gridpoint() | {"geometry": geometry}), fetched_at=NOW)

    assert (forecast.place.latitude, forecast.place.cell) == (None, "QQZ/12,34")
    assert reasons(forecast) == [("no_place", None)]


PROBLEM = {
    "correlationId": "5d2",
    "title": "Forecast Grid Expired",
    "type": "https://api.weather.gov/problems/ForecastGridExpired",
    "status": 503,
    "detail": "The requested forecast grid was issued long ago.",
}


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "empty"),
        (b" \n", "empty"),
        (b"\xff\xfe{\x00}\x00", "not_text"),
        (b"<!DOCTYPE html><html><body>503</body></html>", "html"),
        (dumped(gridpoint())[:-200], "not_json"),
        (b'{"properties": {"a": 1, "a": 2}}', "key_twice"),
        (b"[" * 100_000, "not_json"),
        (b'{"a":' * 100_000, "not_json"),
        (b" " * (5 * 1024 * 1024 + 1), "too_large"),
        (b"[]", "wrong_shape"),
        (b"7", "wrong_shape"),
        (b"null", "wrong_shape"),
        (b"{}", "wrong_shape"),
        (b'{"properties": []}', "wrong_shape"),
        (b'{"properties": {}}', "no_wind"),
        (dumped(PROBLEM), "problem"),
        (dumped(gridpoint(windGust=None, windSpeed=None)), "no_wind"),
        (dumped(gridpoint(windGust=layer(KM_H, *((0, "PT1H", 9),) * 5001))), "too_many"),
    ],
)
def test_what_is_no_forecast_is_refused_with_a_sentence(content, reason):
    with pytest.raises(ForecastError) as caught:
        read_gridpoint(content, fetched_at=NOW)

    assert caught.value.reason == reason
    assert str(caught.value)[-1] == "."


def test_a_problem_document_speaks_for_itself():
    with pytest.raises(ForecastError, match=r"Forecast Grid Expired\. The requested forecast grid was issued"):
        read_gridpoint(dumped(PROBLEM), fetched_at=NOW)


def test_a_byte_order_mark_does_no_harm():
    assert read_gridpoint(b"\xef\xbb\xbf" + dumped(gridpoint()), fetched_at=NOW) == read()


def test_points_give_the_address_in_the_grid():
    address = read_points(dumped(points()))

    assert address == GridAddress("QQZ", 12, 34, "America/Chicago")
    assert address.cell == "QQZ/12,34"


@pytest.mark.parametrize("zone", [None, "", 5, "Mars/Olympus", "../../etc/passwd", "America", "\0"])
def test_an_unknown_time_zone_is_left_out(zone):
    assert read_points(dumped(points(timeZone=zone))) == GridAddress("QQZ", 12, 34)


@pytest.mark.parametrize(
    "changed",
    [
        {"gridId": None}, {"gridId": "qq/../"}, {"gridId": "QQZZ"}, {"gridX": None}, {"gridX": -1}, {"gridY": 1.5},
        {"gridY": True}, {"gridX": "1e3"}, {"gridX": 10_001}, {"gridY": "٣"},
    ],
)  # fmt: skip
def test_points_without_a_sound_address_are_refused(changed):
    with pytest.raises(ForecastError) as caught:
        read_points(dumped(points(**changed)))

    assert caught.value.reason == "wrong_shape"


def test_what_a_document_says_cannot_break_a_line_or_a_database():
    title = "A\0B\nC\ud800" + "x" * 5000

    with pytest.raises(ForecastError) as caught:
        read_points(json.dumps(PROBLEM | {"title": title, "detail": ["x"]}))

    text = str(caught.value)
    assert text.startswith("The service refuses: “A B C?xxx")
    assert len(text) < 300
    assert text.isprintable()
