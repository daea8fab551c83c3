"""Tables in and out of files: odd encodings, hostile packages, text that looks like a formula."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from doors.exchange.spreadsheets import MOST_ROWS, SpreadsheetError, read_grid, unguarded, write_table

TABLE = [["code", "name"], ["T01", "Ñandú, north"], ["T02", 'the "long" one']]


def xlsx(*rows: list[Any], change: Callable[[Any], None] | None = None) -> bytes:
    """Return an XLSX file."""
    book = Workbook()
    for row in rows:
        book.active.append(row)
    if change:
        change(book)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def package(parts: dict[str, bytes]) -> bytes:
    """Return a zip file."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return stream.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_csv_is_read_as_spreadsheet_programs_write_it(encoding, delimiter, newline):
    lines = [f"code{delimiter}name", f'T01{delimiter}"Ñandú, north"', f'T02{delimiter}"the ""long"" one"']

    assert read_grid("a.csv", newline.join(lines).encode(encoding)) == TABLE


def test_xlsx_is_read_as_text_without_rounding_noise():
    content = xlsx(
        ["a", "b", "c", "d", "e", "f", "g"],
        [3657.6, 12, True, date(2024, 5, 1), datetime(2024, 5, 1, 7, 30), 0.1 + 0.2, None],
        [None],
        ["8' 6\""],
    )

    assert read_grid("a.xlsx", content) == [
        ["a", "b", "c", "d", "e", "f", "g"],
        ["3657.6", "12", "yes", "2024-05-01", "2024-05-01 07:30:00", "0.3"],
        [],
        ["8' 6\""],
    ]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.csv", b"", "empty"),
        ("a.csv", b"  \n ", "empty"),
        ("a.csv", b"a" * (5 * 1024 * 1024 + 1), "5 MB"),
        ("a.csv", b"code,name\n" + b"T,x\n" * (MOST_ROWS + 1), "5000 rows"),
        ("a.csv", b"code\n" + b"," * 70, "too many columns"),
        ("a.csv", b'code,name\nT01,"open', "Row 2"),
        ("a.csv", b'code\n"' + b"x" * 200_000 + b'"', "Row 2"),
        ("a.csv", b"code\n" + b"x" * 5_000, "4000 characters"),
        ("a.csv", b"c\x00o\x00d\x00e\x00", "CSV (UTF-8)"),
        ("a.csv", b"code\n\x81\x8d", "CSV (UTF-8)"),
        ("a.csv", b"\xff\xfea\x00b", "CSV (UTF-8)"),
        ("a.xls", b"\xd0\xcf\x11\xe0\xa1\xb1", ".xlsx or .csv"),
        ("a.ods", b"code,name", ".xlsx or .csv"),
        ("a.xlsx", b"PK\x03\x04 and nothing more", "damaged"),
        ("a.xlsx", package({"word.xml": b"<a/>"}), "not an .xlsx"),
        ("a.xlsx", package({"[Content_Types].xml": b"<!DOCTYPE a [<!ENTITY b 'b'>]><a/>"}), "damaged"),
        ("a.xlsx", package({"[Content_Types].xml": b"<a/>", "xl/a.xml": b" " * 70_000_000}), "far more than a table"),
        ("a.xlsx", package({f"part{number}.xml": b"" for number in range(300)}), "far more than a table"),
        ("a.xlsx", package({"[Content_Types].xml": b"<Types/>"}), "damaged"),
        ("a.xlsx", xlsx(["code"], ["=1+1"]), "Cell A2 holds a formula"),
        ("a.xlsx", xlsx(["code"], ["T01"])[:-200], "damaged"),
        ("a.xlsx", xlsx(["code"], *([["x"]] * (MOST_ROWS + 1))), "5000 rows"),
        ("a.xlsx", xlsx(["code"], ["x"] * 61), "60 columns"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_a_sentence(name, content, words):
    with pytest.raises(SpreadsheetError) as caught:
        read_grid(name, content)

    assert words in str(caught.value)
    assert str(caught.value).endswith(".")


def test_a_cell_far_away_does_not_fill_the_memory():
    def far(book: Any) -> None:
        book.active["XFD1048576"] = "x"

    assert read_grid("a.xlsx", xlsx(["code"], ["T01"], change=far)) == [["code"], ["T01"]]


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(content):
    try:
        grid = read_grid("a.csv", content)
    except SpreadsheetError:
        return
    assert all(isinstance(cell, str) for row in grid for cell in row)


GOOD = xlsx(["code", "name"], ["T01", "North"], ["T02", 3.5])


@given(st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 255)), min_size=1, max_size=20))
def test_a_package_with_flipped_bytes_is_read_or_refused(flips):
    content = bytearray(GOOD)
    for position, byte in flips:
        content[position] = byte

    try:
        grid = read_grid("a.xlsx", bytes(content))
    except SpreadsheetError:
        return
    assert all(isinstance(cell, str) for row in grid for cell in row)


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20), st.sampled_from(["csv", "xlsx"]))
def test_text_comes_back_as_it_went_out(text, kind):
    content = write_table(["text", "end"], [[text, "x"]], kind)

    assert unguarded(read_grid(f"a.{kind}", content)[1][0]) == text


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_nothing_goes_out_that_a_spreadsheet_program_would_run(start):
    text = f'{start}cmd|"/c calc"!A1'

    csv_file = write_table(["a"], [[text]], "csv").decode("utf-8-sig")
    cell = load_workbook(io.BytesIO(write_table(["a"], [[text]], "xlsx"))).active["A2"]

    assert csv_file.splitlines()[1].lstrip('"').startswith("'")
    assert cell.data_type != "f"
    assert str(cell.value).startswith("'")


def test_numbers_stay_numbers():
    row = [Decimal("-3657.600000"), 12, None, date(2024, 5, 1)]

    sheet = load_workbook(io.BytesIO(write_table(["a", "b", "c", "d"], [row], "xlsx"))).active

    assert [cell.value for cell in sheet[2]] == [-3657.6, 12, None, datetime(2024, 5, 1)]
    assert write_table(["a", "b", "c", "d"], [row], "csv").splitlines()[1] == b"-3657.6,12,,2024-05-01"
