"""A backup of PostgreSQL under write load, put back into another database of the same server."""

import hashlib
import json
import uuid
import zipfile

import psycopg
import pytest
from psycopg import sql

from farm.backups.making import newest
from tests.backup_rows import hashes, pairs, written_to
from tests.system.program import eventually, manage

TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = 'public'"


@pytest.fixture
def another(database_url):
    """An empty database beside the first."""
    server, name = database_url.rpartition("/")[0], f"farm_{uuid.uuid4().hex}"
    with psycopg.connect(f"{server}/postgres", autocommit=True) as administrator:
        administrator.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        yield f"{server}/{name}"
        administrator.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


def run(data, url, *arguments):
    done = manage(data, *arguments, DATABASE_URL=url)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_backup_under_write_load_comes_back_equal(tmp_path, database_url, another):
    run(tmp_path, database_url, "migrate", "--verbosity=0")
    run(tmp_path, database_url, "load_demo")
    with written_to(lambda: psycopg.connect(database_url)) as written:
        eventually(lambda: written() > 20, within=20)
        before = written()
        run(tmp_path, database_url, "backup")
        after = written()
    path = newest(tmp_path / "backups")
    with psycopg.connect(another, autocommit=True) as database:
        database.execute("CREATE TABLE left_from_before (id int)")

    run(tmp_path, another, "restore", str(path))

    assert after > before
    assert before <= pairs(lambda: psycopg.connect(another)) <= after + 1
    assert hashes(lambda: psycopg.connect(another), TABLES) == hashes(lambda: psycopg.connect(database_url), TABLES)


def test_a_backup_that_does_not_load_leaves_what_was_there(tmp_path, database_url):
    run(tmp_path, database_url, "migrate", "--verbosity=0")
    run(tmp_path, database_url, "backup")
    path = newest(tmp_path / "backups")
    before = hashes(lambda: psycopg.connect(database_url), TABLES)
    broken = _with_a_dump_that_is_cut_off(path, tmp_path / "broken.zip")

    done = manage(tmp_path, "restore", str(broken), DATABASE_URL=database_url)

    assert done.returncode == 1
    assert "pg_restore failed" in done.stderr
    assert hashes(lambda: psycopg.connect(database_url), TABLES) == before


def _with_a_dump_that_is_cut_off(path, target):
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(target, "w") as new:
        dump = old.read("database")[:-2000]
        listed = json.loads(old.read("contents.json"))
        listed["files"]["database"] = hashlib.sha256(dump).hexdigest()
        new.writestr("database", dump)
        if "vapid.pem" in listed["files"]:
            new.writestr("vapid.pem", old.read("vapid.pem"))
        new.writestr("contents.json", json.dumps(listed))
    return target
