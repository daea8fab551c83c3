"""The lists: the same number of queries for one row as for three, sorted, filtered, capped, and kept as files."""

from __future__ import annotations

import csv
import io
import re
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import load_workbook

from doors.book import start_book
from doors.models import Door
from doors.services import hang_door, resize_openings
from doors.tables import ComponentTable, MaterialTable, ScheduleTable, TunnelTable
from farm.models import Farm, Opening
from tests.factories import (
    feet,
    inches,
    make_component,
    make_farm,
    make_material,
    make_member,
    make_opening,
    make_tunnel,
    make_wall,
)

pytestmark = pytest.mark.django_db

LISTS = ("tunnels", "doors", "parts", "materials")
TABLES = {"tunnels": TunnelTable, "doors": ScheduleTable, "parts": ComponentTable, "materials": MaterialTable}


@pytest.fixture
def farm(bare_farm: Farm) -> Farm:
    """A farm whose book is empty: the tests count its materials."""
    return bare_farm


def add_rows(farm: Farm, count: int) -> None:
    """Add so many tunnels, each with a sized and hung door, parts in three kinds of place, and a material."""
    for _ in range(count):
        tunnel = make_tunnel(farm)
        wall = make_wall(tunnel)
        opening = make_opening(wall)
        material = make_material(farm)
        for place in (tunnel, wall, opening):
            make_component(place, material=material)
        resize_openings(farm=farm, opening_ids=[opening.pk])
        hang_door(opening=opening, on=date(2024, 5, 1))


def url(farm: Farm, name: str, **query: Any) -> str:
    """Return a list's address."""
    pairs = "&".join(f"{key}={value}" for key, value in query.items())
    return reverse(name, args=[farm.slug]) + (f"?{pairs}" if pairs else "")


def codes(client: Any, farm: Farm, name: str, column: str = "code", **query: Any) -> list[str]:
    """Return one column of a list's page, as stored."""
    table = client.get(url(farm, name, **query)).context["table"]
    return [str(getattr(row.record, column)) for row in table.paginated_rows]


@pytest.mark.parametrize("query", [{}, {"per_page": 100}, {"q": "T"}, {"export": "csv"}])
@pytest.mark.parametrize("name", LISTS)
def test_three_rows_cost_the_queries_of_one(client, farm, name, query):
    add_rows(farm, 1)
    with CaptureQueriesContext(connection) as one:
        client.get(url(farm, name, **query))
    add_rows(farm, 2)
    with CaptureQueriesContext(connection) as three:
        client.get(url(farm, name, **query))

    assert len(three) == len(one) <= 9  # two of them ask whether all works, at most every 20 s; one asks for danger


@pytest.mark.parametrize("name", LISTS)
def test_every_column_that_sorts_does_so_both_ways(client, farm, name):
    add_rows(farm, 3)
    columns = [key for key, column in TABLES[name].base_columns.items() if column.orderable is not False]

    for column in columns:
        up = codes(client, farm, name, "pk", sort=column)
        down = codes(client, farm, name, "pk", sort=f"-{column}")
        assert up == down[::-1], column
        assert sorted(up) == sorted(down)


def test_a_long_list_repeats_and_drops_nothing_from_page_to_page(client, farm):
    wall = make_wall(make_tunnel(farm))
    for number in range(60):
        make_opening(wall, code=f"D{number:02d}", kind="person", offset_mm=None)

    shown = [code for page in (1, 2, 3) for code in codes(client, farm, "doors", sort="kind", page=page)]

    assert sorted(shown) == [f"D{number:02d}" for number in range(60)]


@pytest.mark.parametrize(("asked", "shown"), [("1000000", 100), ("0", 25), ("-5", 1), ("few", 25), ("50", 50)])
def test_nobody_gets_more_than_a_hundred_rows_a_page(client, farm, asked, shown):
    for number in range(101):
        make_material(farm, code=f"M{number:03d}")

    assert len(codes(client, farm, "materials", per_page=asked)) == shown


def test_the_schedule_is_narrowed_by_kind_check_hanging_and_words(client, farm):
    wall = make_wall(make_tunnel(farm, code="T01", name="Creek side"))
    make_opening(wall, code="WIDE", rough_width_mm=feet(22), rough_height_mm=feet(12), offset_mm=feet(4))
    make_opening(make_wall(make_tunnel(farm, code="T02")), code="PERSON", kind="person", rough_width_mm=feet(3))
    resize_openings(farm=farm)
    hang_door(opening=Opening.objects.get(code="PERSON"), on=date(2024, 5, 1))

    assert codes(client, farm, "doors", kind="person") == ["PERSON"]
    assert codes(client, farm, "doors", verdict="fail") == ["WIDE"]
    assert codes(client, farm, "doors", hung="yes") == ["PERSON"]
    assert codes(client, farm, "doors", hung="no") == ["WIDE"]
    assert codes(client, farm, "doors", q="creek") == ["WIDE"]
    assert codes(client, farm, "doors", q="t02") == ["PERSON"]
    assert codes(client, farm, "doors", q="t02 creek") == []


def test_a_hung_door_is_listed_by_the_sheet_it_was_hung_by(client, farm):
    start_book(farm=farm)
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    Door.objects.update(drive_side="right")
    resize_openings(farm=farm)
    hang_door(opening=opening, on=date(2024, 5, 1))
    bar = Door.objects.get().as_built.turning_bar_mm
    Opening.objects.update(offset_mm=feet(8))
    resize_openings(farm=farm)

    row = client.get(url(farm, "doors")).context["table"].rows[0].record

    assert Door.objects.get().sizing.turning_bar_mm != bar
    assert row.turning_bar_mm == bar


def test_retired_tunnels_and_removed_parts_are_shown_when_asked_for(client, farm):
    tunnel = make_tunnel(farm, code="OLD", status="retired", retired_on=date(2024, 1, 1))
    make_tunnel(farm, code="NEW")
    make_component(tunnel, spot="gone", removed_on=date(2024, 6, 1), removal_reason="worn")
    make_component(tunnel, spot="there")

    assert codes(client, farm, "tunnels") == ["NEW"]
    assert codes(client, farm, "tunnels", status="retired") == ["OLD"]
    assert codes(client, farm, "tunnels", status="all") == ["NEW", "OLD"]
    assert codes(client, farm, "parts", "spot") == ["there"]
    assert codes(client, farm, "parts", "spot", state="removed") == ["gone"]
    assert sorted(codes(client, farm, "parts", "spot", state="all")) == ["gone", "there"]


@pytest.mark.parametrize("name", LISTS)
def test_a_filter_nobody_offers_does_no_harm(client, farm, name):
    add_rows(farm, 1)

    answer = client.get(url(farm, name, kind="nonsense", status="nonsense", state="'", verdict="%27", sort="nonsense"))

    assert answer.status_code == 200
    assert len(answer.context["table"].rows) >= 1


@pytest.mark.parametrize("name", LISTS)
def test_htmx_gets_the_list_alone(client, farm, name):
    add_rows(farm, 1)

    whole = client.get(url(farm, name))
    part = client.get(url(farm, name), headers={"hx-request": "true"})
    restored = client.get(url(farm, name), headers={"hx-request": "true", "hx-history-restore-request": "true"})

    assert b"<html" in whole.content
    assert b"<html" in restored.content
    assert b"<html" not in part.content
    assert b"<table" in part.content
    assert {answer["Vary"].lower().count("hx-request") for answer in (whole, part, restored)} == {1}


def test_a_part_tells_its_age(client, farm):
    make_component(make_tunnel(farm), fitted_on=date(2020, 1, 31), removed_on=date(2023, 3, 30), removal_reason="worn")

    text = client.get(url(farm, "parts", state="removed")).content.decode()

    # 31 January 2020 to 30 January 2023 is a day short of three years; March is one more month, not two.
    assert "3 years 1 month" in text


# Files ----------------------------------------------------------------------------


def rows_of_csv(answer: Any) -> list[dict[str, str]]:
    """Return a CSV answer's rows by header."""
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_the_schedule_is_kept_as_csv_with_numbers_in_inches(client, farm):
    start_book(farm=farm)
    make_opening(
        make_wall(make_tunnel(farm, code="T01")), code="T01-W", rough_height_mm=inches("102.25"), threshold_mm=2597
    )
    resize_openings(farm=farm)

    answer = client.get(url(farm, "doors", export="csv"))

    (row,) = rows_of_csv(answer)
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert ".csv" in answer["Content-Disposition"]
    assert (row["tunnel"], row["wall"], row["code"]) == ("T01", "W", "T01-W")
    assert (row["rough_width_in"], row["rough_height_in"], row["offset_in"]) == ("144", "102.25", "108")
    assert row["threshold_in"] == "2597 mm"  # no number of inches says it exactly


def test_xlsx_keeps_numbers_as_numbers(client, make_metric_farm):
    farm = make_metric_farm
    make_tunnel(farm, code="T01", width_mm=feet(30))

    sheet = load_workbook(io.BytesIO(client.get(url(farm, "tunnels", export="xlsx")).content)).active

    headers = [cell.value for cell in sheet[1]]
    row = dict(zip(headers, [cell.value for cell in sheet[2]], strict=True))
    assert row["width_mm"] == 9144
    assert row["length_mm"] == pytest.approx(29260.8)
    assert row["direction"] == "W"


@pytest.fixture
def make_metric_farm(client) -> Farm:
    farm = make_farm(units="metric")
    client.force_login(make_member(farm).user)
    return farm


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_text_that_a_spreadsheet_would_run_is_kept_as_text(client, farm, start):
    make_tunnel(farm, code="T01", name=f"{start}HYPERLINK(1)", notes=f"{start}2+3")

    (row,) = rows_of_csv(client.get(url(farm, "tunnels", export="csv")))
    sheet = load_workbook(io.BytesIO(client.get(url(farm, "tunnels", export="xlsx")).content)).active

    assert row["name"] == f"'{start}HYPERLINK(1)"
    assert row["notes"] == f"'{start}2+3"
    assert {cell.data_type for cells in sheet.iter_rows() for cell in cells} <= {"s", "inlineStr", "n"}


def test_a_file_holds_every_row_the_filter_chose_in_the_order_shown(client, farm):
    wall = make_wall(make_tunnel(farm))
    for number in range(30):
        make_opening(wall, code=f"D{number:02d}", kind="person" if number % 2 else "coil", offset_mm=None)

    rows = rows_of_csv(client.get(url(farm, "doors", kind="person", sort="-code", export="csv", page=2)))

    assert [row["code"] for row in rows] == [f"D{number:02d}" for number in range(29, 0, -2)]


def test_the_phone_leaves_out_what_a_cell_does_not_say(client, farm):
    tunnel = make_tunnel(farm, code="T01")
    make_opening(make_wall(tunnel), code="T01-W", kind="person", rough_width_mm=feet(3))
    make_opening(make_wall(tunnel, "A"), code="Barn door", kind="person", rough_width_mm=feet(3))
    resize_openings(farm=farm)

    barn, west = client.get(url(farm, "doors")).content.decode().split("<tbody")[1].split("</tr>")[:2]

    for row in (barn, west):
        blank = re.findall(r'data-label="([^"]+)" data-blank', row)
        assert blank == ["Turning bar", "Film panel", "Clamps", "Hung on"]
    assert "told" not in barn
    assert re.findall(r'data-label="([^"]+)" class="[^"]*told', west) == ["Tunnel", "Wall"]
