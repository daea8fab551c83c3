"""Lists of work, storms and routines as files: every row, of this farm alone, and no cell that runs."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from decimal import Decimal

import pytest
import tablib
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from maintenance.models import Routine, Storm
from tests.factories import make_farm, make_opening, make_tunnel, make_wall
from tests.hands_rows import make_storm
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db


def rows(client, farm, name, **query):
    """Read a list's CSV with Python's own reader."""
    answer = client.get(reverse(name, args=[farm.slug]), {"export": "csv", **query})
    assert answer["Content-Disposition"].startswith("attachment")
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"), newline=""), strict=True))


def due_job(farm, today, code, days, **values):
    opening = make_opening(make_wall(make_tunnel(farm, code=code)), code=f"{code}-W")
    plan = make_plan(make_routine(farm, name={"en": "Look at the hooks"}, **values), opening)
    return make_job(plan, due_on=today - timedelta(days=20), until_on=today + timedelta(days=days))


def test_all_that_is_due_goes_out_with_the_first_on_top(client, farm, today):
    due_job(farm, today, "T02", 5)
    due_job(farm, today, "T01", -3, rhythm="event", minutes=10, crew=2)
    due_job(make_farm(), today, "THEIRS", 1)

    found = rows(client, farm, "due")

    assert [(row["place"], row["late"], row["person_minutes"]) for row in found] == [
        ("T01-W", "yes", "20"), ("T02-W", "no", "15"),
    ]  # fmt: skip
    assert found[0]["at_the_latest_on"] == (today - timedelta(days=3)).isoformat()
    assert found[0]["what"] == "Look at the hooks"
    assert [row["place"] for row in rows(client, farm, "due", rhythm="event")] == ["T01-W"]
    assert rows(client, farm, "due", who="me") == []


def test_the_list_and_its_file_hold_the_same_jobs_beyond_one_page(client, farm, today):
    opening = make_opening(make_wall(make_tunnel(farm)))
    for _number in range(70):
        make_job(make_plan(make_routine(farm), opening), until_on=today)

    assert len(rows(client, farm, "due")) == 70


def test_storms_go_out_by_the_farms_clock(client, farm):
    farm.time_zone = "America/New_York"
    farm.save()
    make_storm(farm, state="closed", actual_gust_m_s=Decimal("24.5"), cost=Decimal(118), note="=1+1")
    make_storm(make_farm(), note="THEIRS")

    (storm,) = rows(client, farm, "storms")

    kept = Storm.objects.get(farm=farm)
    assert (storm["highest_gust_forecast_m_s"], storm["highest_gust_that_came_m_s"]) == ("27.27", "24.5")
    assert storm["begins_at"] == timezone.localtime(kept.begins_at, farm.zone).isoformat(timespec="minutes")
    assert storm["begins_at"].endswith("-05:00")
    assert (storm["cost"], storm["what_we_learnt"]) == ("118", "'=1+1")


def test_routines_go_out_by_code(client, farm):
    make_routine(farm, code="b-hooks", minutes=20, crew=2, is_active=False)
    make_routine(farm, code="a-hooks", name={"en": "@hooks"})
    make_routine(make_farm(), code="theirs")

    found = rows(client, farm, "routines")

    assert [row["code"] for row in found] == ["a-hooks", "b-hooks"]
    assert found[0]["routine"] == "'@hooks"
    assert (found[1]["minutes"], found[1]["people"], found[1]["in_use"]) == ("20", "2", "no")
    assert Routine.objects.filter(farm=farm).count() == 2


@pytest.mark.parametrize("name", ["due", "storms", "routines"])
def test_many_rows_take_no_more_queries_than_one(client, farm, today, name):
    def queries():
        with CaptureQueriesContext(connection) as asked:
            rows(client, farm, name)
        return len(asked)

    due_job(farm, today, "T01", 1)
    make_storm(farm, state="closed")
    before = queries()
    for number in range(2, 5):
        due_job(farm, today, f"T0{number}", 1)
        make_storm(farm, state="closed")

    assert queries() == before


@pytest.mark.parametrize("name", ["due", "storms", "routines"])
def test_they_go_out_as_xlsx_and_their_pages_say_so(client, farm, today, name):
    due_job(farm, today, "T01", 1)
    make_storm(farm, state="closed")
    url = reverse(name, args=[farm.slug])

    book = tablib.Dataset().load(client.get(url, {"export": "xlsx"}).content, format="xlsx")

    assert book.height == 1
    assert b"?export=xlsx" in client.get(url).content
