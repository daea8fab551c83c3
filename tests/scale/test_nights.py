"""The nightly run on a real server, with workers killed outright in the middle of it and two clocks at once."""

import contextlib
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import date, timedelta

import psycopg

from tests.system.program import ROOT, bare_environment, eventually, manage

PLANS = 20_000  # of each kind
WEEKS = 12  # nights were missed: each weekly plan has so many jobs to open
KILLS = 20
AT_ONCE = 5  # of them in the first batch, before anything is kept
JOBS = PLANS * (WEEKS + 1)
NOW = "2026-11-25T12:00:00+00:00"
MONDAY = date(2026, 11, 23)
CADENCE = "rule=FREQ%3DWEEKLY%3BBYDAY%3DMO&window=6"
FILL = f"""
INSERT INTO farm_farm (name, slug, units, time_zone, language, currency, exposure, soil, created_at,
    keeps_photo_data)
    VALUES ('Night', 'night', 'us', 'America/New_York', 'en', 'USD', 'C', '', now(), false);
INSERT INTO maintenance_routine (farm_id, code, name, why, rhythm, is_active, target, kinds, needs, trigger, season,
    offset_days, every_years, rule, window_days, minutes, crew, tools, parts, checklist, answer, needs_dry,
    needs_daylight, is_urgent, source)
    SELECT id, code, '{{}}', '{{}}', 'daily', true, 'farm', '[]', '[]', 'condition', '', 0, 1, '', 6, 5, 1, '{{}}',
        '[]', '{{}}', 'done', false, false, false, '' FROM farm_farm, (VALUES ('weekly'), ('once')) kind (code);
INSERT INTO maintenance_plan (farm_id, routine_id, key, what, counted_from)
    SELECT farm_id, id, 'place-' || number, '', '2026-01-01'
    FROM maintenance_routine, generate_series(1, {PLANS}) number;
INSERT INTO maintenance_turn (plan_id, due_on, until_on, cause, cadence)
    SELECT plan.id, day, day + 6, '{{}}', cadence
    FROM maintenance_plan plan JOIN maintenance_routine routine ON routine.id = plan.routine_id
    JOIN (VALUES ('weekly', DATE '{MONDAY - timedelta(weeks=WEEKS - 1)}', '{CADENCE}'),
                 ('once', DATE '{MONDAY}', '')) kind (code, day, cadence) ON kind.code = routine.code;
"""  # noqa: S608 - our own figures


@contextlib.contextmanager
def celery(environment: dict[str, str], *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    """Run a Celery process in a process group of its own, and kill that group at the end."""
    command = [sys.executable, "-m", "celery", "--quiet", "--app", "tests.scale.restless", "--skip-checks", *arguments]
    process = subprocess.Popen(
        command, env=environment, cwd=ROOT, start_new_session=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield process
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()


def test_killed_workers_and_two_clocks_leave_the_same_jobs(tmp_path, database_url):
    servers = {"DATABASE_URL": database_url, "REDIS_URL": os.environ["TEST_REDIS_URL"], "RESTLESS_NOW": NOW}
    assert manage(tmp_path, "migrate", "--verbosity=0", **servers).returncode == 0
    environment = {**bare_environment(tmp_path, **servers), "PYTHONPATH": str(ROOT)}
    beat = ("beat", "--pidfile=", "--loglevel=ERROR", "--max-interval=1")
    worker = ("worker", "--without-gossip", "--without-mingle", "--concurrency=2", "--loglevel=ERROR")
    moments = random.Random(20261125)  # noqa: S311 - the same moments each time
    standing = []
    with psycopg.connect(database_url, autocommit=True) as database:
        database.execute(FILL)  # type: ignore[arg-type]

        def count() -> int:
            row = database.execute("SELECT count(*) FROM maintenance_job").fetchone()
            assert row
            return int(row[0])

        def left() -> int:
            row = database.execute("SELECT count(*) FROM maintenance_turn WHERE due_on <= %s", [MONDAY]).fetchone()
            assert row
            return int(row[0])

        with celery(environment, *beat), celery(environment, *beat):
            for number in range(KILLS):
                goal = count() + (0 if number < AT_ONCE else moments.uniform(0, JOBS / KILLS))
                with celery(environment, *worker):
                    eventually(lambda goal=goal: (is_busy(database) and count() >= goal) or not left(), within=120)
                    time.sleep(moments.uniform(0, 0.1))
                standing.append(count())
                if number == AT_ONCE - 1:
                    database.execute("ANALYZE maintenance_job")  # now the server takes the table for an empty one
            with celery(environment, *worker):
                eventually(lambda: not left() and not is_busy(database), within=180)
        found = database.execute("SELECT plan_id, due_on FROM maintenance_job ORDER BY 1, 2").fetchall()
        plans = database.execute(
            "SELECT plan.id, code FROM maintenance_plan plan JOIN maintenance_routine routine"
            " ON routine.id = plan.routine_id ORDER BY 1"
        ).fetchall()

    weeks = [MONDAY - timedelta(weeks=back) for back in reversed(range(WEEKS))]
    expected = [(plan, day) for plan, code in plans for day in (weeks if code == "weekly" else [MONDAY])]
    assert len(expected) == JOBS
    assert found == expected
    cut_off = [number for number in standing if 0 < number < len(expected)]
    assert len(cut_off) >= KILLS // 2, standing  # the kills fell into the run


def is_busy(database: psycopg.Connection) -> bool:
    """Tell whether a statement of the nightly run is being executed."""
    row = database.execute(
        "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
        " AND state = 'active' AND query LIKE '%maintenance_turn%'"
    ).fetchone()
    assert row
    return bool(row[0])
