"""The program's Celery app with a clock in a hurry: it asks for the night's jobs again and again, in small batches."""

import os
from datetime import timedelta

import django

from farm.celery import app

django.setup()

from maintenance.plans import nightly  # noqa: E402 - after the set-up

nightly.BATCH = 10_000  # type: ignore[misc]

app.conf.beat_schedule = {
    "open due jobs": {
        "task": "maintenance.tasks.open_due_jobs",
        "schedule": timedelta(seconds=1),
        "kwargs": {"now": os.environ["RESTLESS_NOW"]},
        "options": {"expires": 20},
    },
}
