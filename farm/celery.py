"""The Celery app and its beat schedule; tasks are named by string."""

import os
from datetime import timedelta

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")

app = Celery("farm")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
# Name, task, minutes between two, and seconds after which one that no worker took is dropped: beats do not pile up.
SCHEDULE = (
    ("heartbeat", "record_heartbeat", 1, 50),
    ("lay plans", "lay_plans", 15, 600),
    ("open due jobs", "open_due_jobs", 10, 550),
    ("morning lists", "write_digests", 5, 280),
    ("weather", "poll_weather", 5, 280),
    ("storms", "assess_storms", 5, 280),
    ("storm lines", "draw_storm_lines", 5, 280),
    ("messages", "send_reminders", 1, 50),
    ("what does not work", "tell_watch", 5, 280),
    ("backup", "farm.tasks.back_up", 60, 3000),
)
app.conf.beat_schedule = {
    name: {
        "task": task if "." in task else f"maintenance.tasks.{task}",
        "schedule": timedelta(minutes=minutes),
        "options": {"expires": seconds},
    }
    for name, task, minutes, seconds in SCHEDULE
}
