"""The page that compares the kinds of door for an opening, and planning one of them."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from doors.book import start_book
from doors.models import Door, Material, Sizing
from doors.services import resize_openings
from farm.models import Farm, Opening
from tests.factories import feet, inches, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db

KINDS = {
    "mid_bar": "Film roll-up, mid-height bar", "bottom_bar": "Film roll-up, bottom bar", "person": "Person door",
    "hinged_pair": "Hinged pair", "sliding_pair": "Sliding pair", "coil": "Steel roll-up coil",
    "lift_out": "Lift-out panel",
}  # fmt: skip


@pytest.fixture
def farm() -> Farm:
    """A farm with a book without prices, whose storm wind comes from the west."""
    farm = make_farm(storm_bearing_deg=Decimal(270))
    start_book(farm=farm)
    return farm


@pytest.fixture
def reader(client: Client, farm: Farm) -> Client:
    """A manager of the farm, logged in."""
    client.force_login(make_member(farm).user)
    return client


@pytest.fixture
def opening(farm: Farm) -> Opening:
    """A 12 x 8 ft film door in the west wall, through which a tractor 6 ft wide passes, with a person door beside."""
    tunnel = make_tunnel(farm, code="T01")
    wall = make_wall(tunnel)
    made = make_opening(wall, code="T01-W", machine="tractor", machine_width_mm=feet(7), machine_height_mm=feet(5))
    make_opening(
        make_wall(tunnel, "A"), code="T01-E", kind="person", rough_width_mm=inches(36), rough_height_mm=inches(80),
        offset_mm=feet(4), header_depth_mm=inches("3.5"),
    )  # fmt: skip
    resize_openings(farm=farm)
    return made


def url_of(opening: Opening, name: str = "opening-kinds") -> str:
    return reverse(name, args=[opening.farm.slug, opening.pk])


def plain(html: str) -> str:
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace(" .", ".").replace(" ,", ",")
    return text.replace("&#x27;", "'").replace("&quot;", '"')


def page(client: Client, opening: Opening) -> str:
    """Return the page's text, its runs of white space made one."""
    response = client.get(url_of(opening))
    assert response.status_code == 200
    return plain(response.content.decode())


def line(client: Client, opening: Opening, kind: str) -> str:
    """Return what the page says of one kind."""
    html = client.get(url_of(opening)).content.decode()
    bodies = re.findall(r'<tbody role="rowgroup" class="kind">(.*?)</tbody>', html, re.S)
    found = [plain(body) for body in bodies if plain(body).strip().startswith(KINDS[kind])]
    assert len(found) == 1
    return found[0]


def price(farm: Farm, code: str, amount: str, per: str) -> None:
    assert Material.objects.filter(farm=farm, code=code).update(price=Decimal(amount), price_per=per) == 1


def order(client: Client, opening: Opening) -> list[str]:
    html = client.get(url_of(opening)).content.decode()
    headings = re.findall(r'<th role="rowheader" scope="row">(.*?)</th>', html, re.S)
    by_name = {name: kind for kind, name in KINDS.items()}
    return [next(by_name[name] for name in KINDS.values() if plain(heading).startswith(name)) for heading in headings]


def test_every_kind_is_compared_and_those_that_fit_come_first(reader, opening):
    # A person door's leaf is at most 4 ft wide and a lift-out panel laps 12 ft by 2 in each side: both refuse.
    # The others fit; practice pays for pair and film doors from 2, sliding from 3, coil from 10 person doors.
    kinds = order(reader, opening)

    assert set(kinds[:3]) == {"hinged_pair", "mid_bar", "bottom_bar"}
    assert kinds[3:] == ["sliding_pair", "coil", "person", "lift_out"]


def test_a_kind_says_what_it_leaves_and_takes(reader, opening):
    said = line(reader, opening, "coil")

    # Two guides of 3 in; d² = 4.5² + 4 x 0.6 x 96 / pi = 93.59, so 9.674 in, to the sixteenth 9 11/16.
    assert "11' 6\" × 8' 0\"" in said
    assert '20" rolled up 9 11/16"' in said
    assert "15 to 25 years" in said
    assert "0.5 h" in said


def test_a_refused_kind_says_why_and_offers_nothing(reader, opening):
    said = line(reader, opening, "person")

    assert "refused" in said
    assert "more than the 4' 0\" that this kind of door carries" in said
    assert "Plan this kind" not in said


def test_the_place_is_spoken_of_once(reader, opening):
    text = page(reader, opening)

    assert text.count("This wall faces the storm wind (0° off it): a standing weakness.") == 1
    assert "The tunnel has no person door" not in text


def test_a_tunnel_without_person_door_is_told_so(reader, farm, opening):
    Opening.objects.filter(code="T01-E").update(retired_on="2025-01-01")

    assert page(reader, opening).count("The tunnel has no person door") == 1


def test_without_prices_there_are_ratios_of_practice_and_the_missing_prices_by_name(reader, farm, opening):
    said = line(reader, opening, "coil")

    assert "10 to 20 times a person door common practice" in said
    assert "No price yet: Steel roll-up coil door, complete." in said
    material = Material.objects.get(farm=farm, code="DOOR-COIL")
    html = reader.get(url_of(opening)).content.decode()
    assert f'href="{reverse("material-change", args=[farm.slug, material.pk])}"' in html
    assert f'href="{reverse("materials", args=[farm.slug])}"' in html


def test_what_the_book_does_not_hold_is_named_too(reader, farm, opening):
    Material.objects.get(farm=farm, code="DOOR-COIL").delete()

    assert "Coil door, bought complete (not in the book)" in line(reader, opening, "coil")
    html = reader.get(url_of(opening)).content.decode()
    link = re.search(rf'href="({reverse("material-new", args=[farm.slug])}\?code=DOOR-COIL[^"]*)"', html)
    assert link
    form = reader.get(link[1].replace("&amp;", "&")).context["form"]
    assert [form[name].value() for name in ("code", "kind")] == ["DOOR-COIL", "door"]


def test_a_material_out_of_use_is_not_bought(reader, farm, opening):
    price(farm, "DOOR-COIL", "2000", "each")
    Material.objects.filter(farm=farm, code="DOOR-COIL").update(is_in_book=False)

    assert "2000 USD" not in line(reader, opening, "coil")


@pytest.fixture
def person_door(farm: Farm, opening: Opening) -> Opening:
    """The person door 36 x 80 in, with a price for all it is made of."""
    price(farm, "STUD-2x4", "4.80", "stock")  # of 96 in: 0.05 an inch
    price(farm, "FILM-6MIL", "0.14", "ft2")
    price(farm, "HINGE", "8.00", "each")
    price(farm, "LATCH", "14.00", "each")
    return Opening.objects.get(code="T01-E")


def test_costs_are_the_sum_of_parts_and_labour(reader, farm, person_door):
    Farm.objects.filter(pk=farm.pk).update(labour_rate=Decimal(26))

    # Leaf 35 1/4 x 78 7/8 in: stiles 157.75, rails 3 x 28.25 = 84.75, braces 2 x 44.349 = 88.70; 331.20 in of board
    # at 0.05 are 16.56. Film 85.875 x 42.25 in = 25.196 ft² at 0.14 are 3.53. Hinges 24, latch 14: 58.09 in all.
    # Labour 4 h at 26 are 104.
    assert "162 USD parts 58 USD, labour 104 USD for 4 h" in line(reader, person_door, "person")


def test_without_a_labour_rate_the_parts_are_the_cost(reader, person_door):
    said = line(reader, person_door, "person")

    assert "58 USD parts only" in said
    assert "Enter what an hour of labour costs" in page(reader, person_door)


def test_one_missing_price_brings_the_ratio_back(reader, farm, person_door):
    Material.objects.filter(farm=farm, code="LATCH").update(price=None, price_per="")
    said = line(reader, person_door, "person")

    assert "as much as a person door common practice" in said
    assert "No price yet: Thumb latch, opens from both sides." in said


def test_rated_film_decides_how_long_a_film_door_lasts(reader, farm, opening):
    Material.objects.filter(farm=farm, code="FILM-6MIL").update(rated_life_years=Decimal("2.5"))
    assert "2.5 years, as your film is rated" in line(reader, opening, "mid_bar")

    Material.objects.filter(farm=farm, code="FILM-6MIL").update(rated_life_years=None)
    assert "3 to 4 years" in line(reader, opening, "mid_bar")


def test_film_doors_have_a_gust_where_all_is_known(reader, farm, opening):
    assert "mph" not in line(reader, opening, "coil")
    assert "not worked out" in line(reader, opening, "mid_bar")  # nobody said what soil the posts stand in

    Farm.objects.filter(pk=farm.pk).update(soil="sand")

    assert re.search(r"\d mph", line(reader, opening, "mid_bar"))
    assert "not worked out" in line(reader, opening, "sliding_pair")


def test_a_door_without_design_is_compared_with_what_the_book_proposes(reader, farm, person_door):
    bare = Door.objects.get(opening=person_door)
    Opening.objects.filter(pk=person_door.pk).update(rough_width_mm=feet(9), rough_height_mm=feet(7))
    person_door.refresh_from_db()

    assert bare.turning_tube is None
    assert "×" in line(reader, person_door, "mid_bar")
    assert "is missing" not in line(reader, person_door, "mid_bar")
    bare.refresh_from_db()
    assert (bare.turning_tube, bare.drive_side) == (None, "")


def test_an_opening_with_two_sizes_only_is_compared(reader, farm):
    tunnel = make_tunnel(farm, width_mm=None, shape="", ridge_mm=None, side_mm=None, axis_bearing_deg=None)
    opening = make_opening(make_wall(tunnel), offset_mm=None, threshold_mm=None, header_depth_mm=None)

    said = line(reader, opening, "mid_bar")

    assert "measurements missing" in said
    assert "Offset from the wall's left corner is missing; it blocks: turning bar" in said


def test_an_opening_no_film_door_fits_into_is_compared(reader, farm):
    opening = make_opening(make_wall(make_tunnel(farm)), rough_width_mm=inches(6))

    assert 'Rough width is 6" but must be more than 7 5/16"' in line(reader, opening, "mid_bar")


# Planning a kind -----------------------------------------------------------------


def test_the_button_leads_to_the_form_with_the_kind_chosen_and_changes_nothing(reader, opening):
    html = reader.get(url_of(opening)).content.decode()
    link = f"{url_of(opening, 'opening-change')}?kind=coil"
    assert f'href="{link}"' in html
    before = Sizing.objects.count()

    form = reader.get(link).context["form"]

    assert form["kind"].value() == "coil"
    opening.refresh_from_db()
    assert (opening.kind, Sizing.objects.count()) == ("mid_bar", before)


def test_saving_what_the_button_proposed_changes_the_kind(reader, opening):
    link = f"{url_of(opening, 'opening-change')}?kind=coil"
    fields = reader.get(link).context["form"]
    data: dict[str, Any] = {field.html_name: field.value() or "" for field in fields}

    assert reader.post(link, data).status_code == 302

    opening.refresh_from_db()
    assert opening.kind == "coil"


def test_a_kind_nobody_knows_is_not_proposed(reader, opening):
    response = reader.get(f"{url_of(opening, 'opening-change')}?kind=portcullis")

    assert response.status_code == 200
    assert response.context["form"]["kind"].value() == "mid_bar"


@pytest.mark.parametrize("role", ["viewer", "crew"])
def test_who_may_not_change_structures_reads_without_buttons(client, farm, opening, role):
    client.force_login(make_member(farm, role).user)
    html = client.get(url_of(opening)).content.decode()

    assert "Plan this kind" not in html
    assert reverse("material-new", args=[farm.slug]) not in html
    assert "Steel roll-up coil" in html


def test_the_kind_planned_now_and_a_retired_opening_have_no_button(reader, opening):
    assert "Plan this kind" not in line(reader, opening, "mid_bar")
    assert "Plan this kind" in line(reader, opening, "bottom_bar")

    Opening.objects.filter(pk=opening.pk).update(retired_on="2025-01-01")

    assert "Plan this kind" not in page(reader, opening)


def test_the_opening_sheet_leads_here(reader, opening):
    assert f'href="{url_of(opening)}"' in reader.get(url_of(opening, "opening")).content.decode()


def test_asks_as_little_with_three_neighbours_and_materials_as_with_one(reader, farm, opening):
    def query_count() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert reader.get(url_of(opening)).status_code == 200
        return len(captured)

    one = query_count()
    for number in range(3):
        make_opening(make_wall(opening.end_wall.tunnel), kind="person", code=f"P{number}", rough_width_mm=feet(1))
        make_material(farm)
        resize_openings(farm=farm)

    assert query_count() == one


# What the place of an opening has to do with it --------------------------------------


def checks_of(opening: Opening) -> dict[str, str]:
    sizing = Door.objects.select_related("sizing").get(opening=opening).sizing
    return {check["check"]: check["reason"] for check in sizing.result["checks"]}


def test_a_person_door_at_the_other_end_is_the_way_out_for_all(reader, farm, opening):
    assert checks_of(opening)["exit"] == "exit_in_other_wall"
    other = Opening.objects.get(code="T01-E")

    reader.post(url_of(other, "opening-retire"), {"on": "2025-01-01"})

    assert checks_of(opening)["exit"] == "no_exit"
    added = {"rough_width_mm": "3 ft", "rough_height_mm": "80", "kind": "person", "offset_mm": "3 ft"}
    reader.post(reverse("opening-new", args=[farm.slug, opening.end_wall_id]), added)
    assert checks_of(opening)["exit"] == "exit_in_this_wall"


def test_a_storm_wind_that_turns_checks_every_door_again(reader, farm, opening):
    assert checks_of(opening)["storm"] == "windward"
    url = reverse("farm-change", args=[farm.slug])
    form = reader.get(url).context["form"]
    data = {field.html_name: field.value() if field.value() is not None else "" for field in form}

    reader.post(url, {**data, "storm_bearing_deg": "E", "labour_rate": "26.50"})

    assert checks_of(opening)["storm"] == "lee"
    farm.refresh_from_db()
    assert farm.labour_rate == Decimal("26.50")


def test_diagonals_are_entered_and_checked(reader, opening):
    url = url_of(opening, "opening-change")
    data = {field.html_name: field.value() or "" for field in reader.get(url).context["form"]}

    reader.post(url, {**data, "diagonal_1_mm": "14' 5\"", "diagonal_2_mm": "14' 7\""})

    assert checks_of(opening)["diagonals"] == "out_of_square"
    text = plain(reader.get(url_of(opening, "opening")).content.decode())
    assert 'The diagonals, 14\' 5" and 14\' 7", differ by 2"' in text


def test_a_diagonal_shorter_than_a_side_is_refused(reader, opening):
    url = url_of(opening, "opening-change")
    data = {field.html_name: field.value() or "" for field in reader.get(url).context["form"]}

    answer = reader.post(url, {**data, "diagonal_1_mm": "12 ft"})

    assert answer.status_code == 422
    assert "is no longer than the opening's side of 12' 0\"" in answer.context["form"].errors["diagonal_1_mm"][0]


def test_a_hinged_door_warns_of_snow_on_its_sheet(reader, farm, opening):
    Opening.objects.filter(pk=opening.pk).update(kind="hinged_pair")
    resize_openings(farm=farm)

    text = plain(reader.get(url_of(opening, "opening")).content.decode())

    assert "Both leaves swing outwards: snow in front has to be cleared before they open." in text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"price": "3", "price_per": ""}, "Choose what this price buys."),
        ({"price": "3", "price_per": "stock"}, "Write the stock length"),
        ({"price": "3", "price_per": "roll"}, "Select a valid choice"),
    ],
)
def test_a_price_says_what_it_buys(reader, farm, data, words):
    answer = reader.post(reverse("material-new", args=[farm.slug]), {"kind": "other", "code": "N", "name": "N", **data})

    assert answer.status_code == 422
    assert words in str(answer.context["form"].errors["price_per"])
