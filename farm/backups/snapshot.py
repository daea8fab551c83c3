"""The database as it is at one moment, while others go on writing; and a database put back from that."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import subprocess
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.db import connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper

from farm.backups.errors import BackupError


@contextlib.contextmanager
def snapshot(path: Path) -> Iterator[BaseDatabaseWrapper]:
    """Write the database to a file, and open the very same state for reading."""
    if connection.vendor == "sqlite":
        with _sqlite_snapshot(path) as frozen:
            yield frozen
    elif connection.vendor == "postgresql":
        with _postgresql_snapshot(path) as frozen:
            yield frozen
    else:
        raise BackupError(f"There is no way to copy a database of the kind {connection.vendor}.")


def put_back(path: Path, *, aside: Path) -> None:
    """Replace the database by a copy; what stood there before is laid aside in a folder."""
    if connection.vendor == "sqlite":
        connections.close_all()
        here = Path(connection.settings_dict["NAME"])
        for name in (here.name, f"{here.name}-wal", f"{here.name}-shm"):
            if here.with_name(name).exists():
                here.with_name(name).replace(aside / name)
        shutil.copyfile(path, here)
        here.chmod(0o600)
    else:
        before = aside / "database"
        _run_client("pg_dump", "--format=custom", "--no-owner", f"--file={before}")
        try:
            _fill(path)
        except BackupError:
            _fill(before)
            raise


def _fill(path: Path) -> None:
    """Empty the PostgreSQL database, also of tables that the copy knows nothing of, and fill it from a dump."""
    with connection.cursor() as cursor:
        cursor.execute("DROP SCHEMA public CASCADE")
        cursor.execute("CREATE SCHEMA public")
    connections.close_all()
    target = f"--dbname={connection.settings_dict['NAME']}"
    _run_client("pg_restore", "--no-owner", "--single-transaction", "--exit-on-error", target, str(path), named=True)


@contextlib.contextmanager
def opened(path: Path) -> Iterator[BaseDatabaseWrapper]:
    """Open an SQLite file for reading, under a name of its own."""
    alias = f"copy-{uuid.uuid4().hex}"
    kept: dict[str, Any] = {**connections["default"].settings_dict, "NAME": str(path), "OPTIONS": {}, "TEST": {}}
    connections.databases[alias] = kept
    try:
        yield connections[alias]
    finally:
        connections[alias].close()
        del connections[alias], connections.databases[alias]


@contextlib.contextmanager
def _sqlite_snapshot(path: Path) -> Iterator[BaseDatabaseWrapper]:
    source = sqlite3.connect(connection.settings_dict["NAME"], timeout=60)
    with contextlib.closing(source):
        source.execute("VACUUM INTO ?", [str(path)])
    with contextlib.closing(sqlite3.connect(path)) as copy:
        copy.execute("DELETE FROM farm_loginsession")
        copy.commit()
        copy.execute("VACUUM")
        (said,) = copy.execute("PRAGMA integrity_check").fetchone()
    if said != "ok":
        raise BackupError(f"The database is damaged ({said}). Restore the last backup that is whole.")
    with opened(path) as frozen:
        yield frozen


@contextlib.contextmanager
def _postgresql_snapshot(path: Path) -> Iterator[BaseDatabaseWrapper]:
    """Dump what one transaction sees, and leave that transaction open for whoever counts the rows."""
    alias = f"copy-{uuid.uuid4().hex}"
    connections.databases[alias] = dict(connections["default"].settings_dict)
    frozen = connections[alias]
    try:
        with frozen.cursor() as cursor:
            cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
            cursor.execute("SELECT pg_export_snapshot()")
            (name,) = cursor.fetchone()
            _run_client(
                "pg_dump", "--format=custom", "--no-owner", "--exclude-table-data=farm_loginsession",
                f"--snapshot={name}", f"--file={path}",
            )  # fmt: skip
            yield frozen
            cursor.execute("COMMIT")
    finally:
        frozen.close()
        del connections[alias], connections.databases[alias]


def _run_client(program: str, *arguments: str, named: bool = False) -> None:
    """Run one of PostgreSQL's own programs; the password goes by the environment, not by the command line."""
    found = shutil.which(program) or next((str(path) for path in _versions(program)), None)
    if found is None:
        raise BackupError(f"{program} is missing. Install PostgreSQL's client programs of the server's version.")
    kept = connection.settings_dict
    environment = {**os.environ, "PGPASSWORD": kept["PASSWORD"] or os.environ.get("PGPASSWORD", "")}
    options = {"--host": kept["HOST"], "--port": kept["PORT"], "--username": kept["USER"]}
    command = [found, *(f"{name}={value}" for name, value in options.items() if value), *arguments]
    if not named:
        command.append(f"--dbname={kept['NAME']}")
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)  # noqa: S603 - our own
    if done.returncode:
        said = done.stderr.strip().splitlines() or ["it gave no reason"]
        raise BackupError(f"{program} failed: {said[-1]}")


def _versions(program: str) -> list[Path]:
    """Return where Debian keeps the program, the newest version first."""
    return sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), reverse=True)
