"""Backups made while the program is written to, put back on another machine, and refused where they do not fit."""

import json
import shutil
import sqlite3
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from farm.backups.making import NAME, newest, prune
from farm.data_folder import open_folder
from tests.backup_rows import file_hashes, hashes, pairs, written_to
from tests.system.program import eventually, manage

TABLES = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def connecting(data: Path):
    return lambda: sqlite3.connect(data / "gablekeep.sqlite3", timeout=60)


def run(data: Path, *arguments: str) -> str:
    done = manage(data, *arguments)
    assert done.returncode == 0, done.stderr
    return done.stdout


def refused(data: Path, *arguments: str) -> str:
    done = manage(data, *arguments)
    assert done.returncode == 1, done.stdout
    assert "Traceback" not in done.stderr
    return done.stderr


@pytest.fixture(scope="module")
def farm(tmp_path_factory) -> Path:
    """A data folder with the demo farm and two pictures."""
    data = tmp_path_factory.mktemp("farm")
    run(data, "migrate", "--verbosity=0")
    run(data, "load_demo")
    for number in (1, 2):
        name = f"photos/2026/11/{number}.jpg"
        (data / "photos" / name).parent.mkdir(parents=True, exist_ok=True)
        (data / "photos" / name).write_bytes(b"\xff\xd8" + bytes([number]) * 50_000)
        with connecting(data)() as database:
            database.execute(
                "INSERT INTO maintenance_photo (farm_id, file, width, height, sha256, taken_at, caption, moment)"
                " SELECT min(id), ?, 1, 1, ?, '2026-11-25 12:00:00', '', '' FROM farm_farm",
                [name, str(number)],
            )
    return data


@pytest.fixture(scope="module")
def bare(tmp_path_factory) -> Path:
    """A data folder with nothing but its tables."""
    data = tmp_path_factory.mktemp("bare")
    run(data, "migrate", "--verbosity=0")
    return data


@pytest.fixture(scope="module")
def backup(farm) -> Path:
    run(farm, "backup")
    found = newest(farm / "backups")
    assert found
    return found


def test_a_backup_under_write_load_comes_back_equal(farm, tmp_path):
    source, target = connecting(farm), connecting(tmp_path)
    with written_to(source) as written:
        eventually(lambda: written() > 20, within=20)
        before = written()
        run(farm, "backup", "--folder", str(tmp_path / "elsewhere"))
        after = written()
    path = newest(tmp_path / "elsewhere")

    assert "is back" in run(tmp_path, "restore", str(path))

    assert after > before  # it was written to meanwhile
    assert before <= pairs(target) <= after + 1
    assert hashes(target, TABLES) == hashes(source, TABLES)
    assert file_hashes(tmp_path / "photos") == file_hashes(farm / "photos") != {}
    assert path.stat().st_mode & 0o777 == 0o600


def test_what_stood_there_is_laid_aside(backup, bare, tmp_path):
    data = tmp_path / "data"
    shutil.copytree(bare, data)
    with connecting(data)() as database:
        database.execute("INSERT INTO maintenance_heartbeat (name, beat_at) VALUES ('mine', '2026-11-25 12:00:00')")

    run(data, "restore", str(backup))

    (aside,) = data.glob("before-restore-*")
    with sqlite3.connect(aside / "gablekeep.sqlite3") as database:
        assert database.execute("SELECT name FROM maintenance_heartbeat").fetchall() == [("mine",)]


def changed(backup: Path, folder: Path, **more) -> Path:
    """Return a copy of a backup whose list of contents says something else."""
    path = folder / backup.name
    with zipfile.ZipFile(backup) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "contents.json":
                content = json.dumps({**json.loads(content), **more}).encode()
            new.writestr(name, content)
    return path


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"migrations": ["farm.0001_initial", "farm.9999_later"]}, "A newer Gablekeep has written"),
        ({"format": 2}, "reads form 1"),
        ({"database": "postgresql"}, "is of a postgresql database"),
        ({"files": {"database": "0" * 64}}, "is damaged at database"),
        ({"files": {"not there": "0" * 64}}, "is damaged at not there"),
    ],
    ids=["newer", "form", "kind", "damaged", "missing"],
)
def test_what_does_not_fit_is_refused_and_nothing_is_touched(backup, bare, tmp_path, more, said):
    data = tmp_path / "data"
    shutil.copytree(bare, data)
    before = hashes(connecting(data), TABLES)

    assert said in refused(data, "restore", str(changed(backup, tmp_path, **more)))

    assert hashes(connecting(data), TABLES) == before
    assert not list(data.glob("before-restore-*"))


@pytest.mark.parametrize("content", [b"", b"no zip at all", b"PK\x03\x04cut off"])
def test_a_file_that_is_no_backup_is_refused(tmp_path, content):
    (tmp_path / "file.zip").write_bytes(content)

    assert "is no backup of Gablekeep, or is damaged" in refused(tmp_path, "restore", str(tmp_path / "file.zip"))


def test_a_file_that_is_not_there_is_refused(tmp_path):
    assert "cannot be read" in refused(tmp_path, "restore", str(tmp_path / "none.zip"))


def test_nothing_is_restored_below_a_program_that_runs(backup, tmp_path):
    open_folder(tmp_path)

    assert "already runs on the data folder" in refused(tmp_path, "restore", str(backup))


def test_a_name_that_leads_out_of_the_folder_is_refused(backup, tmp_path):
    path = tmp_path / backup.name
    shutil.copyfile(backup, path)
    with zipfile.ZipFile(path, "a") as pack:
        pack.writestr("../out", "x")
    digest = "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881"  # of "x", by sha256sum

    with zipfile.ZipFile(path) as pack:
        listed = json.loads(pack.read("contents.json"))["files"]
    (tmp_path / "changed").mkdir()
    outside = changed(path, tmp_path / "changed", files={**listed, "../out": digest})

    assert "names files outside of itself" in refused(tmp_path / "data", "restore", str(outside))


def test_old_backups_go_but_never_the_last(tmp_path):
    made = [tmp_path / NAME.format(NOW - timedelta(days=days)) for days in (0, 1, 2, 3, 40)]
    for path in made:
        path.touch()

    prune(folder=tmp_path, now=NOW, most=3, oldest=timedelta(days=30))
    assert sorted(tmp_path.iterdir(), reverse=True) == made[:3]

    prune(folder=tmp_path, now=NOW + timedelta(days=365), most=3, oldest=timedelta(days=30))
    assert list(tmp_path.iterdir()) == made[:1]
