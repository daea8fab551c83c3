"""How long a night's jobs take to open, beside the same rows inserted by hand; run it as a program, it prints a table.

Usage: python tests/bench/nightly.py [plans] [limit in seconds]

Runs on the PostgreSQL server that TEST_DATABASE_URL names, in a database of its own, or else on a new SQLite file.
Ours: one run of the nightly service, which opens a job for every plan, moves the plans on, closes jobs that lapsed
and links jobs that wait for each other. Beside it, in the same run and on the same rows: one hand-written INSERT ...
SELECT of the jobs, in one transaction, and nothing else.
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SLOW = 3  # exit status; a crash is 1
RATIO = 3.0  # times the hand-written statement
MEMORY_MB = 40  # more than before the run
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
TUNNELS = 20  # of a farm; a plan of each routine at each
ROUTINES = (  # trigger, season, cadence; a farm has one of each
    ("season", "autumn", "season=autumn&offset=14&every=1&from=2025&south=0&window=45"),
    ("season", "spring", "season=spring&offset=0&every=1&from=2025&south=0&window=45"),
    ("calendar", "", "rule=FREQ%3DWEEKLY%3BBYDAY%3DMO&window=6"),
    ("calendar", "", "rule=FREQ%3DMONTHLY%3BBYMONTHDAY%3D1&window=20"),
    *(("age", "", "") for _ in range(6)),
)
HAND_WRITTEN = """
    INSERT INTO maintenance_job
        (farm_id, plan_id, due_on, until_on, cause, state, opened_at, ticks, note)
    SELECT plan.farm_id, plan.id, turn.due_on, turn.until_on, turn.cause, 'open', %s, '[]', ''
    FROM maintenance_turn turn JOIN maintenance_plan plan ON plan.id = turn.plan_id
    WHERE turn.due_on <= %s ORDER BY plan.id
"""


def main(plans: int = 10_000, limit: float = 2.0) -> int:
    """Fill a database, open its jobs, insert the same by hand, print both; 3 if ours is slower than it may be."""
    with _database():
        import django

        sys.path.insert(0, str(ROOT))
        django.setup()
        from django.core.management import call_command
        from django.db import connection

        call_command("migrate", verbosity=0)
        _fill(plans)
        by_hand = _by_hand()
        before = _peak_mb()
        ours, opened = _ours()
        grown = _peak_mb() - before
        name = connection.vendor
    ratio = ours / by_hand
    print(f"{plans:,} plans due on {name}, {opened:,} jobs opened")  # noqa: T201
    print(f"hand-written INSERT ... SELECT {by_hand:8.2f} s")  # noqa: T201
    print(f"nightly run                    {ours:8.2f} s, {ratio:.2f} times, at most {limit:g} s")  # noqa: T201
    print(f"memory of the nightly run      {grown:8.1f} MB more at its peak")  # noqa: T201
    bad = ours > limit or (plans >= 100_000 and ratio > RATIO) or grown > MEMORY_MB or opened != plans
    return SLOW if bad else 0


@contextmanager
def _database() -> Iterator[None]:
    for name in [name for name in os.environ if name.startswith("GABLEKEEP_") or name == "DATABASE_URL"]:
        del os.environ[name]
    server = os.environ.get("TEST_DATABASE_URL")
    with tempfile.TemporaryDirectory(prefix="gablekeep-bench-") as folder:
        os.environ |= {"GABLEKEEP_DATA": folder, "DJANGO_SETTINGS_MODULE": "farm.settings"}
        if server is None:
            yield
            return
        import psycopg

        name = f"bench_{uuid.uuid4().hex}"
        with psycopg.connect(server, autocommit=True) as administrator:
            administrator.execute(f"CREATE DATABASE {name}")  # type: ignore[arg-type]
            os.environ["DATABASE_URL"] = f"{server.rpartition('/')[0]}/{name}"
            try:
                yield
            finally:
                administrator.execute(f"DROP DATABASE {name} WITH (FORCE)")  # type: ignore[arg-type]


def _fill(plans: int) -> None:
    """Make farms, tunnels and routines by the models, and so many plans, each due within the week."""
    from django.db import connection, transaction

    from farm.models import Farm, Tunnel
    from maintenance.models import Plan, Routine, Turn

    per_farm = len(ROUTINES) * TUNNELS
    count = -(-plans // per_farm)
    zones = ("America/New_York", "Europe/London", "Pacific/Auckland", "UTC")
    farms = Farm.objects.bulk_create(
        Farm(name=f"Farm {number}", slug=f"farm-{number}", time_zone=zones[number % len(zones)])
        for number in range(count)
    )
    tunnels = Tunnel.objects.bulk_create(
        [Tunnel(farm=farm, code=f"T{number}", name="") for farm in farms for number in range(TUNNELS)], batch_size=2000
    )
    routines = Routine.objects.bulk_create(
        [
            Routine(
                farm=farm, code=f"routine-{number}", name={}, target="tunnel", trigger=trigger, season=season,
                rule="FREQ=DAILY" if trigger == "calendar" else "",
            )
            for farm in farms
            for number, (trigger, season, _cadence) in enumerate(ROUTINES)
        ],
        batch_size=2000,
    )  # fmt: skip
    for farm_number in range(count):  # the re-tightening waits for the film, as on a real farm
        first = farm_number * len(ROUTINES)
        routines[first].waits_for.add(routines[first + 4])
    due = {"autumn": date(2026, 11, 20), "": date(2026, 11, 23), "spring": date(2026, 11, 19)}
    made = 0
    with transaction.atomic():
        for number, routine in enumerate(routines):
            rows = min(TUNNELS, plans - made)
            _trigger, season, cadence = ROUTINES[number % len(ROUTINES)]
            home = (number // len(ROUTINES)) * TUNNELS
            made_now = Plan.objects.bulk_create(
                Plan(
                    farm_id=routine.farm_id, routine=routine, key=f"tunnel-{row}", tunnel=tunnels[home + row],
                    counted_from=date(2026, 1, 1),
                )
                for row in range(rows)
            )  # fmt: skip
            Turn.objects.bulk_create(
                Turn(plan=plan, due_on=due[season], until_on=date(2026, 12, 1), cadence=cadence) for plan in made_now
            )
            made += rows
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _by_hand() -> float:
    """Insert the rows by hand, take them out again, and return how long the insert took. [s]"""
    from django.db import connection, transaction

    start = time.perf_counter()
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(HAND_WRITTEN, [NOW, date(2026, 11, 25)])
    taken = time.perf_counter() - start
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("TRUNCATE maintenance_job CASCADE")
            cursor.execute("VACUUM ANALYZE maintenance_turn")
        else:
            cursor.execute("DELETE FROM maintenance_job")
    return taken


def _ours() -> tuple[float, int]:
    from maintenance.models import Job
    from maintenance.plans.nightly import open_due_jobs

    start = time.perf_counter()
    opened = open_due_jobs(now=NOW)
    taken = time.perf_counter() - start
    assert Job.objects.count() == opened
    return taken, opened


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    numbers = [float(argument) for argument in sys.argv[1:]]
    sys.exit(main(*([int(numbers[0]), *numbers[1:]] if numbers else [])))
