"""A small farm before a storm, with servers of its own that a test can stop, and rows to compare with another's."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import psycopg
import redis
from celery import Celery

from tests.standin import Answer, StandIn, json_answer
from tests.system.program import ROOT, bare_environment, eventually, free_port, process_table
from tests.weather_documents import open_meteo

START = datetime(2026, 11, 25, 12, tzinfo=UTC)  # six in the morning on the farm
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
BY = 60  # a minute of the farm's is a second of ours
METEO = "/v1/forecast"
WAIT = 120.0  # s, on a machine that has more to do
CALM, GALE = 5.0, 27.0  # m/s
FILL = """
import django; django.setup()
from decimal import Decimal
from django.contrib.auth.models import User
from farm.signin import one_time_path
from maintenance.models import Contact, WeatherSource
from maintenance.skies.sources import choose
from maintenance.work.faults import log_fault
from tests.factories import make_farm, make_member, make_opening, make_tunnel
from tests.scale.outages import START
farm = make_farm(slug="farm", name="Farm", latitude_deg=Decimal("41.26"), longitude_deg=Decimal("-96.5"),
                 time_zone="America/Chicago", created_at=START)
for name, role in (("ines", "manager"), ("teo", "crew"), ("marisol", "crew")):
    user = User.objects.create_user(name, f"{name}@farm.example", is_superuser=role == "manager")
    member = make_member(farm, role, user=user)
    Contact.objects.create(membership=member, email=user.email, quiet_from="00:00", quiet_until="00:00")
for number in range(1, 7):
    tunnel = make_tunnel(farm, code=f"T{number}", has_left_rollup=True, has_right_rollup=True)
    for end in ("A", "B"):
        opening = make_opening(tunnel.end_walls.get(end=end), code=f"T{number}-{end}")
    log_fault(farm=farm, place=opening, part="clamp", mode="loose", found_on=START.date(), by=None, now=START,
              is_critical=number < 3, minutes=30)
choose(source=WeatherSource(farm=farm, kind="open_meteo"), now=START)
print(one_time_path(User.objects.get(username="ines")))
"""
# What must be the same however often the work was disturbed: everything but ids, and when it was written down.
SAME = {
    "storms": "SELECT state, level, begins_at, ends_at, peak_at, peak_gust_m_s, deadline_at, start_by_at"
    " FROM maintenance_storm ORDER BY opened_at",
    "looks": "SELECT storm.begins_at, look.what, look.level, look.peak_at, look.deadline_at, look.start_by_at,"
    " look.open_minutes, look.people FROM maintenance_stormlook look JOIN maintenance_storm storm"
    " ON storm.id = look.storm_id ORDER BY look.at, look.id",
    "tasks": "SELECT key, kind, tunnel_id, opening_id, repair_id, side, minutes, people, is_windward, is_critical,"
    " assigned_to_id, second_id, position, begins_at, is_left_out, state, done_by_id"
    " FROM maintenance_stormtask ORDER BY storm_id, key",
    "people": "SELECT membership_id, is_here, works_until FROM maintenance_stormperson ORDER BY storm_id, 1",
    "reminders": "SELECT membership_id, way, regexp_replace(key, '^storm-[0-9]+', 'storm'), subject, body, state"
    " FROM maintenance_reminder ORDER BY 1, 2, 3",
}


class Queue:
    """A Redis server of the test's own, without any memory of what it held before it was stopped."""

    def __init__(self) -> None:
        self.port = free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.process: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        command = ["redis-server", "--port", str(self.port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        eventually(self._answers, within=10)

    def stop(self) -> None:
        assert self.process
        self.process.kill()
        self.process.wait()

    def _answers(self) -> bool:
        with contextlib.suppress(redis.ConnectionError), redis.Redis.from_url(self.url) as server:
            return bool(server.ping())
        return False


class Place:
    """A database with the farm, a clock, and what processes need to know of them."""

    def __init__(
        self, folder: Path, database_url: str, queue: Queue, standin: StandIn, mail_port: int, data: Path | None = None
    ) -> None:
        self.folder, self.queue, self.standin = folder, queue, standin
        folder.mkdir()
        self.clock = folder / "clock"
        self.environment = bare_environment(
            data or folder, DATABASE_URL=database_url, REDIS_URL=queue.url, GABLEKEEP_OPEN_METEO=standin.url,
            GABLEKEEP_SMTP=f"smtp://127.0.0.1:{mail_port}", GABLEKEEP_MAIL_FROM="Farm <post@farm.example>",
            HURRIED_CLOCK=str(self.clock), HURRIED_BY=str(BY), PYTHONPATH=str(ROOT), GABLEKEEP_SECRET_KEY="k" * 50,
        )  # fmt: skip
        self.database = psycopg.connect(database_url, autocommit=True)
        self.app = Celery(broker=queue.url, set_as_current=False)
        self.rounds = 0
        self.set_clock(START)

    def set_clock(self, at: datetime, speed: float = 0) -> None:
        """Let it be a moment, and go on from there as many times as fast."""
        new = self.clock.with_suffix(".new")
        new.write_text(f"{at.isoformat()} {time.time()} {speed}")
        new.replace(self.clock)

    def now(self) -> datetime:
        at, since, speed = self.clock.read_text().split()
        return datetime.fromisoformat(at) + timedelta(seconds=(time.time() - float(since)) * float(speed))

    def forecast(self, gusts: list[float], *, at: datetime = START) -> None:
        """Let the weather service forecast gusts, hour by hour from a moment on."""
        hours = len(gusts)
        series = {
            "time": [int((at + number * HOUR).timestamp()) for number in range(hours)],
            "wind_gusts_10m": gusts, "wind_speed_10m": [gust * 0.6 for gust in gusts],
            "wind_direction_10m": [270] * hours, "temperature_2m": [10.0] * hours, "precipitation": [0.0] * hours,
            "snowfall": [0.0] * hours, "weather_code": [3] * hours,
        }  # fmt: skip
        self.standin.on(METEO, json_answer(open_meteo(hours, **series), kind="application/json"))

    def silence(self) -> None:
        """Let the weather service fail."""
        self.standin.on(METEO, Answer(b"<html>502</html>", 502, "text/html"))

    @contextlib.contextmanager
    def celery(self, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
        """Run a Celery process in a process group of its own, and kill that group at the end."""
        command = [sys.executable, "-m", "celery", "--quiet", "--app", "tests.scale.hurried", "--skip-checks"]
        with self._running([*command, *arguments]) as process:
            yield process

    def worker(self, at_once: int = 1) -> contextlib.AbstractContextManager[subprocess.Popen[bytes]]:
        return self.celery("worker", "--without-gossip", "--without-mingle", f"--concurrency={at_once}")

    def beat(self) -> contextlib.AbstractContextManager[subprocess.Popen[bytes]]:
        return self.celery("beat", "--pidfile=", "--max-interval=1")

    @contextlib.contextmanager
    def pages(self) -> Iterator[int]:
        """Serve the pages, and yield the port."""
        port = free_port()
        with self._running([sys.executable, "-m", "tests.scale.hurried", str(port)]):
            yield port

    @contextlib.contextmanager
    def _running(self, command: list[str]) -> Iterator[subprocess.Popen[bytes]]:
        with (self.folder / "log").open("ab") as log:
            process = subprocess.Popen(
                command, env=self.environment, cwd=ROOT, start_new_session=True, stdout=log, stderr=log
            )
        try:
            yield process
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()

    def send(self, *tasks: str) -> None:
        """Put tasks into the queue."""
        with self.app.connection_for_write() as broker:
            for task in tasks:
                self.app.send_task(f"maintenance.tasks.{task}", queue="gablekeep", connection=broker)

    def do(self, *tasks: str) -> None:
        """Put tasks into the queue and wait until they are done, one after the other."""
        self.rounds += 1
        name = f"round {self.rounds}"
        self.send(*tasks)
        with self.app.connection_for_write() as broker:
            self.app.send_task(
                "maintenance.tasks.record_heartbeat", kwargs={"name": name}, queue="gablekeep", connection=broker
            )
        eventually(lambda: self.one("SELECT count(*) FROM maintenance_heartbeat WHERE name = %s", name), within=WAIT)

    def begin(self, task: str) -> Path:
        """Put a task into the queue, wait until it is begun, and return the file that is there until it is done."""
        sign = self.folder / f"maintenance.tasks.{task}"
        sign.unlink(missing_ok=True)
        self.send(task)
        deadline = time.monotonic() + WAIT
        while not sign.exists():
            assert time.monotonic() < deadline
            time.sleep(0.002)
        return sign

    def one(self, query: str, *values: Any) -> Any:
        """Return the one value that a query asks for; nothing where there is no row."""
        row = self.database.execute(query, values).fetchone()  # type: ignore[arg-type]
        return row[0] if row else None

    def rows(self, query: str, *values: Any) -> list[tuple[Any, ...]]:
        return self.database.execute(query, values).fetchall()  # type: ignore[arg-type]

    def same(self) -> dict[str, list[tuple[Any, ...]]]:
        """Return what must be the same however often the work was disturbed."""
        return {name: self.rows(query) for name, query in SAME.items()}


def blow(begins: int, hours: int = 8, gust: float = GALE, length: int = 120) -> list[float]:
    """Return gusts of a calm week with a gale some hours after its start. [m/s]"""
    return [gust if begins <= hour < begins + hours else CALM for hour in range(length)]


def children_of(process: subprocess.Popen[bytes]) -> list[int]:
    """Return the processes that do a worker's work."""
    return [pid for pid, (parent, _command) in process_table().items() if parent == process.pid]
