"""Faults and gusts on the pages: reported, listed, mended, kept as files; what comes back."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from farm.models import Farm, Opening
from maintenance.models import Job, Repair, WindDay
from maintenance.work import faults
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.forms import errors_of, filled_in, post, said
from tests.upkeep_rows import make_plan, make_routine

pytestmark = pytest.mark.django_db


@pytest.fixture
def opening(farm: Farm) -> Opening:
    return make_opening(make_wall(make_tunnel(farm, code="T09")), code="T09-W")


def fault(opening: Any, day: date, **given: Any) -> Repair:
    post_ = {"part": "guide_post", "mode": "leaning", "found_on": day, "by": None, "now": timezone.now()}
    return faults.log_fault(farm=opening.farm, place=opening, **{**post_, **given})


def listed(client: Any, farm: Farm, **query: Any) -> list[str]:
    """Return the faults a list shows, in order, by their spot."""
    table = client.get(reverse("repairs", args=[farm.slug]), query).context["table"]
    return [row.record.spot for row in table.paginated_rows]


# Reporting ------------------------------------------------------------------------


def test_the_crew_reports_a_fault_with_four_answers(client, farm, opening, today):
    crew = make_member(farm, "crew").user
    client.force_login(crew)
    form = filled_in(client, reverse("repair-new", args=[farm.slug]) + f"?opening={opening.pk}")

    answer = post(client, farm, "repair-new", **{**form, "part": "guide_post", "mode": "leaning", "spot": "left"})

    repair = Repair.objects.get()
    assert answer["Location"] == reverse("repair", args=[farm.slug, repair.pk])
    assert (repair.opening, repair.tunnel, repair.part, repair.spot, repair.mode, repair.is_critical) == (
        opening, opening.end_wall.tunnel, "guide_post", "left", "leaning", False
    )  # fmt: skip
    assert (repair.found_on, repair.found_by, repair.logged_by) == (today, crew.username, crew)
    assert (repair.job.state, repair.job.due_on) == ("open", today)


@pytest.mark.parametrize("place", ["tunnel", "wall", "opening", "component"])
def test_a_link_says_where_the_fault_is(client, farm, opening, place):
    part = make_component(opening, kind="latch", spot="inside")
    rows = {"tunnel": opening.end_wall.tunnel, "wall": opening.end_wall, "opening": opening, "component": part}
    url = reverse("repair-new", args=[farm.slug])

    form = client.get(url, {place: rows[place].pk}).context["form"]

    expected = f"opening-{opening.pk}" if place == "component" else f"{place}-{rows[place].pk}"
    assert form["place"].value() == expected
    assert form["part"].value() == ("latch" if place == "component" else None)


def test_a_fault_of_a_part_in_service_belongs_to_that_part(client, farm, opening):
    part = make_component(opening, kind="latch", spot="inside")
    url = reverse("repair-new", args=[farm.slug]) + f"?component={part.pk}"

    client.post(url, {**filled_in(client, url), "mode": "bent"})

    assert (Repair.objects.get().component, Repair.objects.get().spot) == (part, "inside")


@pytest.mark.parametrize("place", ["tunnel", "wall", "opening", "component"])
def test_a_link_to_another_farms_place_finds_nothing(client, farm, place):
    other = make_opening()
    rows = {"tunnel": other.end_wall.tunnel, "wall": other.end_wall, "opening": other,
            "component": make_component(other)}  # fmt: skip

    assert client.get(reverse("repair-new", args=[farm.slug]), {place: rows[place].pk}).status_code == 404


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"place": ""}, "place", "required"),
        ({"place": "opening-999999"}, "place", "valid choice"),
        ({"part": "wheel"}, "part", "valid choice"),
        ({"mode": ""}, "mode", "required"),
        ({"found_on": "2999-01-01"}, "found_on", "has not come yet"),
        ({"minutes": "0"}, "minutes", "greater than or equal to 1"),
    ],
)
def test_a_fault_that_cannot_be_is_refused(client, farm, opening, today, data, field, words):
    whole = {"place": f"opening-{opening.pk}", "part": "cord", "mode": "missing", "found_on": today.isoformat()}

    answer = post(client, farm, "repair-new", **{**whole, **data})

    assert words in errors_of(answer, field)
    assert not Repair.objects.exists()


def test_a_fault_of_the_farm_as_a_whole_needs_no_place(client, farm, today):
    post(client, farm, "repair-new", place="farm", part="other", mode="dead", found_on=today.isoformat())

    assert Repair.objects.get().tunnel is None


# The list -------------------------------------------------------------------------


def test_the_list_shows_what_is_not_repaired_the_worst_first(client, farm, opening, today):
    fault(opening, today, spot="open")
    fault(opening, today, spot="critical", is_critical=True)
    for spot, for_now in (("done", False), ("held", True)):
        faults.mend(repair=fault(opening, today, spot=spot), by=None, now=timezone.now(), on=today, for_now=for_now)

    assert listed(client, farm) == ["critical", "held", "open"]
    assert listed(client, farm, state="critical") == ["critical"]
    assert listed(client, farm, state="done") == ["done"]
    assert listed(client, farm, state="temporary") == ["held"]
    assert sorted(listed(client, farm, state="all")) == ["critical", "done", "held", "open"]
    assert listed(client, farm, part="cord") == []
    assert listed(client, farm, q="t09 crit") == ["critical"]


@pytest.mark.parametrize("query", [{}, {"export": "csv"}, {"q": "T09"}])
@pytest.mark.parametrize("page", ["repairs", "repeats"])
def test_three_rows_cost_the_queries_of_one(client, farm, opening, today, page, query):
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse(page, args=[farm.slug]), query)
        return len(queries)

    counts = []
    for number in (1, 2):
        for spot in range(number):
            for days in (1, 2, 3):
                fault(opening, today - timedelta(days=days), spot=f"spot {number} {spot}")
        counts.append(count())

    assert counts[0] == counts[1] <= 8  # two of them ask whether all works, at most every 20 s


def test_faults_are_kept_as_a_file(client, farm, opening, today):
    fault(opening, today, spot="left", is_critical=True, minutes=50, note="leans 3 in")

    text = client.get(reverse("repairs", args=[farm.slug]), {"export": "csv"}).content.decode("utf-8-sig")

    row = next(csv.DictReader(io.StringIO(text)))
    assert row == {
        "tunnel": "T09", "place": "T09-W", "part": "guide post", "where_exactly": "left", "how_it_shows": "leaning",
        "cause": "", "cannot_wait": "yes", "state": "open", "found_on": today.isoformat(), "found_by": "",
        "repaired_on": "", "repaired_by": "", "minutes": "50", "cost_of_parts": "", "note": "leans 3 in",
    }  # fmt: skip


# Mending --------------------------------------------------------------------------


def test_a_fault_is_mended_with_parts_and_its_job_ends(client, farm, opening, today):
    client.force_login(make_member(farm, "crew").user)
    repair = fault(opening, today)
    bolt = make_material(farm, kind="fastener", price=Decimal("1.25"), price_per="each")

    post(
        client, farm, "repair-mend", repair.pk, on=today.isoformat(), minutes="40", cause="wind", mended_by="Teo",
        note="new bolts", material_0=bolt.pk, quantity_0="4",
    )  # fmt: skip

    repair.refresh_from_db()
    assert (repair.state, repair.mended_on, repair.mended_by, repair.minutes, repair.cost, repair.cause) == (
        "done", today, "Teo", 40, Decimal("5.00"), "wind"
    )  # fmt: skip
    assert Job.objects.get().state == "done"
    text = client.get(reverse("repair", args=[farm.slug, repair.pk])).content.decode()
    assert "new bolts" in text
    assert "5.00 USD" in text


def test_a_fault_that_holds_for_now_can_stand_open_again(client, farm, opening, today):
    repair = fault(opening, today)

    post(client, farm, "repair-mend", repair.pk, on=today.isoformat(), for_now="1")
    repair.refresh_from_db()
    held = repair.state
    post(client, farm, "repair-reopen", repair.pk)
    repair.refresh_from_db()
    again = post(client, farm, "repair-reopen", repair.pk)

    assert (held, repair.state, Job.objects.get().state) == ("temporary", "open", "open")
    assert "open already" in said(again)


def test_a_repair_before_the_fault_comes_back_with_what_was_written(client, farm, opening, today):
    repair = fault(opening, today)
    early = (today - timedelta(days=3)).isoformat()

    answer = post(client, farm, "repair-mend", repair.pk, on=early, note="strapped")

    text = answer.content.decode()
    assert answer.status_code == 422
    assert "is before it was found" in text
    assert "strapped" in text
    repair.refresh_from_db()
    assert repair.state == "open"


def test_what_comes_back_is_told_with_its_days(client, farm, opening, today):
    days = [today - timedelta(days=ago) for ago in (400, 200, 10)]
    found = [fault(opening, day, spot="left", mode="spun") for day in days]

    text = client.get(reverse("repeats", args=[farm.slug])).content.decode()
    of_one = client.get(reverse("repair", args=[farm.slug, found[0].pk])).content.decode()

    for page in (text, of_one):
        assert all(day.isoformat() in page for day in days)
    assert "T09-W, left" in text
    assert "Failed 3 times in" in of_one


# Gusts ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "kept"),
    [  # 1 mph is 0.44704 m/s, 1 knot 1852/3600 m/s: both exact
        ("52", "23.25"), ("52 mph", "23.25"), ("23.5 m/s", "23.50"), ("84 km/h", "23.33"), ("45 knots", "23.15"),
        ("45kn", "23.15"), ("23,5 m/s", "23.50"),
    ],
)  # fmt: skip
def test_a_gust_is_written_as_people_say_it(client, farm, today, written, kept):
    client.force_login(make_member(farm, "crew").user)

    post(client, farm, "gust-new", on=today.isoformat(), gust_m_s=written, source="seen")

    assert WindDay.objects.get().gust_m_s == Decimal(kept)


def test_a_bare_number_is_in_the_readers_unit(client, today):
    metric = make_farm(units="metric", time_zone="UTC")
    client.force_login(make_member(metric).user)

    post(client, metric, "gust-new", on=today.isoformat(), gust_m_s="23", source="seen")

    assert WindDay.objects.get().gust_m_s == Decimal("23.00")


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"gust_m_s": "strong"}, "gust_m_s", "not a speed"),
        ({"gust_m_s": "5" * 5000}, "gust_m_s", "not a speed"),
        ({"gust_m_s": "8 Bft"}, "gust_m_s", "not a speed"),
        ({"gust_m_s": "0"}, "gust_m_s", "above 0"),
        ({"gust_m_s": "300"}, "gust_m_s", "at most 268 mph"),
        ({"on": "2999-01-01"}, "on", "has not come yet"),
        ({"source": "dream"}, "source", "valid choice"),
    ],
)
def test_a_gust_that_cannot_be_is_refused(client, farm, today, data, field, words):
    answer = post(client, farm, "gust-new", **{"on": today.isoformat(), "gust_m_s": "52", "source": "seen", **data})

    assert words in errors_of(answer, field)
    assert not WindDay.objects.exists()


def test_a_gust_opens_the_rounds_that_come_after_it(client, farm, opening, today):
    make_plan(make_routine(farm, trigger="gust", gust_m_s=20, rhythm="event"), opening)

    answer = post(client, farm, "gust-new", on=today.isoformat(), gust_m_s="52", source="seen")

    assert answer["Location"] == reverse("due", args=[farm.slug])
    assert said(answer) == f"The highest gust of {today} is 52 mph. It brought on 1 job."
    assert Job.objects.get().due_on == today
    table = client.get(reverse("gusts", args=[farm.slug])).context["table"]
    assert [row.record.brought for row in table.paginated_rows] == [1]


def test_a_lower_gust_of_the_day_changes_nothing(client, farm, today):
    for gust in ("52", "30"):
        answer = post(client, farm, "gust-new", on=today.isoformat(), gust_m_s=gust, source="seen")

    assert said(answer).endswith("is 52 mph.")
    text = client.get(reverse("gusts", args=[farm.slug]), {"export": "csv"}).content.decode("utf-8-sig")
    assert text.splitlines()[1] == f"{today},23.25,seen or felt,"
