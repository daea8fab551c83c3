"""A reading sent by the farm's own anemometer as JSON: ``{"at", "gust", "mean", "direction", "unit"}``."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from maintenance.weather.documents import read_object
from maintenance.weather.figures import FASTEST, is_number, sane, scale_of
from maintenance.weather.reasons import ForecastError, Notes, shown
from maintenance.weather.shapes import Reading
from maintenance.weather.times import instant, unix

SOURCE: Final = "anemometer"
OLDEST: Final = timedelta(days=7)  # stations keep what they could not send
AHEAD_OF_US: Final = timedelta(minutes=5)  # clocks differ


def read_reading(content: bytes | str, *, fetched_at: datetime) -> Reading:
    """Return what an anemometer measured.

    ``at`` is a time with its offset or Unix seconds, ``unit`` m/s, km/h, mph or kn for both speeds,
    ``direction`` degrees from north. A mean or direction that cannot be used is left out with a remark.

    Raises
    ------
    ForecastError
        If time, unit or gust is missing or cannot be true.
    """
    said = read_object(content, SOURCE)
    at = instant(said.get("at")) or unix(said.get("at"))
    if at is None:
        raise ForecastError("reading_time")
    if not fetched_at - OLDEST <= at <= fetched_at + AHEAD_OF_US:
        raise ForecastError("reading_far", at=at.isoformat())
    speed, degrees = scale_of("gust", said.get("unit")), scale_of("bearing_deg", "deg")
    if speed is None or degrees is None:
        raise ForecastError("reading_unit", unit=shown(said.get("unit")))
    notes, when = Notes(), at.isoformat()
    gust = sane("gust", said.get("gust"), speed, notes, when) if is_number(said.get("gust")) else None
    if gust is None:
        raise ForecastError("reading_gust", limit=FASTEST)
    mean = sane("wind", said.get("mean"), speed, notes, when)
    bearing = sane("bearing_deg", said.get("direction"), degrees, notes, when)
    if mean is not None and mean > gust:
        notes.add("gust_below_mean", when)
        gust = mean
    return Reading(at, gust, mean, bearing, notes.remarks())
