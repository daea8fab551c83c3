"""The store and the farm's sunshine: forms, files and lists."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from doors.models import ImportDraft, StockMove
from maintenance.models import Climate, SunDay
from maintenance.stores.store import move
from tests.factories import make_farm, make_material, make_member
from tests.forms import errors_of, post, said

pytestmark = pytest.mark.django_db

MONTHS = {f"month_{month}": "50" for month in range(1, 13)}


# The store ------------------------------------------------------------------------


def test_what_came_and_was_counted_lies_there(client, bare_farm):
    clamp = make_material(bare_farm, kind="clamp", code="CLAMP", least_stock=20)
    common = {"material": clamp.pk, "note": "", "on": "2024-05-01"}

    post(client, bare_farm, "store-move", **common, reason="bought", quantity="25")
    answer = post(client, bare_farm, "store-move", **common, reason="counted", quantity="18.5")
    again = post(client, bare_farm, "store-move", **common, reason="counted", quantity="18.5")

    assert answer["Location"] == reverse("store-material", args=[bare_farm.slug, clamp.pk])
    assert "the list was right" in said(again)
    assert list(StockMove.objects.order_by("pk").values_list("quantity", flat=True)) == [25, Decimal("-6.5")]
    page = client.get(reverse("store", args=[bare_farm.slug])).content.decode()
    assert "18.5 too few" in page


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"quantity": "-1"}, "quantity", "0 or more"),
        ({"quantity": "0"}, "quantity", "more than 0"),
        ({"quantity": "x"}, "quantity", "number"),
        ({"reason": ""}, "reason", "required"),
        ({"on": "2999-01-01"}, "on", "not come yet"),
        ({"material": "0"}, "material", "valid choice"),
    ],
)
def test_a_move_that_cannot_be_is_refused(client, bare_farm, data, field, words):
    clamp = make_material(bare_farm)
    given = {"material": clamp.pk, "reason": "bought", "quantity": "1", "on": "2024-05-01"}

    assert words in errors_of(post(client, bare_farm, "store-move", **{**given, **data}), field)
    assert not StockMove.objects.exists()


def test_another_farms_material_does_not_move(client, bare_farm):
    theirs = make_material(make_farm())
    given = {"material": theirs.pk, "reason": "bought", "quantity": "1", "on": "2024-05-01"}

    assert "valid choice" in errors_of(post(client, bare_farm, "store-move", **given), "material")


def test_the_list_of_what_to_buy_is_a_file_as_well(client, bare_farm):
    make_material(bare_farm, code="LOW", name="Low", least_stock=3, lead_weeks=2)
    make_material(bare_farm, code="FULL", name="Full")

    text = client.get(reverse("store", args=[bare_farm.slug]), {"show": "buy", "export": "csv"}).content.decode()

    assert text.splitlines()[1:] == ["LOW,Low,0,3,0,0,3,2"]


def test_every_move_of_a_material_is_listed_and_kept_as_a_file(client, bare_farm):
    clamp = make_material(bare_farm, code="CLAMP")
    move(farm=bare_farm, material=clamp, quantity=Decimal(4), on=date(2024, 5, 1), reason="bought", note="two boxes")
    url = reverse("store-material", args=[bare_farm.slug, clamp.pk])

    assert "two boxes" in client.get(url).content.decode()
    assert (
        client.get(url, {"export": "csv"}).content.decode().splitlines()[1] == "2024-05-01,CLAMP,4,bought,,,two boxes"
    )


@pytest.mark.parametrize("name", ["store", "store-material"])
def test_three_rows_cost_the_queries_of_one(client, bare_farm, name):
    clamp = make_material(bare_farm)
    args = [bare_farm.slug] if name == "store" else [bare_farm.slug, clamp.pk]

    def cost():
        move(farm=bare_farm, material=clamp, quantity=Decimal(1), on=date(2024, 5, 1), reason="bought")
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse(name, args=args))
        return len(queries)

    one = cost()
    for _ in range(2):
        move(
            farm=bare_farm, material=make_material(bare_farm), quantity=Decimal(1), on=date(2024, 5, 1), reason="bought"
        )
    assert cost() == one <= 13


# The sun --------------------------------------------------------------------------


def test_sunshine_typed_in_percent_makes_a_year(client, bare_farm):
    bare_farm.latitude_deg = Decimal("42.5")
    bare_farm.save(update_fields=["latitude_deg"])

    answer = post(client, bare_farm, "sun", **MONTHS, source="station")

    kept = Climate.objects.get(farm=bare_farm)
    assert answer.status_code == 302
    assert (kept.sunshine, kept.source) == ([0.5] * 12, "station")
    page = client.get(reverse("sun", args=[bare_farm.slug])).content.decode()
    assert "A year brings about" in page


@pytest.mark.parametrize(
    ("data", "words"), [({"month_3": "101"}, "100"), ({"month_3": "-1"}, "0"), ({"month_3": ""}, "required")]
)
def test_sunshine_beyond_the_day_is_refused(client, bare_farm, data, words):
    assert words in errors_of(post(client, bare_farm, "sun", **{**MONTHS, **data}), "month_3")
    assert not Climate.objects.exists()


@pytest.mark.parametrize("role", ["viewer", "crew"])
def test_only_a_manager_enters_sunshine(client, bare_farm, role):
    client.force_login(make_member(bare_farm, role).user)

    assert client.get(reverse("sun", args=[bare_farm.slug])).status_code == 200
    assert post(client, bare_farm, "sun", **MONTHS).status_code == 403


def upload(client, farm, content):
    """Choose a table of measured days."""
    file = SimpleUploadedFile("sun.csv", content.encode())
    return client.post(reverse("sun-measured", args=[farm.slug]), {"file": file})


def test_measured_days_are_looked_at_then_kept_in_place_of_the_same_days(client, bare_farm):
    SunDay.objects.create(farm=bare_farm, on=date(2024, 5, 1), radiation_mj_m2=1)
    SunDay.objects.create(farm=bare_farm, on=date(2024, 4, 30), radiation_mj_m2=2)
    answer = upload(client, bare_farm, "date,kWh/m2\n2024-05-01,5\n2024-05-02,5.5\n")
    shown = client.get(answer["Location"])
    assert (shown.context["new"], shown.context["replaced"]) == (1, 1)
    assert SunDay.objects.count() == 2

    post(client, bare_farm, "sun-measured", draft=shown.context["draft"].pk)

    kept = dict(SunDay.objects.order_by("on").values_list("on", "radiation_mj_m2"))
    assert kept == {date(2024, 4, 30): 2, date(2024, 5, 1): 18, date(2024, 5, 2): Decimal("19.8")}
    assert not ImportDraft.objects.exists()


def test_a_bad_table_says_what_to_write_and_keeps_nothing(client, bare_farm):
    shown = client.get(upload(client, bare_farm, "date,MJ/m2\n2024-05-01,500\n")["Location"])

    assert "0 to 50 MJ/m²" in shown.content.decode()
    post(client, bare_farm, "sun-measured", draft=shown.context["draft"].pk)
    assert not SunDay.objects.exists()


def test_no_file_or_a_broken_one_is_refused(client, bare_farm):
    answer = client.post(reverse("sun-measured", args=[bare_farm.slug]))
    assert answer.status_code == 422
    assert "Choose a file first" in answer.content.decode()

    assert "empty" in upload(client, bare_farm, " ").content.decode()


def test_a_draft_is_its_owners_and_its_farms(client, bare_farm):
    draft = ImportDraft.objects.create(
        farm=bare_farm, user=make_member(bare_farm).user, kind="sun", name="a.csv", grid=[["date", "MJ/m2"]]
    )

    for name in (draft.pk, 0, "x"):
        answer = client.get(reverse("sun-measured", args=[bare_farm.slug]), {"draft": name})
        assert answer.status_code == 404
        assert "no longer kept" in answer.content.decode()
