"""Celery's entry points, one call each."""

from datetime import datetime
from time import monotonic

from celery import shared_task
from django.utils import timezone

from maintenance import services
from maintenance.aftermath import findings
from maintenance.blow import assess
from maintenance.hands import reopening
from maintenance.messages import delivery, digest
from maintenance.plans import nightly, rounds
from maintenance.skies import polling
from maintenance.watching import notices as watchnotices


@shared_task
def record_heartbeat(*, name: str = "worker") -> None:
    """Prove that clock, queue, worker and database work together."""
    services.record_heartbeat(name=name, now=timezone.now())


@shared_task
def open_due_jobs(*, now: str | None = None) -> None:
    """Open what is due at this moment, or at an ISO moment with its zone."""
    nightly.open_due_jobs(now=datetime.fromisoformat(now) if now else timezone.now())


@shared_task
def lay_plans() -> None:
    """Bring the plans of those farms up to date where nobody has for a while."""
    rounds.lay_old_plans(now=timezone.now())


@shared_task
def write_digests() -> None:
    """Write the morning lists whose hour has come."""
    digest.write_digests(now=timezone.now())


@shared_task
def send_reminders() -> None:
    """Write what cannot wait, and send what is due, batch by batch for most of a minute."""
    digest.write_urgent_jobs(now=timezone.now())
    ends = monotonic() + 45
    while delivery.send_due(now=timezone.now()) and monotonic() < ends:
        pass


@shared_task
def poll_weather() -> None:
    """Ask the weather services what farms wait for, for most of the time until the next beat."""
    ends = monotonic() + 200
    polling.poll_sources(now=timezone.now(), is_enough=lambda: monotonic() > ends)


@shared_task
def assess_storms() -> None:
    """Work out every farm's storm again, as time goes by; then see what is to be opened again, or looked at."""
    assess.assess_farms(now=timezone.now())
    reopening.remind(now=timezone.now())
    findings.open_all_findings(now=timezone.now())


@shared_task
def tell_watch() -> None:
    """Tell managers what does not work, and when it works again."""
    watchnotices.tell_watch(now=timezone.now())
