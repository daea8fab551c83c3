"""The Celery app and its beat schedule; tasks are named by string."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")

app = Celery("farm")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
