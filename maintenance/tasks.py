"""Celery's entry points, one call each."""

from celery import shared_task
from django.utils import timezone

from maintenance import services


@shared_task
def record_heartbeat(*, name: str = "worker") -> None:
    """Prove that clock, queue, worker and database work together."""
    services.record_heartbeat(name=name, now=timezone.now())
