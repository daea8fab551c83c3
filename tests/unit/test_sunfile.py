"""Tables of measured sun: units by their definitions, and every bad cell named."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from maintenance.ages.sunfile import read_sun

TODAY = date(2026, 5, 1)


@pytest.mark.parametrize(
    ("header", "cell", "megajoules"),
    [
        ("radiation (MJ/m2)", "20.5", "20.5"),
        ("MJ/m²", "20,5", "20.5"),
        ("global kWh/m^2", "5", "18"),  # 1 kWh is 3.6 MJ
        ("mean W/m2", "250", "21.6"),  # 250 W for 86 400 s
    ],
)
def test_the_header_names_the_unit(header, cell, megajoules):
    table = read_sun([["date", header], ["2026-04-01", cell]], today=TODAY)

    assert table.days == {date(2026, 4, 1): Decimal(megajoules)}
    assert table.problems == ()


def test_columns_stand_in_any_order_and_others_are_passed_over():
    table = read_sun([["station", "W/m2", "", "Fecha"], ["A", "100", "x", "2026-04-01"], ["", "", "", ""]], today=TODAY)

    assert table.days == {date(2026, 4, 1): Decimal("8.64")}


@pytest.mark.parametrize(
    ("day", "sun", "words"),
    [
        ("4/1/2026", "20", "Write it as 2024-05-01"),
        ("2026-02-30", "20", "Not a day"),
        ("2026-05-02", "20", "not come yet"),
        ("2026-03-31", "20", "twice"),
        ("2026-04-01", "", "Not a number"),
        ("2026-04-01", "NaN", "Not a number"),
        ("2026-04-01", "many", "Not a number"),
        ("2026-04-01", "-1", "0 to 50"),
        ("2026-04-01", "51", "0 to 50"),
        ("2026-04-01", "1e999999", "0 to 50"),
    ],
)
def test_a_cell_that_cannot_be_read_is_named(day, sun, words):
    table = read_sun([["date", "MJ/m2"], ["2026-03-31", "10"], [day, sun]], today=TODAY)

    (problem,) = table.problems
    assert problem.row == 3
    assert words in problem.text
    assert table.days == {date(2026, 3, 31): Decimal(10)}


@pytest.mark.parametrize(
    ("grid", "words"),
    [
        ([], "No column is called date"),
        ([["day one", "MJ/m2"]], "No column is called date"),
        ([["date", "radiation"]], "names its unit"),
        ([["date", "MJ/m2", "kWh/m2"]], "Two columns"),
        ([["date", "MJ/m2"]], "no rows"),
    ],
)
def test_a_table_that_lacks_a_column_says_which(grid, words):
    table = read_sun(grid, today=TODAY)

    assert words in table.problems[0].text
    assert table.days == {}
