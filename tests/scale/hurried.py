"""The program's Celery app and its pages by a clock of the tests' own, which stands or runs as many times as fast.

The moment is in the file that HURRIED_CLOCK names. Beats, and the waits between two tries, are shorter by the factor
HURRIED_BY; nothing else of the program is changed. Run as ``python -m tests.scale.hurried PORT`` it serves the pages.
"""

import os
import sys
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import django
from celery.signals import task_postrun, task_prerun
from django.utils import timezone

from farm.celery import app

CLOCK = Path(os.environ["HURRIED_CLOCK"])
BY = float(os.environ["HURRIED_BY"])
BACKUPS = "farm.tasks.back_up"  # goes by the computer's clock, and has nothing to do with storms


def hurried_now() -> datetime:
    """Return the moment of the file, moved on by what has passed since it was written."""
    at, since, speed = CLOCK.read_text().split()
    return datetime.fromisoformat(at) + timedelta(seconds=(time.time() - float(since)) * float(speed))


@task_prerun.connect
def note_begin(**task: Any) -> None:
    """Leave a file while a task is being done, so that a test can fall into it."""
    (CLOCK.parent / task["task"].name).touch()


@task_postrun.connect
def note_end(**task: Any) -> None:
    (CLOCK.parent / task["task"].name).unlink(missing_ok=True)


timezone.now = hurried_now
django.setup()

from maintenance.skies import polling  # noqa: E402 - after the set-up
from maintenance.watching import watch  # noqa: E402
from maintenance.weather.client import Caller  # noqa: E402

watch.KEPT = 0  # type: ignore[misc]  # a page says what is so now, not of twenty seconds ago
polling.own_caller = lambda: Caller(  # type: ignore[assignment]
    "Gablekeep (mailto:post@farm.example)", sleep=lambda seconds: time.sleep(seconds / BY)
)

app.conf.beat_schedule = {
    name: {
        **entry,
        "schedule": entry["schedule"] / BY,
        "options": {"expires": max(entry["options"]["expires"] / BY, 0.5)},
    }
    for name, entry in app.conf.beat_schedule.items()
    if entry["task"] != BACKUPS
}

if __name__ == "__main__":
    from farm.serve import main

    main("127.0.0.1", int(sys.argv[1]))
