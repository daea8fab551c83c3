"""A farm taken from one kind of database to the other and back, and read while others write."""

import contextlib
import csv
import io
import os
import sqlite3
import subprocess
import sys
import threading
import uuid
import zipfile
from pathlib import Path

import psycopg
import pytest
from psycopg import sql

from tests.system.program import ROOT, bare_environment, manage
from tests.whole_farm_check import assert_same_farm

FILL = "from tests.whole_farm import make_whole_farm; make_whole_farm()"


def run(data: Path, *arguments: str, **environment: str) -> str:
    done = manage(data, *arguments, **environment)
    assert done.returncode == 0, done.stderr
    return done.stdout


def fill(data: Path, **environment: str) -> None:
    """Make a farm with a row of everything, pictures and voices too."""
    code = f"import django; django.setup(); {FILL}"
    environment = bare_environment(data, DJANGO_SETTINGS_MODULE="farm.settings", **environment)
    done = subprocess.run([sys.executable, "-c", code], env=environment, cwd=ROOT, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()


@pytest.fixture
def another(database_url):
    """A second empty database on the server."""
    name = f"farm_{uuid.uuid4().hex}"
    with psycopg.connect(os.environ["TEST_DATABASE_URL"], autocommit=True) as administrator:
        administrator.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        yield f"{database_url.rpartition('/')[0]}/{name}"
        administrator.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


def test_from_sqlite_to_postgresql_to_postgresql_and_back(tmp_path, database_url, another):
    places = [
        (tmp_path / "sqlite", {}),
        (tmp_path / "first", {"DATABASE_URL": database_url}),
        (tmp_path / "second", {"DATABASE_URL": another}),
        (tmp_path / "back", {}),
    ]
    files = [tmp_path / f"{number}.zip" for number in range(len(places))]
    for data, environment in places:
        data.mkdir()
        run(data, "migrate", "--verbosity=0", **environment)
    fill(places[0][0])
    run(places[0][0], "export_farm", "brindlewick", "--to", str(files[0]))

    for number, (data, environment) in enumerate(places[1:], 1):
        run(data, "import_farm", str(files[number - 1]), **environment)
        run(data, "export_farm", "brindlewick", "--to", str(files[number]), **environment)

    for file in files[1:]:
        assert_same_farm(files[0], file)
    with psycopg.connect(database_url) as database:  # the sequences go on behind the rows that came
        database.execute("INSERT INTO farm_farm (name, slug, units, time_zone, language, currency, exposure, soil,"
                         " created_at, keeps_photo_data)"
                         " VALUES ('N', 'n', 'us', 'UTC', 'en', 'USD', 'C', '', now(), false)")  # fmt: skip


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_a_farm_stands_still_while_it_is_read(tmp_path, database_url, kind):
    """Pairs of rows are written in one transaction each: a file never has one of a pair."""
    environment = {"DATABASE_URL": database_url} if kind == "postgresql" else {}
    run(tmp_path, "migrate", "--verbosity=0", **environment)
    run(tmp_path, "load_demo", **environment)
    stop, written = threading.Event(), [0]

    def connect():
        if kind == "postgresql":
            return psycopg.connect(database_url)
        return sqlite3.connect(tmp_path / "gablekeep.sqlite3", timeout=30)

    def write() -> None:
        with contextlib.closing(connect()) as database:
            while not stop.is_set():
                written[0] += 1
                for table, column in (("sunday", "radiation_mj_m2"), ("windday", "gust_m_s")):
                    more = ", 'seen', ''" if table == "windday" else ""
                    names = ", source, note" if table == "windday" else ""
                    day = f"'{1000 + written[0] // 300}-{written[0] // 28 % 12 + 1:02}-{written[0] % 28 + 1:02}'"
                    database.execute(
                        f'INSERT INTO maintenance_{table} (farm_id, "on", {column}{names})'  # noqa: S608
                        f" SELECT id, {day}, 1{more} FROM farm_farm WHERE true ON CONFLICT DO NOTHING"
                    )
                database.commit()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for number in range(2):
            run(tmp_path, "export_farm", "brindlewick", "--to", str(tmp_path / f"{number}.zip"), **environment)
    finally:
        stop.set()
        writer.join()

    assert written[0] > 50
    for number in range(2):
        with zipfile.ZipFile(tmp_path / f"{number}.zip") as pack:
            days = {
                name: {
                    row["on"]
                    for row in csv.DictReader(io.StringIO(pack.read(f"tables/{name}.csv").decode()))
                    if row["on"] < "1900"
                }
                for name in ("sun_days", "wind_days")
            }
        assert days["sun_days"] == days["wind_days"]
        assert len(days["sun_days"]) > 0
