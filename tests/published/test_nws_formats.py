"""What the weather services and standards publish of their formats, counts and worked values.

Gridpoints and alerts: the 26 gridpoint and six alert fixtures of github.com/weather-gov/weather.gov (api-proxy/data),
general-faqs.md, gridpoints.md and openapi.yaml of github.com/weather-gov/api; figures carried over, documents our own.
CAP: OASIS CAP 1.2. Open-Meteo: openapi/forecast.yml of github.com/open-meteo/open-meteo and a sample answer.
"""

from datetime import UTC, datetime, timedelta

import pint
import pytest

from maintenance.weather import read_alerts, read_cap, read_gridpoint, read_open_meteo, read_points
from tests.weather_documents import HOUR, NOW, alert, alerts, at, cap, cap_info, dumped, gridpoint, layer, points

units = pint.UnitRegistry()
KM_H = "wmoUnit:km_h-1"


def gusts(*entries, uom=KM_H):
    """Return the gusts of a grid that holds these entries. [m/s]"""
    forecast = read_gridpoint(dumped(gridpoint(windGust=layer(uom, *entries), windSpeed=None)), fetched_at=NOW)
    return [spell.gust for spell in forecast.spells if spell.gust is not None]


# Values of the fixtures, whole knots times 1.852; 50 kt is the gust of a high wind warning.
@pytest.mark.parametrize(
    ("km_h", "knots"), [(16.668, 9), (29.632, 16), (31.484, 17), (37.04, 20), (38.892, 21), (92.60, 50)]
)
def test_winds_of_the_grid_are_whole_knots(km_h, knots):
    (gust,) = gusts((0, "PT1H", km_h))

    assert units.Quantity(gust, "metre / second").to("knot").magnitude == pytest.approx(knots, abs=1e-9)


def test_the_gust_of_a_high_wind_warning_reads_57_54_mph():
    (gust,) = gusts((0, "PT1H", 92.60))

    assert units.Quantity(gust, "metre / second").to("mile / hour").magnitude == pytest.approx(57.54, abs=0.005)


# Durations that windGust used in the fixtures; three of them once each.
DURATIONS = {
    "PT1H": 1, "PT2H": 2, "PT3H": 3, "PT4H": 4, "PT5H": 5, "PT6H": 6, "PT7H": 7, "PT8H": 8, "PT9H": 9, "PT10H": 10,
    "PT11H": 11, "PT12H": 12, "PT18H": 18, "P1D": 24, "PT72H": 72,
}  # fmt: skip


@pytest.mark.parametrize("duration", DURATIONS)
def test_every_duration_of_the_fixtures_is_read(duration):
    assert len(gusts((0, duration, 37.04))) == DURATIONS[duration]


# The example of issue 10 of weather-gov/api has unit:m of 2019; the fixtures have wmoUnit:.
@pytest.mark.parametrize("uom", ["unit:km_h-1", "wmoUnit:km_h-1"])
def test_units_are_known_by_their_last_part(uom):
    assert gusts((0, "PT1H", 37.04), uom=uom) == [pytest.approx(20 * 1852 / 3600)]


def test_the_documented_interval_reads_as_three_hours():
    # The interval of a layer as captured: 2019-07-04T18:00:00+00:00/PT3H, 29.632 km/h.
    then = datetime(2019, 7, 4, 18, tzinfo=UTC)
    values = [{"validTime": "2019-07-04T18:00:00+00:00/PT3H", "value": 29.632}]
    empty = dict.fromkeys(("windSpeed", "windDirection", "temperature", "quantitativePrecipitation"))

    forecast = read_gridpoint(
        dumped(gridpoint(**empty, snowfallAmount=None, weather=None, windGust={"uom": KM_H, "values": values})),
        fetched_at=then,
    )

    assert [(spell.start, spell.end) for spell in forecast.spells] == [
        (then + hour * HOUR, then + (hour + 1) * HOUR) for hour in range(3)
    ]


def test_layers_without_entries_or_unit_are_no_error():
    # One fixture has 31 layers with an empty list; weather and hazards have no uom.
    hazards = {"values": [{"validTime": "2026-03-09T11:00:00+00:00/PT6H",
                           "value": [{"phenomenon": "AQ", "significance": "Y", "event_number": None}]}]}  # fmt: skip
    unused = {f"potentialOf{number}mphWinds": {"values": []} for number in range(31)}

    assert read_gridpoint(dumped(gridpoint(hazards=hazards, **unused)), fetched_at=NOW).remarks == ()


def test_the_documented_place_has_the_documented_address():
    # general-faqs.md: 38.8894,-77.0352 is gridpoints/LWX/96,70.
    assert read_points(dumped(points(gridId="LWX", gridX=96, gridY=70))).cell == "LWX/96,70"


# openapi.yaml, the enumerations; CAP 1.2, 3.2.1 and 3.2.2 has the same.
SEVERITIES = "Extreme Severe Moderate Minor Unknown"
CERTAINTIES = "Observed Likely Possible Unlikely Unknown"
URGENCIES = "Immediate Expected Future Past Unknown"


@pytest.mark.parametrize(
    ("name", "word"),
    [
        (name, word)
        for name, words in (("severity", SEVERITIES), ("certainty", CERTAINTIES), ("urgency", URGENCIES))
        for word in words.split()
    ],
)
def test_every_published_grade_is_known_in_both_formats(name, word):
    geo = read_alerts(dumped(alerts(alert(**{name: word}))), fetched_at=NOW)
    xml = read_cap(cap(cap_info(**{name: word})), fetched_at=NOW)

    assert (geo.remarks, xml.remarks) == ((), ())
    assert getattr(geo.alerts[0], name) == getattr(xml.alerts[0], name) == word


@pytest.mark.parametrize("status", ["Actual", "Exercise", "System", "Test", "Draft"])
@pytest.mark.parametrize("kind", ["Alert", "Update", "Cancel", "Ack", "Error"])
def test_only_actual_alerts_their_updates_and_ends_count(status, kind):
    found = read_alerts(dumped(alerts(alert(status=status, messageType=kind))), fetched_at=NOW)

    assert len(found.alerts) == (status == "Actual" and kind in ("Alert", "Update", "Cancel"))


# How the fixtures grade the three products for wind: severity, certainty, urgency.
PRODUCTS = {
    "High Wind Warning": ("Severe", "Likely", "Expected"),
    "Wind Advisory": ("Moderate", "Likely", "Expected"),
    "High Wind Watch": ("Severe", "Possible", "Future"),
}


@pytest.mark.parametrize("event", PRODUCTS)
def test_the_products_for_wind_are_read_as_they_grade_themselves(event):
    severity, certainty, urgency = PRODUCTS[event]

    (found,) = read_alerts(
        dumped(alerts(alert(event=event, severity=severity, certainty=certainty, urgency=urgency))), fetched_at=NOW
    ).alerts

    assert (found.event, found.severity, found.certainty, found.urgency) == (event, *PRODUCTS[event])


# Of 1168 alerts with an end, 807 expire before it, 310 with it and 51 after it. The event of the captured VTEC
# 260715T2200Z-260716T1100Z ends at its end in each of the three cases.
@pytest.mark.parametrize("hours", [-6, 0, 6])
def test_an_event_ends_at_its_end_whenever_its_message_expires(hours):
    ends = datetime(2026, 7, 16, 11, tzinfo=UTC)
    expires = ends + timedelta(hours=hours)

    (found,) = read_alerts(
        dumped(alerts(alert(onset="2026-07-15T22:00:00Z", ends=ends.isoformat(), expires=expires.isoformat()))),
        fetched_at=NOW,
    ).alerts

    assert (found.ends, found.expires) == (ends, expires)


def test_the_minimal_cap_message_of_the_standard():
    # Identifier and time of the example in appendix A of CAP 1.2.
    (found,) = read_cap(cap(identifier="43b080713727", sent="2003-04-02T14:39:01-05:00"), fetched_at=NOW).alerts

    assert (found.id, found.sent) == ("43b080713727", datetime(2003, 4, 2, 19, 39, 1, tzinfo=UTC))


def test_several_codes_of_one_kind():
    # The second example of CAP 1.2 has these three codes for one area.
    codes = ("006109", "006009", "006003")
    old = "<geocode><valueName>SAME</valueName><value>099011</value></geocode>"
    text = cap().replace(old, "".join(old.replace("099011", code) for code in codes))

    (found,) = read_cap(text, fetched_at=NOW).alerts

    assert found.areas[0].same == codes


def test_utc_is_written_without_a_letter():
    # CAP 1.2, 3.3.2: -00:00, never Z.
    found = read_cap(cap(sent="2026-03-09T09:10:00-00:00"), fetched_at=NOW)

    assert found.alerts[0].sent == datetime(2026, 3, 9, 9, 10, tzinfo=UTC)
    assert found.remarks == ()


def test_local_times_of_open_meteo_stand_at_the_offset_they_give():
    # A sample answer: 2025-11-24T00:00 at utc_offset_seconds 14400, that is 20:00 UTC the day before.
    document = {
        "latitude": 25.1, "longitude": 55.2, "utc_offset_seconds": 14_400, "timezone": "Asia/Dubai",
        "hourly_units": {"time": "iso8601", "wind_gusts_10m": "km/h"},
        "hourly": {"time": ["2025-11-24T00:00"], "wind_gusts_10m": [36.0]},
    }  # fmt: skip

    (spell,) = read_open_meteo(dumped(document), fetched_at=datetime(2025, 11, 24, tzinfo=UTC)).spells

    # Table of hourly variables: the gust is the greatest of the hour before.
    assert (spell.start, spell.end) == (
        datetime(2025, 11, 23, 19, tzinfo=UTC), datetime(2025, 11, 23, 20, tzinfo=UTC),
    )  # fmt: skip
    assert spell.gust == pytest.approx(10)


# Records of the World Meteorological Organization's archive of extremes, from memory; none may be refused.
@pytest.mark.parametrize(
    ("name", "uom", "record", "figure"),
    [
        ("windGust", "wmoUnit:m_s-1", 113.2, "gust"),  # Barrow Island, 1996
        ("temperature", "wmoUnit:degC", -89.2, "temperature"),  # Vostok, 1983
        ("temperature", "wmoUnit:degC", 56.7, "temperature"),  # Death Valley, 1913
        ("quantitativePrecipitation", "wmoUnit:mm", 1825, "rain"),  # La Réunion, 1966, within a day
    ],
)
def test_the_records_of_the_earth_are_believed(name, uom, record, figure):
    forecast = read_gridpoint(dumped(gridpoint(**{name: layer(uom, (0, "P1D", record))})), fetched_at=NOW)

    assert getattr(forecast.spells[0], figure) is not None
    assert "absurd" not in [remark.reason for remark in forecast.remarks]
    assert forecast.spells[0].start == at(0)
