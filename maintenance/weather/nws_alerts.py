"""Active alerts of the US National Weather Service, as GeoJSON.

An event ends at ``ends`` or at the parameter eventEndingTime. ``expires`` only says by when the message must be
renewed, which is before the end of the event more often than not.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final

from maintenance.weather.documents import Json, items, prose, read_object, section, words
from maintenance.weather.grading import STATUSES, TYPES, graded, sound_end
from maintenance.weather.reasons import ForecastError, Notes, shown
from maintenance.weather.shapes import CERTAINTIES, SEVERITIES, URGENCIES, Alert, Alerts, Area, Point
from maintenance.weather.times import instant

SOURCE: Final = "NWS"
MOST_ALERTS: Final = 2_000
MOST_POINTS: Final = 20_000
MOST_CODES: Final = 1_000


def read_alerts(content: bytes | str, *, fetched_at: datetime) -> Alerts:
    """Return the actual alerts of a GeoJSON collection; tests, exercises and drafts are left out.

    Raises
    ------
    ForecastError
        If it is not a collection of features, or not one of its alerts can be read.
    """
    document = read_object(content, SOURCE)
    features = items(document, "features", SOURCE, MOST_ALERTS)
    notes = Notes()
    found = [_alert(feature, notes) for feature in features]
    alerts = tuple(alert for alert in found if alert is not None)
    remarks = notes.remarks()
    if not alerts and any(remark.reason == "bad_alert" for remark in remarks):
        raise ForecastError("no_alert")
    return Alerts(SOURCE, fetched_at, alerts, _next_page(document), remarks)


def _alert(feature: Any, notes: Notes) -> Alert | None:
    try:
        said = section(feature, "properties", SOURCE) if isinstance(feature, dict) else {}
    except ForecastError:
        said = {}
    id, event, status, kind = (words(said, name) for name in ("id", "event", "status", "messageType"))
    if not (id and event) or status not in STATUSES or kind not in TYPES:
        notes.add("bad_alert", id or event)
        return None
    if status != "Actual" or kind not in ("Alert", "Update", "Cancel"):
        notes.add("not_actual", id)
        return None
    onset = _time(said, "onset", notes) or _time(said, "effective", notes)
    return Alert(
        id=id,
        event=event,
        status="Actual",
        message_type=kind,  # type: ignore[arg-type]  # one of the three, looked at above
        severity=graded(said.get("severity"), SEVERITIES, id, notes),
        certainty=graded(said.get("certainty"), CERTAINTIES, id, notes),
        urgency=graded(said.get("urgency"), URGENCIES, id, notes),
        sent=_time(said, "sent", notes),
        onset=onset,
        ends=sound_end(onset, _time(said, "ends", notes) or _ending(said, notes), id, notes),
        expires=_time(said, "expires", notes),
        headline=words(said, "headline", 1000),
        description=prose(said.get("description")),
        instruction=prose(said.get("instruction")),
        language=words(said, "language", 20),
        sender=words(said, "sender"),
        areas=(_area(feature, said, notes),),
        replaces=tuple(filter(None, (words(old, "identifier") for old in _list(said, "references", dict)))),
    )


def _time(said: Json, name: str, notes: Notes) -> datetime | None:
    text = said.get(name)
    found = instant(text)
    if text is not None and found is None:
        notes.add("bad_time", f"{name} {shown(text)}")
    return found


def _ending(said: Json, notes: Notes) -> datetime | None:
    """Return the latest eventEndingTime among the parameters."""
    parameters = said.get("parameters")
    texts = _list(parameters, "eventEndingTime", object) if isinstance(parameters, dict) else []
    times = [_time({"eventEndingTime": text}, "eventEndingTime", notes) for text in texts]
    return max((time for time in times if time is not None), default=None)


def _area(feature: Json, said: Json, notes: Notes) -> Area:
    geocode = said.get("geocode")
    codes: Json = geocode if isinstance(geocode, dict) else {}
    return Area(
        description=words(said, "areaDesc", 4000),
        polygons=_polygons(feature.get("geometry"), notes),
        same=tuple(_list(codes, "SAME", str)),
        ugc=tuple(_list(codes, "UGC", str)),
    )


def _polygons(geometry: Any, notes: Notes) -> tuple[tuple[Point, ...], ...]:
    """Return the outer rings of a GeoJSON geometry; most alerts have none and go by their codes."""
    if geometry is None:
        return ()
    try:
        shapes = {"Polygon": [geometry["coordinates"]], "MultiPolygon": geometry["coordinates"]}[geometry["type"]]
        return tuple(_ring(shape[0]) for shape in shapes)
    except (TypeError, ValueError, KeyError, IndexError, OverflowError):
        notes.add("bad_area", "geometry")
        return ()


def _ring(points: Any) -> tuple[Point, ...]:
    if len(points) > MOST_POINTS:
        raise ValueError("more corners than any outline has")
    ring = tuple((float(point[1]), float(point[0])) for point in points)
    if len(ring) < 4 or not all(abs(latitude) <= 90 and abs(longitude) <= 180 for latitude, longitude in ring):
        raise ValueError("no outline on Earth")
    return ring


def _list(document: Json, name: str, kind: type) -> list[Any]:
    found = document.get(name)
    return [item for item in found[:MOST_CODES] if isinstance(item, kind)] if isinstance(found, list) else []


def _next_page(document: Json) -> str | None:
    pagination = document.get("pagination")
    return (words(pagination, "next", 2000) or None) if isinstance(pagination, dict) else None
