"""Messages by CAP 1.2: what must be there is, nothing in the XML runs, an event never ends when its message does."""

from datetime import UTC, datetime

import pytest

from maintenance.weather import ForecastError, read_cap
from tests.weather_documents import CAP_NAMESPACE, NOW, cap, cap_info


def read(content):
    return read_cap(content, fetched_at=NOW)


def reasons(found):
    return [remark.reason for remark in found.remarks]


def refused(content):
    with pytest.raises(ForecastError) as caught:
        read(content)
    assert str(caught.value)
    return caught.value.reason


@pytest.mark.parametrize("content", [cap(), cap().encode(), b"\xef\xbb\xbf" + cap().encode()])
def test_a_message_is_read(content):
    found = read(content)

    (alert,) = found.alerts
    assert found.remarks == ()
    assert (alert.id, alert.sender, alert.event) == ("GK-2026-0309-1", "desk@alerts.example", "High Wind Warning")
    assert (alert.severity, alert.certainty, alert.urgency) == ("Severe", "Likely", "Expected")
    assert alert.onset == datetime(2026, 3, 9, 12, tzinfo=UTC)
    assert alert.ends == datetime(2026, 3, 10, 0, tzinfo=UTC)
    assert alert.expires == datetime(2026, 3, 9, 17, tzinfo=UTC)
    (area,) = alert.areas
    assert area.polygons == (((41.1, -96.6), (41.4, -96.6), (41.4, -96.3), (41.1, -96.6)),)
    assert area.circles == (((41.2, -96.5), 12_500.0),)
    assert (area.same, area.ugc) == (("099011",), ("QZZ015",))


def test_other_encodings_that_xml_allows_are_read():
    text = cap(cap_info(headline="Señal")).replace("UTF-8", "ISO-8859-1")

    (alert,) = read(text.encode("latin-1")).alerts

    assert alert.headline == "Señal"


def test_an_event_without_an_end_has_none():
    (alert,) = read(cap(cap_info(more="<web>https://alerts.example</web>"))).alerts

    assert alert.ends is None


@pytest.mark.parametrize("name", ["identifier", "sender", "sent", "status", "msgType", "scope"])
def test_what_every_message_must_have_is_asked_for(name):
    assert refused(cap(**{name: ""})) == "missing"


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("status", "Real"),
        ("msgType", "Warning"),
        ("scope", "World"),
        ("sent", "today"),
        ("sent", "2026-03-09T04:10:00"),
    ],
)
def test_words_and_times_outside_the_standard_are_refused(name, value):
    assert refused(cap(**{name: value})) == "wrong_shape"


@pytest.mark.parametrize(("scope", "needs"), [("Restricted", "restriction"), ("Private", "addresses")])
def test_a_scope_may_ask_for_more(scope, needs):
    assert refused(cap(scope=scope)) == "missing"
    assert len(read(cap(scope=scope, **{needs: "growers"})).alerts) == 1


@pytest.mark.parametrize("name", ["category", "event", "urgency", "severity", "certainty"])
def test_an_incomplete_block_is_told_and_a_message_of_none_refused(name):
    incomplete = cap_info(**{name: ""})

    found = read(cap(incomplete + cap_info(language="es-US")))

    assert [alert.language for alert in found.alerts] == ["es-US"]
    assert reasons(found) == ["bad_alert"]
    assert refused(cap(incomplete)) == "no_alert"


@pytest.mark.parametrize(
    "changed", [{"status": "Test"}, {"status": "Exercise"}, {"msgType": "Ack"}, {"msgType": "Error"}]
)
def test_what_is_no_actual_alert_is_left_out(changed):
    found = read(cap(**changed))

    assert found.alerts == ()
    assert reasons(found) == ["not_actual"]


def test_a_later_message_names_those_it_replaces():
    references = (
        "desk@alerts.example,GK-1,2026-03-08T04:10:00-05:00 desk@alerts.example,GK-2,2026-03-09T01:00:00-05:00 x"
    )

    (alert,) = read(cap(msgType="Update", references=references)).alerts

    assert alert.replaces == ("GK-1", "GK-2")


def test_a_cancellation_needs_no_block_of_its_own():
    (alert,) = read(cap(" ", msgType="Cancel", references="a,GK-1,2026-03-08T04:10:00-05:00")).alerts

    assert (alert.message_type, alert.replaces, alert.severity) == ("Cancel", ("GK-1",), "Unknown")


def test_a_time_in_z_is_read_and_told():
    found = read(cap(sent="2026-03-09T09:10:00Z"))

    assert found.alerts[0].sent == datetime(2026, 3, 9, 9, 10, tzinfo=UTC)
    assert reasons(found) == ["zulu"]


def test_unknown_words_and_times_in_a_block_are_told():
    found = read(cap(cap_info(severity="Dreadful", onset="noon")))

    assert (found.alerts[0].severity, found.alerts[0].onset) == ("Unknown", None)
    assert reasons(found) == ["bad_time", "unknown_word"]


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("41.1,-96.6 41.4,-96.6 41.4,-96.3 41.1,-96.6", "41.1,-96.6 41.4,-96.6 41.1,-96.6"),
        ("41.1,-96.6 41.4,-96.6 41.4,-96.3 41.1,-96.6", "41.1,-96.6 41.4,-96.6 41.4,-96.3 41.2,-96.6"),
        ("41.1,-96.6 41.4,-96.6 41.4,-96.3 41.1,-96.6", "41.1,-96.6 north,-96.6 41.4,-96.3 41.1,-96.6"),
        ("41.1,-96.6 41.4,-96.6 41.4,-96.3 41.1,-96.6", "41.1,-96.6 nan,-96.6 41.4,-96.3 41.1,-96.6"),
        ("41.1,-96.6 41.4,-96.6 41.4,-96.3 41.1,-96.6", "141.1,-96.6 41.4,-96.6 41.4,-96.3 141.1,-96.6"),
        ("41.2,-96.5 12.5", "41.2,-96.5"),
        ("41.2,-96.5 12.5", "41.2,-96.5 -1"),
        ("41.2,-96.5 12.5", "41.2,-96.5 nan"),
        ("41.2,-96.5 12.5", "41.2,-96.5 1e9"),
    ],
)
def test_outlines_that_cannot_be_are_left_out(good, bad):
    found = read(cap().replace(good, bad))

    (area,) = found.alerts[0].areas
    assert len(area.polygons) + len(area.circles) == 1
    assert area.ugc == ("QZZ015",)
    assert reasons(found) == ["bad_area"]


BILLION = (
    '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
    f'<alert xmlns="{CAP_NAMESPACE}"><identifier>&b;</identifier></alert>'
)
OUTSIDE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><x>&a;</x>'


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("", "empty"),
        (b"  ", "empty"),
        (BILLION, "unsafe_xml"),
        (OUTSIDE, "unsafe_xml"),
        ('<!DOCTYPE x SYSTEM "http://alerts.example/x.dtd"><x/>', "unsafe_xml"),
        ("<x>&a;</x>", "not_xml"),
        (cap()[:-30], "not_xml"),
        ("{}", "not_xml"),
        (cap().encode()[:-3] + b"\xff\xfe>", "not_xml"),
        (b'<?xml version="1.0" encoding="moon"?><x/>', "not_text"),
        (b'<?xml version="1.0" encoding="utf-7"?><x/>', "not_text"),
        ("<x>" * 40 + "</x>" * 40, "too_many"),
        ("<x>" + "<y/>" * 50_001 + "</x>", "too_many"),
        (b" " * (5 * 1024 * 1024 + 1), "too_large"),
        ("<html><body>Not found</body></html>", "html"),
        ("<feed/>", "wrong_shape"),
        (cap().replace("cap:1.2", "cap:1.1"), "wrong_shape"),
        (f'<alert xmlns="{CAP_NAMESPACE}"/>', "missing"),
        (cap(" "), "no_alert"),
    ],
)
def test_what_is_no_message_is_refused(content, reason):
    assert refused(content) == reason
