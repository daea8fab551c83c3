"""Ends the supervisor's children when the supervisor is gone, even when it was killed outright.

The supervisor writes ``+N`` for each process group N it starts and ``-N`` for each that has ended.
When it dies, its end of the pipe closes; what is still on the list is asked to stop, then made to.
This file is run by itself and uses the standard library only, so that it starts at once.
"""

import contextlib
import os
import signal
import sys
import time

PATIENCE = 10.0  # seconds between asking and killing


def is_alive(group: int) -> bool:
    """Tell whether a process group still has a member."""
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    except PermissionError:  # macOS answers so for a group of which only the dead are left
        return False
    return True


def end(groups: set[int]) -> None:
    """Ask each group's leader to stop, then kill what is left."""
    for group in groups:
        with contextlib.suppress(ProcessLookupError):
            os.kill(group, signal.SIGTERM)
    deadline = time.monotonic() + PATIENCE
    while any(is_alive(group) for group in groups) and time.monotonic() < deadline:
        time.sleep(0.05)
    for group in groups:
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(group, signal.SIGKILL)


def main() -> None:
    """Keep the list until the supervisor's end of the pipe closes."""
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    groups: set[int] = set()
    for line in sys.stdin:
        group = int(line[1:])
        if line[0] == "+":
            groups.add(group)
        else:
            groups.discard(group)
    end(groups)


if __name__ == "__main__":
    main()
