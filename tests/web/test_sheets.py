"""The plan and the tunnel sheet: what they say, to whom, and with how many queries."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from doors.models import Sizing
from doors.services import resize_openings
from doors.views.plan import TUNNELS_PER_PAGE, URGENT_SHOWN
from farm.models import EndWall, Farm, Opening, Tunnel
from tests.factories import feet, make_component, make_farm, make_member, make_opening, make_tunnel, make_wall
from tests.sheets import add_tunnel, page, query_count, the_opening

pytestmark = pytest.mark.django_db


# Queries -------------------------------------------------------------------------


def test_plan_asks_as_little_for_three_tunnels_as_for_one(reader: Client, farm: Farm) -> None:
    add_tunnel(farm)
    url = reverse("plan", args=[farm.slug])
    one = query_count(reader, url)

    for number in range(2):
        make_opening(make_wall(add_tunnel(farm), "A"), kind="person", code=f"P{number}")

    assert query_count(reader, url) == one


def test_tunnel_sheet_asks_as_little_for_three_openings_as_for_one(reader: Client, farm: Farm) -> None:
    tunnel = add_tunnel(farm)
    make_component(the_opening(tunnel))
    url = reverse("tunnel", args=[farm.slug, tunnel.pk])
    one = query_count(reader, url)

    for number in range(2):
        opening = make_opening(make_wall(tunnel, "A"), kind="person", code=f"P{number}", rough_width_mm=feet(3))
        make_component(opening)
        make_component(make_wall(tunnel, "A"))
    resize_openings(farm=farm)

    assert query_count(reader, url) == one


def test_opening_sheet_asks_as_little_with_three_neighbours_and_revisions(reader: Client, farm: Farm) -> None:
    tunnel = add_tunnel(farm)
    opening = the_opening(tunnel)
    url = reverse("opening", args=[farm.slug, opening.pk])
    one = query_count(reader, url)

    for number in range(3):
        make_opening(
            make_wall(tunnel), kind="person", code=f"P{number}", rough_width_mm=feet(2), offset_mm=feet(number * 2)
        )
        resize_openings(farm=farm)

    assert Sizing.objects.filter(opening=opening).count() > 1
    assert query_count(reader, url) == one


# Plan ----------------------------------------------------------------------------


def test_empty_farm_is_told_where_to_start(reader: Client, farm: Farm) -> None:
    text = page(reader, "plan", farm.slug)

    assert "Start with one tunnel: its name is enough." in text
    assert b"<svg" not in reader.get(reverse("plan", args=[farm.slug])).content


def test_every_tunnel_on_the_plan_leads_to_its_sheet(reader: Client, farm: Farm) -> None:
    tunnels = [add_tunnel(farm), add_tunnel(farm)]

    html = reader.get(reverse("plan", args=[farm.slug])).content.decode()

    drawing = html[html.index("<svg") : html.index("</svg>")]
    assert all(f'href="{tunnel.get_absolute_url()}"' in drawing for tunnel in tunnels)


def test_tunnel_without_a_place_is_listed_below_with_what_it_lacks(reader: Client, farm: Farm) -> None:
    make_tunnel(farm, code="T77", width_mm=None, length_mm=None)

    text = page(reader, "plan", farm.slug)

    assert "Not on the plan yet" in text
    assert re.search(r"T77 : give its width, length, position on the plan\.", text)


def test_refused_door_comes_first_with_its_reason(reader: Client, farm: Farm) -> None:
    refused = the_opening(add_tunnel(farm))
    refused.rough_height_mm = feet(14)
    refused.save(update_fields=["rough_height_mm"])
    blocked = the_opening(add_tunnel(farm))
    blocked.offset_mm = None
    blocked.save(update_fields=["offset_mm"])
    resize_openings(farm=farm)

    text = page(reader, "plan", farm.slug)

    urgent = text[text.index("What cannot wait") : text.index("Standing weaknesses")]
    assert urgent.index(f"{refused.code} refused") < urgent.index(f"{blocked.code} measurements missing")
    assert "too low" in urgent
    assert "Offset from the wall's left corner is missing" in urgent


@pytest.mark.parametrize(("units", "wide"), [("us", "8' 0\""), ("metric", "2438 mm")])
def test_plan_counts_the_wide_doors_that_face_the_storm(reader: Client, farm: Farm, units: str, wide: str) -> None:
    Farm.objects.update(units=units)
    tunnel = add_tunnel(farm)
    make_opening(make_wall(tunnel, "A"), code="lee")
    make_opening(make_wall(tunnel, "A"), code="small", rough_width_mm=feet(3))

    assert f"1 of 2 doors {wide} and wider face the storm wind from W" in page(reader, "plan", farm.slug)


def test_lee_doors_are_no_weakness(reader: Client, farm: Farm) -> None:
    farm.storm_bearing_deg = Decimal(90)
    farm.save(update_fields=["storm_bearing_deg"])
    add_tunnel(farm)

    assert "face the storm wind" not in page(reader, "plan", farm.slug)


def test_tunnel_without_a_person_door_is_named(reader: Client, farm: Farm) -> None:
    closed, safe = add_tunnel(farm, code="T05"), add_tunnel(farm, code="T06")
    make_opening(make_wall(safe, "A"), kind="person")

    text = page(reader, "plan", farm.slug)

    assert f"1 tunnel has no person door: {closed.code}." in text
    assert "A film door that is down is not an exit" in text


def test_retired_tunnel_and_its_doors_leave_the_plan(reader: Client, farm: Farm) -> None:
    add_tunnel(farm, code="T01")
    add_tunnel(farm, code="T02", status="retired", retired_on=date(2024, 1, 1))

    text = page(reader, "plan", farm.slug)

    assert "1 tunnel, 1 door" in text
    assert "T02" not in text


def test_large_farm_is_drawn_in_parts(reader: Client, farm: Farm) -> None:
    Tunnel.objects.bulk_create(
        Tunnel(
            farm=farm, code=f"N{number:03d}", name="", width_mm=feet(20), length_mm=feet(90), axis_bearing_deg=0,
            east_mm=feet(30 * number), north_mm=0,
        )
        for number in range(TUNNELS_PER_PAGE + 1)
    )  # fmt: skip

    first = reader.get(reverse("plan", args=[farm.slug])).content.decode()
    second = reader.get(reverse("plan", args=[farm.slug]), {"page": 2}).content.decode()

    assert first.count('class="tunnel-link"') == TUNNELS_PER_PAGE
    assert second.count('class="tunnel-link"') == 1


def test_only_the_first_urgent_doors_are_spelled_out(reader: Client, farm: Farm) -> None:
    tunnel = add_tunnel(farm)
    Opening.objects.filter(end_wall__tunnel=tunnel).update(offset_mm=None)
    for number in range(URGENT_SHOWN):
        make_opening(make_wall(tunnel), code=f"B{number:02d}", offset_mm=None)
    resize_openings(farm=farm)

    text = page(reader, "plan", farm.slug)

    assert f"All {URGENT_SHOWN + 1} are in the door schedule" in text


# Tunnel --------------------------------------------------------------------------


def test_new_tunnel_is_asked_for_its_measurements_politely(reader: Client, farm: Farm) -> None:
    tunnel = make_tunnel(farm, shape="", width_mm=None, ridge_mm=None, side_mm=None)

    text = page(reader, "tunnel", farm.slug, tunnel.pk)

    assert "Please measure when you can" in text
    assert "Width : without it no turning bar can be cut." in text
    assert "This wall is drawn once the tunnel's shape, width, ridge and side height are known." in text


def test_both_walls_are_drawn_and_named_by_where_they_face(reader: Client, farm: Farm) -> None:
    tunnel = add_tunnel(farm, code="T04")

    html = reader.get(tunnel.get_absolute_url()).content.decode()

    assert html.count("<svg") == 2
    assert "End wall T04-W in elevation" in html
    assert "End wall T04-E in elevation" in html


def test_wall_without_a_direction_is_named_by_its_end(reader: Client, farm: Farm) -> None:
    tunnel = make_tunnel(farm, code="T04", axis_bearing_deg=None)

    assert "End wall T04-A" in page(reader, "tunnel", farm.slug, tunnel.pk)


def test_opening_without_an_offset_is_listed_though_not_drawn(reader: Client, farm: Farm) -> None:
    tunnel = add_tunnel(farm)
    opening = make_opening(make_wall(tunnel, "A"), code="loose", offset_mm=None)

    text = page(reader, "tunnel", farm.slug, tunnel.pk)

    assert "Not drawn, because the offset from the left corner is missing: loose" in text
    assert reverse("opening", args=[farm.slug, opening.pk]) in reader.get(tunnel.get_absolute_url()).content.decode()


def test_parts_in_service_are_listed_and_removed_ones_are_not(reader: Client, farm: Farm) -> None:
    tunnel = add_tunnel(farm)
    make_component(tunnel, spot="bay 7")
    make_component(the_opening(tunnel), spot="old clamp", removed_on=date(2024, 6, 1), removal_reason="worn")

    text = page(reader, "tunnel", farm.slug, tunnel.pk)

    assert "bay 7" in text
    assert "old clamp" not in text


# Readers -------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["plan", "tunnel", "opening"])
def test_viewer_is_offered_nothing_to_change(client: Client, farm: Farm, name: str) -> None:
    tunnel = add_tunnel(farm)
    client.force_login(make_member(farm, role="viewer").user)
    args = {"plan": [], "tunnel": [tunnel.pk], "opening": [the_opening(tunnel).pk]}[name]

    html = client.get(reverse(name, args=[farm.slug, *args])).content.decode()

    assert not re.search(r'href="[^"]*/(change|new|clone|retire|hang|door|import)/', html)


def test_metric_reader_reads_millimetres(reader: Client, farm: Farm) -> None:
    farm.units = "metric"
    farm.save(update_fields=["units"])
    opening = the_opening(add_tunnel(farm))

    # 254 + 3657.6 + 2743.2 + 342.9 mm
    assert re.search(
        r"Turning bar 1 × 6998 mm|Turning bar 1 × 6,?998 mm", page(reader, "opening", farm.slug, opening.pk)
    )


@pytest.mark.parametrize("name", ["plan", "tunnel", "opening"])
def test_page_carries_no_inline_style_or_script(reader: Client, farm: Farm, name: str) -> None:
    tunnel = add_tunnel(farm)
    args = {"plan": [], "tunnel": [tunnel.pk], "opening": [the_opening(tunnel).pk]}[name]

    html = reader.get(reverse(name, args=[farm.slug, *args])).content.decode()

    assert " style=" not in html
    assert "<style" not in html
    assert not re.search(r"<script(?![^>]*\bsrc=)", html)
    assert not re.search(r"\son[a-z]+=", html)


def test_every_drawing_has_words_for_those_who_cannot_see_it(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))

    html = reader.get(opening.get_absolute_url()).content.decode()

    drawings = re.findall(r"<svg.*?</svg>", html, flags=re.DOTALL)
    assert len(drawings) == 3
    for drawing in drawings:
        assert 'role="img"' in drawing
        assert re.search(r"<title [^>]*>[^<]+</title><desc [^>]*>[^<]+</desc>", drawing)


def test_wall_of_another_farm_is_not_drawn_here(reader: Client, farm: Farm) -> None:
    other = add_tunnel(make_farm())

    assert reader.get(reverse("tunnel", args=[farm.slug, other.pk])).status_code == 404
    assert EndWall.objects.filter(tunnel=other).exists()
