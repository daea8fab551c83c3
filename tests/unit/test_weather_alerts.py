"""Alerts as GeoJSON: an event ends at its end, tests are left out, later messages replace earlier ones."""

from datetime import UTC, datetime

import pytest

from maintenance.weather import Area, ForecastError, read_alerts, standing
from tests.weather_documents import NOW, alert, alerts, dumped


def read(*features, **more):
    return read_alerts(dumped(alerts(*features, **more)), fetched_at=NOW)


def reasons(found):
    return [remark.reason for remark in found.remarks]


def utc(day, hour):
    return datetime(2026, 3, day, hour, tzinfo=UTC)


def test_an_alert_is_read():
    (found,) = read().alerts

    assert (found.id, found.event) == ("urn:oid:2.49.0.1.840.0.1", "High Wind Warning")
    assert (found.severity, found.certainty, found.urgency) == ("Severe", "Likely", "Expected")
    assert (found.sent, found.onset, found.ends, found.expires) == (
        datetime(2026, 3, 9, 9, 10, tzinfo=UTC), utc(9, 12), utc(10, 0), utc(9, 17),
    )  # fmt: skip
    assert found.areas == (Area("Upper Quill; Lower Quill", same=("099011",), ugc=("QZZ015",)),)
    assert found.description == "West wind, gusts near 60 mph.\nBranches may come down."


@pytest.mark.parametrize(
    ("changed", "ends"),
    [
        ({"ends": "2026-03-09T19:00:00-05:00", "parameters": {}}, utc(10, 0)),
        ({"ends": None}, utc(10, 0)),  # the parameter says the same
        ({"ends": None, "parameters": {"eventEndingTime": ["2026-03-09T18:00:00Z", "2026-03-09T20:00:00Z"]}},
         utc(9, 20)),
        ({"ends": None, "parameters": {}}, None),
        ({"ends": None, "parameters": None}, None),
        ({"ends": None, "parameters": {"eventEndingTime": "soon"}}, None),
        ({"ends": None, "parameters": {"eventEndingTime": ["soon"]}}, None),
        ({"ends": "2026-03-09T11:00:00Z"}, None),  # before it begins
    ],
)  # fmt: skip
def test_an_event_never_ends_when_its_message_expires(changed, ends):
    (found,) = read(alert(**changed)).alerts

    assert found.ends == ends
    assert found.expires == utc(9, 17)


def test_the_onset_is_when_the_alert_takes_effect_if_it_says_nothing_else():
    (found,) = read(alert(onset=None)).alerts

    assert found.onset == datetime(2026, 3, 9, 9, 10, tzinfo=UTC)


@pytest.mark.parametrize("status", ["Test", "Exercise", "System", "Draft"])
def test_only_actual_alerts_count(status):
    found = read(alert(status=status), alert())

    assert len(found.alerts) == 1
    assert reasons(found) == ["not_actual"]


def test_no_alerts_are_no_error():
    found = read_alerts(dumped(alerts() | {"features": []}), fetched_at=NOW)

    assert (found.alerts, found.remarks, found.next_page) == ((), (), None)


@pytest.mark.parametrize(
    "broken",
    [alert(id=None), alert(event=""), alert(status="Real"), alert(messageType=3), {"properties": None}, None, "alert"],
)
def test_an_alert_that_cannot_be_read_is_told(broken):
    found = read(broken, alert())

    assert len(found.alerts) == 1
    assert reasons(found) == ["bad_alert"]
    with pytest.raises(ForecastError) as caught:
        read(broken)
    assert caught.value.reason == "no_alert"


def test_unknown_words_and_times_are_told():
    found = read(alert(severity="Dreadful", certainty=None, urgency=["now"], sent="today", expires=5))

    (one,) = found.alerts
    assert (one.severity, one.certainty, one.urgency) == ("Unknown", "Unknown", "Unknown")
    assert (one.sent, one.expires) == (None, None)
    assert [(remark.reason, remark.params["count"]) for remark in found.remarks] == [
        ("unknown_word", 3), ("bad_time", 2),
    ]  # fmt: skip


def outline(kind, coordinates):
    return alert() | {"geometry": {"type": kind, "coordinates": coordinates}}


def test_outlines_are_turned_to_latitude_first():
    ring = [[-96, 41], [-95, 41], [-95, 42], [-96, 41]]
    turned = ((41, -96), (41, -95), (42, -95), (41, -96))

    one, several = read(outline("Polygon", [ring]), outline("MultiPolygon", [[ring], [ring]])).alerts

    assert one.areas[0].polygons == (turned,)
    assert several.areas[0].polygons == (turned, turned)


@pytest.mark.parametrize(
    "geometry",
    [
        {"type": "Point", "coordinates": [-96, 41]},
        {"type": "Polygon", "coordinates": []},
        {"type": "Polygon", "coordinates": [[[-96, 41]] * 3]},
        {"type": "Polygon", "coordinates": [[[-196, 41]] * 4]},
        {"type": "Polygon", "coordinates": [[["x", 41]] * 4]},
        {"type": "Polygon", "coordinates": [[[-96, 41]] * 20_001]},
        {"type": ["Polygon"]},
        [],
        7,
    ],
)
def test_an_outline_that_cannot_be_read_leaves_the_codes(geometry):
    found = read(alert() | {"geometry": geometry})

    assert found.alerts[0].areas[0].polygons == ()
    assert found.alerts[0].areas[0].ugc == ("QZZ015",)
    assert reasons(found) == ["bad_area"]


def test_the_next_page_is_told():
    assert read(pagination={"next": "https://api.example/alerts?cursor=x"}).next_page == (
        "https://api.example/alerts?cursor=x"
    )
    assert read(pagination={}).next_page is None
    assert read(pagination="next").next_page is None


def test_an_update_takes_the_place_of_what_it_refers_to():
    first = alert(id="one")
    update = alert(id="two", messageType="Update", references=[{"identifier": "one"}, {"identifier": None}, "x"])
    other = alert(id="three")
    cancel = alert(id="four", messageType="Cancel", references=[{"identifier": "three"}])

    found = read(first, update, other, cancel).alerts

    assert [one.replaces for one in found] == [(), ("one",), (), ("three",)]
    assert [one.id for one in standing(found, now=NOW)] == ["two"]
    assert standing(found, now=utc(9, 23)) != []  # long expired, but the event goes on
    assert standing(found, now=utc(10, 0)) == []


def test_an_alert_without_an_end_stands_until_it_is_replaced():
    found = read(alert(ends=None, parameters={})).alerts

    assert len(standing(found, now=utc(30, 0))) == 1


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (dumped({"features": {}}), "wrong_shape"),
        (dumped({"type": "FeatureCollection"}), "wrong_shape"),
        (dumped({"features": [None] * 2001}), "too_many"),
        (dumped({"title": "Bad Request", "status": 400, "detail": "Unknown parameter."}), "problem"),
    ],
)
def test_what_is_no_collection_is_refused(content, reason):
    with pytest.raises(ForecastError) as caught:
        read_alerts(content, fetched_at=NOW)

    assert caught.value.reason == reason
