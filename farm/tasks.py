"""What the clock asks of the program as a whole."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from celery import shared_task
from django.conf import settings

from farm import reset
from farm.backups.making import NAME, make_backup, newest, prune


@shared_task
def back_up() -> None:
    """Make the day's backup unless there is one, and let old ones go."""
    now, folder = datetime.now(UTC), settings.BACKUP_FOLDER
    last = newest(folder)
    if last is not None and last.name > NAME.format(now - timedelta(hours=23)):
        return
    make_backup(folder=folder, now=now)
    prune(folder=folder, now=now, most=settings.BACKUPS_KEPT, oldest=timedelta(days=settings.BACKUP_DAYS))


@shared_task
def send_new_password(*, email: str) -> None:
    """Send a link for a new password to whoever has this address."""
    reset.send_letters(email=email)
