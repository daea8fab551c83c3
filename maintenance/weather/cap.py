"""Alerts by the Common Alerting Protocol, OASIS CAP 1.2."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from typing import Final

from maintenance.weather.documents import prose
from maintenance.weather.grading import STATUSES, TYPES, graded, sound_end
from maintenance.weather.reasons import ForecastError, Notes, clean
from maintenance.weather.shapes import CERTAINTIES, SEVERITIES, URGENCIES, Alert, Alerts, Area, Point
from maintenance.weather.times import instant
from maintenance.weather.xmltree import Element, read_xml

SOURCE: Final = "CAP"
NAMESPACE: Final = "urn:oasis:names:tc:emergency:cap:1.2"
SCOPES: Final = ("Public", "Restricted", "Private")
REQUIRED: Final = ("identifier", "sender", "sent", "status", "msgType", "scope")  # CAP 1.2, 3.2.1
REQUIRED_INFO: Final = ("category", "event", "urgency", "severity", "certainty")  # CAP 1.2, 3.2.2
WORDS: Final = (("status", STATUSES), ("msgType", TYPES), ("scope", SCOPES))
TIME: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[-+]\d\d:\d\d", re.ASCII)  # CAP 1.2, 3.3.2
METRES: Final = 1000.0  # in the kilometres of a circle's radius


def read_cap(content: bytes | str, *, fetched_at: datetime) -> Alerts:
    """Return the alerts of a CAP message, one for each of its info blocks.

    Messages that are no actual alert, such as tests, give none and a remark. A time that ends in Z breaks the
    standard; it is read as UTC and remarked.

    Raises
    ------
    ForecastError
        If it is not CAP 1.2, lacks what every message must have, or has no complete info block.
    """
    root = read_xml(content)
    if root.name.lower() == "html":
        raise ForecastError("html")
    if (root.name, root.namespace) != ("alert", NAMESPACE):
        raise ForecastError("wrong_shape", name=f"alert ({NAMESPACE})", source="CAP 1.2")
    notes = Notes()
    sent = _head(root, notes)
    kind = root.said("msgType")
    if root.said("status") != "Actual" or kind in ("Ack", "Error"):
        notes.add("not_actual", root.said("identifier"))
        return Alerts(SOURCE, fetched_at, (), None, notes.remarks())
    alerts = tuple(_alerts(root, kind, sent, notes))
    if not alerts:
        raise ForecastError("no_alert")
    return Alerts(SOURCE, fetched_at, alerts, None, notes.remarks())


def _head(root: Element, notes: Notes) -> datetime:
    """Look at what every message must have, and return when it was sent."""
    for name in REQUIRED:
        if not root.said(name):
            raise ForecastError("missing", name=name)
    for name, known in WORDS:
        if root.said(name) not in known:
            raise ForecastError("wrong_shape", name=name, source="CAP 1.2")
    conditional = {"Restricted": "restriction", "Private": "addresses"}.get(root.said("scope"))
    if conditional and not root.said(conditional):
        raise ForecastError("missing", name=conditional)
    sent = _time(root, "sent", notes)
    if sent is None:
        raise ForecastError("wrong_shape", name="sent", source="CAP 1.2")
    return sent


def _alerts(root: Element, kind: str, sent: datetime, notes: Notes) -> Iterator[Alert]:
    infos = list(root.all("info"))
    if not infos and kind == "Cancel":  # a cancellation needs no words of its own
        infos = [_silent(root)]
    for info in infos:
        lacking = [name for name in REQUIRED_INFO if not info.said(name)]
        if lacking:
            notes.add("bad_alert", f"{root.said('identifier')} ({', '.join(lacking)})")
        else:
            yield _alert(root, info, kind, sent, notes)


def _silent(root: Element) -> Element:
    """Return an info block that says nothing."""
    said = {"category": "Other", "event": root.said("msgType"), "urgency": "Unknown", "severity": "Unknown"}
    children = [Element(name, pieces=[text]) for name, text in (said | {"certainty": "Unknown"}).items()]
    return Element("info", children=children)


def _alert(root: Element, info: Element, kind: str, sent: datetime, notes: Notes) -> Alert:
    id = clean(root.said("identifier"), 500)
    onset = _time(info, "onset", notes) or _time(info, "effective", notes)
    return Alert(
        id=id,
        event=clean(info.said("event"), 500),
        status="Actual",
        message_type=kind,  # type: ignore[arg-type]  # looked at in _head and in read_cap
        severity=graded(info.said("severity"), SEVERITIES, id, notes),
        certainty=graded(info.said("certainty"), CERTAINTIES, id, notes),
        urgency=graded(info.said("urgency"), URGENCIES, id, notes),
        sent=sent,
        onset=onset,
        ends=sound_end(onset, _ending(info, notes), id, notes),
        expires=_time(info, "expires", notes),
        headline=clean(info.said("headline"), 1000),
        description=prose(info.said("description")),
        instruction=prose(info.said("instruction")),
        language=clean(info.said("language"), 20) or "en-US",  # the default of CAP 1.2, 3.2.2
        sender=clean(root.said("sender"), 500),
        areas=tuple(_area(area, notes) for area in info.all("area")),
        replaces=tuple(_references(root)),
    )


def _time(element: Element, name: str, notes: Notes) -> datetime | None:
    text = element.said(name)
    found = instant(text)
    if text and found is None:
        notes.add("bad_time", f"{name} {text}")
    elif text and not TIME.fullmatch(text):
        notes.add("zulu", text)
    return found


def _ending(info: Element, notes: Notes) -> datetime | None:
    """Return the latest eventEndingTime among the parameters: CAP has no element for the end of an event."""
    values = [item for item in info.all("parameter") if item.said("valueName") == "eventEndingTime"]
    times = [_time(item, "value", notes) for item in values]
    return max((time for time in times if time is not None), default=None)


def _references(root: Element) -> Iterator[str]:
    """Yield the identifiers out of ``sender,identifier,sent`` triples."""
    for triple in root.said("references").split():
        parts = triple.split(",")
        if len(parts) == 3:
            yield clean(parts[1], 500)


def _area(area: Element, notes: Notes) -> Area:
    codes = [(code.said("valueName").upper(), code.said("value")) for code in area.all("geocode")]
    outlines = (_polygon(outline.text, notes) for outline in area.all("polygon"))
    rounds = (_circle(circle.text, notes) for circle in area.all("circle"))
    return Area(
        description=clean(area.said("areaDesc"), 4000),
        polygons=tuple(outline for outline in outlines if outline),
        circles=tuple(circle for circle in rounds if circle),
        same=tuple(clean(value, 20) for name, value in codes if name == "SAME"),
        ugc=tuple(clean(value, 20) for name, value in codes if name == "UGC"),
    )


def _polygon(text: str, notes: Notes) -> tuple[Point, ...]:
    """Return an outline: at least four points, the last the same as the first."""
    try:
        outline = tuple(_point(pair) for pair in text.split())
    except ValueError:
        outline = ()
    if len(outline) < 4 or outline[0] != outline[-1]:
        notes.add("bad_area", text)
        return ()
    return outline


def _circle(text: str, notes: Notes) -> tuple[Point, float] | None:
    try:
        centre, radius = text.split()
        found = _point(centre), float(radius) * METRES
    except ValueError:
        notes.add("bad_area", text)
        return None
    if not 0 <= found[1] < 2.1e7:  # m; half the way round the Earth; also refuses NaN
        notes.add("bad_area", text)
        return None
    return found


def _point(text: str) -> Point:
    latitude, longitude = (float(part) for part in text.split(","))
    if not (abs(latitude) <= 90 and abs(longitude) <= 180):
        raise ValueError("not on Earth")
    return latitude, longitude
