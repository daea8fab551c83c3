"""Tables in and out of CSV and XLSX files; everything that comes in is text, and nothing in it is run.

A farm's file may come from any spreadsheet program of any age, or from somebody who means harm: sizes are
capped before anything is unpacked, formulas are refused on the way in and made plain text on the way out.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
import zlib
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, Final, Literal
from xml.etree.ElementTree import ParseError

import tablib
from django.utils.translation import gettext as _
from openpyxl import load_workbook  # type: ignore[import-untyped]
from openpyxl.utils.exceptions import InvalidFileException  # type: ignore[import-untyped]

from farm.formfields import plain

Cell = str | int | float | Decimal | date | bool | None
Format = Literal["csv", "xlsx"]
Grid = list[list[str]]

MOST_BYTES: Final = 5 * 1024 * 1024
MOST_ROWS: Final = 5_000  # below the header
MOST_COLUMNS: Final = 60
MOST_CHARACTERS: Final = 4_000  # in one cell; notes are shorter
MOST_UNPACKED: Final = 60 * 1024 * 1024  # bytes in all the parts of an XLSX file
MOST_PARTS: Final = 200

CONTENT_TYPES: Final = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
FORMULA: Final = re.compile(r"^[=+\-@\t\r]")
GUARDED: Final = re.compile(r"^'(?=[=+\-@\t\r])")
CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
BROKEN: Final = (
    InvalidFileException, zipfile.BadZipFile, zlib.error, ParseError, ValueError, LookupError, TypeError,
    AttributeError, ArithmeticError, OSError, EOFError, RuntimeError,
)  # fmt: skip  # what the readers raise on files that are not what they say
ENCODINGS: Final = ("ascii", "utf-16-le", "utf-16-be")
ENTITIES: Final = tuple(word.encode(code) for word in ("<!DOCTYPE", "<!ENTITY") for code in ENCODINGS)


class SpreadsheetError(ValueError):
    """A file that cannot be read as a table; its text is a sentence that says what to do."""


def read_grid(name: str, content: bytes) -> Grid:
    """Return the rows of a file as text, the header first, empty rows kept so that row numbers hold.

    Raises
    ------
    SpreadsheetError
        If the file is empty, too large, of another kind, broken, or holds formulas.
    """
    if len(content) > MOST_BYTES:
        raise SpreadsheetError(_("The file is larger than 5 MB. Split it, or leave out pictures and other sheets."))
    if not content.strip():
        raise SpreadsheetError(_("The file is empty. Fill in the template and save it."))
    if content.startswith(b"PK\x03\x04"):
        grid = _read_xlsx(content)
    elif content.startswith(b"\xd0\xcf\x11\xe0") or name.lower().endswith((".xls", ".ods", ".numbers")):
        raise SpreadsheetError(_("This kind of file cannot be read. Save it as .xlsx or .csv and choose it again."))
    else:
        grid = _read_csv(content)
    while grid and not any(cell.strip() for cell in grid[-1]):
        grid.pop()
    if len(grid) > MOST_ROWS + 1:
        raise SpreadsheetError(_too_many_rows())
    return grid


def write_table(headers: Sequence[str], rows: Iterable[Sequence[Cell]], kind: Format, title: str = "") -> bytes:
    """Return a table as a file; text that a spreadsheet program would run as a formula gets a quote before it."""
    data = tablib.Dataset(*([_guarded(cell) for cell in row] for row in rows), headers=list(headers))
    if kind == "xlsx":
        data.title = title[:31]
        # Our own guard stands before the text; tablib's would drop the sign instead.
        return bytes(data.export("xlsx", escape=False))
    # The mark makes spreadsheet programs read the file as UTF-8.
    return b"\xef\xbb\xbf" + str(data.export("csv")).encode()


def _guarded(cell: Cell) -> Cell:
    if isinstance(cell, str):
        text = CONTROL.sub("", cell)
        return f"'{text}" if FORMULA.match(text) else text
    if isinstance(cell, Decimal):
        return Decimal(plain(cell))
    return "" if cell is None else cell


def unguarded(text: str) -> str:
    """Take away the quote that ``write_table`` put before text."""
    return GUARDED.sub("", text)


def _too_many_rows() -> str:
    return _("The table has more than %(limit)s rows. Split it and import the parts.") % {"limit": MOST_ROWS}


def _damaged() -> str:
    return _("The file is damaged. Open it, save it again as .xlsx and choose it again.")


# CSV ------------------------------------------------------------------------------


def _read_csv(content: bytes) -> Grid:
    text = _decoded(content)
    delimiter = _delimiter(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    grid: Grid = []
    try:
        for row in reader:
            grid.append([_checked(cell, len(grid) + 1) for cell in row[: MOST_COLUMNS + 1]])
            if len(row) > MOST_COLUMNS:
                raise SpreadsheetError(_("Row %(row)s has too many columns.") % {"row": len(grid)})
            if len(grid) > 2 * MOST_ROWS:
                raise SpreadsheetError(_too_many_rows())
    except csv.Error as error:
        raise SpreadsheetError(
            _("Row %(row)s cannot be read: a quotation mark is missing, or a cell is too long.")
            % {"row": len(grid) + 1}
        ) from error
    return grid


def _decoded(content: bytes) -> str:
    """Return the text of a file in the encodings spreadsheet programs write."""
    try:
        if content.startswith((b"\xff\xfe", b"\xfe\xff")):
            return content.decode("utf-16")
        if b"\x00" in content:
            raise SpreadsheetError(_("This is not a table of text. Save it as CSV (UTF-8) or as .xlsx."))
        try:
            return content.decode("utf-8-sig")
        except UnicodeDecodeError:
            return content.decode("cp1252")
    except UnicodeDecodeError as error:
        raise SpreadsheetError(
            _("The letters in this file cannot be read. Save it as CSV (UTF-8) or as .xlsx.")
        ) from error


def _delimiter(text: str) -> str:
    """Return what parts the header's cells: the mark that stands in it most often."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t|", key=header.count)


def _checked(cell: str, row: int) -> str:
    if len(cell) > MOST_CHARACTERS:
        raise SpreadsheetError(
            _("A cell in row %(row)s has more than %(limit)s characters.") % {"row": row, "limit": MOST_CHARACTERS}
        )
    if "\x00" in cell:
        raise SpreadsheetError(_("Row %(row)s holds characters that are not text.") % {"row": row})
    return cell


# XLSX -----------------------------------------------------------------------------


def _read_xlsx(content: bytes) -> Grid:
    _check_package(content)
    try:
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=False, keep_links=False)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()  # what the file says of its size may be anything
        return [
            [_cell_text(cell) for cell in _trimmed(row)]
            for row in sheet.iter_rows(max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS + 1)
        ]
    except SpreadsheetError:
        raise
    except BROKEN as error:
        raise SpreadsheetError(
            _("The file is damaged. Open it, save it again as .xlsx and choose it again.")
        ) from error


def _check_package(content: bytes) -> None:
    """Refuse packages that unpack to more than a table needs, and XML that defines entities."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            parts = package.infolist()
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
                raise SpreadsheetError(_("The file unpacks to far more than a table. Copy the table into a new file."))
            if "[Content_Types].xml" not in package.namelist():
                raise SpreadsheetError(_("This is not an .xlsx file. Save the table as .xlsx or .csv."))
            for part in parts:
                if part.filename.lower().endswith((".xml", ".rels")):
                    text = package.read(part)
                    if any(word in text for word in ENTITIES):
                        raise SpreadsheetError(_damaged())
    except SpreadsheetError:
        raise
    except BROKEN as error:
        raise SpreadsheetError(_damaged()) from error


def _trimmed(row: Sequence[Any]) -> Sequence[Any]:
    """Leave out empty cells at the end of a row; refuse a row that goes on too far."""
    last = max((number for number, cell in enumerate(row, 1) if cell.value is not None), default=0)
    if last > MOST_COLUMNS:
        raise SpreadsheetError(_("The table has more than %(limit)s columns.") % {"limit": MOST_COLUMNS})
    return row[:last]


def _cell_text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if cell.data_type in ("f", "e"):
        raise SpreadsheetError(
            _("Cell %(cell)s holds a formula or an error. Paste the values only, then choose the file again.")
            % {"cell": getattr(cell, "coordinate", "")}
        )
    return _checked(_value_text(value), getattr(cell, "row", 0))


def _value_text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(sep=" ")
    if isinstance(value, float):
        # Fifteen figures are what spreadsheet programs keep; the sixteenth is noise of their arithmetic.
        return plain(Decimal(f"{value:.15g}"))
    return str(value)
