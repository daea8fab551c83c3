"""A database that is written to without a pause, and what stands in it, read without the program's own code."""

import contextlib
import hashlib
import itertools
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

PASSING = {"farm_loginsession", "maintenance_heartbeat"}
Connect = Callable[[], Any]  # a database connection as PEP 249 has it


@contextlib.contextmanager
def written_to(connect: Connect) -> Iterator[Callable[[], int]]:
    """Write pairs of rows, each pair in one transaction, until the end; give back how many pairs stand."""
    stop, count = threading.Event(), itertools.count(1)
    done = [0]

    def write() -> None:
        with contextlib.closing(connect()) as database:
            for number in count:
                for side in ("left", "right"):
                    values = f"('{side}-{number}', '2026-11-25 12:00:00+00:00')"
                    database.execute(f"INSERT INTO maintenance_heartbeat (name, beat_at) VALUES {values}")  # noqa: S608
                database.commit()
                done[0] = number
                if stop.is_set():
                    return
                time.sleep(0.002)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        yield lambda: done[0]
    finally:
        stop.set()
        writer.join()


def pairs(connect: Connect) -> int:
    """Return how many pairs stand, having proved that they are whole and the first ones."""
    with contextlib.closing(connect()) as database:
        rows = database.execute("SELECT name FROM maintenance_heartbeat WHERE name LIKE '%-%'").fetchall()
    found = [name for (name,) in rows]
    number = len(found) // 2
    assert sorted(found) == sorted(f"{side}-{n}" for side in ("left", "right") for n in range(1, number + 1))
    return number


def hashes(connect: Connect, tables: str) -> dict[str, tuple[int, str]]:
    """Return each table's number of rows and a hash of all of them; ``tables`` is the query for their names."""
    with contextlib.closing(connect()) as database:
        names = sorted({name for (name,) in database.execute(tables).fetchall()} - PASSING)
        found = {}
        for name in names:
            rows = sorted(map(repr, database.execute(f'SELECT * FROM "{name}"').fetchall()))  # noqa: S608
            found[name] = len(rows), hashlib.sha256("\n".join(rows).encode()).hexdigest()
    return found


def file_hashes(folder: Path) -> dict[str, str]:
    """Return a hash of every file below a folder, but for the small pictures that are made when asked for."""
    files = (path for path in folder.rglob("*") if path.is_file() and path.parent.name != "small")
    return {path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}
