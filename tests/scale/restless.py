"""The program's Celery app with a clock in a hurry: it asks for the night's jobs again and again."""

import os
from datetime import timedelta

from farm.celery import app

app.conf.beat_schedule = {
    "open due jobs": {
        "task": "maintenance.tasks.open_due_jobs",
        "schedule": timedelta(seconds=1),
        "kwargs": {"now": os.environ["RESTLESS_NOW"]},
        "options": {"expires": 20},
    },
}
