"""The Celery app and its beat schedule; tasks are named by string."""

import os
from datetime import timedelta

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")

app = Celery("farm")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.conf.beat_schedule = {
    "heartbeat": {
        "task": "maintenance.tasks.record_heartbeat",
        "schedule": timedelta(minutes=1),
        "options": {"expires": 50},  # seconds: beats do not pile up while no worker listens
    },
}
