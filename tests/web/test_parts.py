"""The pages of a part's life: its sheet, replaced, taken out, down for the season, put back."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from doors.models import Component, LayUp, StockMove
from maintenance.models import Climate, Repair, ScrewCheck, WindDay
from tests.factories import make_component, make_farm, make_material, make_opening, make_tunnel, make_wall
from tests.forms import errors_of, filled_in, post, said

pytestmark = pytest.mark.django_db

FITTED = date(2024, 5, 1)
REPLACED = {
    "replaced_on": "2024-06-01",
    "reason": "worn",
    "failure_mode": "torn",
    "failure_cause": "age",
    "quantity": "2",
}


@pytest.fixture
def film(farm):
    """A door film in service since the first of May 2024."""
    return make_component(make_opening(make_wall(make_tunnel(farm))), kind="door_film", fitted_on=FITTED)


def page(client, part):
    """Return the text of a part's sheet."""
    return client.get(reverse("component", args=[part.farm.slug, part.pk])).content.decode()


def test_a_part_is_replaced_out_of_the_store(client, farm, film):
    roll = make_material(farm, kind="film", diameter_mm=None, wall_mm=None)

    answer = post(
        client, farm, "component-replace", film.pk, **REPLACED, material=roll.pk, lot="L-9", printed_side="inside",
        from_store="240",
    )  # fmt: skip

    new = Component.objects.get(replaces=film)
    film.refresh_from_db()
    assert answer["Location"] == reverse("component", args=[farm.slug, new.pk])
    assert (film.removed_on, film.failure_mode, film.failure_cause) == (date(2024, 6, 1), "torn", "age")
    assert (new.fitted_on, new.quantity, new.lot, new.material) == (date(2024, 6, 1), 2, "L-9", roll)
    assert StockMove.objects.get().quantity == -240


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"replaced_on": "2024-04-30"}, "replaced_on", "before it was fitted"),
        ({"replaced_on": "2999-01-01"}, "replaced_on", "has not come yet"),
        ({"reason": ""}, "reason", "required"),
        ({"quantity": "0"}, "quantity", "too small"),
        ({"from_store": "0"}, "from_store", "too small"),
        ({"from_store": "1"}, "material", "came out of the store"),
        ({"failure_mode": "sad"}, "failure_mode", "valid choice"),
    ],
)
def test_a_replacement_that_cannot_be_is_refused(client, farm, film, data, field, words):
    answer = post(client, farm, "component-replace", film.pk, **{**REPLACED, **data})

    film.refresh_from_db()
    assert words in errors_of(answer, field)
    assert film.removed_on is None
    assert Component.objects.count() == 1


def test_another_farms_material_is_no_choice(client, farm, film):
    answer = post(client, farm, "component-replace", film.pk, **REPLACED, material=make_material(make_farm()).pk)

    assert "valid choice" in errors_of(answer, "material")


def test_the_form_proposes_what_hung_there(client, farm, film):
    shown = filled_in(client, reverse("component-replace", args=[farm.slug, film.pk]))

    assert (str(shown["quantity"]), shown["reason"]) == ("1.00", "")


def test_a_removed_part_is_neither_replaced_nor_taken_down(client, farm):
    part = make_component(make_tunnel(farm), removed_on=date(2024, 6, 1), removal_reason="worn")

    for name in ("component-replace", "component-lay-up"):
        assert "removed on 2024-06-01 already" in said(client.get(reverse(name, args=[farm.slug, part.pk])))


def test_a_removal_tells_how_a_part_failed(client, farm, film):
    data = {"removed_on": "2024-06-01", "reason": "storm", "failure_mode": "torn", "failure_cause": "wind"}

    post(client, farm, "component-remove", film.pk, **data)

    text = page(client, film)
    assert "storm damage; torn; wind" in text


def test_a_removal_stays_while_another_sits_in_its_place(client, farm, film):
    post(client, farm, "component-replace", film.pk, **REPLACED)

    answer = post(client, farm, "component-remove", film.pk)

    film.refresh_from_db()
    assert "Take that back first" in said(answer)
    assert film.removed_on == date(2024, 6, 1)


def test_shade_goes_down_for_the_season_and_up_again(client, farm):
    part = make_component(make_tunnel(farm), kind="shade", fitted_on=FITTED)
    assert "Take down for the season" in page(client, part)

    post(client, farm, "component-lay-up", part.pk, on="2024-10-01")
    assert "Put back" in page(client, part)
    post(client, farm, "component-lay-up", part.pk, on="2025-04-01")

    down = LayUp.objects.get(component=part)
    assert (down.off_on, down.back_on) == (date(2024, 10, 1), date(2025, 4, 1))


def test_a_season_that_cannot_be_is_refused(client, farm):
    part = make_component(make_tunnel(farm), kind="shade", fitted_on=FITTED)

    assert "was fitted on" in errors_of(post(client, farm, "component-lay-up", part.pk, on="2024-04-30"), "on")
    assert "not come yet" in errors_of(post(client, farm, "component-lay-up", part.pk, on="2999-01-01"), "on")
    assert not LayUp.objects.exists()


def test_a_sheet_tells_what_happened_at_the_spot(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    spot = {"kind": "clamp_screw", "spot": "clamp 4"}
    old = make_component(opening, **spot, fitted_on=date(2022, 5, 1), removed_on=FITTED, removal_reason="broken")
    part = make_component(opening, **spot, fitted_on=FITTED, replaces=old)
    make_component(opening, kind="clamp_screw", spot="clamp 5", fitted_on=date(2021, 5, 1))
    WindDay.objects.create(farm=farm, on=date(2024, 7, 1), gust_m_s=25)
    ScrewCheck.objects.create(farm=farm, opening=opening, spot="clamp 4", outcome="turned", on=date(2023, 4, 1))
    Repair.objects.create(
        farm=farm, tunnel=opening.end_wall.tunnel, opening=opening, part="clamp_screw", spot="clamp 4", mode="spun",
        found_on=date(2024, 8, 1), state="done", mended_on=date(2024, 8, 2),
    )  # fmt: skip

    lived = dict(client.get(reverse("component", args=[farm.slug, part.pk])).context["lived"])

    assert {each.pk: [event.text for event in events] for each, events in lived.items()} == {
        part.pk: ["Fitted", "Storm", "Fault: spins, does not hold", "Repaired"],
        old.pk: ["Fitted", "Checked: turned", "Removed"],
    }


def test_film_tells_what_to_enter_until_its_sun_is_known(client, farm, film):
    film.material = make_material(farm, kind="film", diameter_mm=None, wall_mm=None, rated_life_years=4)
    film.save(update_fields=["material"])
    assert "Enter the farm&#x27;s sunshine" in page(client, film) or "Enter the farm's sunshine" in page(client, film)

    farm.latitude_deg = Decimal("42.5")
    farm.save(update_fields=["latitude_deg"])
    Climate.objects.create(farm=farm, sunshine=[0.5] * 12)

    text = page(client, film)
    assert "kLy (" in text
    assert "No rated dose is in the book" in text


def test_a_sheet_costs_the_same_queries_for_one_part_at_the_spot_as_for_three(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    parts = [
        make_component(
            opening, kind="door_film", fitted_on=FITTED + timedelta(days=number),
            removed_on=FITTED + timedelta(days=number + 1), removal_reason="worn",
        )
        for number in range(3)
    ]  # fmt: skip
    single = make_component(make_opening(make_wall(make_tunnel(farm))), kind="door_film")
    WindDay.objects.create(farm=farm, on=FITTED, gust_m_s=25)

    with CaptureQueriesContext(connection) as one:
        page(client, single)
    with CaptureQueriesContext(connection) as three:
        page(client, parts[0])

    assert len(three) == len(one) <= 15


def test_the_parts_of_one_place_are_listed(client, farm):
    tunnel, other = make_tunnel(farm), make_tunnel(farm)
    opening = make_opening(make_wall(tunnel))
    roof, door = make_component(tunnel, kind="roof_film"), make_component(opening)
    gone = make_component(opening, removed_on=date(2024, 6, 1), removal_reason="worn")
    make_component(other)

    def listed(**query):
        table = client.get(reverse("parts", args=[farm.slug]), query).context["table"]
        return {row.record.pk for row in table.paginated_rows}

    assert listed(place=f"tunnel-{tunnel.pk}") == {roof.pk, door.pk}
    assert listed(place=f"opening-{opening.pk}", state="all") == {door.pk, gone.pk}
    assert listed(place="opening-x") == set()
    assert listed(place="farm-1") == set()


def test_another_farms_place_is_no_place_of_ours(client, farm):
    theirs = make_tunnel(make_farm(), code="THEIRS")

    text = client.get(reverse("parts", args=[farm.slug]), {"place": f"tunnel-{theirs.pk}"}).content.decode()

    assert "no such place" in text
    assert "THEIRS" not in text


def test_a_part_fitted_today_has_a_sheet(client, farm):
    part = make_component(make_tunnel(farm), kind="roof_film", fitted_on=timezone.localdate(timezone=farm.zone))

    assert "0 days" in page(client, part)
