"""Databases of their own on the server that .ci/run has started."""

import os
import uuid
from collections.abc import Iterator

import psycopg
import pytest
from psycopg import sql


@pytest.fixture
def database_url() -> Iterator[str]:
    """Make an empty database, and drop it when the test is over."""
    server, name = os.environ["TEST_DATABASE_URL"], f"farm_{uuid.uuid4().hex}"
    with psycopg.connect(server, autocommit=True) as administrator:
        administrator.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        yield f"{server.rpartition('/')[0]}/{name}"
        administrator.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))
