"""The drawing pages: what they say, to whom, and with how many queries."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from doors.book import start_book
from doors.models import Door, Sizing
from doors.services import hang_door, resize_openings
from doors.views.plan import TUNNELS_PER_PAGE, URGENT_SHOWN
from farm.models import EndWall, Farm, Opening, Tunnel
from tests.factories import feet, make_component, make_farm, make_member, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm() -> Farm:
    """A farm with its book of materials, whose storm wind comes from the west."""
    farm = make_farm(storm_bearing_deg=Decimal(270))
    start_book(farm=farm)
    return farm


@pytest.fixture
def reader(client: Client, farm: Farm) -> Client:
    """A manager of the farm, logged in."""
    client.force_login(make_member(farm).user)
    return client


def add_tunnel(farm: Farm, **values: object) -> Tunnel:
    """Add a tunnel on the plan with a 12 x 8 ft film door in its west wall, drive chosen, sized."""
    number = Tunnel.objects.count()
    place = {"east_mm": feet(0), "north_mm": feet(-60 * number)}
    tunnel = make_tunnel(farm, **{**place, **values})
    opening = make_opening(make_wall(tunnel), machine="cart", machine_width_mm=feet(4), machine_height_mm=feet(4))
    size(opening, drive_side="right")
    return tunnel


def size(opening: Opening, **design: object) -> Door:
    """Size an opening with a design and return its door."""
    resize_openings(farm=opening.farm, opening_ids=[opening.pk])
    Door.objects.filter(opening=opening).update(**design)
    resize_openings(farm=opening.farm, opening_ids=[opening.pk])
    return Door.objects.select_related("sizing").get(opening=opening)


def the_opening(tunnel: Tunnel) -> Opening:
    return Opening.objects.get(end_wall__tunnel=tunnel)


def page(client: Client, name: str, *args: object) -> str:
    """Return a page's text, its runs of white space made one, its entities plain."""
    response = client.get(reverse(name, args=args))
    assert response.status_code == 200
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    return re.sub(r"\s+", " ", text).replace("&#x27;", "'").replace("&quot;", '"').replace("&amp;", "&")


def query_count(client: Client, url: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(url).status_code == 200
    return len(captured)


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


def test_plan_counts_the_wide_doors_that_face_the_storm(reader: Client, farm: Farm) -> None:
    tunnel = add_tunnel(farm)
    make_opening(make_wall(tunnel, "A"), code="lee")
    make_opening(make_wall(tunnel, "A"), code="small", rough_width_mm=feet(3))

    assert "1 of 2 doors 8 ft (2.44 m) and wider face the storm wind from W" in page(reader, "plan", farm.slug)


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
    assert "width : without it no turning bar can be cut." in text
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


# Opening -------------------------------------------------------------------------


def test_installer_reads_the_whole_sheet(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))

    text = page(reader, "opening", farm.slug, opening.pk)

    # 12 ft opening 9 ft from the left corner of a 30 ft wall, drive on the right: 10 in + 12 ft + 9 ft + 13 1/2 in.
    assert "Turning bar 1 × 22' 11 1/2\"" in text
    for heading in (
        "Cut list",
        "Marks and drilling",
        "Hardware",
        "Film and roll",
        "Order of work",
        "Checks",
        "Cautions",
    ):
        assert heading in text
    assert "WARNING" in text
    assert "A closed film door is not an exit." in text
    assert "Local codes and licensed practice come first." in text


def test_refused_door_says_why_and_what_fits_and_lists_nothing_to_cut(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))
    opening.rough_height_mm = feet(12)
    opening.save(update_fields=["rough_height_mm"])
    resize_openings(farm=farm)

    text = page(reader, "opening", farm.slug, opening.pk)

    assert "Refused" in text
    assert "too low" in text
    assert "Sizes that fit here: 12' 0\" ×" in text
    assert "nothing should be cut for a size that was refused" in text
    assert "Cut list " not in text.replace("No cut list", "")


def test_missing_input_is_named_with_what_it_blocks(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))
    opening.offset_mm = None
    opening.save(update_fields=["offset_mm"])
    resize_openings(farm=farm)

    text = page(reader, "opening", farm.slug, opening.pk)

    assert "Measurements missing" in text
    assert re.search(r"Offset from the wall's left corner is missing; it blocks: [^.]*turning bar", text)


def test_hung_door_shows_the_sheet_it_was_hung_by_and_what_would_differ(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))
    hang_door(opening=opening, on=date(2024, 5, 1))
    hung_by = Door.objects.get(opening=opening).as_built
    assert hung_by is not None
    opening.rough_width_mm = feet(13)
    opening.save(update_fields=["rough_width_mm"])
    resize_openings(farm=farm)

    text = page(reader, "opening", farm.slug, opening.pk)

    assert f"Hung on 2024-05-01 by revision {hung_by.number}, which is shown here and never changes." in text
    assert f"revision {hung_by.number + 1} would differ in: " in text
    assert "Turning bar 1 × 22' 11 1/2\"" in text  # as hung: the offset stayed, so only the width moved the free end


def test_old_revision_is_shown_as_it_was_and_only_for_reading(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))
    first = Sizing.objects.filter(opening=opening).latest("number")
    opening.rough_height_mm = feet(9)
    opening.save(update_fields=["rough_height_mm"])
    resize_openings(farm=farm)

    html = reader.get(reverse("sheet", args=[farm.slug, opening.pk, first.number])).content.decode()

    assert f"Revision {first.number}, made on" in html
    assert "12&#x27; 0&quot; × 8&#x27; 0&quot;" in re.sub(r"</?span[^>]*>", "", html)
    assert reverse("opening-change", args=[farm.slug, opening.pk]) not in html


def test_unknown_revision_is_not_found(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))

    assert reader.get(reverse("sheet", args=[farm.slug, opening.pk, 99])).status_code == 404


def test_opening_never_sized_says_so(reader: Client, farm: Farm) -> None:
    opening = make_opening(make_wall(make_tunnel(farm)))

    assert "This opening has not been sized yet." in page(reader, "opening", farm.slug, opening.pk)


def test_opening_the_core_cannot_take_names_field_and_limit(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))
    opening.rough_width_mm, opening.offset_mm = feet(40), None
    opening.save(update_fields=["rough_width_mm", "offset_mm"])
    resize_openings(farm=farm)

    text = page(reader, "opening", farm.slug, opening.pk)

    assert "Refused" in text
    assert "Rough width is 40' 0\" but must be at most 30' 0\"." in text


@pytest.mark.parametrize("kind", [kind for kind in Opening.Kind.values if kind not in ("mid_bar", "bottom_bar")])
def test_other_kinds_have_the_same_page_without_film(reader: Client, farm: Farm, kind: str) -> None:
    opening = make_opening(make_wall(make_tunnel(farm)), kind=kind, rough_width_mm=feet(4), rough_height_mm=feet(7))
    size(opening)

    text = page(reader, "opening", farm.slug, opening.pk)

    assert "Order of work" in text
    assert "Film and roll" not in text


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
