"""Celery's entry points, one call each."""

from datetime import datetime
from time import monotonic

from celery import shared_task
from django.utils import timezone

from maintenance import services
from maintenance.aftermath import findings
from maintenance.blow import lines, sweep, waiting
from maintenance.hands import reopening
from maintenance.messages import delivery, digest
from maintenance.plans import nightly, rounds
from maintenance.skies import polling
from maintenance.watching import notices as watchnotices
from maintenance.wholefarm import asked

SWEPT_WITHIN = 280  # seconds: the next pass asks again


@shared_task
def record_heartbeat(*, name: str = "worker") -> None:
    """Prove that clock, queue, worker and database work together."""
    services.record_heartbeat(name=name, now=timezone.now())


@shared_task
def open_due_jobs(*, now: str | None = None) -> None:
    """Open what is due at this moment, or at an ISO moment with its zone."""
    moment = datetime.fromisoformat(now) if now else timezone.now()
    if nightly.open_due_jobs(now=moment):
        lines.note_opened_jobs(since=moment)


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
    """Have every farm's storm worked out again, as time goes by; then see what is to be opened again, or looked at."""
    chunks = list(sweep.chunks())
    if len(chunks) > 1:
        for farms in chunks:
            sweep_farms.apply_async(kwargs={"farms": farms}, expires=SWEPT_WITHIN)
    elif chunks and sweep.sweep(farms=chunks[0], now=timezone.now()):  # so few that this worker does it all
        work_waiting()
    reopening.remind(now=timezone.now())
    findings.open_all_findings(now=timezone.now())


@shared_task
def sweep_farms(*, farms: tuple[int, ...] = ()) -> None:
    """Hold the openings of these farms against their forecasts, and have worked out what is not calm."""
    if sweep.sweep(farms=farms, now=timezone.now()):
        work_waiting.delay()


@shared_task
def work_waiting() -> None:
    """Work out the farms that wait, for most of a minute; another message takes on what is left."""
    ends = monotonic() + 45
    waiting.work_waiting(clock=timezone.now, is_enough=lambda: monotonic() > ends)
    if waiting.is_any_waiting(now=timezone.now()):
        work_waiting.delay()


@shared_task
def draw_storm_lines() -> None:
    """Draw the closing lines of farms that changed, and of those where that was long ago."""
    ends = monotonic() + 100
    lines.draw_old_lines(now=timezone.now(), is_enough=lambda: monotonic() > ends)


@shared_task
def tell_watch() -> None:
    """Tell managers what does not work, and when it works again."""
    watchnotices.tell_watch(now=timezone.now())


@shared_task
def make_farm_file(*, farm_id: int = 0) -> None:
    """Make the file in which a farm is taken along."""
    asked.make(farm_id=farm_id, now=timezone.now())
