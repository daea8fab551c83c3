"""What the wind does to a door: the page, its what-if panel, the calculation sheet, and the farm's strengths."""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from doors.book import start_book
from doors.models import Door, Material, Sizing, SizingRules
from doors.services import hang_door, resize_openings
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

PLANNING = (
    "Planning estimate to order work and rank doors. Not a structural design: "
    "local code and a licensed engineer decide."
)


@pytest.fixture
def farm() -> Farm:
    """A farm on sand with its book of materials."""
    farm = make_farm(soil="sand")
    start_book(farm=farm)
    return farm


@pytest.fixture
def reader(client: Client, farm: Farm) -> Client:
    """A manager of the farm, logged in."""
    client.force_login(make_member(farm).user)
    return client


def add_door(farm: Farm, door: dict[str, Any] | None = None, **opening: Any) -> Opening:
    """Add a 12 x 8 ft film door, drive on the right, sized."""
    row = make_opening(make_wall(make_tunnel(farm)), **opening)
    resize_openings(farm=farm)
    Door.objects.filter(opening=row).update(**{"drive_side": "right", **(door or {})})
    resize_openings(farm=farm)
    return row


def wind_url(opening: Opening, query: str = "") -> str:
    return reverse("opening-wind", args=[opening.farm.slug, opening.pk]) + (f"?{query}" if query else "")


def text_of(response: Any) -> str:
    """Return a page's text, its runs of white space made one, its entities plain."""
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    text = re.sub(r"\s+", " ", text).replace("&#x27;", "'").replace("&quot;", '"').replace("&amp;", "&")
    return text.replace(" .", ".").replace(" ,", ",")


def page(client: Client, opening: Opening, query: str = "") -> str:
    response = client.get(wind_url(opening, query))
    assert response.status_code == 200
    return text_of(response)


def sheet(client: Client, opening: Opening, query: str = "") -> str:
    url = reverse("opening-calculation", args=[opening.farm.slug, opening.pk])
    response = client.get(f"{url}?{query}")
    assert response.status_code == 200
    return text_of(response)


def limit(client: Client, opening: Opening, query: str = "") -> int:
    """Return up to which gust the page says the door stands as closed. [mph]"""
    found = re.search(r"expected to stand gusts up to (\d+) mph", page(client, opening, query))
    assert found, page(client, opening, query)[:2000]
    return int(found[1])


# The page ------------------------------------------------------------------------


def test_opening_sheet_leads_to_the_wind(reader, farm):
    opening = add_door(farm)

    html = reader.get(opening.get_absolute_url()).content.decode()

    assert f'href="{wind_url(opening)}"' in html


def test_page_begins_with_what_the_door_stands_and_that_it_is_an_estimate(reader, farm):
    text = page(reader, add_door(farm, {"hold_down_spacing_mm": feet(4)}))

    assert PLANNING in text
    assert re.search(
        r"As closed it is expected to stand gusts up to \d+ mph at the door; [a-z -]+ gives first\. "
        r"With side wires \d+ mph.*, with hold-downs too \d+ mph",
        text,
    )
    assert "It begins to flap or work loose: as closed from" in text
    assert "Forecast gusts (3 s, 10 m up, open country) that bring as much to this door" in text
    assert "With side wires and hold-downs" in text


def test_door_without_hold_downs_is_not_read_with_them(reader, farm):
    text = page(reader, add_door(farm))

    assert "with hold-downs too" not in text
    assert (
        "With side wires and hold-downs"
        not in text.replace("With side wires and hold-downs </option>", "").split("Every part in every closing state")[
            1
        ]
    )


def test_metric_farm_reads_metres_per_second(client, farm):
    farm.units = "metric"
    farm.save(update_fields=["units"])
    client.force_login(make_member(farm, "viewer").user)

    text = page(client, add_door(farm))

    assert re.search(r"expected to stand gusts up to \d+\.\d m/s", text)
    assert "mph" not in text


def test_chart_and_table_say_the_same(reader, farm):
    opening = add_door(farm)
    html = reader.get(wind_url(opening, "gust=30")).content.decode()

    chart = re.search(r'id="wind-chart-desc">([^<]*)', html)
    assert chart
    for name, gust in re.findall(r"</span> ([A-Z][a-z ]+): <strong>([^<]+)</strong>", html):
        assert (f"{name} {gust}" in chart[1]) == ("shut it first" not in gust)  # an open door has no curve
    row = re.search(r"<th scope=\"row\" class=\"numeric\"><span[^>]*>30 mph</span>.*?</tr>", html, re.DOTALL)
    assert row
    assert "the gust looked at" in row[0]


def test_links_lead_to_their_line_of_the_calculation_sheet(reader, farm):
    opening = add_door(farm, {"hold_down_spacing_mm": feet(4)})
    html = reader.get(wind_url(opening)).content.decode()
    sheet_html = reader.get(reverse("opening-calculation", args=[farm.slug, opening.pk])).content.decode()

    anchors = set(re.findall(r'/calculation/[^"]*#([\w-]+)"', html))
    assert len(anchors) > 20
    assert anchors <= set(re.findall(r'id="([\w-]+)"', sheet_html))


def test_other_kinds_are_told_that_no_limit_is_worked_out(reader, farm):
    opening = add_door(farm, kind="person", rough_width_mm=feet(3), rough_height_mm=feet(6))

    for text in (page(reader, opening), sheet(reader, opening)):
        assert "No limit is worked out for this kind of door (person door)" in text
        assert PLANNING in text
        assert "mph" not in text


def test_opening_that_was_never_sized_says_so(reader, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))

    assert "has not been sized yet" in page(reader, opening)
    assert "has not been sized yet" in sheet(reader, opening)


def test_size_no_door_can_have_is_refused_in_words(reader, farm):
    opening = add_door(farm)
    opening.rough_width_mm = feet(40)  # wider than its tunnel
    opening.save(update_fields=["rough_width_mm"])
    resize_openings(farm=farm)

    assert "Rough width is 40' 0\" but must be at most 30' 0\"." in page(reader, opening)


def test_hung_door_is_read_by_the_sheet_it_hangs_by(reader, farm):
    opening = add_door(farm)
    hang_door(opening=opening, on=date(2024, 5, 1))
    before = limit(reader, opening)
    opening.rough_width_mm = feet(18)
    opening.save(update_fields=["rough_width_mm"])
    resize_openings(farm=farm)

    assert limit(reader, opening) == before
    assert "Read as it was hung on 2024-05-01 by revision" in page(reader, opening)


# What is missing -----------------------------------------------------------------


def test_without_the_soil_no_limit_is_named(reader, farm):
    Farm.objects.filter(pk=farm.pk).update(soil="")
    opening = add_door(farm)

    text = page(reader, opening)

    assert "What it stands as closed is not known. Missing: the farm's soil." in text
    assert "It is not more than" in text
    assert "The farm's soil is missing; not known without it: tube in the soil, tube leaning in the soil." in text
    assert "expected to stand" not in text
    assert "Nothing can be advised while the limit is not known." in text


@pytest.mark.parametrize("part", ["turning_tube", "sill_tube", "anti_billow_tube", "film", "rod"])
def test_a_part_that_is_not_chosen_is_named_with_what_it_blocks(reader, farm, part):
    opening = add_door(farm, {part: None})

    text = page(reader, opening)

    assert "What it stands as closed is not known. Missing:" in text
    assert "is missing; not known without it:" in text
    assert sheet(reader, opening)


def test_age_of_the_film_comes_from_the_part_in_service(reader, farm):
    opening = add_door(farm)
    hang_door(opening=opening, on=date.today() - timedelta(days=3650))
    film = Material.objects.get(farm=farm, code="FILM-6MIL")
    old = page(reader, opening)
    make_component(opening, kind="door_film", material=film, fitted_on=date.today() - timedelta(days=365))

    new = page(reader, opening)

    assert "No door film is in the list of parts: taken as old as the door" in old
    assert "Film in service since" in new
    share = re.compile(
        r"Film (?:gives first )?The film is stretched beyond what springs back\. either way (over )?(\d+) %"
    )
    assert share.search(old)[1] == "over "  # ten years of four: nothing is left of it
    assert share.search(new)[1] is None


def test_film_without_a_rating_blocks_the_film(reader, farm):
    Material.objects.filter(farm=farm, kind="film").update(rated_life_years=None)
    opening = add_door(farm)
    hang_door(opening=opening, on=date.today() - timedelta(days=700))

    assert "Rated life of the door's film is missing; not known without it: film." in page(reader, opening)


# What if -------------------------------------------------------------------------


def test_what_if_changes_the_reading_and_saves_nothing(reader, farm):
    opening = add_door(farm)
    before = list(Door.objects.values()), list(Sizing.objects.values()), list(SizingRules.objects.values())
    standing = limit(reader, opening)

    text = page(reader, opening, "embedment=4+ft&gust=40")

    assert limit(reader, opening, "embedment=4+ft") > standing
    assert "What if: changed for the moment: anti-billow tubes in the ground. Nothing is saved." in text
    assert "Utilisation at 40 mph" in text
    assert (list(Door.objects.values()), list(Sizing.objects.values()), list(SizingRules.objects.values())) == before


@pytest.mark.parametrize(
    "query", ["inner=2", "embedment=36+in", "soil=clay", "hold_downs=4+ft", "anti_billow_tube={larger}"]
)
def test_each_way_to_hang_it_better_raises_the_most_secured_limit(reader, farm, query):
    opening = add_door(farm)
    query = query.format(larger=Material.objects.get(farm=farm, code="TUBE-2.375").pk)

    def best(asked: str) -> int:
        found = re.findall(r"(\d+) mph", re.search(r"With side wires .*?\.", page(reader, opening, asked))[0])
        return max(int(gust) for gust in found)

    # A stronger tube alone cannot help the weaker soil that holds it.
    base = "embedment=6+ft" if query.startswith("anti") else ""
    assert best(f"{base}&{query}") > best(base)


@pytest.mark.parametrize("query", ["film_years=7.9", "house=partially+enclosed"])
def test_worse_conditions_lower_the_limit(reader, farm, query):
    opening = add_door(farm)

    assert limit(reader, opening, query) < limit(reader, opening)


def test_fields_stand_as_the_farm_has_them(reader, farm):
    html = reader.get(wind_url(add_door(farm, {"hold_down_spacing_mm": feet(5)}))).content.decode()

    assert re.search(r'name="hold_downs" value="5&#x27; 0&quot;"|name="hold_downs" value="5&#x27;"', html)
    assert re.search(r'<option value="sand" selected>', html)
    assert re.search(r'name="inner" value="0"', html)
    assert "What if:" not in html


def test_hold_downs_can_be_taken_away(reader, farm):
    opening = add_door(farm, {"hold_down_spacing_mm": feet(4)})

    assert "with hold-downs too" in page(reader, opening)
    assert "with hold-downs too" not in page(reader, opening, "hold_downs=0")


def test_htmx_gets_the_reading_alone(reader, farm):
    opening = add_door(farm)

    part = reader.get(wind_url(opening, "gust=30"), headers={"hx-request": "true"})
    whole = reader.get(wind_url(opening, "gust=30"))
    back = reader.get(wind_url(opening), headers={"hx-request": "true", "hx-history-restore-request": "true"})

    assert b"<html" not in part.content
    assert b"expected to stand" in part.content
    assert b"<html" in whole.content
    assert b"<html" in back.content
    assert all("HX-Request" in answer["Vary"] for answer in (part, whole, back))
    assert part["HX-Replace-Url"] == wind_url(opening, "gust=30")


def test_address_says_no_more_than_what_is_changed(reader, farm):
    opening = add_door(farm)
    everything = "gust=46&state=&hold_downs=0&inner=0&embedment=4+ft&soil=sand&house=enclosed&sill_tube="

    answer = reader.get(wind_url(opening, everything), headers={"hx-request": "true"})

    assert answer["HX-Replace-Url"] == wind_url(opening, "embedment=4+ft")
    assert reader.get(wind_url(opening), headers={"hx-request": "true"})["HX-Replace-Url"] == wind_url(opening)


@pytest.mark.parametrize(
    ("query", "problem"),
    [
        ("gust=900", "less than or equal to 150"),
        ("gust=-3", "greater than or equal to 1"),
        ("hold_downs=wide", "is not a length"),
        ("inner=99", "less than or equal to 8"),
        ("embedment=60+ft", "Write at most"),
        ("soil=cheese", "Select a valid choice"),
        ("turning_tube=999999", "Select a valid choice"),
        ("film_years=-1", "greater than or equal to 0"),
        ("house=haunted", "Select a valid choice"),
        ("state=open", "Select a valid choice"),
    ],
)
def test_what_cannot_be_read_is_said_beside_its_field_and_left_as_it_is(reader, farm, query, problem):
    opening = add_door(farm)
    standing = limit(reader, opening)

    response = reader.get(wind_url(opening, query))

    assert response.status_code == 422
    text = text_of(response)
    assert problem in text
    assert f"stand gusts up to {standing} mph" in text
    url = reverse("opening-calculation", args=[farm.slug, opening.pk])
    assert reader.get(f"{url}?{query}").status_code == 422


def test_another_farms_tube_is_no_choice(reader, farm):
    opening = add_door(farm)
    theirs = make_material(name="Their tube")

    response = reader.get(wind_url(opening, f"turning_tube={theirs.pk}"))

    assert response.status_code == 422
    assert b"Their tube" not in response.content


def test_hostile_query_is_escaped(reader, farm):
    response = reader.get(wind_url(add_door(farm), "gust=%3Cscript%3E1&hold_downs=%22%3E%3Cb%3E&x=%22%3E%3Cb%3E"))

    assert response.status_code == 422
    assert b"<script>1" not in response.content
    assert b'"><b>' not in response.content


def test_a_tube_too_thick_to_be_rolled_up_is_refused_in_words(reader, farm):
    opening = add_door(farm)
    huge = make_material(farm, code="huge", name="Huge", diameter_mm=inches(60), wall_mm=inches(1))

    text = text_of(reader.get(wind_url(opening, f"turning_tube={huge.pk}")))

    assert "must be" in text
    assert "The door as it is" in text


# The calculation sheet -----------------------------------------------------------


def test_calculation_names_formula_inputs_source_and_both_units(reader, farm):
    text = sheet(reader, add_door(farm), "gust=46")

    assert PLANNING in text
    # 0.613 x 20.56² = 259.2 Pa = 5.414 psf
    assert "q velocity pressure q = 0.613 V 2 (V in m/s, q in Pa) V = 20.56 m/s (46 mph)" in text
    assert "ASCE 7-16, Eq. (26.10-1.si), other factors 1 259.2 Pa (5.414 psf)" in text
    for heading in ("What is given", "Sections", "Wind", "What each part can take", "As closed", "Crank"):
        assert heading in text


def test_calculation_follows_the_what_if(reader, farm):
    opening = add_door(farm)

    assert "anti-billow tubes in the ground the farm's sizing rules 0.6096 m (2 ft)" in sheet(reader, opening)
    changed = sheet(reader, opening, "embedment=4+ft")
    assert "anti-billow tubes in the ground the farm's sizing rules 1.219 m (4 ft)" in changed
    assert "What if: changed for the moment" in changed
    html = reader.get(wind_url(opening, "embedment=4+ft")).content.decode()
    assert f"{reverse('opening-calculation', args=[farm.slug, opening.pk])}?embedment=4+ft" in html


def test_bottom_bar_has_its_own_sheet(reader, farm):
    opening = add_door(farm, kind="bottom_bar")

    assert "expected to stand gusts up to" in page(reader, opening)
    assert "sill bar, bending" not in sheet(reader, opening)


# Queries -------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["opening-wind", "opening-calculation"])
def test_pages_ask_as_little_with_many_neighbours_films_and_tubes(reader, farm, name):
    opening = add_door(farm)
    hang_door(opening=opening, on=date(2024, 5, 1))
    make_component(opening, kind="door_film")
    url = reverse(name, args=[farm.slug, opening.pk])

    def count() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert reader.get(url).status_code == 200
        return len(captured)

    one = count()
    for number in range(3):
        make_component(opening, kind="door_film", spot=str(number))
        make_material(farm, name=f"More {number}")
        make_opening(opening.end_wall, kind="person", code=f"P{number}", rough_width_mm=feet(2), offset_mm=feet(2))
        resize_openings(farm=farm)

    assert count() == one


# What the reading counts on ------------------------------------------------------


def rules_url(farm: Farm) -> str:
    return reverse("sizing-rules", args=[farm.slug])


def test_farm_and_door_forms_keep_soil_and_hold_downs(reader, farm):
    opening = add_door(farm)
    door = Door.objects.get(opening=opening)
    url = reverse("door-change", args=[farm.slug, opening.pk])
    fields = {name: value for name, value in reader.get(url).context["form"].initial.items() if value is not None}

    reader.post(url, {**fields, "hold_down_spacing_mm": "4 ft"})

    door.refresh_from_db()
    assert door.hold_down_spacing_mm == feet(4)
    form = reader.get(reverse("farm-change", args=[farm.slug])).context["form"]
    assert [value for value, _label in form.fields["soil"].choices] == ["", "bedrock", "rock", "gravel", "sand", "clay"]


def test_rules_page_shows_each_strength_with_its_value_and_source(reader, farm):
    text = text_of(reader.get(rules_url(farm)))

    assert "Tubes yield at, psi Otherwise 50038 psi (ASTM F1043 group IC, from memory)." in text
    assert "Belly of the film, of its span, % Otherwise 10 % (common practice, no source)." in text
    assert 'Channel screws in wood, diameter Otherwise 0.216" (No. 12; common practice, no source).' in text


def test_own_strength_changes_every_doors_reading_and_can_be_taken_back(reader, farm):
    opening = add_door(farm)
    film = "film_years=0&embedment=9+ft&gust=46"
    before = page(reader, opening, film)

    answer = reader.post(rules_url(farm), {"strengths": "1", "strength-film_yield": "300"}, follow=True)

    assert "The strengths are saved" in text_of(answer)
    assert "Your farm's own figure." in text_of(answer)
    kept = SizingRules.objects.get(farm=farm).strengths
    assert kept == {"film_yield_mpa": pytest.approx(300 * 0.006894757, rel=1e-6)}  # 1 psi = 6.894757 kPa
    assert page(reader, opening, film) != before
    reader.post(rules_url(farm), {"reset_strengths": "1"}, follow=True)
    assert SizingRules.objects.get(farm=farm).strengths == {}
    assert page(reader, opening, film) == before


def test_saving_a_strength_as_it_is_shown_changes_no_digit(reader, farm):
    reader.post(rules_url(farm), {"strengths": "1", "strength-film_yield": "1234.5678"})
    kept = SizingRules.objects.get(farm=farm).strengths
    shown = reader.get(rules_url(farm)).context["strengths"].initial["film_yield"]

    reader.post(rules_url(farm), {"strengths": "1", "strength-film_yield": str(shown)})

    assert SizingRules.objects.get(farm=farm).strengths == kept


def test_strengths_and_rules_do_not_lose_each_other(reader, farm):
    reader.post(rules_url(farm), {"strengths": "1", "strength-belly": "12"})
    reader.post(rules_url(farm), {"film_side": "16"})

    kept = SizingRules.objects.get(farm=farm)
    assert kept.strengths == {"belly": pytest.approx(0.12)}
    assert list(kept.changes) == ["film_side_mm"]


@pytest.mark.parametrize(
    ("field", "value"),
    [("efficiency", "140"), ("efficiency", "0"), ("belly", "60"), ("sheet_screw", "1 in"), ("tube_yield", "-5"),
     ("hold_down", "abc"), ("wood", "balsa"), ("handle_radius", "9 ft")],
)  # fmt: skip
def test_strength_beyond_its_formula_is_refused_and_nothing_is_saved(reader, farm, field, value):
    answer = reader.post(rules_url(farm), {"strengths": "1", f"strength-{field}": value})

    assert answer.status_code == 422
    assert "Nothing is saved yet." in text_of(answer)
    assert not SizingRules.objects.filter(farm=farm).exists()


def test_metric_farm_writes_strengths_in_its_units(client):
    farm = make_farm(units="metric")
    client.force_login(make_member(farm).user)

    client.post(rules_url(farm), {"strengths": "1", "strength-tube_yield": "250", "strength-turns_per_second": "30"})

    kept = SizingRules.objects.get(farm=farm).strengths
    assert kept == {"tube_yield_mpa": pytest.approx(250.0), "turns_per_second": pytest.approx(0.5)}


@pytest.mark.parametrize("role", ["viewer", "crew"])
def test_only_a_manager_changes_strengths(client, farm, role):
    client.force_login(make_member(farm, role).user)

    assert client.post(rules_url(farm), {"strengths": "1", "strength-belly": "12"}).status_code == 403
    assert client.post(rules_url(farm), {"reset_strengths": "1"}).status_code == 403
    assert not SizingRules.objects.filter(farm=farm).exists()


def test_soil_of_the_demo_is_known(django_db_blocker):
    from doors.demo import rows

    assert rows.FARM["soil"] == "sand"
    assert 0 < len(rows.HOLD_DOWNS) < 17
    assert all(isinstance(spacing, Decimal) for spacing in rows.HOLD_DOWNS.values())
