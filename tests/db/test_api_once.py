"""One change asked for by many at once is made once, and of many who saw the same state one gets through."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from farm.models import Tunnel
from tests.api_client import Program, program_of
from tests.factories import make_farm, make_tunnel

pytestmark = pytest.mark.skipif(
    "TEST_DATABASE_URL" not in os.environ,
    reason="a database in memory refuses whoever comes second; tests/system asks the started program the same",
)
TUNNELS = "/farms/hollow/tunnels"
AT_ONCE = 4


def at_once(program: Program, ask: Callable[[Program], Any]) -> list[Any]:
    """Return what each of several threads was answered that asked at the same moment."""
    ready, answers = threading.Barrier(AT_ONCE), []

    def work() -> None:
        ready.wait()
        try:
            answers.append(ask(program))
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(AT_ONCE)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    return answers


@pytest.fixture
def program(transactional_db: None) -> Program:
    return program_of(make_farm(slug="hollow"))


def test_of_many_with_one_key_one_changes_and_all_get_its_answer(program):
    answers = at_once(program, lambda it: it.post(TUNNELS, {"name": "North"}, idempotency_key="a-1"))

    assert [answer.status_code for answer in answers] == [201] * AT_ONCE
    assert len({answer.content for answer in answers}) == 1
    assert sorted("Idempotency-Replayed" in answer for answer in answers) == [False] + [True] * (AT_ONCE - 1)
    assert Tunnel.objects.count() == 1


def test_of_many_who_saw_the_same_state_one_changes_it(program):
    at = f"{TUNNELS}/{make_tunnel(program.user.memberships.get().farm).pk}"
    seen = program.get(at)["ETag"]
    numbers = iter(range(AT_ONCE))

    answers = at_once(program, lambda it: it.patch(at, {"notes": f"by {next(numbers)}"}, if_match=seen))

    assert sorted(answer.status_code for answer in answers) == [200] + [412] * (AT_ONCE - 1)
    kept = next(answer for answer in answers if answer.status_code == 200).json()["notes"]
    assert Tunnel.objects.get().notes == kept
