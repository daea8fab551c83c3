"""The record of a storm as one ZIP file: tables, forecasts as they came, pictures, and a checksum of each."""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from hashlib import sha256
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _

from doors.exchange.spreadsheets import Cell, write_table
from farm.units import format_gust
from maintenance.aftermath.eventfile import EventFile, photo_name
from maintenance.aftermath.tables import Table
from maintenance.models import Forecast, Photo

MOST_BYTES: Final = 80_000_000  # of pictures; the whole is built in memory
MOST_ORIGINAL: Final = 20_000_000  # of a forecast, unpacked
SUMS: Final = "SHA256SUMS.txt"


def pack(file: EventFile, *, now: datetime) -> bytes:
    """Return the record as a ZIP file; the same record gives the same names and, apart from ``now``, the same bytes."""
    photos, left_out = _photos(file)
    parts = [*_tables(file), *_forecasts(file), *photos]
    parts.insert(0, ("README.txt", _readme(file, [name for name, _content in parts], left_out, now)))
    sums = "".join(f"{sha256(content).hexdigest()}  {name}\n" for name, content in parts)
    return _zipped([*parts, (SUMS, sums.encode())], file)


def _zipped(parts: list[tuple[str, bytes]], file: EventFile) -> bytes:
    at = file.storm.opened_at.astimezone(UTC)
    moment = (max(at.year, 1980), at.month, at.day, at.hour, at.minute, at.second)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts:
            info = zipfile.ZipInfo(name, date_time=moment)
            info.compress_type = zipfile.ZIP_STORED if name.endswith(".jpg") else zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, content)
    return buffer.getvalue()


def _tables(file: EventFile) -> Iterator[tuple[str, bytes]]:
    for table in file.tables:
        yield f"{table.key}.csv", _csv(table, file)


def _csv(table: Table, file: EventFile) -> bytes:
    zone = file.storm.farm.zone
    rows = [[_cell(value, zone) for value in row] for row in table.rows]
    return write_table([column.name for column in table.columns], rows, "csv")


def _cell(value: Any, zone: Any) -> Cell:
    """Return a value for a file: moments by the farm's clock with their offset, text as text."""
    match value:
        case datetime():
            return value.astimezone(zone).isoformat(timespec="minutes")
        case date():
            return value.isoformat()
        case Promise():
            return str(value)
        case None | str() | int() | Decimal():
            return value
    return str(value)


def _forecasts(file: EventFile) -> Iterator[tuple[str, bytes]]:
    """Yield each forecast that a look went by: what it said, and the document as it came."""
    for forecast in file.forecasts:
        name = f"forecasts/{forecast.issued_at.astimezone(UTC):%Y-%m-%dT%H%MZ}-{forecast.pk}"
        yield f"{name}.json", json.dumps(_said(forecast), indent=1, sort_keys=True).encode()
        if forecast.original is not None:
            yield f"{name}-original.txt", _original(bytes(forecast.original))


def _said(forecast: Forecast) -> dict[str, Any]:
    return {
        "source": forecast.source, "issued_at": forecast.issued_at.isoformat(),
        "fetched_at": forecast.fetched_at.isoformat(), "spells": forecast.spells, "remarks": forecast.remarks,
        "units": "m/s, K, m of water, UTC",
    }  # fmt: skip


def _original(kept: bytes) -> bytes:
    """Return a document as it came; what cannot be unpacked, or never ends, comes as it is kept."""
    packed = zlib.decompressobj()
    try:
        content = packed.decompress(kept, MOST_ORIGINAL)
    except zlib.error:
        return kept
    return kept if packed.unconsumed_tail else content


def _photos(file: EventFile) -> tuple[list[tuple[str, bytes]], list[Photo]]:
    """Return the pictures, up to the most that fit, and those left out because they do not or are gone."""
    taken: list[tuple[str, bytes]] = []
    left_out, size = [], 0
    for photo in (*file.before, *file.after):
        content = _bytes_of(photo)
        if content is None or size + len(content) > MOST_BYTES:
            left_out.append(photo)
            continue
        size += len(content)
        taken.append((photo_name(photo), content))
    return taken, left_out


def _bytes_of(photo: Photo) -> bytes | None:
    try:
        with photo.file.open("rb") as file:
            return bytes(file.read())
    except OSError:
        return None


def _readme(file: EventFile, names: list[str], left_out: list[Photo], now: datetime) -> bytes:
    storm, farm = file.storm, file.storm.farm
    came = format_gust(file.gust.speed, farm.units)
    lines = [
        f"{farm.name}: {_('storm of')} {storm.begins_at.astimezone(farm.zone):%Y-%m-%d %H:%M} ({farm.time_zone})",
        f"{_('Tunnel')}: {file.tunnel.code}" if file.tunnel else "",
        f"{_('Written on')} {now.astimezone(farm.zone):%Y-%m-%d %H:%M}",
        "",
        f"{_('Highest gust forecast')}: {format_gust(storm.peak_gust_m_s, farm.units)}",
        f"{_('Highest gust that came')}: {_('nobody wrote it down') if file.gust.is_forecast else came}",
        f"{_('Cost')}: {_('not known') if file.cost is None else f'{file.cost} {farm.currency}'}",
        "",
        _("Every wind figure is a planning estimate. Times are of the farm's clock, with their offset from UTC."),
        _("Columns end in their unit: _m_s metres per second, _mm millimetres. Costs are in the farm's currency."),
        _("A quote before a text that begins like a formula keeps spreadsheet programs from running it."),
        _("looks.csv says what was known at each decision; forecasts/ holds each forecast as it came."),
        _("SHA256SUMS.txt holds the checksum of every other file."),
        "",
        *([storm.note, ""] if storm.note else []),
        _("Files:"),
        *(f"  {name}" for name in names),
        *(f"  {photo_name(photo)}: {_('left out, it does not fit or is gone')}" for photo in left_out),
    ]
    return ("\r\n".join(lines) + "\r\n").encode()
