"""Parts in service, the book of materials, the sizing rules and the farm itself."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from doors import sizing
from doors.models import Component, Material, Sizing, SizingRules
from doors.services import resize_openings, rules_of
from doors.words.rules import RULE_GROUPS
from farm.models import Farm
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
from tests.forms import errors_of, filled_in, post, said

pytestmark = pytest.mark.django_db


PART = {"kind": "clamp", "spot": "left jamb", "quantity": "4", "fitted_on": "2024-05-01", "material": ""}


# Parts ----------------------------------------------------------------------------


def test_the_crew_logs_a_part_in_every_kind_of_place(client, farm):
    client.force_login(make_member(farm, "crew").user)
    opening = make_opening(make_wall(make_tunnel(farm)))
    wall = opening.end_wall

    for place in (f"tunnel-{wall.tunnel_id}", f"wall-{wall.pk}", f"opening-{opening.pk}"):
        assert post(client, farm, "component-new", **PART, place=place).status_code == 302

    places = Component.objects.order_by("pk").values_list("tunnel", "end_wall", "opening")
    assert list(places) == [(wall.tunnel_id, None, None), (None, wall.pk, None), (None, None, opening.pk)]


def test_a_link_says_where_the_part_is(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    url = reverse("component-new", args=[farm.slug])

    form = client.get(url, {"place": f"opening-{opening.pk}", "kind": "clamp"}).context["form"]

    assert (form["place"].value(), form["kind"].value()) == (f"opening-{opening.pk}", "clamp")


def test_one_more_part_of_the_same_kind_is_a_tap_away(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))

    answer = post(client, farm, "component-new", **PART, place=f"opening-{opening.pk}", and_another="1")

    assert answer["Location"].endswith(f"?place=opening-{opening.pk}&kind=clamp")


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"fitted_on": "2999-01-01"}, "fitted_on", "has not come yet"),
        ({"quantity": "0"}, "quantity", "too small"),
        ({"quantity": "NaN"}, "quantity", "number"),
        ({"place": "opening-999999"}, "place", "valid choice"),
        ({"place": ""}, "place", "required"),
        ({"kind": "wheel"}, "kind", "valid choice"),
    ],
)
def test_a_part_that_cannot_be_is_refused(client, farm, data, field, words):
    opening = make_opening(make_wall(make_tunnel(farm)))

    answer = post(client, farm, "component-new", **{**PART, "place": f"opening-{opening.pk}", **data})

    assert words in errors_of(answer, field)
    assert not Component.objects.exists()


def test_a_part_is_moved_and_nothing_else_about_it_changes(client, farm):
    tunnel = make_tunnel(farm)
    part = make_component(make_opening(make_wall(tunnel)), spot="left", quantity=Decimal("2.5"))
    url = reverse("component-change", args=[farm.slug, part.pk])

    client.post(url, {**filled_in(client, url), "place": f"tunnel-{tunnel.pk}"})

    part.refresh_from_db()
    assert (part.tunnel, part.opening, part.spot, part.quantity) == (tunnel, None, "left", Decimal("2.5"))


def test_a_part_of_a_retired_opening_can_still_be_corrected(client, farm):
    part = make_component(make_opening(make_wall(make_tunnel(farm)), retired_on=date(2024, 6, 1)))
    url = reverse("component-change", args=[farm.slug, part.pk])

    answer = client.post(url, {**filled_in(client, url), "spot": "right jamb"})

    part.refresh_from_db()
    assert answer.status_code == 302
    assert part.spot == "right jamb"


def test_a_removed_part_keeps_its_day_and_reason_and_can_come_back(client, farm):
    part = make_component(make_tunnel(farm))

    post(client, farm, "component-remove", part.pk, removed_on="2024-06-01", reason="broken")
    part.refresh_from_db()
    assert (part.removed_on, part.removal_reason) == (date(2024, 6, 1), "broken")

    post(client, farm, "component-remove", part.pk)
    part.refresh_from_db()
    assert (part.removed_on, part.removal_reason) == (None, "")


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"removed_on": "2024-04-30", "reason": "worn"}, "removed_on", "before it was fitted"),
        ({"removed_on": "2999-01-01", "reason": "worn"}, "removed_on", "has not come yet"),
        ({"removed_on": "2024-06-01", "reason": ""}, "reason", "required"),
    ],
)
def test_a_removal_that_cannot_be_is_refused(client, farm, data, field, words):
    part = make_component(make_tunnel(farm), fitted_on=date(2024, 5, 1))

    assert words in errors_of(post(client, farm, "component-remove", part.pk, **data), field)


def test_a_part_cannot_be_fitted_after_it_was_removed(client, farm):
    part = make_component(make_tunnel(farm), removed_on=date(2024, 6, 1), removal_reason="worn")
    url = reverse("component-change", args=[farm.slug, part.pk])

    answer = client.post(url, {**filled_in(client, url), "fitted_on": "2024-07-01"})

    assert "after it was removed" in errors_of(answer, "fitted_on")


# Materials ------------------------------------------------------------------------


def test_an_empty_book_is_filled_on_request(client):
    farm = make_farm()
    client.force_login(make_member(farm).user)
    assert "Start with common materials" in client.get(reverse("materials", args=[farm.slug])).content.decode()

    post(client, farm, "materials")

    assert Material.objects.filter(farm=farm, kind="tube").exists()
    assert "Start with common materials" not in client.get(reverse("materials", args=[farm.slug])).content.decode()


def test_a_material_keeps_what_was_typed(client, farm):
    post(
        client, farm, "material-new", kind="film", code="F1", name="Film", thickness_mm="6 in", is_in_book="on",
        roll_widths_mm="20'; 24 ft; 7315 mm", price="118.50", price_per="ft2", rated_dose_kly="480",
        least_stock="2", lead_weeks="6",
    )  # fmt: skip

    film = Material.objects.get(code="F1")
    assert film.roll_widths_mm == [6096.0, 7315.2, 7315.0]
    assert (film.price, film.is_in_book) == (Decimal("118.50"), True)
    assert (film.rated_dose_kly, film.least_stock, film.lead_weeks) == (480, 2, 6)


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"diameter_mm": "1.66", "wall_mm": "0.83"}, "wall_mm", 'Write less than 0.83".'),
        ({"diameter_mm": "1", "wall_mm": "2"}, "wall_mm", 'cannot have a wall of 2"'),
        ({"code": "TUBE-1.315"}, "code", "taken"),
        ({"gear_ratio": "0"}, "gear_ratio", "too small"),
        ({"price": "-1"}, "price", "too small"),
        ({"rated_dose_kly": "0"}, "rated_dose_kly", "too small"),
        ({"least_stock": "-1"}, "least_stock", "too small"),
        ({"lead_weeks": "-1"}, "lead_weeks", "greater than or equal to 0"),
        ({"roll_widths_mm": "10 ft; 0"}, "roll_widths_mm", "above 0"),
        ({"roll_widths_mm": "10 ft; wide"}, "roll_widths_mm", "not a length"),
    ],
)
def test_a_material_that_cannot_be_is_refused(client, farm, data, field, words):
    answer = post(client, farm, "material-new", **{"kind": "tube", "code": "NEW", "name": "Tube", **data})

    assert words in errors_of(answer, field)
    assert not Material.objects.filter(code="NEW").exists()


def test_a_changed_tube_sizes_the_doors_again_and_a_changed_price_does_not(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    tube = Material.objects.get(farm=farm, code="TUBE-1.660")
    url = reverse("material-change", args=[farm.slug, tube.pk])

    client.post(url, {**filled_in(client, url), "price": "42"})
    assert Sizing.objects.filter(opening=opening).count() == 1

    client.post(url, {**filled_in(client, url), "diameter_mm": "1.7"})
    assert Sizing.objects.filter(opening=opening).count() == 2


def test_an_unchanged_material_changes_nothing(client, farm):
    tube = make_material(farm, diameter_mm=Decimal("42.164"), wall_mm=Decimal("1.651"))
    stored = Material.objects.filter(pk=tube.pk).values().get()
    url = reverse("material-change", args=[farm.slug, tube.pk])

    client.post(url, filled_in(client, url))

    assert Material.objects.filter(pk=tube.pk).values().get() == stored


# Rules and farm -------------------------------------------------------------------


def test_every_rule_of_the_core_is_on_the_page(client, farm):
    on_page = [name for group in RULE_GROUPS for name in group.rules]

    assert sorted(on_page) == sorted(rule.name for rule in fields(sizing.Rules))


def test_a_rule_of_the_farms_own_sizes_every_door(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)

    answer = post(client, farm, "sizing-rules", clamp_spacing="12")

    assert answer.status_code == 302
    assert rules_of(farm).clamp_spacing == pytest.approx(0.3048)
    assert list(SizingRules.objects.get(farm=farm).changes) == ["clamp_spacing_mm"]
    assert Sizing.objects.filter(opening=opening).count() == 2
    page = client.get(reverse("sizing-rules", args=[farm.slug]))
    assert page.context["form"]["clamp_spacing"].value() == "1' 0\""
    assert "Common practice: 1&#x27; 3&quot;" in page.content.decode()  # 15 in


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"clamp_spacing": "24"}, "clamp_spacing", "Usual is 1' 0\" to 1' 6\""),
        ({"clamp_spacing": "11"}, "clamp_spacing", "Usual is"),
        ({"clamp_spacing": "0", "beyond": "on"}, "clamp_spacing", "at least"),
        ({"free_end": "-2"}, "free_end", "below 0"),
        ({"film_side": "wide"}, "film_side", "not a length"),
        ({"film_door_least": "23 ft"}, "film_door_least", "below 22' 0\""),
        ({"tail_wraps": "1"}, "tail_wraps", "at least 1.5"),
    ],
)
def test_a_rule_out_of_range_is_refused(client, farm, data, field, words):
    answer = post(client, farm, "sizing-rules", **data)

    assert words in errors_of(answer, field)
    assert rules_of(farm) == sizing.Rules()


def test_a_farm_may_insist_on_an_unusual_figure(client, farm):
    post(client, farm, "sizing-rules", clamp_spacing="24", beyond="on")

    assert rules_of(farm).clamp_spacing == pytest.approx(0.6096)


def test_the_rules_go_back_to_common_practice(client, farm):
    post(client, farm, "sizing-rules", clamp_spacing="12")

    post(client, farm, "sizing-rules", reset="1", clamp_spacing="12")

    assert rules_of(farm) == sizing.Rules()


@pytest.mark.parametrize("role", ["viewer", "crew"])
def test_only_a_manager_changes_rules_or_the_book(client, farm, role):
    client.force_login(make_member(farm, role).user)

    assert post(client, farm, "sizing-rules", clamp_spacing="12").status_code == 403
    assert post(client, farm, "sizing-rules", reset="1").status_code == 403
    assert post(client, farm, "materials").status_code == 403
    assert rules_of(farm) == sizing.Rules()


FARM = {"name": "Two Lakes", "units": "metric", "language": "es", "currency": "eur", "time_zone": "Europe/Madrid",
        "latitude_deg": "42.51", "longitude_deg": "-76.79", "elevation_m": "1700 ft", "exposure": "C",
        "storm_bearing_deg": "WNW", "venting_bearing_deg": "225"}  # fmt: skip


def test_the_farm_is_changed_on_its_page(client, farm):
    tunnel = make_tunnel(farm, width_mm=feet(30))

    post(client, farm, "farm-change", **FARM)

    farm.refresh_from_db()
    tunnel.refresh_from_db()
    assert (farm.name, farm.units, farm.language, farm.currency) == ("Two Lakes", "metric", "es", "EUR")
    # 1 ft is 0.3048 m exactly, so 1,700 ft is 518.16 m.
    assert (farm.elevation_m, farm.storm_bearing_deg) == (Decimal("518.2"), Decimal("292.5"))
    assert tunnel.width_mm == feet(30)


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"latitude_deg": "91"}, "latitude_deg", "90"),
        ({"longitude_deg": "-181"}, "longitude_deg", "-180"),
        ({"time_zone": "Mars/Base"}, "time_zone", "valid choice"),
        ({"currency": "€"}, "currency", "three letters"),
        ({"elevation_m": "high"}, "elevation_m", "not a length"),
        ({"storm_bearing_deg": "up"}, "storm_bearing_deg", "compass point"),
        ({"name": ""}, "name", "required"),
    ],
)
def test_a_farm_that_cannot_be_is_refused(client, farm, data, field, words):
    answer = post(client, farm, "farm-change", **{**FARM, **data})

    assert words in errors_of(answer, field)
    assert Farm.objects.get(pk=farm.pk).name == farm.name


def test_an_unchanged_farm_changes_nothing(client, farm):
    Farm.objects.filter(pk=farm.pk).update(elevation_m=Decimal("518.2"), storm_bearing_deg=Decimal("283.25"))
    stored = Farm.objects.filter(pk=farm.pk).values().get()
    url = reverse("farm-change", args=[farm.slug])

    assert client.post(url, filled_in(client, url)).status_code == 302
    assert Farm.objects.filter(pk=farm.pk).values().get() == stored


@pytest.mark.parametrize(
    ("units", "kind", "diameter_mm", "wall_mm", "shown"),
    [  # 1.660 in x 25.4 mm/in = 42.164 mm; 0.065 in = 1.651 mm
        ("us", "tube", inches("1.66"), inches("0.065"), "1.660 × 0.065 in"),
        ("us", "tube", inches("1.5"), inches("0.125"), "1.500 × 0.125 in"),
        ("us", "tube", inches("1.3125"), None, "1.3125 in"),
        ("us", "tube", Decimal("60.3"), Decimal("2"), "60.3 × 2 mm"),  # no inches say it exactly
        ("metric", "tube", inches("1.66"), inches("0.065"), "42.164 × 1.651 mm"),
        ("us", "clamp", inches("1.66"), None, "1.660 in"),
        ("us", "rod", inches("0.375"), None, "3/8&quot;"),
        ("metric", "rod", inches("0.375"), None, "9.525 mm"),
    ],
)
def test_the_book_lists_sizes_as_they_are_sold(client, farm, units, kind, diameter_mm, wall_mm, shown):
    Farm.objects.filter(pk=farm.pk).update(units=units)
    make_material(farm, code="ONLY", kind=kind, diameter_mm=diameter_mm, wall_mm=wall_mm)

    text = client.get(reverse("materials", args=[farm.slug]), {"q": "ONLY"}).content.decode()

    assert f">{shown}</span>" in text


def test_a_part_begins_with_a_capital_wherever_it_is_named(client, farm):
    tunnel = make_tunnel(farm)
    part = make_component(tunnel, kind="roof_film")

    for page, args in (("parts", ()), ("tunnel", (tunnel.pk,)), ("component", (part.pk,))):
        text = client.get(reverse(page, args=[farm.slug, *args])).content.decode()
        table = text[text.index("<table" if page != "component" else "<title>") :]
        assert "Roof film" in table
        assert "roof film" not in table

    answer = post(client, farm, "component-remove", part.pk, removed_on="2024-06-01", reason="worn")
    assert said(answer) == "Roof film is recorded as removed."
