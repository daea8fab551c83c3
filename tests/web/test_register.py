"""The register's forms: start small, be led on, lose nothing that was typed."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.urls import reverse

from doors.models import Door, Sizing
from doors.services import hang_door, resize_openings
from farm.models import EndWall, Opening, Tunnel
from tests.factories import feet, inches, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.forms import errors_of, filled_in, post, said

pytestmark = pytest.mark.django_db


# Tunnels --------------------------------------------------------------------------


def test_a_name_is_all_a_new_tunnel_needs(client, farm):
    make_tunnel(farm, code="T12")

    answer = post(client, farm, "tunnel-new", name="North field", status="in_use", storm_posture="closed")

    tunnel = Tunnel.objects.get(name="North field")
    assert answer["Location"] == tunnel.get_absolute_url()
    assert tunnel.code == "T13"
    assert list(tunnel.end_walls.order_by("end").values_list("end", "bearing_deg")) == [("A", None), ("B", None)]


def test_after_a_tunnel_the_next_things_are_a_tap_away(client, farm):
    answer = post(client, farm, "tunnel-new", name="N", status="in_use", storm_posture="closed", axis_bearing_deg="W")

    for wall in EndWall.objects.filter(farm=farm):
        assert reverse("end-wall-change", args=[farm.slug, wall.pk]) in said(answer)
    assert "Describe the W wall" in said(answer)


def test_lengths_are_kept_as_they_were_meant(client, farm):
    post(
        client, farm, "tunnel-new", name="N", status="in_use", storm_posture="closed", shape="gothic", width_mm="30 ft",
        length_mm="29.26 m", ridge_mm="14' 6\"", side_mm="60", axis_bearing_deg="WNW",
    )  # fmt: skip

    tunnel = Tunnel.objects.get()
    assert (tunnel.width_mm, tunnel.length_mm) == (Decimal("9144"), Decimal("29260"))
    assert (tunnel.ridge_mm, tunnel.side_mm) == (Decimal("4419.6"), Decimal("1524"))
    assert dict(tunnel.end_walls.values_list("end", "bearing_deg")) == {"A": Decimal("112.5"), "B": Decimal("292.5")}


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("width", ["2597", "9144", "9143.123456", "0.396875"])
def test_an_edit_that_changes_nothing_changes_nothing(client, units, width):
    farm = make_farm(units=units)
    client.force_login(make_member(farm).user)
    tunnel = make_tunnel(farm, width_mm=Decimal(width), shape="", bow_spacing_mm=Decimal("1219.2"))
    stored = Tunnel.objects.filter(pk=tunnel.pk).values().get()
    url = reverse("tunnel-change", args=[farm.slug, tunnel.pk])

    answer = client.post(url, filled_in(client, url))

    assert answer.status_code == 302
    assert Tunnel.objects.filter(pk=tunnel.pk).values().get() == stored


def test_what_was_typed_is_still_there_when_it_is_refused(client, farm):
    answer = post(client, farm, "tunnel-new", name="N", width_mm="thirty feet", notes="by the creek", status="in_use",
                  storm_posture="closed")  # fmt: skip

    text = answer.content.decode()
    assert "thirty feet" in text
    assert "by the creek" in text
    assert "not a length" in errors_of(answer, "width_mm")
    assert not Tunnel.objects.exists()


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"ridge_mm": "5 ft", "side_mm": "6 ft"}, "side_mm", "The side height is 6' 0\", the ridge 5' 0\""),
        ({"shape": "round", "width_mm": "20 ft", "ridge_mm": "18 ft", "side_mm": "4 ft"}, "ridge_mm", "half its width"),
        ({"width_mm": "0"}, "width_mm", "not above 0"),
        ({"width_mm": "-3 ft"}, "width_mm", "not above 0"),
        ({"width_mm": "nan"}, "width_mm", "not a length"),
        ({"axis_bearing_deg": "up"}, "axis_bearing_deg", "compass point"),
        ({"film_layers": "3"}, "film_layers", "3"),
        ({"code": "T01"}, "code", "taken"),
        ({"status": "retired"}, "status", "retired"),
        ({"shape": "measured", "width_mm": "6", "ridge_mm": "6", "profile_mm": "0;0\n3;5\n6;0"}, "profile_mm", "ridge"),
        ({"shape": "measured", "profile_mm": "0;0\n3 ft;5 ft\n6 ft;0"}, "width_mm", "The profile ends at 6' 0\""),
        ({"shape": "measured", "profile_mm": "0;0\n3 ft;5 ft\n6 ft;0"}, "ridge_mm", "highest point is at 5' 0\""),
    ],
)
def test_impossible_tunnels_are_refused_in_a_sentence(client, farm, data, field, words):
    make_tunnel(farm, code="T01")

    answer = post(client, farm, "tunnel-new", **{"name": "N", "status": "in_use", "storm_posture": "closed", **data})

    assert words in errors_of(answer, field)
    assert Tunnel.objects.count() == 1


def test_a_wall_cannot_shrink_below_its_openings(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)), code="T1-W")
    url = reverse("tunnel-change", args=[farm.slug, opening.end_wall.tunnel_id])

    answer = client.post(url, {**filled_in(client, url), "width_mm": "20 ft", "ridge_mm": "7 ft", "side_mm": "4 ft"})

    # 9 ft offset and 12 ft width reach to 21 ft; the opening is 8 ft high.
    assert "opening T1-W reaches to 21' 0\"" in errors_of(answer, "width_mm")
    assert "opening T1-W reaches up to 8' 0\"" in errors_of(answer, "ridge_mm")


def test_the_end_walls_turn_with_the_axis_and_the_axis_with_a_wall(client, farm):
    tunnel = make_tunnel(farm)
    url = reverse("tunnel-change", args=[farm.slug, tunnel.pk])
    client.post(url, {**filled_in(client, url), "axis_bearing_deg": "N"})
    assert dict(tunnel.end_walls.values_list("end", "bearing_deg")) == {"A": Decimal(180), "B": Decimal(0)}

    url = reverse("end-wall-change", args=[farm.slug, make_wall(tunnel, "A").pk])
    client.post(url, {**filled_in(client, url), "bearing_deg": "E"})

    tunnel.refresh_from_db()
    assert tunnel.axis_bearing_deg == 270
    assert dict(tunnel.end_walls.values_list("end", "bearing_deg")) == {"A": Decimal(90), "B": Decimal(270)}


def test_a_changed_tunnel_sizes_its_doors_again(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    url = reverse("tunnel-change", args=[farm.slug, opening.end_wall.tunnel_id])

    client.post(url, {**filled_in(client, url), "width_mm": "34 ft", "ridge_mm": "16 ft"})

    assert Sizing.objects.filter(opening=opening).count() == 2


def test_a_clone_has_openings_and_designs_but_no_history(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm, code="T04", name="Long", east_mm=feet(10))), code="T04-W")
    resize_openings(farm=farm)
    tube = make_material(farm)
    Door.objects.filter(opening=opening).update(turning_tube=tube, drive_side="left")
    resize_openings(farm=farm)
    hang_door(opening=opening, on=date(2024, 5, 1))

    answer = post(client, farm, "tunnel-clone", opening.end_wall.tunnel_id, name="Long again", code="T05")

    clone = Tunnel.objects.get(code="T05")
    copy = Opening.objects.get(end_wall__tunnel=clone)
    assert answer["Location"] == clone.get_absolute_url()
    assert (clone.width_mm, clone.east_mm, clone.end_walls.count()) == (feet(30), None, 2)
    assert (copy.code, copy.rough_width_mm, copy.end_wall.end) == ("T05-W", feet(12), "B")
    assert (copy.door.turning_tube, copy.door.drive_side) == (tube, "left")
    assert (copy.door.hung_on, copy.door.as_built) == (None, None)
    assert copy.door.sizing is not None


def test_a_retired_tunnel_keeps_its_record_and_can_come_back(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    old = make_opening(make_wall(opening.end_wall.tunnel, "A"), retired_on=date(2020, 1, 1))
    tunnel_id = opening.end_wall.tunnel_id

    post(client, farm, "tunnel-retire", tunnel_id, on="2024-11-01")
    tunnel = Tunnel.objects.get(pk=tunnel_id)
    opening.refresh_from_db()
    assert (tunnel.status, tunnel.retired_on, opening.retired_on) == ("retired", date(2024, 11, 1), date(2024, 11, 1))

    post(client, farm, "tunnel-retire", tunnel_id)
    tunnel.refresh_from_db()
    opening.refresh_from_db()
    old.refresh_from_db()
    assert (tunnel.status, tunnel.retired_on, opening.retired_on) == ("in_use", None, None)
    assert old.retired_on == date(2020, 1, 1)


# Openings -------------------------------------------------------------------------

NEW = {"rough_width_mm": "12 ft", "rough_height_mm": "8 ft", "kind": "mid_bar", "threshold_mm": "0",
       "header_depth_mm": "9 1/4", "drive_side": "right"}  # fmt: skip


def test_an_opening_is_proposed_in_the_middle_before_it_is_saved(client, farm):
    wall = make_wall(make_tunnel(farm, code="T01"))

    shown = post(client, farm, "opening-new", wall.pk, **NEW, offset_mm="", proposed_offset="")
    assert shown.status_code == 200
    assert not Opening.objects.exists()
    # A 12 ft opening in the middle of a 30 ft wall leaves 9 ft on either side.
    assert 'name="offset_mm" value="9&#x27; 0&quot;"' in shown.content.decode()

    saved = post(client, farm, "opening-new", wall.pk, **NEW, offset_mm="9' 0\"", proposed_offset="9' 0\"")

    opening = Opening.objects.get()
    assert saved["Location"] == opening.get_absolute_url()
    assert (opening.code, opening.offset_mm, opening.header_depth_mm) == ("T01-W", feet(9), inches("9.25"))
    assert opening.door.drive_side == "right"
    assert opening.door.sizing.turning_bar_mm is not None


def test_an_offset_somebody_cleared_stays_unknown(client, farm):
    wall = make_wall(make_tunnel(farm))

    post(client, farm, "opening-new", wall.pk, **NEW, offset_mm="", proposed_offset="9' 0\"")

    assert Opening.objects.get().offset_mm is None


def test_a_measured_offset_is_saved_at_once(client, farm):
    wall = make_wall(make_tunnel(farm))

    post(client, farm, "opening-new", wall.pk, **NEW, offset_mm="4 ft", proposed_offset="")

    assert Opening.objects.get().offset_mm == feet(4)


def test_a_proposal_nobody_touched_follows_the_width(client, farm):
    wall = make_wall(make_tunnel(farm))
    wider = {**NEW, "rough_width_mm": "14 ft"}

    shown = post(client, farm, "opening-new", wall.pk, **wider, offset_mm="9' 0\"", proposed_offset="9' 0\"")

    assert shown.status_code == 200
    assert 'name="offset_mm" value="8&#x27; 0&quot;"' in shown.content.decode()
    assert not Opening.objects.exists()


def test_htmx_gets_the_offset_for_the_width_just_typed(client, farm):
    wall = make_wall(make_tunnel(farm))
    url = reverse("opening-new", args=[farm.slug, wall.pk])

    given = {"rough_width_mm": "10 ft", "offset_mm": "", "proposed_offset": ""}
    text = client.get(url, given, headers={"hx-request": "true"}).content.decode()

    assert 'name="offset_mm" value="10&#x27; 0&quot;"' in text
    assert 'name="proposed_offset" id="id_proposed_offset" value="10&#x27; 0&quot;"' in text
    assert "<html" not in text


def test_without_a_width_of_the_wall_nothing_is_proposed(client, farm):
    wall = make_wall(make_tunnel(farm, width_mm=None))

    answer = post(client, farm, "opening-new", wall.pk, **NEW, offset_mm="", proposed_offset="")

    assert answer.status_code == 302
    assert Opening.objects.get().offset_mm is None


@pytest.mark.parametrize(
    ("kind", "where", "proposed"),
    [
        ("mid_bar", "here", "11 1/4"),
        ("bottom_bar", "here", "11 1/4"),  # winds up as the other film door does
        ("mid_bar", "elsewhere", "11 1/4"),
        ("person", "here", "9 1/4"),  # the common board
    ],
)
def test_the_header_is_proposed_after_another_door_of_the_kind(client, farm, kind, where, proposed):
    tunnel = make_tunnel(farm)
    make_opening(
        make_wall(tunnel if where == "here" else make_tunnel(farm)), kind=kind, header_depth_mm=inches("11.25")
    )
    make_opening(make_wall(tunnel), kind="person", rough_width_mm=feet(14), header_depth_mm=inches("5.5"))

    form = client.get(reverse("opening-new", args=[farm.slug, make_wall(tunnel, "A").pk])).context["form"]

    assert form["header_depth_mm"].value() == f'{proposed}"'


def test_a_second_opening_gets_a_code_and_a_place_of_its_own(client, farm):
    wall = make_wall(make_tunnel(farm, code="T04"))
    make_opening(wall, code="T04-W")
    person = {**NEW, "kind": "person", "rough_width_mm": "3 ft", "rough_height_mm": "80 in", "drive_side": ""}

    shown = post(client, farm, "opening-new", wall.pk, **person, offset_mm="", proposed_offset="")
    form = shown.context["form"]
    # What is free is 0 to 9 ft and 21 to 30 ft; 3 ft in the middle of 9 ft begins at 3 ft or at 24 ft.
    assert form["offset_mm"].value() in ("3' 0\"", "24' 0\"")
    assert form["code"].value() == "T04-W2"

    offset = form["offset_mm"].value()
    post(client, farm, "opening-new", wall.pk, **person, offset_mm=offset, proposed_offset=offset, code="T04-W2")

    assert set(Opening.objects.values_list("code", flat=True)) == {"T04-W", "T04-W2"}


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"rough_width_mm": "31 ft"}, "rough_width_mm", "The rough width is 31' 0\", but the wall is 30' 0\" wide"),
        ({"rough_height_mm": "15 ft"}, "rough_height_mm", "The rough height is 15' 0\", but the ridge is 14' 6\""),
        (
            {"offset_mm": "19 ft"},
            "offset_mm",
            "At an offset of 19' 0\" it ends outside the wall. Write at most 18' 0\"",
        ),
        ({"offset_mm": "-1 ft"}, "offset_mm", "below 0"),
        ({"rough_width_mm": ""}, "rough_width_mm", "required"),
        ({"rough_height_mm": "0"}, "rough_height_mm", "not above 0"),
        ({"code": "TAKEN"}, "code", "taken"),
        ({"machine_width_mm": "wide"}, "machine_width_mm", "not a length"),
    ],
)
def test_impossible_openings_are_refused_with_field_value_and_limit(client, farm, data, field, words):
    make_opening(make_wall(make_tunnel(farm)), code="TAKEN")
    wall = make_wall(make_tunnel(farm))

    answer = post(client, farm, "opening-new", wall.pk, **{**NEW, "offset_mm": "5 ft", **data})

    assert words in errors_of(answer, field)
    assert Opening.objects.count() == 1


def test_everything_that_can_be_checked_is_checked_at_once(client, farm):
    wall = make_wall(make_tunnel(farm))

    answer = post(client, farm, "opening-new", wall.pk, **{**NEW, "offset_mm": "99 ft", "rough_height_mm": "eight"})

    assert set(answer.context["form"].errors) == {"rough_height_mm", "offset_mm"}


@pytest.mark.parametrize(
    ("offset", "width", "words"),
    [
        ("6 ft", "4 ft", "Write at most 5' 0\" or at least 21' 0\"."),
        ("2 ft", "9 ft 6", "There is no room for both"),
        ("10 ft", "9 ft", 'Write at most 0" or at least 21\' 0".'),
    ],
)
def test_openings_of_a_wall_do_not_overlap(client, farm, offset, width, words):
    wall = make_wall(make_tunnel(farm))
    make_opening(wall, code="FIRST")  # from 9 ft to 21 ft of 30 ft

    answer = post(client, farm, "opening-new", wall.pk, **{**NEW, "offset_mm": offset, "rough_width_mm": width})

    text = errors_of(answer, "offset_mm")
    assert "it overlaps opening FIRST, which stands from 9' 0\" to 21' 0\"" in text
    assert words in text


def test_openings_that_touch_do_not_overlap(client, farm):
    wall = make_wall(make_tunnel(farm))
    make_opening(wall, offset_mm=feet(0), rough_width_mm=feet(6))

    answer = post(client, farm, "opening-new", wall.pk, **{**NEW, "offset_mm": "6 ft"})

    assert answer.status_code == 302


def test_a_changed_opening_and_its_neighbour_are_sized_again(client, farm):
    wall = make_wall(make_tunnel(farm))
    opening = make_opening(wall, offset_mm=feet(2))
    neighbour = make_opening(wall, kind="person", offset_mm=feet(20), rough_width_mm=feet(3))
    resize_openings(farm=farm)
    url = reverse("opening-change", args=[farm.slug, opening.pk])

    client.post(url, {**filled_in(client, url), "offset_mm": "4 ft"})

    assert Sizing.objects.filter(opening=opening).count() == 2
    assert Sizing.objects.filter(opening=neighbour).count() == 2


def test_a_retired_opening_comes_back_only_where_there_is_room(client, farm):
    wall = make_wall(make_tunnel(farm))
    old = make_opening(wall, retired_on=date(2024, 1, 1))
    new = make_opening(wall, code="NEW")

    refused = post(client, farm, "opening-retire", old.pk)
    old.refresh_from_db()
    assert old.retired_on == date(2024, 1, 1)
    assert "overlaps opening NEW" in refused.content.decode()

    post(client, farm, "opening-retire", new.pk, on="2024-06-01")
    post(client, farm, "opening-retire", old.pk)

    old.refresh_from_db()
    new.refresh_from_db()
    assert (old.retired_on, new.retired_on) == (None, date(2024, 6, 1))


# Doors ----------------------------------------------------------------------------


def test_a_door_is_chosen_from_the_farms_book(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    tube = make_material(farm, name="Heavy tube", diameter_mm=inches("1.9"))
    url = reverse("door-change", args=[farm.slug, opening.pk])

    client.post(url, {**filled_in(client, url), "drive_side": "left", "turning_tube": tube.pk})

    door = Door.objects.get(opening=opening)
    assert (door.drive_side, door.turning_tube) == ("left", tube)
    assert Sizing.objects.filter(opening=opening).count() == 2
    assert door.sizing == Sizing.objects.get(opening=opening, number=2)


def test_a_door_offers_only_materials_of_the_right_kind_that_are_in_the_book(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    make_material(farm, name="Old tube", is_in_book=False)

    form = client.get(reverse("door-change", args=[farm.slug, opening.pk])).context["form"]

    assert set(form.fields["film"].queryset.values_list("kind", flat=True)) == {"film"}
    assert "Old tube" not in form.fields["turning_tube"].queryset.values_list("name", flat=True)


def test_a_hung_door_keeps_its_sheet_while_the_opening_changes(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    post(client, farm, "door-hang", opening.pk, on="2024-05-01")
    url = reverse("opening-change", args=[farm.slug, opening.pk])

    client.post(url, {**filled_in(client, url), "rough_width_mm": "10 ft"})

    door = Door.objects.get(opening=opening)
    assert (door.hung_on, door.as_built.number, door.sizing.number) == (date(2024, 5, 1), 1, 2)


def test_a_door_cannot_hang_tomorrow(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)

    assert "has not come yet" in errors_of(post(client, farm, "door-hang", opening.pk, on="2999-01-01"), "on")


def test_a_refused_door_cannot_be_recorded_as_hung(client, farm):
    opening = make_opening(
        make_wall(make_tunnel(farm)), rough_width_mm=feet(22), offset_mm=feet(4), rough_height_mm=feet(12)
    )
    resize_openings(farm=farm)

    answer = post(client, farm, "door-hang", opening.pk, on="2024-05-01")

    assert "refuses" in errors_of(answer, "__all__")
    assert Door.objects.get(opening=opening).hung_on is None


def test_a_mistaken_hanging_is_undone(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    post(client, farm, "door-hang", opening.pk, on="2024-05-01")

    post(client, farm, "door-hang", opening.pk)

    door = Door.objects.get(opening=opening)
    assert (door.hung_on, door.as_built) == (None, None)


def test_no_form_has_inline_script_or_style(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    wall = opening.end_wall
    urls = [
        ("tunnel-new",), ("tunnel-change", wall.tunnel_id), ("tunnel-clone", wall.tunnel_id), ("door-hang", opening.pk),
        ("tunnel-retire", wall.tunnel_id), ("end-wall-change", wall.pk), ("opening-new", wall.pk), ("material-new",),
        ("opening-change", opening.pk), ("opening-retire", opening.pk), ("door-change", opening.pk), ("parts",),
        ("component-new",), ("sizing-rules",), ("farm-change",), ("import",), ("tunnels",), ("doors",), ("materials",),
    ]  # fmt: skip

    for name, *args in urls:
        text = client.get(reverse(name, args=[farm.slug, *args])).content.decode()
        assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=|hx-on|javascript:", text), name


# Two people at once ---------------------------------------------------------------


class Quicker:
    """Somebody who saves a row just before the first insert into a table."""

    def __init__(self, table: str, save: Callable[[], object]) -> None:
        self.table, self.save, self.has_saved = table, save, False

    def __call__(self, execute: Any, sql: str, *args: Any) -> Any:
        if not self.has_saved and sql.startswith(f'INSERT INTO "{self.table}"'):
            self.has_saved = True
            self.save()
        return execute(sql, *args)


def test_whoever_is_second_with_a_code_is_told_and_loses_nothing(client, farm):
    quicker = Quicker("farm_tunnel", lambda: make_tunnel(farm, code="T01"))

    with connection.execute_wrapper(quicker):
        answer = post(client, farm, "tunnel-new", name="Mine", code="T01", status="in_use", storm_posture="closed")

    assert "at the same moment" in errors_of(answer, "__all__")
    assert answer.context["form"]["name"].value() == "Mine"
    assert not Tunnel.objects.filter(name="Mine").exists()


def test_a_clone_that_comes_second_leaves_nothing_behind(client, farm):
    model = make_opening(make_wall(make_tunnel(farm, code="T01"))).end_wall.tunnel
    quicker = Quicker("farm_tunnel", lambda: make_tunnel(farm, code="T02"))

    with connection.execute_wrapper(quicker):
        answer = post(client, farm, "tunnel-clone", model.pk, name="Copy", code="T02")

    assert "at the same moment" in errors_of(answer, "__all__")
    assert not Tunnel.objects.filter(name="Copy").exists()
    assert Opening.objects.count() == 1


def test_the_door_form_says_what_each_choice_is(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)

    text = client.get(reverse("door-change", args=[farm.slug, opening.pk])).content.decode()

    labels = re.findall(r"<label[^>]*>([^<]+)", text)
    assert labels == [
        "Drive side, seen from outside", "Gearbox", "Tube of the turning bar", "Tube of the sill bar",
        "Tube of the guide post", "Anti-billow tube", "Film", "Film channel", "Spring wire", "Tie rod",
        "Hold-downs, at most apart",
    ]  # fmt: skip


def test_no_choice_is_made_of_dashes(client, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)
    pages = [
        ("tunnel-new",), ("tunnel-change", opening.end_wall.tunnel_id), ("end-wall-change", opening.end_wall_id),
        ("opening-new", opening.end_wall_id), ("opening-change", opening.pk), ("door-change", opening.pk),
        ("component-new",), ("material-new",), ("farm-change",),
    ]  # fmt: skip

    for page, *args in pages:
        text = client.get(reverse(page, args=[farm.slug, *args])).content.decode()
        assert "<option" in text
        assert "---" not in text
