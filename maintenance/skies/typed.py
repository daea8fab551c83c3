"""A forecast typed in row by row, or read from a file: nothing is kept before all of it can be read."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final

from farm.models import Farm
from farm.units import METRIC
from maintenance.models import Forecast
from maintenance.skies.keeping import keep_forecast
from maintenance.weather import Forecast as Read
from maintenance.weather import ForecastError, Place, Remark, read_table

COLUMNS: Final = ("time", "gust", "direction", "wind", "rain", "temperature")
HEADERS: Final[Mapping[str, Sequence[str]]] = {
    "us": ("time", "gust mph", "direction", "mean mph", "rain in", "temp F"),
    METRIC: ("time", "gust m/s", "direction", "mean m/s", "rain mm", "temp C"),
}
FIRST: Final = 2  # the number of the first row: the table's headers are row 1

Row = Mapping[str, str]


def headers_of(units: str) -> Sequence[str]:
    """Return the headers of a table in a farm's units."""
    return HEADERS[METRIC if units == METRIC else "us"]


def written(rows: Sequence[Row], units: str) -> str:
    """Return rows as the table that a file would hold, a line for each that says anything."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(headers_of(units))
    table.writerows([[row.get(name, "").strip() for name in COLUMNS] for row in filled(rows)])
    return out.getvalue()


def filled(rows: Sequence[Row]) -> list[Row]:
    """Return the rows that say something of the weather; a proposed time alone says nothing."""
    return [row for row in rows if any(row.get(name, "").strip() for name in COLUMNS if name != "time")]


def read_typed(content: str, *, farm: Farm, now: datetime) -> Read:
    """Return the forecast in a table, by the farm's clock.

    Raises
    ------
    ForecastError
        If it cannot be read; with a problem for each row that needs a change.
    """
    latitude, longitude = farm.latitude_deg, farm.longitude_deg
    place = Place(
        latitude=None if latitude is None else float(latitude),
        longitude=None if longitude is None else float(longitude),
    )
    return read_table(content, zone=farm.zone, fetched_at=now, place=place)


def by_row(error: ForecastError) -> dict[int, list[Remark]]:
    """Return what is wrong with each row, counted from 0; what concerns no row is not among it."""
    found: dict[int, list[Remark]] = {}
    for problem in error.problems:
        row = problem.params.get("row")
        if isinstance(row, int):
            found.setdefault(row - FIRST, []).append(problem)
    return found


def keep_typed(content: str, *, farm: Farm, now: datetime) -> Forecast:
    """Keep a table as the farm's forecast of now.

    Raises
    ------
    ForecastError
        If it cannot be read.
    """
    return keep_forecast(forecast=read_typed(content, farm=farm, now=now), original=content.encode(), farm=farm)
