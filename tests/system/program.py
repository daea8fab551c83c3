"""The whole program in processes of its own, driven as a person drives it."""

import contextlib
import http.client
import http.cookiejar
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import urllib.parse
import urllib.request
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

from celery import Celery

from farm.embedded import broker_url, socket_path

ROOT = Path(__file__).resolve().parents[2]
UP = "Stop with Ctrl-C."  # the last line of a start that worked


class Program:
    """``manage.py start`` on a data folder of its own. Use it as a context manager."""

    def __init__(self, data: Path, *arguments: str, port: int | None = None, **environment: str) -> None:
        self.data = data
        self.port = port or free_port()
        self.lines: list[str] = []
        self.process = subprocess.Popen(
            [sys.executable, str(ROOT / "manage.py"), "start", "--port", str(self.port), *arguments],
            env=bare_environment(data, **environment),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self._reader = threading.Thread(target=self._read)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout
        with self.process.stdout as stream:
            self.lines += iter(stream.readline, "")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.process.kill()  # the children go by themselves: that is part of what is tested
        self.process.wait()
        self._reader.join()

    @property
    def output(self) -> str:
        """Everything that it printed so far."""
        return "".join(self.lines)

    def wait_until_up(self) -> Self:
        """Wait for the last line of the start."""
        eventually(lambda: UP in self.output or self.process.poll() is not None, within=120)
        assert UP in self.output, self.output
        return self

    def stop(self, by: signal.Signals = signal.SIGTERM) -> int:
        """Ask it to stop and return its exit code."""
        self.process.send_signal(by)
        code = self.process.wait(timeout=60)
        self._reader.join()
        return code

    def link(self) -> str:
        """Return the one-time link that it printed."""
        found = re.search(r"https?://\S+/enter/\S+", self.output)
        assert found, self.output
        return found.group()

    def children(self) -> dict[int, str]:
        """Return the commands of all processes below this one, by process id."""
        table = process_table()
        family = {self.process.pid}
        while more := {pid for pid, (parent, _) in table.items() if parent in family} - family:
            family |= more
        return {pid: table[pid][1] for pid in family - {self.process.pid}}

    def child(self, word: str) -> int | None:
        """Return the process id of the oldest child whose command has this word."""
        return min((pid for pid, command in self.children().items() if word in command), default=None)

    def kill(self, word: str) -> int:
        """Kill a child outright, and return the process id that it had."""
        pid = self.child(word)
        assert pid
        os.kill(pid, signal.SIGKILL)
        return pid

    def heartbeats(self) -> set[str]:
        """Return who has given a sign of life, as the database has it."""
        with contextlib.closing(sqlite3.connect(self.data / "gablekeep.sqlite3")) as database:
            return {name for (name,) in database.execute("SELECT name FROM maintenance_heartbeat")}


def queue_heartbeats(broker_address: str, *names: str) -> None:
    """Put a task for each name into a queue."""
    app = Celery(broker=broker_address, set_as_current=False)
    with app.connection_for_write() as broker:
        for name in names:
            app.send_task(
                "maintenance.tasks.record_heartbeat", kwargs={"name": name}, queue="gablekeep", connection=broker
            )


def embedded_broker(data: Path) -> str:
    """Return the address of the embedded queue of a data folder."""
    return broker_url(socket_path(data / "run"))


class Visitor:
    """A browser without a screen: keeps cookies, follows redirects."""

    def __init__(self) -> None:
        cookies = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.opener = urllib.request.build_opener(urllib.request.ProxyHandler({}), cookies)

    def get(self, address: str) -> tuple[str, str]:
        """Return where a request ended and what it read there."""
        with self.opener.open(address, timeout=30) as answer:
            return answer.url, answer.read().decode()

    def press_the_button(self, address: str) -> tuple[str, str]:
        """Open a page and post its form."""
        _, page = self.get(address)
        form = urllib.parse.urlencode({"csrfmiddlewaretoken": token_of(page)}).encode()
        with self.opener.open(address, form, timeout=30) as answer:
            return answer.url, answer.read().decode()


def ask(
    port: int, path: str, headers: dict[str, str], form: dict[str, str] | None = None
) -> tuple[int, http.client.HTTPMessage, str]:
    """Make one request as a server in front would pass it on."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    with contextlib.closing(connection):
        if form is None:
            connection.request("GET", path, headers=headers)
        else:
            kind = {"Content-Type": "application/x-www-form-urlencoded"}
            connection.request("POST", path, urllib.parse.urlencode(form), {**headers, **kind})
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read().decode()


def token_of(page: str) -> str:
    """Return the token of a page's form."""
    found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)
    assert found, page
    return found[1]


def bare_environment(data: Path, **more: str) -> dict[str, str]:
    """Return the environment of a machine on which nothing is set up."""
    return {"PATH": os.environ["PATH"], "GABLEKEEP_DATA": str(data), **more}


def manage(data: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a management command to its end."""
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), *arguments],
        env=bare_environment(data, **environment),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def free_port() -> int:
    """Return a port at which nobody listens now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def process_table() -> dict[int, tuple[int, str]]:
    """Return parent and command of every living process, by process id."""
    if not Path("/proc/self/stat").exists():
        lines = subprocess.check_output(["ps", "-A", "-o", "pid=,ppid=,stat=,command="], text=True).splitlines()
        rows = [line.split(None, 3) for line in lines]
        return {int(row[0]): (int(row[1]), row[-1]) for row in rows if not row[2].startswith("Z")}
    table = {}
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            state, parent = (folder / "stat").read_text().rpartition(")")[2].split()[:2]
            command = (folder / "cmdline").read_text().replace("\0", " ")
            if state not in "ZX":
                table[int(folder.name)] = (int(parent), command)
    return table


def alive(children: dict[int, str]) -> dict[int, str]:
    """Return those of the children that still run."""
    table = process_table()
    return {pid: command for pid, command in children.items() if table.get(pid, (0, ""))[1] == command}


def eventually(condition: Callable[[], object], *, within: float) -> None:
    """Wait until the condition holds, and fail if it never does."""
    deadline = time.monotonic() + within
    while not condition():
        assert time.monotonic() < deadline, "it did not come true in time"
        time.sleep(0.05)
