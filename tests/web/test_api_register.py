"""Farms, tunnels, end walls, openings and sizings by the API."""

from __future__ import annotations

import pytest

from doors.codec import from_plain
from doors.models import Door, Sizing
from doors.services import change_rules, resize_openings
from doors.sheets import size_json
from doors.sizing import Rules
from farm.models import EndWall, Opening, Tunnel
from tests.api_client import Program, program_of
from tests.factories import make_farm, make_member, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm():
    return make_farm(name="Hollow Farm", slug="hollow", units="us")


@pytest.fixture
def program(farm):
    return program_of(farm)


def test_the_farms_one_belongs_to_are_listed_with_ones_role(farm):
    person = make_member(farm, "crew").user
    other = make_farm(name="Second", slug="second")
    make_member(other, "viewer", user=person)
    make_farm(slug="of-somebody-else")

    found = Program(person, "read").get("/farms").json()

    assert [(each["slug"], each["role"]) for each in found["items"]] == [("hollow", "crew"), ("second", "viewer")]
    assert found["next_cursor"] is None


def test_a_tunnel_needs_no_more_than_its_name_and_brings_its_end_walls(program):
    answer = program.post("/farms/hollow/tunnels", {"name": "North", "axis_bearing_deg": 270})

    assert answer.status_code == 201
    tunnel = Tunnel.objects.get(name="North")
    assert answer["Location"] == f"/api/v1/farms/hollow/tunnels/{tunnel.pk}"
    assert (
        program.client.get(answer["Location"], headers={"authorization": f"Bearer {program.token}"}).json()
        == answer.json()
    )
    walls = program.get(f"/farms/hollow/end-walls?tunnel_id={tunnel.pk}").json()["items"]
    assert [(wall["end"], wall["bearing_deg"]) for wall in walls] == [("A", 90.0), ("B", 270.0)]


def test_millimetres_come_back_as_they_were_sent(program):
    sizes = {"width_mm": 9144.396875, "ridge_mm": 4419.6, "side_mm": 0, "east_mm": -1200.5, "bow_spacing_mm": 1219.2}

    tunnel = program.post("/farms/hollow/tunnels", {"name": "North", **sizes}).json()

    assert {name: tunnel[name] for name in sizes} == sizes
    assert str(Tunnel.objects.get().width_mm) == "9144.396875"


def test_a_measured_profile_comes_back_as_it_was_sent(program):
    profile = [[0, 0], [10, 1200.5], [3000, 3600], [5990, 1200.5], [6000, 0]]
    body = {"name": "North", "shape": "measured", "profile_mm": profile, "width_mm": 6000, "ridge_mm": 3600}

    answer = program.post("/farms/hollow/tunnels", body)

    assert answer.status_code == 201, answer.content
    assert answer.json()["profile_mm"] == profile


def test_a_change_touches_what_the_body_names_only(program, farm):
    tunnel = make_tunnel(farm, notes="  keep this  ", film_layers=2, has_left_rollup=True, left_operator_end="A")
    before = program.get(f"/farms/hollow/tunnels/{tunnel.pk}").json()

    answer = program.patch(f"/farms/hollow/tunnels/{tunnel.pk}", {"shelter": "half", "has_left_rollup": False})

    assert answer.status_code == 200, answer.content
    assert answer.json() == before | {"shelter": "half", "has_left_rollup": False}


def test_null_says_that_a_measurement_is_not_known(program, farm):
    tunnel = make_tunnel(farm)

    answer = program.patch(f"/farms/hollow/tunnels/{tunnel.pk}", {"length_mm": None, "shelter": ""})

    assert (answer.status_code, answer.json()["length_mm"], answer.json()["shelter"]) == (200, None, None)


def test_what_the_form_refuses_is_refused_with_its_sentence_and_its_place(program, farm):
    tunnel = make_tunnel(farm)

    answer = program.patch(f"/farms/hollow/tunnels/{tunnel.pk}", {"ridge_mm": 1000})

    assert (answer.status_code, answer["Content-Type"]) == (422, "application/problem+json")
    problem = answer.json()
    assert (problem["status"], [each["pointer"] for each in problem["errors"]]) == (422, ["#/side_mm"])
    assert "mm" in problem["errors"][0]["detail"]
    assert Tunnel.objects.get(pk=tunnel.pk).ridge_mm == tunnel.ridge_mm


def test_a_taken_code_is_refused(program, farm):
    make_tunnel(farm, code="T07")

    answer = program.post("/farms/hollow/tunnels", {"name": "North", "code": "T07"})

    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "#/code")


def test_a_retired_tunnel_is_not_brought_back_by_its_status(program, farm):
    tunnel = make_tunnel(farm, status="retired", retired_on="2026-01-01")

    answer = program.patch(f"/farms/hollow/tunnels/{tunnel.pk}", {"status": "in_use"})

    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "#/status")


def test_an_end_wall_that_turns_turns_the_tunnel_and_the_other_wall(program, farm):
    wall = make_wall(make_tunnel(farm), end="B")

    answer = program.patch(f"/farms/hollow/end-walls/{wall.pk}", {"bearing_deg": 292.5, "covering": "boards"})

    assert answer.status_code == 200, answer.content
    assert (answer.json()["bearing_deg"], answer.json()["covering"]) == (292.5, "boards")
    assert float(EndWall.objects.get(tunnel=wall.tunnel, end="A").bearing_deg) == 112.5
    assert float(Tunnel.objects.get(pk=wall.tunnel_id).axis_bearing_deg) == 292.5


def test_a_new_opening_gets_a_code_a_door_and_a_sizing(program, farm):
    wall = make_wall(make_tunnel(farm, code="T01"))
    body = {"end_wall_id": wall.pk, "rough_width_mm": 3657.6, "rough_height_mm": 2438.4, "offset_mm": 2743.2,
            "threshold_mm": 0, "header_depth_mm": 234.95, "drive_side": "left"}  # fmt: skip

    answer = program.post("/farms/hollow/openings", body)

    assert answer.status_code == 201, answer.content
    opening = Opening.objects.get(pk=answer.json()["id"])
    assert opening.code.startswith("T01-W")
    assert Door.objects.get(opening=opening).drive_side == "left"
    sizing = program.get(f"/farms/hollow/openings/{opening.pk}/sizing")
    assert sizing.status_code == 200
    assert (sizing.json()["opening_id"], sizing.json()["revision"]) == (opening.pk, 1)
    assert sizing.json()["inputs"]["opening"]["rough_width_mm"] == 3657.6


def test_an_opening_that_is_changed_is_sized_again(program, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    resize_openings(farm=farm)

    answer = program.patch(f"/farms/hollow/openings/{opening.pk}", {"rough_height_mm": 2400})

    assert answer.status_code == 200, answer.content
    assert list(Sizing.objects.filter(opening=opening).order_by("number").values_list("number", flat=True)) == [1, 2]
    assert program.get(f"/farms/hollow/openings/{opening.pk}/sizing").json()["revision"] == 2


def test_an_opening_wider_than_its_wall_is_refused(program, farm):
    wall = make_wall(make_tunnel(farm))

    answer = program.post(
        "/farms/hollow/openings", {"end_wall_id": wall.pk, "rough_width_mm": 20000, "rough_height_mm": 2400}
    )

    assert answer.status_code == 422
    assert not Opening.objects.filter(end_wall=wall).exists()


def test_openings_are_narrowed_to_a_wall_a_kind_and_those_in_use(program, farm):
    wall, other = make_wall(make_tunnel(farm)), make_wall(make_tunnel(farm))
    film = make_opening(wall)
    person = make_opening(wall, kind="person", rough_width_mm=900, rough_height_mm=2000, offset_mm=300)
    gone = make_opening(other, retired_on="2025-05-05")

    def ids(query):
        return [each["id"] for each in program.get(f"/farms/hollow/openings?{query}").json()["items"]]

    assert ids(f"end_wall_id={wall.pk}") == [film.pk, person.pk]
    assert ids("kind=person") == [person.pk]
    assert ids("in_use=false") == [gone.pk]
    assert ids(f"tunnel_id={other.tunnel_id}&in_use=true") == []


def test_figures_are_sized_without_a_row_by_a_key_that_only_reads(farm):
    program = program_of(farm, "viewer", "read")

    answer = program.post(
        "/farms/hollow/sizings", {"kind": "mid_bar", "rough_width_mm": 3657.6, "rough_height_mm": 2438.4}
    )

    assert answer.status_code == 200, answer.content
    assert answer.json()["verdict"] == "blocked"  # nothing is said of the wall and the tubes
    assert not Sizing.objects.exists()


def test_figures_that_no_door_has_are_refused_at_their_place(farm):
    program = program_of(farm, "viewer", "read")

    answer = program.post("/farms/hollow/sizings", {"kind": "mid_bar", "rough_width_mm": -3, "rough_height_mm": 2438.4})

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "#/rough_width_mm"


@pytest.mark.parametrize(
    ("rules", "pointer"),
    [({"support_spacing_mm": 0}, "#/rules/support_spacing_mm"), ({"odd": 1}, "#/rules/odd"), ([], "#/rules")],
)
def test_rules_that_nobody_can_work_by_are_refused_at_their_place(farm, rules, pointer):
    program = program_of(farm, "viewer", "read")
    figures = {"kind": "mid_bar", "rough_width_mm": 3657.6, "rough_height_mm": 2438.4, "rules": rules}

    answer = program.post("/farms/hollow/sizings", figures)

    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, pointer)


def test_figures_are_sized_by_the_farms_rules_and_ones_own_beside_them(farm):
    program = program_of(farm, "viewer", "read")
    figures = {"kind": "mid_bar", "rough_width_mm": 3657.6, "rough_height_mm": 2438.4}
    spacing = {"clamp_spacing_mm": 300}

    change_rules(farm=farm, rules=from_plain(Rules, spacing))
    by_farm = program.post("/farms/hollow/sizings", figures).json()
    by_ours = program.post("/farms/hollow/sizings", figures | {"rules": {"clamp_spacing_mm": 600}}).json()

    assert by_farm == size_json(figures | {"rules": spacing})
    assert by_ours == size_json(figures | {"rules": {"clamp_spacing_mm": 600}})


def test_an_opening_never_sized_has_no_sizing(program, farm):
    opening = make_opening(make_wall(make_tunnel(farm)))

    assert program.get(f"/farms/hollow/openings/{opening.pk}/sizing").status_code == 404
