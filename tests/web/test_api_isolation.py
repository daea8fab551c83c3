"""Another farm's rows do not exist for a program either: every route of the API is walked.

A new route fails ``test_every_route_is_listed_here`` until somebody says what it takes and who may use it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pytest
from django.core import serializers
from django.utils import timezone

from doors.models import Component, Door, Sizing, StockMove
from doors.services import resize_openings
from farm.api.describing import description
from farm.api.root import api
from farm.models import EndWall, Farm, Opening, Tunnel
from maintenance.models import Job, Plan, Repair, Storm, StormTask
from tests.api_client import Program, program_of
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.hands_rows import make_storm, make_task
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db
ROLES = ("viewer", "crew", "manager")
TODAY = timezone.now().date().isoformat()


@dataclass(frozen=True)
class Route:
    """Who may use a route, and a body that it takes; words such as ``opening`` stand for ids."""

    role: str = "viewer"
    scope: str = "read"
    body: dict[str, Any] | None = None
    rows: dict[str, str] = field(default_factory=dict)  # keys of the body that name rows: which
    answers: int = 200


def changes(role: str, body: dict[str, Any] | None = None, answers: int = 200, **rows: str) -> Route:
    """Return a route that changes something."""
    return Route(role, "write", body, rows, answers)


OPENING = {"rough_width_mm": 1000, "rough_height_mm": 2000, "kind": "person", "offset_mm": 100}
FIGURES = {"kind": "mid_bar", "rough_width_mm": 3657.6, "rough_height_mm": 2438.4}
REPLACED = {"replaced_on": TODAY, "reason": "worn"}
FAULT = {"part": "clamp", "mode": "loose"}
FITTED = {"kind": "clamp", "fitted_on": TODAY}
AT = "/farms/{farm}"
ROUTES = {
    f"GET {AT}": Route(),
    f"GET {AT}/tunnels": Route(),
    f"POST {AT}/tunnels": changes("manager", {"name": "North"}, 201),
    f"GET {AT}/tunnels/{{tunnel}}": Route(),
    f"PATCH {AT}/tunnels/{{tunnel}}": changes("manager", {"notes": "x"}),
    f"GET {AT}/end-walls": Route(),
    f"GET {AT}/end-walls/{{end_wall}}": Route(),
    f"PATCH {AT}/end-walls/{{end_wall}}": changes("manager", {"notes": "x"}),
    f"GET {AT}/openings": Route(),
    f"POST {AT}/openings": changes("manager", OPENING, 201, end_wall_id="end_wall"),
    f"GET {AT}/openings/{{opening}}": Route(),
    f"PATCH {AT}/openings/{{opening}}": changes("manager", {"notes": "x"}),
    f"GET {AT}/openings/{{opening}}/sizing": Route(),
    f"POST {AT}/sizings": Route(body=FIGURES),
    f"GET {AT}/components": Route(),
    f"POST {AT}/components": changes("crew", FITTED, 201, opening_id="opening", material_id="material"),
    f"GET {AT}/components/{{component}}": Route(),
    f"POST {AT}/components/{{component}}/remove": changes("crew", {"removed_on": TODAY, "reason": "worn"}),
    f"POST {AT}/components/{{component}}/replace": changes("crew", REPLACED, 201, material_id="material"),
    f"GET {AT}/jobs": Route(),
    f"GET {AT}/jobs/{{job}}": Route(),
    f"POST {AT}/jobs/{{job}}/start": changes("crew"),
    f"POST {AT}/jobs/{{job}}/done": changes("crew", {}),
    f"POST {AT}/jobs/{{job}}/skip": changes("crew", {"reason": "no need"}),
    f"GET {AT}/repairs": Route(),
    f"POST {AT}/repairs": changes("crew", FAULT, 201, opening_id="opening"),
    f"GET {AT}/repairs/{{repair}}": Route(),
    f"POST {AT}/repairs/{{repair}}/mend": changes("crew", {}),
    f"GET {AT}/storms": Route(),
    f"GET {AT}/storms/{{storm}}": Route(),
    f"POST {AT}/storms/{{storm}}/tasks/{{task}}/tick": changes("crew", {}),
}
WITHOUT_FARM = {"GET /farms"}
# Other rows that bodies and filters can name; each is tried with another farm's id below.
NAMED_IN_BODIES = {
    f"POST {AT}/components": (FITTED, {"tunnel_id": "tunnel", "end_wall_id": "end_wall"}),
    f"POST {AT}/repairs": (FAULT, {"tunnel_id": "tunnel", "end_wall_id": "end_wall", "component_id": "component"}),
}
FILTERS = {
    "end-walls": {"tunnel_id": "tunnel"},
    "openings": {"tunnel_id": "tunnel", "end_wall_id": "end_wall"},
    "components": {"tunnel_id": "tunnel", "end_wall_id": "end_wall", "opening_id": "opening"},
    "jobs": {"tunnel_id": "tunnel", "opening_id": "opening"},
    "repairs": {"tunnel_id": "tunnel", "opening_id": "opening"},
}


@dataclass(frozen=True)
class Rows:
    """A farm with one of everything the API shows."""

    farm: Farm
    ids: dict[str, int]

    def ask(self, program: Program, name: str, rows: Rows | None = None, **headers: str) -> Any:
        """Ask for a route of this farm with the ids of these rows, its own by default."""
        method, _space, path = name.partition(" ")
        route, ids = ROUTES[name], (rows or self).ids
        body = None if route.body is None else route.body | {key: ids[row] for key, row in route.rows.items()}
        path = path.format(farm=self.farm.slug, **ids)
        if method == "PATCH":
            headers = {"if_match": "*", **headers}
        return program.ask(method, path, body, **headers)


def make_rows(code: str) -> Rows:
    farm = make_farm(name=f"Farm {code}", slug=f"farm-{code}".lower())
    tunnel = make_tunnel(farm, code=code, name=f"Tunnel {code}")
    wall = make_wall(tunnel)
    opening = make_opening(wall, code=f"{code}-W")
    resize_openings(farm=farm)
    routine = make_routine(farm)
    storm = make_storm(farm)
    repair = Repair.objects.create(farm=farm, part="clamp", mode="loose", found_on="2026-01-05", opening=opening)
    rows = {
        "tunnel": tunnel, "end_wall": wall, "opening": opening, "component": make_component(opening),
        "material": make_material(farm), "job": make_job(make_plan(routine, opening)), "repair": repair,
        "storm": storm, "task": make_task(storm, tunnel=tunnel, opening=opening),
    }  # fmt: skip
    return Rows(farm, {name: row.pk for name, row in rows.items()})


@pytest.fixture
def ours() -> Rows:
    return make_rows("OURS")


@pytest.fixture
def theirs() -> Rows:
    for _ in range(4):  # so that no id of theirs is by chance one of ours
        make_component(make_opening(make_wall(make_tunnel())))
    other = make_farm()
    for number in range(3):
        make_job(make_plan(make_routine(other), make_tunnel(other)))
        make_material(other)
        Repair.objects.create(farm=other, part="clamp", mode="loose", found_on="2026-01-05")
        make_task(make_storm(make_farm(slug=f"more-{number}")))
    return make_rows("THEIRS")


def kept(farm: Farm) -> str:
    """Return what the database holds of a farm, as text."""
    models = (Tunnel, EndWall, Opening, Door, Sizing, Component, StockMove, Plan, Job, Repair, Storm)
    rows = [row for model in models for row in model.objects.filter(farm=farm).order_by("pk")]
    return serializers.serialize("json", [farm, *rows, *StormTask.objects.filter(storm__farm=farm).order_by("pk")])


def listed() -> set[str]:
    """Return every operation that the API serves, by method and address."""
    return {
        f"{method} /{path}".replace("//", "/")
        for bound in api._get_bound_routers()
        for path, view in bound.path_operations.items()
        for operation in view.operations
        for method in operation.methods
        if method != "HEAD"
    }


def shape(name: str) -> str:
    """Return a route as the API spells it, whatever its ids are called."""
    parts = name.split("/")
    ids = iter(["{int:pk}", "{int:task_pk}"])
    return "/".join(
        "{slug:farm}" if part == "{farm}" else next(ids) if part.startswith("{") else part for part in parts
    )


def test_every_route_is_listed_here():
    assert listed() == {shape(name) for name in ROUTES} | WITHOUT_FARM


def test_every_route_asks_for_the_role_and_the_scope_written_here():
    asked = {
        f"{method} /{path}".replace("//", "/"): (operation.auth_callbacks[0].role, operation.auth_callbacks[0].scope)
        for bound in api._get_bound_routers()
        for path, view in bound.path_operations.items()
        for operation in view.operations
        for method in operation.methods
        if method != "HEAD"
    }

    assert asked == {shape(name): (route.role, route.scope) for name, route in ROUTES.items()} | dict.fromkeys(
        WITHOUT_FARM, ("viewer", "read")
    )


def test_the_description_has_every_route():
    found = {
        f"{method.upper()} {path.removeprefix('/api/v1')}"
        for path, methods in description()["paths"].items()
        for method in methods
    }

    assert found == {name.replace("{slug:", "{").replace("{int:", "{") for name in listed()}


@pytest.mark.parametrize("name", ROUTES)
def test_every_route_answers_its_own_farm(ours, name):
    answer = ours.ask(program_of(ours.farm, ROUTES[name].role, ROUTES[name].scope), name)

    assert answer.status_code == ROUTES[name].answers, answer.content


@pytest.mark.parametrize("name", ROUTES)
def test_another_farm_does_not_exist(ours, theirs, name):
    program, before = program_of(ours.farm), kept(theirs.farm)

    answer = theirs.ask(program, name)

    assert (answer.status_code, answer["Content-Type"]) == (404, "application/problem+json")
    assert "THEIRS" not in answer.content.decode()
    assert kept(theirs.farm) == before


@pytest.mark.parametrize("name", [name for name in ROUTES if name.count("{") > 1])
def test_another_farms_row_does_not_exist_on_ours(ours, theirs, name):
    program, before = program_of(ours.farm), kept(theirs.farm)

    answer = ours.ask(program, name, theirs)

    assert answer.status_code == 404
    assert kept(theirs.farm) == before


def test_a_task_of_another_storm_does_not_exist(ours, theirs):
    path = f"/farms/{ours.farm.slug}/storms/{ours.ids['storm']}/tasks/{theirs.ids['task']}/tick"

    assert program_of(ours.farm).post(path, {}).status_code == 404


@pytest.mark.parametrize("name", [name for name, route in ROUTES.items() if route.rows])
def test_a_body_names_no_row_of_another_farm(ours, theirs, name):
    program, before = program_of(ours.farm), (kept(ours.farm), kept(theirs.farm))
    mixed = {row: theirs.ids[row] for row in ROUTES[name].rows.values()}

    for row in mixed:
        answer = ours.ask(program, name, Rows(ours.farm, ours.ids | {row: mixed[row]}))
        assert answer.status_code == 422, (row, answer.content)

    assert (kept(ours.farm), kept(theirs.farm)) == before


@pytest.mark.parametrize("name", NAMED_IN_BODIES)
def test_a_body_names_no_place_of_another_farm(ours, theirs, name):
    program, (body, rows) = program_of(ours.farm), NAMED_IN_BODIES[name]
    path = name.partition(" ")[2].format(farm=ours.farm.slug)

    for key, row in rows.items():
        assert program.post(path, body | {key: theirs.ids[row]}).status_code == 422, key
        assert program.post(path, body | {key: ours.ids[row]}).status_code == 201, key


@pytest.mark.parametrize("things", FILTERS)
def test_a_filter_finds_no_row_of_another_farm(ours, theirs, things):
    program = program_of(ours.farm)

    for key, row in FILTERS[things].items():
        found = program.get(f"/farms/{ours.farm.slug}/{things}?{key}={theirs.ids[row]}")
        assert (found.status_code, found.json()["items"]) == (200, [])


def test_the_list_of_farms_holds_ones_own_only(ours, theirs):
    assert [each["slug"] for each in program_of(ours.farm).get("/farms").json()["items"]] == [ours.farm.slug]


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("name", ROUTES)
def test_a_route_opens_to_its_role_and_above_only(ours, name, role):
    before = kept(ours.farm)

    answer = ours.ask(program_of(ours.farm, role), name)

    is_allowed = ROLES.index(role) >= ROLES.index(ROUTES[name].role)
    assert answer.status_code == (ROUTES[name].answers if is_allowed else 403), answer.content
    if not is_allowed:
        assert answer["Content-Type"] == "application/problem+json"
        assert kept(ours.farm) == before


@pytest.mark.parametrize("name", [name for name, route in ROUTES.items() if route.scope == "write"])
def test_a_key_that_reads_changes_nothing_whoever_holds_it(ours, name):
    before = kept(ours.farm)

    answer = ours.ask(program_of(ours.farm, "manager", "read"), name)

    assert answer.status_code == 403
    assert kept(ours.farm) == before


@pytest.mark.parametrize("name", ROUTES)
def test_a_cookie_opens_nothing(ours, client, name):
    client.force_login(make_member(ours.farm, "manager").user)
    method, _space, path = name.partition(" ")
    before = kept(ours.farm)

    answer = client.generic(method, "/api/v1" + path.format(farm=ours.farm.slug, **ours.ids), b"{}", "application/json")

    assert answer.status_code == 401
    assert answer["WWW-Authenticate"].startswith("Bearer")
    assert kept(ours.farm) == before


def test_whoever_left_the_farm_finds_it_no_more(ours):
    member = make_member(ours.farm, "manager")
    program = Program(member.user)
    assert program.get(f"/farms/{ours.farm.slug}").status_code == 200

    member.delete()

    assert program.get(f"/farms/{ours.farm.slug}").status_code == 404
