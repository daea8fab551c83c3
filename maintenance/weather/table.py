"""A forecast typed in or dropped by the farm, as CSV or JSON; every row that needs a change is told at once.

Times are local to the farm unless they carry an offset. A row holds until the next one begins, and at most as long
as is usual between the rows.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any, Final
from zoneinfo import ZoneInfo

from maintenance.weather.assembly import assemble
from maintenance.weather.columns import MOST_COLUMNS, Column, columns_of
from maintenance.weather.documents import MOST_BYTES, read_json
from maintenance.weather.figures import is_number, is_sane
from maintenance.weather.reasons import ForecastError, Notes, Remark, shown
from maintenance.weather.shapes import Forecast, Place, Spell
from maintenance.weather.times import HOUR, instant, is_near, is_skipped, local, readings_of

SOURCE: Final = "table"
MOST_ROWS: Final = 5_000
LONGEST_CELL: Final = 200
LONGEST_STEP: Final = timedelta(days=1)
POINTS: Final = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
COMPASS: Final = {point: 22.5 * index for index, point in enumerate(POINTS)}
NUMBER: Final = re.compile(r"[+-]?(\d{1,12}(\.\d{0,12})?|\.\d{1,12})", re.ASCII)
COMMA: Final = re.compile(r"[+-]?\d{1,12},\d{1,12}", re.ASCII)
THOUSANDS: Final = re.compile(r"[+-]?\d{1,3},\d{3}", re.ASCII)

Row = dict[str, Any]


class _CellError(Exception):
    """A cell that needs a change."""

    def __init__(self, reason: str, **params: object) -> None:
        self.reason, self.params = reason, params


def read_table(content: bytes | str, *, zone: ZoneInfo, fetched_at: datetime, place: Place | None = None) -> Forecast:
    """Return the forecast in a table.

    CSV with comma, semicolon, tab or bar between the cells, or JSON: a list of objects with the same keys as
    the CSV's headers, alone or under ``rows``. Empty cells are not known. A direction may be a compass point.

    Raises
    ------
    ForecastError
        If it is no table, a column is not understood, or rows need a change; then ``problems`` has them all.
    """
    headers, rows = _read(content)
    columns = columns_of(headers)
    problems: list[Remark] = []
    found: dict[datetime, Row] = {}
    for number, cells in rows:
        try:
            when, row = _row(cells, columns, zone, fetched_at)
            if when in found:
                raise _CellError("row_time_twice", text=when.astimezone(zone).isoformat(sep=" ", timespec="minutes"))
            found[when] = row
        except _CellError as error:
            problems.append(Remark(error.reason, {"row": number, **error.params}))
    if problems:
        raise ForecastError("rows", problems=tuple(problems), count=len(problems))
    if not found:
        raise ForecastError("no_rows")
    return assemble(
        _spells(found), Notes(), source=SOURCE, issued_at=fetched_at, fetched_at=fetched_at, place=place or Place()
    )


# The two formats -------------------------------------------------------------------


def _read(content: bytes | str) -> tuple[list[str], list[tuple[int, list[Any]]]]:
    """Return the headers, and each row's number with its cells."""
    text = table_text(content)
    if text.lstrip()[:1] in ("[", "{"):
        return _from_json(read_json(text))
    if text.lstrip().startswith("<"):
        raise ForecastError("html")
    return _from_csv(text)


def table_text(content: bytes | str) -> str:
    """Return a file's text in the encodings spreadsheet programs write.

    Raises
    ------
    ForecastError
        If it is empty, larger than 5 MB or no text.
    """
    if len(content) > MOST_BYTES:
        raise ForecastError("too_large", limit=MOST_BYTES // 1024**2)
    try:
        text = content if isinstance(content, str) else content.decode(_encoding(content))
    except UnicodeDecodeError as error:
        raise ForecastError("not_text") from error
    if "\0" in text:
        raise ForecastError("not_text")
    if not text.strip():
        raise ForecastError("empty")
    return text.removeprefix("\ufeff")


def _encoding(content: bytes) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _from_csv(text: str) -> tuple[list[str], list[tuple[int, list[Any]]]]:
    header = next((line for line in text.splitlines() if line.strip()), "")
    if not header:  # separators that a line knows and a word does not
        raise ForecastError("empty")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t|", key=header.count), strict=True)
    rows: list[tuple[int, list[Any]]] = []
    try:
        for number, cells in enumerate(reader, 1):
            if any(cell.strip() for cell in cells):
                rows.append((number, [cell.strip() for cell in cells[: MOST_COLUMNS + 1]]))
            if len(rows) > MOST_ROWS + 1:
                raise ForecastError("too_many", name="rows", limit=MOST_ROWS)
    except csv.Error as error:
        raise ForecastError("not_text") from error
    if not rows:
        raise ForecastError("no_rows")
    return _limited(rows[0][1]), rows[1:]


def _from_json(document: Any) -> tuple[list[str], list[tuple[int, list[Any]]]]:
    rows = document.get("rows") if isinstance(document, dict) else document
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise ForecastError("wrong_shape", name="rows", source=SOURCE)
    if len(rows) > MOST_ROWS:
        raise ForecastError("too_many", name="rows", limit=MOST_ROWS)
    headers: dict[str, None] = {}
    for row in rows:
        headers |= dict.fromkeys(row)
        _limited(list(headers))
    if not headers:
        raise ForecastError("no_rows")
    return list(headers), [(number, [row.get(header) for header in headers]) for number, row in enumerate(rows, 1)]


def _limited(headers: list[str]) -> list[str]:
    if len(headers) > MOST_COLUMNS:
        raise ForecastError("too_many", name="columns", limit=MOST_COLUMNS)
    return headers


# One row --------------------------------------------------------------------------


def _row(cells: Sequence[Any], columns: list[Column], zone: ZoneInfo, now: datetime) -> tuple[datetime, Row]:
    """Return the time of a row, and its figures in SI."""
    if len(cells) > len(columns):
        raise _CellError("row_cells", count=len(cells), columns=len(columns))
    row: Row = {}
    when: datetime | None = None
    for cell, column in zip(cells, columns, strict=False):  # cells left out at the end are empty
        if column.figure == "time":
            when = _time(cell, zone)
            if not is_near(when, now):
                raise _CellError("row_far", text=shown(cell))
        else:
            row[column.figure] = _figure(cell, column)
    if when is None:
        raise _CellError("row_time", text="")
    return when, row


def _figure(cell: Any, column: Column) -> float | None:
    if cell is None or cell == "":
        return None
    number = _number(cell, column)
    value = COMPASS.get(str(cell).upper()) if number is None and column.figure == "bearing_deg" else number
    if value is None:
        raise _CellError("row_number", text=shown(cell), figure=column.figure)
    found = column.scale(value)
    if not is_sane(column.figure, found):
        raise _CellError("row_absurd", text=shown(cell), figure=column.figure)
    return found


def _number(cell: Any, column: Column) -> float | None:
    if is_number(cell):
        return float(cell)
    if not isinstance(cell, str) or len(cell) > LONGEST_CELL:
        return None
    text = cell.strip().replace("\u2212", "-")
    if THOUSANDS.fullmatch(text):
        raise _CellError("row_comma", text=shown(cell), figure=column.figure)
    if COMMA.fullmatch(text):
        text = text.replace(",", ".")
    return float(text) if NUMBER.fullmatch(text) else None


def _time(cell: Any, zone: ZoneInfo) -> datetime:
    text = cell.strip() if isinstance(cell, str) else ""
    exact = instant(text.replace(" ", "T", 1))
    if exact is not None:
        return exact
    wall = local(text)
    if wall is None or len(text) < len("2026-03-09 14:00"):
        raise _CellError("row_time", text=shown(cell))
    try:
        first, second = readings_of(wall, zone)
        skipped = is_skipped(wall, zone)
    except OverflowError as error:
        raise _CellError("row_far", text=shown(cell)) from error
    if first != second:
        ways = [when.astimezone(zone).isoformat(sep=" ", timespec="minutes") for when in sorted((first, second))]
        raise _CellError("row_skipped" if skipped else "row_repeated", text=text, first=ways[0], second=ways[1])
    return first


def _spells(found: dict[datetime, Row]) -> Iterator[Spell]:
    """Yield a spell for each row, up to the next or as long as is usual."""
    times = sorted(found)
    steps = Counter(min(end - start, LONGEST_STEP) for start, end in pairwise(times))
    usual = max(steps, key=lambda step: (steps[step], -step), default=HOUR)
    for start, end in pairwise([*times, times[-1] + usual]):
        yield Spell(start, min(end, start + usual), **found[start])
