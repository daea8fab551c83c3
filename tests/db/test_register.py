"""Changes of the register that reach the doors, and what the forms propose."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from doors import proposals, register
from doors.book import start_book
from doors.models import Door, Material, Sizing
from doors.services import hang_door, resize_openings
from farm import services
from farm.models import EndWall, Opening, Tunnel
from tests.factories import feet, inches, make_farm, make_material, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db


def revisions(opening: Opening) -> int:
    return Sizing.objects.filter(opening=opening).count()


def sized_opening(**values: object) -> Opening:
    """Make an opening on a farm with a book, sized once."""
    farm = make_farm()
    start_book(farm=farm)
    opening = make_opening(make_wall(make_tunnel(farm)), **values)
    resize_openings(farm=farm)
    return opening


def test_tunnels_get_walls_that_face_along_their_axis():
    farm = make_farm()
    tunnels = [
        Tunnel(farm=farm, code="T01", name="a", axis_bearing_deg=Decimal("292.5")),
        Tunnel(farm=farm, code="T02", name="b", axis_bearing_deg=Decimal("359.99")),
        Tunnel(farm=farm, code="T03", name="c"),
    ]

    services.add_tunnels(tunnels=tunnels)

    walls = EndWall.objects.order_by("tunnel__code", "end").values_list("tunnel__code", "end", "bearing_deg")
    assert list(walls) == [
        ("T01", "A", Decimal("112.5")), ("T01", "B", Decimal("292.5")), ("T02", "A", Decimal("179.99")),
        ("T02", "B", Decimal("359.99")), ("T03", "A", None), ("T03", "B", None),
    ]  # fmt: skip


def test_a_clone_of_a_tunnel_with_odd_codes_finds_free_ones():
    farm = make_farm()
    tunnel = make_tunnel(farm, code="T01")
    for code in ("T01-W", "Barn door", "T01-W2"):
        make_opening(make_wall(tunnel), code=code, offset_mm=None)
    make_opening(make_wall(make_tunnel(farm)), code="T02-W")

    clone = services.clone_tunnel(tunnel=tunnel, code="T02", name="Second")

    # T02-W is taken by another tunnel's door, so the first one moves on; T02-W2 is then taken by the second.
    assert sorted(opening.code for opening in clone.openings.values()) == ["T02-W2", "T02-W3", "T02-W4"]


def test_a_planned_tunnel_is_cloned_as_planned_and_a_retired_one_as_standing():
    farm = make_farm()
    planned = make_tunnel(farm, status="planned")
    retired = make_tunnel(farm, status="retired", retired_on=date(2024, 1, 1))

    assert services.clone_tunnel(tunnel=planned, code="A", name="A").tunnel.status == "planned"
    clone = services.clone_tunnel(tunnel=retired, code="B", name="B").tunnel
    assert (clone.status, clone.retired_on) == ("in_use", None)


def test_only_named_columns_are_saved():
    tunnel = make_tunnel(name="Old")
    Tunnel.objects.filter(pk=tunnel.pk).update(notes="written by somebody else meanwhile")
    tunnel.name, tunnel.notes = "New", ""

    register.change_tunnel(tunnel=tunnel, columns=["name"])

    tunnel.refresh_from_db()
    assert (tunnel.name, tunnel.notes) == ("New", "written by somebody else meanwhile")


def test_a_wall_that_changes_sizes_its_doors_again():
    opening = sized_opening()
    wall = EndWall.objects.select_related("tunnel", "farm").get(pk=opening.end_wall_id)
    wall.stud_face_mm = inches(5)

    register.change_end_wall(end_wall=wall, columns=["stud_face_mm"])

    assert revisions(opening) == 2


def test_nothing_changed_sizes_nothing():
    opening = sized_opening()

    register.change_opening(opening=opening, columns=[])
    register.change_tunnel(tunnel=opening.end_wall.tunnel, columns=[])
    register.change_end_wall(end_wall=opening.end_wall, columns=[])
    register.change_door(door=opening.door, columns=[])
    register.change_material(material=Material.objects.filter(farm=opening.farm).first(), columns=[])

    assert revisions(opening) == 1


def test_a_new_kind_of_door_gets_the_materials_it_lacks_and_keeps_those_chosen():
    opening = sized_opening(kind="person", rough_width_mm=feet(3))
    own_film = make_material(opening.farm, kind="film", thickness_mm=Decimal("0.2"))
    Door.objects.filter(opening=opening).update(film=own_film)
    opening.kind = "mid_bar"

    register.change_opening(opening=opening, columns=["kind"])

    door = Door.objects.get(opening=opening)
    assert door.film == own_film
    assert door.turning_tube.code == "TUBE-1.660"
    assert door.rod is not None


def test_retiring_an_opening_sizes_its_neighbours_again():
    opening = sized_opening(offset_mm=feet(2))
    neighbour = make_opening(opening.end_wall, kind="person", offset_mm=feet(20), rough_width_mm=feet(3))
    resize_openings(farm=opening.farm)
    before = revisions(neighbour)

    register.retire_opening(opening=opening, on=date(2024, 1, 1))

    assert revisions(neighbour) == before + 1


def test_a_hung_door_keeps_its_sheet_while_its_tube_changes():
    opening = sized_opening()
    hang_door(opening=opening, on=date(2024, 5, 1))
    tube = Material.objects.get(farm=opening.farm, code="TUBE-1.660")
    tube.diameter_mm = inches("1.7")

    register.change_material(material=tube, columns=["diameter_mm"])

    door = Door.objects.get(opening=opening)
    assert (door.as_built.number, door.sizing.number) == (1, 2)


def test_framing_is_proposed_from_the_other_wall_then_from_common_timber():
    tunnel = make_tunnel()
    wall = make_wall(tunnel, "A", stud_face_mm=None, stud_depth_mm=None, header_thickness_mm=None)
    assert proposals.framing(wall) == {
        "stud_face_mm": inches("3.5"), "stud_depth_mm": inches("3.5"), "header_thickness_mm": inches(3),
    }  # fmt: skip

    make_wall(tunnel, "B", stud_face_mm=inches("1.5"))

    assert proposals.framing(wall)["stud_face_mm"] == inches("1.5")
    assert proposals.framing(make_wall(tunnel, "B")) == {}


def test_a_header_is_proposed_as_deep_as_over_the_widest_door_of_the_kind():
    wall = make_wall()
    assert proposals.header_depth(wall, "mid_bar") == inches("9.25")

    make_opening(wall, kind="person", rough_width_mm=feet(3), header_depth_mm=inches("3.5"))
    make_opening(wall, header_depth_mm=inches("11.25"))
    make_opening(wall, kind="person", rough_width_mm=feet(3), header_depth_mm=inches("3.5"))

    assert proposals.header_depth(wall, "mid_bar") == inches("11.25")
    assert proposals.header_depth(wall, "person") == inches("3.5")


@pytest.mark.parametrize(
    ("operators", "end", "side"),
    [
        ({}, "B", "right"),
        # Outside the head end one looks back along the tunnel: its left side is on the right.
        ({"has_left_rollup": True, "left_operator_end": "B"}, "B", "left"),
        ({"has_right_rollup": True, "right_operator_end": "B"}, "B", "right"),
        ({"has_right_rollup": True, "right_operator_end": "A"}, "A", "left"),
        ({"has_right_rollup": True, "right_operator_end": "A"}, "B", "right"),
        ({"has_left_rollup": False, "left_operator_end": "B"}, "B", "right"),
    ],
)
def test_the_crank_is_proposed_where_no_side_operator_stands(operators, end, side):
    assert proposals.drive_side(make_wall(make_tunnel(**operators), end)) == side


@pytest.mark.parametrize(("units", "width", "offset"), [("us", "9144.396875", "2743.2"), ("metric", "9145", "2743")])
def test_a_proposed_offset_can_be_read_on_a_tape(units, width, offset):
    wall = make_wall(make_tunnel(make_farm(units=units), width_mm=Decimal(width)))

    # The exact middle is 2743.3984 mm or 2743.7 mm; a tape shows sixteenths of an inch or millimetres.
    assert proposals.offset(wall, feet(12)) == Decimal(offset)
