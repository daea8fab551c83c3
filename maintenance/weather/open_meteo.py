"""Hourly forecasts of the Open-Meteo API.

The gust, rain and snow given for an hour are those of the hour that ends then; mean wind, direction,
temperature and weather code are of that moment. A spell here is the hour between two moments: it takes the
sums of its end, and the worse of both moments.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise
from typing import Any, Final
from zoneinfo import ZoneInfo

from maintenance.weather.assembly import assemble
from maintenance.weather.documents import Json, items, read_object, section, words
from maintenance.weather.figures import is_number, sane, scale_of
from maintenance.weather.reasons import Notes
from maintenance.weather.shapes import Forecast, Place, Spell
from maintenance.weather.times import HOUR, at_offset, instant, is_near, is_skipped, local, unix

SOURCE: Final = "Open-Meteo"
MOST_HOURS: Final = 5_000  # 92 days back and 16 ahead are 2592
SERIES: Final = {
    "wind_gusts_10m": "gust",
    "wind_speed_10m": "wind",
    "wind_direction_10m": "bearing_deg",
    "temperature_2m": "temperature",
    "precipitation": "rain",
    "snowfall": "snow",
    "weather_code": "thunder",
}
THUNDER: Final = range(95, 100)  # WMO code table 4677: thunderstorm at the time of observation

Moment = dict[str, Any]


def read_open_meteo(content: bytes | str, *, fetched_at: datetime) -> Forecast:
    """Return the hourly forecast of an answer, with times as Unix seconds or as local time.

    Local times are all written at the offset the answer gives, even in the week the clocks change, so that
    hours which no clock shows do occur; that offset places them, and a remark tells of them.

    Raises
    ------
    ForecastError
        If it is an error or not a forecast, or no wind in it can be used.
    """
    document = read_object(content, SOURCE)
    hourly = section(document, "hourly", SOURCE)
    times = items(hourly, "time", SOURCE, MOST_HOURS)
    notes = Notes()
    moments = _moments(hourly, section(document, "hourly_units", SOURCE), times, notes)
    timeline: dict[datetime, Moment] = {}
    for when, index in _placed(document, times, notes, fetched_at):
        if when in timeline:
            notes.add("overlap", when.isoformat(), "time")
        timeline[when] = _worse(timeline.get(when, {}), moments[index])
    place = _place(document)
    if place.latitude is None:
        notes.add("no_place")
    spells = _spells(sorted(timeline.items(), key=lambda item: item[0]))
    return assemble(spells, notes, source=SOURCE, issued_at=None, fetched_at=fetched_at, place=place)


def _moments(hourly: Json, units: Json, times: list[Any], notes: Notes) -> list[Moment]:
    """Return for each time the figures in SI that can be used."""
    moments: list[Moment] = [{} for _ in times]
    for name, figure in SERIES.items():
        series = hourly.get(name)
        if not isinstance(series, list):
            notes.add("no_layer" if series is None else "bad_layer", "", figure)
        elif len(series) != len(times):
            notes.add("short_layer", "", figure)
        elif figure == "thunder":
            _take_codes(series, times, moments, notes)
        else:
            _take(series, figure, units.get(name), times, moments, notes)
    return moments


def _take(series: list[Any], figure: str, unit: object, times: list[Any], moments: list[Moment], notes: Notes) -> None:
    if all(value is None for value in series):  # a model without this figure says "undefined" for the unit
        notes.add("no_layer", "", figure)
        return
    scale = scale_of(figure, unit)
    if scale is None:
        notes.add("unknown_unit", unit, figure)
        return
    for time, value, moment in zip(times, series, moments, strict=True):
        moment[figure] = sane(figure, value, scale, notes, time)


def _take_codes(series: list[Any], times: list[Any], moments: list[Moment], notes: Notes) -> None:
    for time, code, moment in zip(times, series, moments, strict=True):
        if is_number(code):
            moment["thunder"] = code in THUNDER
        elif code is not None:
            notes.add("not_a_number", time, "thunder")


def _placed(document: Json, times: list[Any], notes: Notes, now: datetime) -> Iterator[tuple[datetime, int]]:
    """Yield the instant of each time that can be used, and its place in the series."""
    offset, zone = document.get("utc_offset_seconds"), _zone(words(document, "timezone"))
    for index, time in enumerate(times):
        when = unix(time) or instant(time) or _from_local(time, offset, zone, notes)
        if when is None:
            notes.add("bad_interval", time, "time")
        elif not is_near(when, now):
            notes.add("far", time, "time")
        else:
            yield when, index


def _from_local(time: object, offset: object, zone: ZoneInfo | None, notes: Notes) -> datetime | None:
    wall = local(time)
    if wall is None or not is_number(offset) or not -86_400 < float(offset) < 86_400:
        return None
    try:
        when = at_offset(wall, float(offset))
    except OverflowError:
        return None
    if zone is not None and is_skipped(wall, zone):
        notes.add("clock_changes", time)
    return when


def _spells(moments: list[tuple[datetime, Moment]]) -> Iterator[Spell]:
    """Yield the spells between the moments; what the first says of the hour before it comes first."""
    if moments:
        when, first = moments[0]
        yield _spell(when - HOUR, when, {}, first)
    for (start, before), (end, after) in pairwise(moments):
        if end - start > HOUR:  # a moment is missing, and with it the gust of the hour before it
            yield _spell(end - HOUR, end, {}, after)
        else:
            yield _spell(start, end, before, after)


def _spell(start: datetime, end: datetime, before: Moment, after: Moment) -> Spell:
    sums = {figure: after.get(figure) for figure in ("gust", "rain", "snow")}
    return Spell(start, end, **_worse(before, after) | sums)


def _worse(one: Moment, other: Moment) -> Moment:
    """Return the stronger wind with its direction, the larger fall, the colder air, and thunder if either has it."""
    found = {
        figure: max((moment[figure] for moment in (one, other) if moment.get(figure) is not None), default=None)
        for figure in ("gust", "rain", "snow", "thunder", "wind")
    }
    windier = one if one.get("wind") is not None and one["wind"] == found["wind"] else other
    cold = [moment["temperature"] for moment in (one, other) if moment.get("temperature") is not None]
    return found | {"bearing_deg": windier.get("bearing_deg"), "temperature": min(cold, default=None)}


def _place(document: Json) -> Place:
    """Return the grid cell of the model, which is not quite the place asked for."""
    latitude, longitude = document.get("latitude"), document.get("longitude")
    zone = words(document, "timezone", 60)
    if not (is_number(latitude) and is_number(longitude) and abs(latitude) <= 90 and abs(longitude) <= 180):
        return Place(time_zone=zone)
    return Place(float(latitude), float(longitude), f"{latitude:.4f},{longitude:.4f}", zone)


def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, LookupError):
        return None
