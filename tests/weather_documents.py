"""Documents in the shapes the weather services publish, with figures and an office of our own invention.

Shapes: openapi.yaml and the gridpoint notes of github.com/weather-gov/api, openapi/forecast.yml of
github.com/open-meteo/open-meteo, OASIS CAP 1.2.
"""

from __future__ import annotations

import copy
import json
from datetime import UTC, datetime, timedelta
from typing import Any

NOW = datetime(2026, 3, 9, 11, 20, tzinfo=UTC)
START = datetime(2026, 3, 9, 11, tzinfo=UTC)
HOUR = timedelta(hours=1)
CAP_NAMESPACE = "urn:oasis:names:tc:emergency:cap:1.2"


def at(hours: float) -> datetime:
    """Return the instant so many hours after the documents begin."""
    return START + hours * HOUR


def stamp(hours: float) -> str:
    return at(hours).isoformat()


def layer(uom: str | None, *entries: tuple[float, str, Any]) -> dict[str, Any]:
    """Return a grid layer of (hour it begins, duration, value)."""
    values = [{"validTime": f"{stamp(hour)}/{length}", "value": value} for hour, length, value in entries]
    return {"uom": uom, "values": values} if uom else {"values": values}


THUNDER = [
    {"coverage": "likely", "weather": "thunderstorms", "intensity": None, "attributes": ["gusty_wind"]},
    {"coverage": "likely", "weather": "rain_showers", "intensity": "light", "attributes": []},
]  # fmt: skip
DRY = [{"coverage": None, "weather": None, "intensity": None, "visibility": {}, "attributes": []}]
LAYERS = {
    "temperature": layer("wmoUnit:degC", (0, "PT2H", 4.0), (2, "PT4H", -1.5), (6, "PT18H", 2.0)),
    "windDirection": layer("wmoUnit:degree_(angle)", (0, "PT6H", 220), (6, "PT18H", 300)),
    "windSpeed": layer("wmoUnit:km_h-1", (0, "PT2H", 16.668), (2, "PT4H", 37.04), (6, "P1D", 29.632)),
    "windGust": layer("wmoUnit:km_h-1", (0, "PT2H", 31.484), (2, "PT1H", 74.08), (3, "PT3H", 92.6), (6, "P1D", 38.892)),
    "weather": layer(None, (0, "PT2H", DRY), (2, "PT3H", THUNDER), (5, "PT20H", DRY)),
    "quantitativePrecipitation": layer("wmoUnit:mm", (0, "PT6H", 12.0), (6, "PT6H", 0), (12, "PT12H", 3.0)),
    "snowfallAmount": layer("wmoUnit:mm", (0, "PT12H", 0), (12, "PT6H", 50.8)),
    "waveHeight": {"values": []},
}


def gridpoint(**changed: Any) -> dict[str, Any]:
    """Return a gridpoint document; a layer given replaces its own, None takes it away."""
    properties = {
        "@id": "https://api.example/gridpoints/QQZ/12,34",
        "@type": "wx:Gridpoint",
        "updateTime": "2026-03-09T09:41:05+00:00",
        "validTimes": f"{stamp(0)}/P1DT6H",
        "elevation": {"unitCode": "wmoUnit:m", "value": 211.2},
        "forecastOffice": "https://api.example/offices/QQZ",
        "gridId": "QQZ",
        "gridX": "12",
        "gridY": "34",
    }
    layers = {name: value for name, value in (LAYERS | changed).items() if value is not None}
    ring = [[-96.52, 41.25], [-96.51, 41.27], [-96.49, 41.27], [-96.48, 41.25], [-96.52, 41.25]]
    document = {
        "@context": ["https://geojson.org/geojson-ld/geojson-context.jsonld", {"@version": "1.1"}],
        "id": "https://api.example/gridpoints/QQZ/12,34",
        "type": "Feature",
        "geometry": {"type": "Polygon", "coordinates": [ring]},
        "properties": properties | layers,
    }
    return copy.deepcopy(document)


def points(**changed: Any) -> dict[str, Any]:
    """Return a points document."""
    properties = {
        "@type": "wx:Point",
        "cwa": "QQZ",
        "gridId": "QQZ",
        "gridX": 12,
        "gridY": 34,
        "forecastGridData": "https://api.example/gridpoints/QQZ/12,34",
        "timeZone": "America/Chicago",
        "astronomicalData": {"sunrise": None, "sunset": None},
    }
    geometry = {"type": "Point", "coordinates": [-96.5, 41.26]}
    return {"id": "x", "type": "Feature", "geometry": geometry, "properties": properties | changed}


def alert(**changed: Any) -> dict[str, Any]:
    """Return one alert as a GeoJSON feature."""
    properties = {
        "id": "urn:oid:2.49.0.1.840.0.1",
        "areaDesc": "Upper Quill; Lower Quill",
        "geocode": {"SAME": ["099011"], "UGC": ["QZZ015"]},
        "affectedZones": ["https://api.example/zones/forecast/QZZ015"],
        "references": [],
        "sent": "2026-03-09T04:10:00-05:00",
        "effective": "2026-03-09T04:10:00-05:00",
        "onset": "2026-03-09T07:00:00-05:00",
        "expires": "2026-03-09T12:00:00-05:00",
        "ends": "2026-03-09T19:00:00-05:00",
        "status": "Actual",
        "messageType": "Alert",
        "category": "Met",
        "severity": "Severe",
        "certainty": "Likely",
        "urgency": "Expected",
        "event": "High Wind Warning",
        "sender": "w-nws.webmaster@weather.example",
        "senderName": "Office of Nowhere",
        "headline": "High winds from morning to evening",
        "description": "West wind, gusts near 60 mph.\nBranches may come down.",
        "instruction": "Stay away from tall trees.",
        "response": "Prepare",
        "parameters": {"eventEndingTime": ["2026-03-09T19:00:00-05:00"]},
    }
    return {"id": "x", "type": "Feature", "geometry": None, "properties": properties | changed}


def alerts(*features: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return a collection of alerts."""
    found = list(features) or [alert()]
    return {"@context": [], "type": "FeatureCollection", "features": found, "title": "alerts", **more}


def open_meteo(count: int = 24, **changed: Any) -> dict[str, Any]:
    """Return an hourly forecast with Unix times; a series given replaces its own."""
    hourly = {
        "time": [int(at(hour).timestamp()) for hour in range(count)],
        "wind_gusts_10m": [12.0 + hour % 7 for hour in range(count)],
        "wind_speed_10m": [6.0 + hour % 5 for hour in range(count)],
        "wind_direction_10m": [(200 + 10 * hour) % 360 for hour in range(count)],
        "temperature_2m": [3.5 - hour / 10 for hour in range(count)],
        "precipitation": [0.4] * count,
        "snowfall": [0.0] * count,
        "weather_code": [3] * (count - 2) + [95, 96],
    }
    units = {
        "time": "unixtime", "wind_gusts_10m": "m/s", "wind_speed_10m": "m/s", "wind_direction_10m": "°",
        "temperature_2m": "°C", "precipitation": "mm", "snowfall": "cm", "weather_code": "wmo code",
    }  # fmt: skip
    document = {
        "latitude": 41.258,
        "longitude": -96.497,
        "generationtime_ms": 0.21,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 211.0,
        "hourly_units": units | changed.pop("units", {}),
        "hourly": hourly | {name: value for name, value in changed.items() if name in hourly},
    }
    return document | {name: value for name, value in changed.items() if name not in hourly}


def cap(info: str | None = None, **changed: str) -> str:
    """Return a CAP 1.2 message; an element of its head given replaces its own."""
    head = {
        "identifier": "GK-2026-0309-1",
        "sender": "desk@alerts.example",
        "sent": "2026-03-09T04:10:00-05:00",
        "status": "Actual",
        "msgType": "Alert",
        "scope": "Public",
    } | changed
    written = "".join(f"<{name}>{text}</{name}>" for name, text in head.items() if text)
    return f'<?xml version="1.0" encoding="UTF-8"?><alert xmlns="{CAP_NAMESPACE}">{written}{info or cap_info()}</alert>'


def cap_info(more: str = "", **changed: str) -> str:
    """Return an info block; an element given replaces its own."""
    said = {
        "language": "en-US",
        "category": "Met",
        "event": "High Wind Warning",
        "urgency": "Expected",
        "severity": "Severe",
        "certainty": "Likely",
        "onset": "2026-03-09T07:00:00-05:00",
        "expires": "2026-03-09T12:00:00-05:00",
        "headline": "High winds from morning to evening",
        "description": "West wind.",
    } | changed
    written = "".join(f"<{name}>{text}</{name}>" for name, text in said.items() if text)
    ending = "<parameter><valueName>eventEndingTime</valueName><value>2026-03-09T19:00:00-05:00</value></parameter>"
    area = (
        "<area><areaDesc>Quill</areaDesc><polygon>41.1,-96.6 41.4,-96.6 41.4,-96.3 41.1,-96.6</polygon>"
        "<circle>41.2,-96.5 12.5</circle>"
        "<geocode><valueName>SAME</valueName><value>099011</value></geocode>"
        "<geocode><valueName>UGC</valueName><value>QZZ015</value></geocode></area>"
    )
    return f"<info>{written}{more or ending}{area}</info>"


CSV = """time,gust mph,mean mph,direction,temp F,rain in,snow in
2026-03-09 06:00,30,18,SW,41,0.1,
2026-03-09 07:00,45,25,240,39,0.2,0
2026-03-09 08:00,58,33,W,36,,0.5
2026-03-09 09:00,,30,W,34,0,1
"""
ROWS = [
    {"time": "2026-03-09T06:00:00-05:00", "gust_m_s": 13.4, "mean_m_s": 8, "direction": 225},
    {"time": "2026-03-09T07:00:00-05:00", "gust_m_s": 20.1, "mean_m_s": 11, "direction": None},
]
READING = {"at": "2026-03-09T06:15:00-05:00", "gust": 41.0, "mean": 22.5, "direction": 250, "unit": "mph"}


def dumped(document: Any) -> bytes:
    """Return a document as the bytes of an answer."""
    return json.dumps(document).encode()
