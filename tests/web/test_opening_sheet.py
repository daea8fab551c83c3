"""The opening sheet: what an installer reads, what was refused, what was hung."""

from __future__ import annotations

import re
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from doors.models import Door, Sizing
from doors.services import hang_door, resize_openings
from farm.models import Farm, Opening
from tests.factories import feet, make_opening, make_tunnel, make_wall
from tests.sheets import add_tunnel, page, size, the_opening

pytestmark = pytest.mark.django_db


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


def test_channel_and_wire_are_cut_from_what_the_book_calls_them(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))

    text = page(reader, "opening", farm.slug, opening.pk)

    # 12 ft and the 3 1/2 in face of both studs make 12' 7".
    assert "Film channel on the header 1 × 12' 7\" 6' 6\" + 6' 1\" Film channel, aluminium" in text
    assert "Spring wire, jamb 2 × 8' 0\" 6' 6\" + 1' 6\" Spring wire, coated" in text


def test_a_sheet_kept_by_the_first_core_is_still_shown(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))
    kept = Sizing.objects.filter(opening=opening).latest("number")
    design = kept.inputs["opening"]["design"]
    for part in ("channel", "wire"):
        design[f"{part}_stock_mm"] = design.pop(part)["stock_length_mm"]
    kept.save(update_fields=["inputs"])

    assert "Film channel on the header" in page(reader, "sheet", farm.slug, opening.pk, kept.number)


def test_a_missing_measurement_is_named_once(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))
    Opening.objects.filter(pk=opening.pk).update(offset_mm=None)
    resize_openings(farm=farm)

    text = page(reader, "opening", farm.slug, opening.pk)

    assert text.count("is missing") == 1
    assert "Not checked Jamb studs; Arch over the jambs;" in text


def test_what_was_noted_of_an_opening_its_wall_and_its_tunnel_is_on_the_sheet(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm, code="T07", notes="Lane floods in spring."))
    wall = opening.end_wall
    wall.notes, opening.notes = "Power line above.", "Old post in the ground."
    wall.save(update_fields=["notes"])
    opening.save(update_fields=["notes"])

    sheet = page(reader, "opening", farm.slug, opening.pk)
    tunnel = page(reader, "tunnel", farm.slug, wall.tunnel_id)

    assert f"{opening.code} Old post in the ground. End wall T07-W Power line above." in sheet
    assert "Tunnel T07 Lane floods in spring." in sheet
    for note in ("Lane floods in spring.", "Power line above.", "Old post in the ground."):
        assert tunnel.count(note) == 1


def test_a_sheet_without_notes_has_no_heading_for_them(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))

    assert "Notes" not in page(reader, "opening", farm.slug, opening.pk)


@pytest.mark.parametrize(("kind", "count"), [("mid_bar", 7), ("person", 5)])
def test_the_contents_lead_to_every_section_in_order(reader: Client, farm: Farm, kind: str, count: int) -> None:
    opening = the_opening(add_tunnel(farm))
    width = feet(8 if kind == "mid_bar" else 3)
    Opening.objects.filter(pk=opening.pk).update(kind=kind, rough_width_mm=width, machine_width_mm=None)
    resize_openings(farm=farm)

    html = reader.get(reverse("opening", args=[farm.slug, opening.pk])).content.decode()

    contents = html[html.index('class="contents') :]
    targets = re.findall(r'href="#([a-z-]+)"', contents[: contents.index("</nav>")])
    places = [html.index(f'id="{target}"') for target in targets]
    assert len(targets) == count
    assert places == sorted(places)


def test_what_only_the_steps_drill_and_set_stands_in_both_units_too(reader: Client, farm: Farm) -> None:
    opening = the_opening(add_tunnel(farm))

    html = reader.get(reverse("opening", args=[farm.slug, opening.pk])).content.decode()
    marks = html[html.index('id="marks"') : html.index('id="film"')]

    # 3 in, 2 1/2 in, 24 in and 2 in, at 25.4 mm an inch; paper prints what the tooltip holds.
    figures = re.findall(r'<dd><span class="q" title="([^"]+)">([^<]+)</span></dd>', marks)
    assert figures == [
        ("76 mm", "3&quot;"), ("64 mm", "2 1/2&quot;"), ("610 mm", "24&quot;"), ("51 mm", "2&quot;"),
    ]  # fmt: skip
