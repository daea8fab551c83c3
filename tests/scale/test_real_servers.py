"""PostgreSQL and Redis take the place of the embedded ones by two addresses, without a change of code."""

import os
from collections.abc import Iterator

import psycopg
import pytest
import redis

from tests.system.program import Program, Visitor, alive, eventually, queue_heartbeats


@pytest.fixture
def program(tmp_path, database_url) -> Iterator[Program]:
    with Program(tmp_path, DATABASE_URL=database_url, REDIS_URL=os.environ["TEST_REDIS_URL"]) as program:
        yield program.wait_until_up()


def heard_of(database_url: str) -> set[str]:
    """Return who has given a sign of life, as the database has it."""
    with psycopg.connect(database_url) as database:
        return {name for (name,) in database.execute("SELECT name FROM maintenance_heartbeat")}


def test_everything_runs_on_real_servers(program, database_url):
    children = program.children()

    url, _ = Visitor().press_the_button(program.link())
    eventually(lambda: "worker" in heard_of(database_url), within=60)
    code = program.stop()

    assert url.startswith(f"http://127.0.0.1:{program.port}/farm/")
    assert not [command for command in children.values() if "valkey-server" in command]
    assert not list(program.data.glob("*.sqlite3"))
    assert not (program.data / "queue").exists()
    assert code == 0
    assert alive(children) == {}


def test_a_worker_whose_connections_are_cut_works_on(program, database_url):
    eventually(lambda: "worker" in heard_of(database_url), within=60)

    with redis.Redis.from_url(os.environ["TEST_REDIS_URL"]) as server:
        cut = server.client_kill_filter(_type="normal", skipme=True)
    queue_heartbeats(os.environ["TEST_REDIS_URL"], "after the cut")

    assert cut > 0
    eventually(lambda: "after the cut" in heard_of(database_url), within=60)
