"""Tables as text: records of RFC 4180 in UTF-8, read one by one with a limit, however long the file."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import IO, Final

from django.utils.translation import gettext as _

from maintenance.wholefarm.errors import FarmFileError

MOST_RECORD: Final = 32 * 1024 * 1024  # bytes
FIELD: Final = re.compile(r'(?:"([^"]*(?:""[^"]*)*)"|([^",\r\n]*))(,|\r\n\Z)')
QUOTED: Final = re.compile(r'[",\r\n]')
END: Final = b"\r\n"


def record(cells: Sequence[str]) -> bytes:
    """Return one record with its end of line."""
    written = (f'"{cell.replace(chr(34), chr(34) * 2)}"' if QUOTED.search(cell) else cell for cell in cells)
    return ",".join(written).encode() + END


def records(stream: IO[bytes], name: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each record of a table with its number of octets.

    Raises
    ------
    FarmFileError
        At a record that is too long, no UTF-8, or not of the form of RFC 4180.
    """
    number = 0
    while line := stream.readline(MOST_RECORD):
        parts, size, quotes = [line], len(line), line.count(b'"')
        while quotes % 2 and size < MOST_RECORD and (line := stream.readline(MOST_RECORD)):
            parts.append(line)
            size += len(line)
            quotes += line.count(b'"')
        number += 1
        yield size, _cells(b"".join(parts), name, number)


def _cells(data: bytes, name: str, number: int) -> list[str]:
    try:
        text = data.decode()
    except UnicodeDecodeError as error:
        raise _unreadable(name, number) from error
    if len(data) >= MOST_RECORD or not text.endswith("\r\n") or "\x00" in text:
        raise _unreadable(name, number)
    if '"' not in text:
        plain = text[:-2]
        if "\r" in plain or "\n" in plain:
            raise _unreadable(name, number)
        return plain.split(",")
    return _quoted(text, name, number)


def _quoted(text: str, name: str, number: int) -> list[str]:
    cells, at = [], 0
    while at < len(text):
        match = FIELD.match(text, at)
        if match is None:
            raise _unreadable(name, number)
        quoted, bare, end = match.groups()
        cells.append(bare if quoted is None else quoted.replace('""', '"'))
        at = match.end()
        if end != ",":
            break
    if at < len(text):
        raise _unreadable(name, number)
    return cells


def _unreadable(name: str, number: int) -> FarmFileError:
    text = _("%(table)s: line %(number)s is no record of RFC 4180 in UTF-8. Take the file as it was made, unchanged.")
    return FarmFileError(text % {"table": name, "number": number})
