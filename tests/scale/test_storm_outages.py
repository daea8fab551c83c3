"""A farm before a storm whose weather service, queue and workers fail: it is warned, and the storm's record is one."""

from __future__ import annotations

import contextlib
import os
import random
import signal
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import psycopg
import pytest
from aiosmtpd.controller import Controller
from psycopg import sql

from tests.post_office import AnyPort, MailServer
from tests.scale.outages import BY, FILL, HOUR, MINUTE, START, WAIT, Place, Queue, blow, children_of
from tests.standin import StandIn
from tests.system.program import ROOT, Visitor, eventually

ALL = ("record_heartbeat", "poll_weather", "assess_storms", "tell_watch", "send_reminders")
NOT_CALM = "Do not take quiet for calm"
SILENT = "Nothing has been done in the background"
OLDEST, TRIES = 6, 3  # hours that a forecast may get old, and tries of each question: as the program has them
SILENCE = (0.5, 1, 2, 3, 4, 5, 6, 7, *range(8, 25, 2))  # hours after the start
PLANNED = "SELECT count(*) FROM maintenance_stormtask WHERE begins_at IS NOT NULL"
KILLS = 5  # of the process that works out the storm, for each forecast
STORY = (  # hours after the start; gusts
    (0, blow(58)),  # a gale on Friday at 16:00
    (1, blow(55, 12)),  # three hours sooner, and longer
    (2, blow(0, 0)),  # it does not come
    (3, blow(54, 12)),  # it does
)


@pytest.fixture(scope="module")
def queue() -> Iterator[Queue]:
    queue = Queue()
    yield queue
    queue.stop()


@pytest.fixture(scope="module")
def farm(queue, tmp_path_factory) -> Iterator[tuple[str, str, str, Path]]:
    """Make a database with a farm, to be copied: the server, its name, the manager's link, and the data folder."""
    server, name = os.environ["TEST_DATABASE_URL"], f"farm_{uuid.uuid4().hex}"
    with psycopg.connect(server, autocommit=True) as administrator, StandIn() as standin:
        administrator.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        folder = tmp_path_factory.mktemp("farm") / "first"
        first = Place(folder, f"{server.rpartition('/')[0]}/{name}", queue, standin, 25)
        run = {"env": {**first.environment, "DJANGO_SETTINGS_MODULE": "farm.settings"}, "cwd": ROOT, "check": True}
        subprocess.run([sys.executable, "manage.py", "migrate", "--verbosity=0"], **run)  # type: ignore[call-overload]
        subprocess.run(  # type: ignore[call-overload]
            [sys.executable, "manage.py", "collectstatic", "--no-input", "--verbosity=0"], **run
        )
        filled = subprocess.run(  # type: ignore[call-overload]
            [sys.executable, "-c", FILL], stdout=subprocess.PIPE, text=True, **run
        )
        first.database.close()
        yield server, name, filled.stdout.strip(), folder
        administrator.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


@pytest.fixture
def post() -> Iterator[Controller]:
    controller = AnyPort(MailServer(), hostname="127.0.0.1", port=0)
    controller.start()
    yield controller
    controller.stop()


@pytest.fixture
def place(queue, farm, post, tmp_path) -> Iterator[Callable[[], Place]]:
    """Return what makes another copy of the farm; each has a weather service of its own."""
    server, template, _link, data = farm
    made: list[Place] = []

    def make() -> Place:
        name = f"farm_{uuid.uuid4().hex}"
        administrator.execute(
            sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(sql.Identifier(name), sql.Identifier(template))
        )
        standin = StandIn()
        standin.__enter__()
        made.append(Place(tmp_path / name, f"{server.rpartition('/')[0]}/{name}", queue, standin, post.port, data))
        return made[-1]

    with psycopg.connect(server, autocommit=True) as administrator:
        yield make
        for one in made:
            one.standin.__exit__()
            name = one.database.info.dbname
            one.database.close()
            administrator.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


def test_a_service_silent_for_a_day_is_no_calm_and_leaves_the_storm_as_it_was(place, farm, post):
    here = place()
    here.forecast(blow(58))
    warned = []
    with here.pages() as port, here.worker():
        here.do(*ALL)
        wind = page_of_the_wind(farm[2], port)
        before, record = here.same(), here.rows("SELECT id, state, deadline_at FROM maintenance_storm")
        here.silence()
        asked = len(here.standin.asked)
        for hours in SILENCE:
            here.set_clock(START + hours * HOUR)
            here.do(*ALL)
            assert here.rows("SELECT id, state, deadline_at FROM maintenance_storm") == record
            warned += [hours] if NOT_CALM in wind() else []
        asked = len(here.standin.asked) - asked
        here.forecast(blow(58))
        here.set_clock(START + 27 * HOUR)  # asked no later than when half the age is gone that a forecast may reach
        here.do(*ALL)
        page = wind()

    assert warned == [hours for hours in SILENCE if hours > OLDEST]
    assert NOT_CALM not in page
    assert len(SILENCE) <= asked <= TRIES * len(SILENCE)
    after = here.same()
    reminders = {name: [row for row in rows.pop("reminders") if row[2].startswith("storm")]
                 for name, rows in (("before", before), ("after", after))}  # fmt: skip
    assert after == before
    assert reminders["after"] == reminders["before"]
    managers = [letter for letter in post.handler.letters if letter["To"] == "ines@farm.example"]
    assert [(letter["Date"].datetime, letter["Subject"].partition(": ")[2]) for letter in managers[1:]] == [
        (START + HOUR / 2, "The weather service did not answer the last time"),
        (START + 7 * HOUR, "No forecast has come for 7 hours"),
        (START + 18 * HOUR, "No forecast has come for 18 hours"),  # another day, at midnight
        (START + 27 * HOUR, "There is a fresh forecast again."),
    ]


def test_a_queue_that_is_gone_for_ten_minutes_is_said_and_the_storm_goes_on(place, farm, queue):
    here, undisturbed = place(), place()
    with undisturbed.worker():
        live(undisturbed, STORY[:2])
    here.forecast(STORY[0][1])
    here.set_clock(START, BY)
    with here.pages() as port, here.worker(2), here.beat():
        wind = page_of_the_wind(farm[2], port)
        eventually(lambda: SILENT not in wind() and here.one(PLANNED), within=WAIT)
        queue.stop()
        gone_at = said_at = here.now()
        while here.now() < gone_at + 10 * MINUTE:
            said_at = said_at if SILENT in wind() else here.now()
        queue.start()
        here.forecast(STORY[1][1])
        here.set_clock(START + HOUR, BY)
        eventually(lambda: here.one("SELECT count(*) FROM maintenance_stormlook") == 2, within=WAIT)
        eventually(lambda: SILENT not in wind(), within=WAIT)

    assert 4 * MINUTE < said_at - gone_at < 7 * MINUTE  # the last beat before, and five minutes
    assert here.same()["storms"] == undisturbed.same()["storms"]
    assert here.same()["people"] == undisturbed.same()["people"]
    assert [row[0] for row in here.same()["tasks"]] == [row[0] for row in undisturbed.same()["tasks"]]


def test_workers_killed_in_the_middle_leave_the_same_record(place):
    undisturbed, here = place(), place()
    with undisturbed.worker():
        lasted = live(undisturbed, STORY)
    moments = random.Random(20261125)  # noqa: S311 - the same moments each time
    for (hours, gusts), seconds in zip(STORY, lasted, strict=True):
        with here.worker() as worker:  # killed as a whole at the end, in the middle of a task
            here.do("assess_storms")  # what the one before left undone
            here.set_clock(START + hours * HOUR)
            here.forecast(gusts)
            here.do("poll_weather")
            for number in range(KILLS):  # the later ones later in the run: it shall not come to its end before
                (child,) = children_of(worker)
                sign = here.begin("assess_storms")
                time.sleep(seconds * (number + moments.random()) / KILLS)
                if sign.exists():
                    os.kill(child, signal.SIGKILL)
                    eventually(lambda worker=worker, child=child: set(children_of(worker)) - {child}, within=WAIT)
            here.begin("assess_storms")
    with here.worker():
        here.do("assess_storms")

    assert here.same() == undisturbed.same()
    lost = (here.folder / "log").read_text().count("WorkerLostError")
    assert lost >= KILLS * len(STORY) // 2, lost  # the kills fell into the run


def live(place: Place, story: Sequence[tuple[float, list[float]]]) -> list[float]:
    """Let a farm have one forecast after the other, and return how long each took to be worked out. [s]"""
    lasted = []
    for hours, gusts in story:
        place.set_clock(START + hours * HOUR)
        place.forecast(gusts)
        place.do("poll_weather")
        sign, began = place.begin("assess_storms"), time.monotonic()
        while sign.exists():
            time.sleep(0.002)
        lasted.append(time.monotonic() - began)
    return lasted


def page_of_the_wind(link: str, port: int) -> Callable[[], str]:
    """Return what reads the page of the wind, as the manager whom the link lets in."""
    visitor, address = Visitor(), f"http://127.0.0.1:{port}"

    def answers() -> bool:
        with contextlib.suppress(OSError):
            return bool(visitor.get(f"{address}/login/"))
        return False

    eventually(answers, within=WAIT)
    visitor.press_the_button(address + link)
    return lambda: visitor.get(f"{address}/farm/farm/storms/")[1]
