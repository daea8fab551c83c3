"""How long the pass over all farms before a storm takes on real servers, beside reading the same rows with COPY.

Usage: python tests/bench/blow.py [openings ...]

Runs on the PostgreSQL server that TEST_DATABASE_URL names, in a database of its own for each size, and on the Redis of
TEST_REDIS_URL, whose queue must be empty. The rows are made by SQL: farms of 15 tunnels and 30 openings, ten farms in
a grid cell, 168 hours of forecast for each cell; closing lines as the program draws them, which a sample proves. Then
a worker of two processes works, as it would for a farm, through three passes: all calm; a gale newly forecast for one
farm in a hundred; and the same gale five minutes later. The farms in the gale have sized doors and a crew of four.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import psycopg

ROOT = Path(__file__).resolve().parents[2]
TICKS = os.sysconf("SC_CLK_TCK")  # in a second
SLOW = 3  # exit status; a crash is 1
SIZES = (30_000, 300_000, 3_000_000)
LIMIT, LEAST = 120.0, 15.0  # s for the largest size, in proportion for others, and never less
PLANS_FOR = 20.0  # s
MEMORY_MB = 1024  # of each process
TUNNELS, CELL, HOURS = 15, 10, 168  # of a farm; farms in a cell; of forecast
STORMY = 100  # one cell in so many gets the gale
PHASES = ("all calm", "gale for 1 %", "the same gale")
GALE = 27.0  # m/s, 60 mph
READ = (
    "SELECT farm_id, change_m_s, factor, limit_m_s FROM maintenance_closingline",
    "SELECT id, spells FROM maintenance_forecast WHERE cell_id IS NOT NULL",
    "SELECT farm_id, kind, cell_id, oldest_hours, acts_on_upper, gust_factor FROM maintenance_weathersource",
    "SELECT * FROM maintenance_stormround",
)


def main(*sizes: int) -> int:
    """Print a table for each size; 3 if anything is slower or larger than it may be."""
    bad = False
    for openings in sizes or SIZES:
        bad |= not _measure(openings)
    return SLOW if bad else 0


def _measure(openings: int) -> bool:
    farms = max(openings // (2 * TUNNELS), CELL)
    load = os.getloadavg()[0]
    with _servers() as (server, environment):
        start = time.perf_counter()
        _fill(server, environment, farms)
        count = _one(server, "SELECT count(opening_id) FROM maintenance_closingline")
        filled = time.perf_counter() - start
        _say(f"\n{count:,} openings in {farms:,} farms, filled in {filled:.0f} s; load of the machine {load:.1f}")
        copied = _copied(server)
        _say(f"{'read with COPY':16}{copied:8.2f} s")
        most, judged = 0.0, 0.0
        with _worker(environment) as worker:
            for phase in PHASES:
                if phase == PHASES[1]:
                    _forecast(server, gale=True)
                busy = _busy(worker)
                done, peak = _passed(server, environment, worker)
                judged, most = max(judged, done["warned"]), max(most, peak)
                storms = _one(server, "SELECT count(*) FROM maintenance_storm WHERE state IN ('coming', 'blowing')")
                _say(
                    f"{phase:16}{done['warned']:8.2f} s, {done['warned'] / copied:.1f} times COPY; all openings judged"
                    f" after {done['judged']:.2f} s; {_busy(worker) - busy:.1f} s of the worker's processor time"
                )
                _say(f"{'':16}{storms:8,} farms with a storm, {storms / farms:.1%}; {peak:.0f} MB at most")
                if phase == PHASES[1]:
                    _say(f"{'':16}{_planned(server):8.2f} plans a second, after all warnings")
        _prove(environment, farms)
    return judged <= max(LIMIT * openings / SIZES[-1], LEAST) and most <= MEMORY_MB


def _say(line: str) -> None:
    print(line, flush=True)  # noqa: T201


# Servers ---------------------------------------------------------------------------


@contextmanager
def _servers() -> Iterator[tuple[psycopg.Connection[Any], dict[str, str]]]:
    """Make a database with the program's tables, and drop it afterwards."""
    server, name = os.environ["TEST_DATABASE_URL"], f"bench_{uuid.uuid4().hex}"
    url = f"{server.rpartition('/')[0]}/{name}"
    with psycopg.connect(server, autocommit=True) as administrator, tempfile.TemporaryDirectory() as folder:
        administrator.execute(f"CREATE DATABASE {name}")  # type: ignore[arg-type]
        environment = {
            "PATH": os.environ["PATH"], "GABLEKEEP_DATA": folder, "DATABASE_URL": url,
            "REDIS_URL": os.environ["TEST_REDIS_URL"], "PYTHONPATH": str(ROOT),
        }  # fmt: skip
        try:
            _manage(environment, "migrate", "--verbosity=0")
            with psycopg.connect(url, autocommit=True) as connection:
                yield connection, environment
        finally:
            administrator.execute(f"DROP DATABASE {name} WITH (FORCE)")  # type: ignore[arg-type]


def _manage(environment: dict[str, str], *arguments: str) -> None:
    subprocess.run([sys.executable, "manage.py", *arguments], env=environment, cwd=ROOT, check=True)


@contextmanager
def _worker(environment: dict[str, str]) -> Iterator[int]:
    """Run the program's own worker with two processes; yield the id of their parent."""
    command = [sys.executable, "-m", "celery", "--quiet", "--app", "farm", "worker", "--concurrency=2",
               "--loglevel=ERROR", "--without-gossip", "--without-mingle"]  # fmt: skip
    process = subprocess.Popen(command, env=environment, cwd=ROOT)
    try:
        yield process.pid
    finally:
        process.terminate()
        process.wait(60)


def _send(environment: dict[str, str], task: str) -> None:
    from celery import Celery

    with Celery(broker=environment["REDIS_URL"]).connection_for_write() as broker:
        Celery(broker=environment["REDIS_URL"]).send_task(
            f"maintenance.tasks.{task}", queue="gablekeep", connection=broker
        )


def _passed(
    server: psycopg.Connection[Any], environment: dict[str, str], worker: int
) -> tuple[dict[str, float], float]:
    """Ask for a pass and return when each part of it was done [s], and the most memory of any process. [MB]"""
    _send(environment, "record_heartbeat")
    _until(server, "SELECT count(*) > 0 FROM maintenance_heartbeat")
    began = _one(server, "SELECT now()")
    start, done = time.perf_counter(), {}
    _send(environment, "assess_storms")
    left = {
        "judged": f"looked_at IS NULL OR looked_at < '{began.isoformat()}'",
        "warned": "waits_since IS NOT NULL",
    }
    for name, condition in left.items():
        _until(server, f"SELECT NOT EXISTS (SELECT FROM maintenance_stormround WHERE {condition})")  # noqa: S608
        done[name] = time.perf_counter() - start
    return done, max(_peak_mb(pid) for pid in (worker, *_children(worker)))


def _planned(server: psycopg.Connection[Any]) -> float:
    """Return how many crews' plans are written in a second; those left after a while are given up."""
    left = "SELECT count(*) FROM maintenance_stormround WHERE plan_since IS NOT NULL"
    before, start = _one(server, left), time.perf_counter()
    with suppress(TimeoutError):
        _until(server, f"SELECT ({left}) = 0", within=PLANS_FOR)
    rate = (before - _one(server, left)) / (time.perf_counter() - start)
    server.execute("UPDATE maintenance_stormround SET plan_since = NULL")
    time.sleep(5)  # the last two are being written
    return float(rate)


def _busy(worker: int) -> float:
    """Return the processor time that the worker's processes have used: no other program's work is in it. [s]"""
    stats = [Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split() for pid in (worker, *_children(worker))]
    return sum(int(one[11]) + int(one[12]) for one in stats) / TICKS


def _until(server: psycopg.Connection[Any], question: str, within: float = 900.0) -> None:
    ends = time.monotonic() + within
    while not _one(server, question):
        if time.monotonic() > ends:
            raise TimeoutError(question)
        time.sleep(0.1)


def _one(server: psycopg.Connection[Any], question: str) -> Any:
    row = server.execute(question).fetchone()  # type: ignore[arg-type]
    return row[0] if row else None


def _children(pid: int) -> list[int]:
    return [int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def _peak_mb(pid: int) -> float:
    with suppress(OSError):
        for line in Path(f"/proc/{pid}/status").read_text().splitlines():
            if line.startswith("VmHWM"):
                return int(line.split()[1]) / 1024
    return 0.0


def _copied(server: psycopg.Connection[Any]) -> float:
    """Return how long it takes to read every row the pass reads, in one connection, and to do nothing with it. [s]"""
    start = time.perf_counter()
    for question in READ:
        with server.cursor().copy(f"COPY ({question}) TO STDOUT (FORMAT BINARY)") as copy:  # type: ignore[arg-type]
            for _ in copy:
                pass
    return time.perf_counter() - start


# Rows ------------------------------------------------------------------------------

Columns = dict[str, str]

TEMPLATE = """
from datetime import date
from doors.demo.load import load_demo_farm
load_demo_farm(on=date(2026, 11, 17))
"""
PROOF = """
from django.utils import timezone
from farm.models import Farm
from maintenance.blow.lines import draw_lines
from maintenance.models import ClosingLine
rows = ClosingLine.objects.order_by("tunnel", "opening")
for farm in Farm.objects.filter(pk__in=[{farms}]):
    before = list(rows.filter(farm=farm).values_list("tunnel", "opening", "change_m_s", "factor", "limit_m_s"))
    draw_lines(farm=farm, now=timezone.now())
    after = list(rows.filter(farm=farm).values_list("tunnel", "opening", "change_m_s", "factor", "limit_m_s"))
    assert before and before == after, (farm.pk, before[:3], after[:3])
"""


def _fill(server: psycopg.Connection[Any], environment: dict[str, str], farms: int) -> None:
    """Make farms with their structures, forecasts and lines; those that get the gale have doors and people too."""
    walls, openings = 2 * TUNNELS * farms, 2 * TUNNELS * farms
    put = _Filler(server)
    put("farm_farm", f"generate_series(1, {farms}) n", {
        "id": "n", "name": "'Farm ' || n", "slug": "'farm-' || n", "units": "'us'", "time_zone": "'America/New_York'",
        "language": "'en'", "currency": "'USD'", "exposure": "'C'", "latitude_deg": "42.5", "longitude_deg": "-76.8",
    })  # fmt: skip
    put("maintenance_weathercell", f"generate_series(1, {-(-farms // CELL)}) n", {
        "id": "n", "kind": "'nws'", "key": "'ABC/' || n || ',1'", "latitude_deg": "42.5", "longitude_deg": "-76.8",
    })  # fmt: skip
    put("maintenance_weathersource", "farm_farm", {
        "farm_id": "id", "kind": "'nws'", "cell_id": f"(id - 1) / {CELL} + 1", "poll_minutes": "30",
        "oldest_hours": "6", "gust_factor": "1",
    })  # fmt: skip
    put("farm_tunnel", f"generate_series(1, {TUNNELS * farms}) n", {
        "id": "n", "farm_id": f"(n - 1) / {TUNNELS} + 1", "code": f"'T' || (n - 1) % {TUNNELS} + 1",
        "shape": "'gothic'", "width_mm": "9144", "length_mm": "29260", "ridge_mm": "4420", "side_mm": "1524",
        "axis_bearing_deg": "270", "east_mm": f"(n - 1) % {TUNNELS} * 12000", "north_mm": "0",
        "shelter": "(ARRAY['open', 'half', 'sheltered'])[n % 3 + 1]", "storm_posture": "'closed'",
        "status": "'in_use'", "has_left_rollup": "true", "has_right_rollup": "true", "profile_mm": "'[]'",
    })  # fmt: skip
    put("farm_endwall", f"generate_series(1, {walls}) n", {
        "id": "n", "farm_id": f"(n - 1) / {2 * TUNNELS} + 1", "tunnel_id": "(n + 1) / 2",
        "end": "CASE n % 2 WHEN 1 THEN 'A' ELSE 'B' END", "bearing_deg": "CASE n % 2 WHEN 1 THEN 90 ELSE 270 END",
        "covering": "'film'", "stud_face_mm": "89", "stud_depth_mm": "89", "header_thickness_mm": "76",
        "is_tied_to_bows": "(n + 1) / 2 % 10 <> 0",
    })  # fmt: skip
    put("farm_opening", f"generate_series(1, {openings}) n", {
        "id": "n", "farm_id": f"(n - 1) / {2 * TUNNELS} + 1", "end_wall_id": "n", "code": "'D' || n",
        "kind": "'mid_bar'", "rough_width_mm": "3658", "rough_height_mm": "2438",
    })  # fmt: skip
    put("maintenance_closingline", "farm_opening o JOIN farm_endwall w ON w.id = end_wall_id "
        "JOIN farm_tunnel t ON t.id = w.tunnel_id ORDER BY o.id", {
        "farm_id": "o.farm_id", "tunnel_id": "t.id", "opening_id": "o.id",
        "change_m_s": "CASE t.id % 10 WHEN 0 THEN -4.4704 ELSE 0 END",
        "factor": "CASE shelter WHEN 'half' THEN 0.95 WHEN 'sheltered' THEN 0.85 ELSE 1 END", "limit_m_s": "10000",
    })  # fmt: skip
    put("maintenance_stormround", "farm_farm", {
        "farm_id": "id", "drawn_changes": "0", "drawn_at": "now()", "good_until": "now() + interval '2 days'",
        "thresholds_m_s": "'[11.176, 15.6464, 20.56384, 25.92832, 33.528]'",
    })  # fmt: skip
    put.count_on("farm_farm", "farm_tunnel", "farm_endwall", "farm_opening", "maintenance_weathercell")
    _manage(environment, "shell", "--verbosity=0", "--command", TEMPLATE)
    _people_and_doors(put, farms)
    _forecast(server, gale=False)
    server.execute("VACUUM ANALYZE")


def _people_and_doors(put: _Filler, farms: int) -> None:
    """Give the farms that get the gale sized doors, all alike, a manager and a crew of four."""
    stormy = f"(farm_id - 1) / {CELL} % {STORMY} = 0 AND farm_id <= {farms}"
    doors = f"""(
        SELECT d.*, s.inputs, s.result, s.inputs_digest, s.core_version, s.verdict FROM doors_door d
        JOIN doors_sizing s ON s.id = d.sizing_id JOIN farm_opening o ON o.id = d.opening_id
        WHERE o.kind = 'mid_bar' AND d.farm_id > {farms} ORDER BY d.id LIMIT 1
    ) door"""  # noqa: S608 - our own figures
    put("doors_sizing", f"farm_opening o, {doors} WHERE {stormy.replace('farm_id', 'o.farm_id')}", {
        "farm_id": "o.farm_id", "opening_id": "o.id", "number": "1", "core_version": "door.core_version",
        "inputs_digest": "door.inputs_digest", "verdict": "door.verdict", "inputs": "door.inputs",
        "result": "door.result",
    })  # fmt: skip
    put("doors_door", f"doors_sizing WHERE {stormy}", {
        "farm_id": "farm_id", "opening_id": "opening_id", "sizing_id": "id", "hung_on": "DATE '2025-05-01'",
        "hold_down_spacing_mm": "900",
        "as_built_id": "id",
    })  # fmt: skip
    put("auth_user", f"farm_farm f, generate_series(1, 5) n WHERE {stormy.replace('farm_id', 'f.id')}", {
        "username": "f.id || '-' || n", "email": "f.id || '-' || n || '@farm.example'", "is_active": "true",
        "password": "'!'",
    })  # fmt: skip
    put("farm_membership", "auth_user WHERE username LIKE '%-%'", {
        "farm_id": "split_part(username, '-', 1)::bigint", "user_id": "id",
        "role": "CASE split_part(username, '-', 2) WHEN '1' THEN 'manager' ELSE 'crew' END",
    })  # fmt: skip


def _forecast(server: psycopg.Connection[Any], *, gale: bool) -> None:
    """Forecast a week of hours for each cell, whole knots up to 10; or for one in so many a gale on the second day."""
    gust = "round(5 + 4 * sin(hour / 4.0 + cell.id) + random()) * 0.514444"
    if gale:
        gust = f"CASE WHEN hour BETWEEN 34 AND 44 THEN {GALE} ELSE {gust} END"
    week = f"""(
        SELECT jsonb_agg(jsonb_build_object(
            'start', begins, 'end', begins + interval '1 hour', 'gust', {gust}, 'wind', 2.5, 'upper_gust', NULL,
            'bearing_deg', 270, 'temperature', 283.15, 'rain', 0, 'snow', 0, 'thunder', NULL
        ) ORDER BY hour)
        FROM (SELECT hour, date_trunc('hour', now()) + hour * interval '1 hour' begins
              FROM generate_series(0, {HOURS - 1}) hour WHERE cell.id > 0) hours
    )"""  # noqa: S608 - our own figures
    which = f"(cell.id - 1) % {STORMY} = 0" if gale else "true"
    _Filler(server)("maintenance_forecast", f"maintenance_weathercell cell WHERE {which}", {
        "cell_id": "cell.id", "source": "'nws'", "issued_at": "clock_timestamp()", "fetched_at": "clock_timestamp()",
        "remarks": "'[]'", "spells": week,
    })  # fmt: skip


class _Filler:
    """Inserts rows by SELECT; columns that must not be null and are not named get an empty value of their type."""

    EMPTY = {"text": "''", "character varying": "''", "boolean": "false", "jsonb": "'{}'", "date": "current_date",
             "timestamp with time zone": "now()"}  # fmt: skip

    def __init__(self, server: psycopg.Connection[Any]) -> None:
        self.server = server

    def __call__(self, table: str, rows: str, columns: Columns) -> None:
        needed = self.server.execute(
            "SELECT column_name, data_type FROM information_schema.columns WHERE table_name = %s AND "
            "is_nullable = 'NO' AND column_default IS NULL AND is_identity = 'NO'", [table],
        ).fetchall()  # fmt: skip
        values = {name: self.EMPTY.get(kind, "0") for name, kind in needed} | columns
        names = ", ".join(f'"{name}"' for name in values)
        self.server.execute(
            f"INSERT INTO {table} ({names}) SELECT {', '.join(values.values())} FROM {rows}"  # type: ignore[arg-type]  # noqa: S608
        )

    def count_on(self, *tables: str) -> None:
        """Let tables number new rows after those that are there."""
        for table in tables:
            self.server.execute(
                f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), (SELECT max(id) FROM {table}))"  # type: ignore[arg-type]  # noqa: S608
            )


def _prove(environment: dict[str, str], farms: int) -> None:
    """Draw the lines of a few farms anew: they must come out as they were filled in."""
    some = ", ".join(str(one) for one in sorted({1, 2, farms // 2 + 1, farms}))
    _manage(environment, "shell", "--verbosity=0", "--command", PROOF.format(farms=some))


if __name__ == "__main__":
    sys.exit(main(*(int(argument) for argument in sys.argv[1:])))
