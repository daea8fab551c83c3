"""The API asked by a general-purpose library for what its own description allows and forbids."""

from __future__ import annotations

from typing import Any

import hypothesis
import pytest
import schemathesis
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.test import override_settings
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance

from doors.services import resize_openings
from farm.api.pace import PACE
from farm.models import Farm
from maintenance.models import Repair
from tests.api_client import program_of
from tests.factories import make_component, make_farm, make_material, make_opening, make_tunnel, make_wall
from tests.hands_rows import make_storm, make_task
from tests.upkeep_rows import make_job, make_plan, make_routine

ROWS = 5  # of each kind: what is finished or removed cannot be so again
EXAMPLES = 8  # of each operation, beside those that the library works out from the limits of every field


def make_rows(farm: Farm) -> dict[str, list[int]]:
    """Make rows for ids to meet; return them by the word that stands before the id in an address."""
    storm = make_storm(farm)
    make_material(farm)
    found: dict[str, list[int]] = {"storms": [storm.pk]}
    for _ in range(ROWS):
        tunnel = make_tunnel(farm)
        wall = make_wall(tunnel)
        opening = make_opening(wall)
        rows = {
            "tunnels": tunnel, "end-walls": wall, "openings": opening, "components": make_component(opening),
            "jobs": make_job(make_plan(make_routine(farm), opening)),
            "repairs": Repair.objects.create(farm=farm, part="clamp", mode="loose", found_on="2026-01-05"),
            "tasks": make_task(storm, tunnel=tunnel, opening=opening),
        }  # fmt: skip
        for name, row in rows.items():
            found.setdefault(name, []).append(row.pk)
    resize_openings(farm=farm)
    return found


@pytest.fixture
def world(db: None) -> Any:
    """Return a key's header and the rows that a farm has."""
    farm = make_farm(slug="hollow")
    rows = make_rows(farm)
    program = program_of(farm)
    PACE.forget()
    with override_settings(API_PER_MINUTE=10**9):
        yield {"Authorization": f"Bearer {program.token}"}, rows


settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # the application looks for it as soon as it is made
schema = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", get_wsgi_application())


def lead_to_rows(case: Any, rows: dict[str, list[int]], turn: int) -> None:
    """Put ids of rows that exist where the library made up ids that may be, and let changes through."""
    meta = case.meta.components if case.meta else {}
    is_negative = {str(place.value): part.mode == GenerationMode.NEGATIVE for place, part in meta.items()}
    if case.path_parameters and not is_negative.get("path_parameters", is_negative.get("path", False)):
        words = case.operation.path.split("/")
        for name in case.path_parameters:
            if name == "farm":
                case.path_parameters[name] = "hollow"
            elif turn % 4:
                known = rows[words[words.index(f"{{{name}}}") - 1]]
                case.path_parameters[name] = known[turn % len(known)]
    if case.method == "PATCH" and not is_negative.get("headers", is_negative.get("header", False)):
        case.headers["If-Match"] = "*"


@schema.parametrize()
@hypothesis.settings(
    max_examples=EXAMPLES, derandomize=True, deadline=None, database=None,
    suppress_health_check=list(hypothesis.HealthCheck),
)  # fmt: skip
def test_the_api_does_what_its_description_says(case: Any, world: Any, turns: list[int]) -> None:
    headers, rows = world
    turns[0] += 1
    lead_to_rows(case, rows, turns[0])

    response = case.call(headers=headers)

    # What a form refuses, no schema can say: a door wider than its wall has the right type.
    case.validate_response(response, headers=headers, excluded_checks=[positive_data_acceptance])
    assert response.status_code < 500


@pytest.fixture
def turns() -> list[int]:
    """Count the examples of a test, so that each meets another row."""
    return [0]
