"""Points and gridpoint documents of the US National Weather Service (api.weather.gov).

The grid holds one layer for each figure, each cut into intervals of its own: equal hours are merged. All layers
are laid out over clock hours here. Winds are whole knots times 1.852, so that 50 kt reads 92.6 km/h.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from maintenance.weather.assembly import assemble
from maintenance.weather.documents import Json, items, read_object, section, words
from maintenance.weather.figures import sane, scale_of
from maintenance.weather.reasons import ForecastError, Notes
from maintenance.weather.shapes import Forecast, GridAddress, Place, Spell
from maintenance.weather.times import HOUR, hours, instant, interval, is_near

SOURCE: Final = "NWS"
MOST_ENTRIES: Final = 5_000  # of one layer; a week of hours is 168
LARGEST_GRID: Final = 10_000
LAYERS: Final = {
    "windGust": "gust",
    "windSpeed": "wind",
    "windDirection": "bearing_deg",
    "temperature": "temperature",
    "quantitativePrecipitation": "rain",
    "snowfallAmount": "snow",
}
TOTALS: Final = frozenset({"rain", "snow"})  # given for the whole of an interval
OFFICE: Final = re.compile(r"[A-Z]{3}", re.ASCII)

Entry = tuple[datetime, datetime, Any]
Hours = dict[datetime, dict[str, Any]]


def read_points(content: bytes | str) -> GridAddress:
    """Return where in the grid a points document places us.

    Raises
    ------
    ForecastError
        If it is not a points document or names no place in a grid.
    """
    properties = section(read_object(content, SOURCE), "properties", SOURCE)
    office, x, y = properties.get("gridId"), _whole(properties.get("gridX")), _whole(properties.get("gridY"))
    if not isinstance(office, str) or not OFFICE.fullmatch(office):
        raise ForecastError("wrong_shape", name="gridId", source=SOURCE)
    if x is None or y is None:
        raise ForecastError("wrong_shape", name="gridX, gridY", source=SOURCE)
    return GridAddress(office, x, y, _zone(properties.get("timeZone")))


def read_gridpoint(content: bytes | str, *, fetched_at: datetime) -> Forecast:
    """Return the forecast of a gridpoint document, hour by hour.

    Wind, gust and temperature hold in every hour their interval touches; rain and snow are totals of the interval
    and are shared out over its hours by time.

    Raises
    ------
    ForecastError
        If it is not a gridpoint document, or no wind in it can be used.
    """
    document = read_object(content, SOURCE)
    properties = section(document, "properties", SOURCE)
    notes, found = Notes(), Hours()
    for layer, figure in LAYERS.items():
        _lay_out(_values(properties, layer, figure, notes, fetched_at), figure, notes, found)
    _lay_out(_thunder(properties, notes, fetched_at), "thunder", notes, found)
    place = _place(document, properties)
    if place.latitude is None:
        notes.add("no_place")
    spells = (Spell(hour, hour + HOUR, **found[hour]) for hour in sorted(found))
    issued_at = instant(properties.get("updateTime"))
    if issued_at is None:
        notes.add("issue_unknown")
    return assemble(spells, notes, source=SOURCE, issued_at=issued_at, fetched_at=fetched_at, place=place)


def _values(properties: Json, layer: str, figure: str, notes: Notes, now: datetime) -> Iterator[Entry]:
    """Yield the entries of a layer in SI that have a value."""
    entries = list(_entries(properties, layer, figure, notes, now))
    if not entries:
        return
    unit = properties[layer].get("uom")
    scale = scale_of(figure, unit)
    if scale is None:
        notes.add("unknown_unit", unit, figure)
        return
    for start, end, raw in entries:
        value = sane(figure, raw, scale, notes, start.isoformat())
        if value is not None:
            yield start, end, value


def _thunder(properties: Json, notes: Notes, now: datetime) -> Iterator[Entry]:
    """Yield when thunderstorms are forecast, and when other weather or none is."""
    for start, end, raw in _entries(properties, "weather", "thunder", notes, now):
        if isinstance(raw, list) and all(isinstance(kind, dict) for kind in raw):
            yield start, end, any(kind.get("weather") == "thunderstorms" for kind in raw)
        elif raw is not None:
            notes.add("bad_layer", start.isoformat(), "thunder")


def _entries(properties: Json, layer: str, figure: str, notes: Notes, now: datetime) -> Iterator[Entry]:
    """Yield the entries of a layer whose time can be used."""
    found = properties.get(layer)
    if not isinstance(found, dict) or not isinstance(found.get("values"), list):
        notes.add("no_layer" if found is None else "bad_layer", "", figure)
        return
    values = items(found, "values", SOURCE, MOST_ENTRIES)
    if not values:
        notes.add("no_layer", "", figure)
    for entry in values:
        text = entry.get("validTime") if isinstance(entry, dict) else None
        span = interval(text, now=now)
        if span is None or "value" not in entry:
            notes.add("bad_interval", text, figure)
        elif not all(is_near(end, now) for end in span):
            notes.add("far", text, figure)
        else:
            yield *span, entry["value"]


def _lay_out(entries: Iterator[Entry], figure: str, notes: Notes, found: Hours) -> None:
    """Put the entries of one figure into the hours they touch; where two meet, the worse holds."""
    covered: datetime | None = None
    for start, end, value in _once_each(entries, figure, notes):
        if covered is not None and start < covered:
            notes.add("overlap", start.isoformat(), figure)
        covered = end if covered is None else max(covered, end)
        for hour, share in hours(start, end):
            at = found.setdefault(hour, {})
            at[figure] = _joined(figure, at.get(figure), value * share if figure in TOTALS else value)


def _once_each(entries: Iterator[Entry], figure: str, notes: Notes) -> list[Entry]:
    """Return the entries in order of time, and an interval that comes twice only once."""
    once: dict[tuple[datetime, datetime], Any] = {}
    for start, end, value in entries:
        if (start, end) in once:
            notes.add("overlap", start.isoformat(), figure)
            value = value if figure == "bearing_deg" else _worse(figure, once[start, end], value)
        once[start, end] = value
    return [(start, end, once[start, end]) for start, end in sorted(once)]


def _joined(figure: str, earlier: Any, value: Any) -> Any:
    if earlier is None or figure == "bearing_deg":
        return value
    return earlier + value if figure in TOTALS else _worse(figure, earlier, value)


def _worse(figure: str, one: Any, other: Any) -> Any:
    """Return the stronger wind, the larger fall, the colder air: cold film is the more brittle."""
    return min(one, other) if figure == "temperature" else max(one, other)


def _place(document: Json, properties: Json) -> Place:
    """Return the middle of the grid cell, and its name in the grid."""
    office, x, y = words(properties, "gridId", 8), _whole(properties.get("gridX")), _whole(properties.get("gridY"))
    cell = f"{office}/{x},{y}" if office and x is not None and y is not None else ""
    corners = _corners(document.get("geometry"))
    if not corners:
        return Place(cell=cell)
    latitude, longitude = (sum(axis) / len(corners) for axis in zip(*corners, strict=True))
    return Place(latitude, longitude, cell)


def _corners(geometry: Any) -> list[tuple[float, float]]:
    """Return the corners of a GeoJSON polygon as latitude and longitude, or nothing if one cannot be."""
    try:
        ring = geometry["coordinates"][0][:-1]
        corners = [(float(latitude), float(longitude)) for longitude, latitude in ring]
    except (TypeError, ValueError, KeyError, IndexError, OverflowError):
        return []
    return corners if all(abs(lat) <= 90 and abs(lon) <= 180 for lat, lon in corners) else []


def _whole(value: Any) -> int | None:
    """Return a column or row of the grid; older documents write it as text."""
    text = str(value) if isinstance(value, int | str) and not isinstance(value, bool) else ""
    return int(text) if re.fullmatch(r"\d{1,5}", text, re.ASCII) and int(text) <= LARGEST_GRID else None


def _zone(name: Any) -> str:
    """Return the name of a time zone that is known here, or nothing."""
    if not isinstance(name, str):
        return ""
    try:
        return ZoneInfo(name).key
    except (ValueError, OSError, LookupError):  # LookupError: ZoneInfoNotFoundError
        return ""
