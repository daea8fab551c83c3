"""Starts child processes, brings back those that die, and stops them all.

Each child leads a process group of its own: Ctrl-C reaches the supervisor only, which stops the
children in order, and what a child leaves behind is ended with its group.
"""

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import Self

from farm import leash
from farm.data_folder import StartError

TICK = 0.1  # seconds between two looks at the children
PATIENCE = 15.0  # seconds that a child has to finish its work when asked to stop
READY_WITHIN = 60.0  # seconds
RUN_OF_DEATHS = 4  # as many within DEATH_WINDOW, and the supervisor gives up
DEATH_WINDOW = 120.0  # seconds
LONGEST_LOG = 1_000_000  # bytes; a longer one is set aside at the next start


@dataclass
class Child:
    """A command that is to be kept running, and how it has fared."""

    name: str
    command: list[str]
    log: Path
    env: Mapping[str, str]  # on top of our own
    feeds: str  # the child that must begin anew when this one does
    process: subprocess.Popen[bytes] | None = None
    deaths: list[float] = field(default_factory=list)
    due_at: float = 0.0  # monotonic seconds: when to start it again

    def tail(self) -> str:
        """Return the last lines that the child wrote."""
        lines = self.log.read_text(encoding="utf-8", errors="replace").splitlines()
        return "\n".join(line for line in lines[-8:] if line.strip())


class Supervisor:
    """A family of processes that live and end together. Use it as a context manager."""

    def __init__(self, *, work_folder: Path, log_folder: Path, lock: int, tell: Callable[[str], None]) -> None:
        self.work_folder = work_folder
        self.log_folder = log_folder
        self.lock = lock
        self.tell = tell
        self.children: list[Child] = []
        self.stopping = False

    def __enter__(self) -> Self:
        self.log_folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, self._ask_to_stop)
        its_end, self._notes = os.pipe()
        # The leash inherits the lock: nobody else starts on this data before the last child is gone.
        self._leash = subprocess.Popen(  # noqa: S603 - our own file
            [sys.executable, "-I", "-S", leash.__file__],
            stdin=its_end,
            pass_fds=[self.lock],
            start_new_session=True,
        )
        os.close(its_end)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stop_all()
        os.close(self._notes)
        self._leash.wait()

    def start(
        self,
        name: str,
        command: list[str],
        *,
        ready: Callable[[], bool] = lambda: True,
        env: Mapping[str, str] = MappingProxyType({}),
        feeds: str = "",
    ) -> None:
        """Start a child and wait until ``ready`` says that it works."""
        if self.stopping:
            return
        log = self.log_folder / f"{name}.log"
        if log.exists() and log.stat().st_size > LONGEST_LOG:
            log.replace(log.with_suffix(".log.old"))
        child = Child(name, command, log, env, feeds)
        self.children.append(child)
        process = self._launch(child)
        deadline = time.monotonic() + READY_WITHIN
        while not (self.stopping or ready()):
            if process.poll() is not None:
                raise StartError(f"The {name} process ended at once. It wrote in {log}:\n{child.tail()}")
            if time.monotonic() > deadline:
                raise StartError(f"The {name} process did not get ready. Look into {log}:\n{child.tail()}")
            time.sleep(TICK)

    def watch(self) -> None:
        """Keep the children running until somebody asks to stop, or one of them cannot be kept."""
        while not self.stopping:
            for child in self.children:
                self._look_after(child)
            time.sleep(TICK)

    def _ask_to_stop(self, *_: object) -> None:
        self.stopping = True

    def _launch(self, child: Child) -> subprocess.Popen[bytes]:
        with child.log.open("ab") as log:
            process = subprocess.Popen(  # noqa: S603 - our own command lines
                child.command,
                cwd=self.work_folder,
                env={**os.environ, **child.env},
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        child.process = process
        self._note(f"+{process.pid}")
        return process

    def _look_after(self, child: Child) -> None:
        """Start a dead child again, later each time; give up on one that keeps dying."""
        now = time.monotonic()
        if child.process is None:
            if now >= child.due_at:
                self._launch(child)
            return
        code = child.process.poll()
        if code is None:
            return
        self._bury(child, child.process)
        child.deaths = [at for at in child.deaths if now - at < DEATH_WINDOW] + [now]
        if len(child.deaths) >= RUN_OF_DEATHS:
            raise StartError(f"The {child.name} process keeps ending. It wrote in {child.log}:\n{child.tail()}")
        pause = 2.0 ** (len(child.deaths) - 1)
        child.due_at = now + pause
        self.tell(f"The {child.name} process ended (code {code}); it starts again in {pause:.0f} s.")
        for other in self.children:
            # A worker can survive its broker and then take no more work; only a new one is sure to.
            if other.name == child.feeds and other.process:
                other.process.terminate()

    def _stop_all(self) -> None:
        """Stop the children; one that feeds another outlives it, so that no work is cut off."""
        for feeding in (False, True):
            group = [child for child in self.children if bool(child.feeds) is feeding]
            for child in group:
                if child.process:
                    child.process.terminate()
            deadline = time.monotonic() + PATIENCE
            for child in group:
                if child.process:
                    self._wait_for(child, child.process, deadline)

    def _wait_for(self, child: Child, process: subprocess.Popen[bytes], deadline: float) -> None:
        try:
            process.wait(max(0.0, deadline - time.monotonic()))
        except subprocess.TimeoutExpired:
            self.tell(f"The {child.name} process did not stop in {PATIENCE:.0f} s and is killed.")
        self._bury(child, process)

    def _bury(self, child: Child, process: subprocess.Popen[bytes]) -> None:
        """Kill what is left of a child's group, and take it off the leash's list."""
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        self._note(f"-{process.pid}")
        child.process = None

    def _note(self, line: str) -> None:
        with contextlib.suppress(BrokenPipeError):  # without a leash we still stop what we started
            os.write(self._notes, f"{line}\n".encode("ascii"))
