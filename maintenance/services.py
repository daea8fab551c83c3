"""Changes that span rows of maintenance."""

from datetime import datetime, timedelta

from maintenance.models import Heartbeat

LONGEST_SILENCE = timedelta(minutes=5)  # beats come every minute; a long job may hold up a few


def record_heartbeat(*, name: str, now: datetime) -> None:
    """Note that ``name`` works at ``now``."""
    Heartbeat.objects.update_or_create(name=name, defaults={"beat_at": now})


def is_beating(*, name: str, now: datetime) -> bool:
    """Tell whether ``name`` has given a sign of life lately."""
    return Heartbeat.objects.filter(name=name, beat_at__gt=now - LONGEST_SILENCE).exists()
