"""What is due, as a table for a file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from django.utils.translation import gettext_lazy as _

from doors.exchange.columns import Column
from doors.exchange.kinds import Kind
from maintenance.models import Job
from maintenance.querysets import JobQuerySet
from maintenance.work.worklist import Row, load_what_is_waited_for, row_of

DUE: Final = Kind(
    "due",
    _("What is due"),
    (
        Column("due_on", read=lambda row: row.job.due_on),
        Column("at_the_latest_on", read=lambda row: row.job.until_on),
        Column("late", read=lambda row: "yes" if row.is_late else "no"),
        Column("place", "place"),
        Column("what", "what"),
        Column("why", "why"),
        Column("list", read=lambda row: str(row.job.plan.routine.get_rhythm_display())),
        Column("state", read=lambda row: str(row.job.get_state_display())),
        Column("person_minutes", "minutes"),
        Column("people", "crew"),
        Column("given_to", "who"),
        Column("first_comes", read=lambda row: "; ".join(row.waits_for)),
    ),
    lambda _farm: {},
)


def due_rows(jobs: JobQuerySet, *, rhythm: str, on: date, units: str) -> Iterator[Row]:
    """Yield every job of a list, the first to be done on top."""
    wanted = jobs.filter(plan__routine__rhythm=rhythm) if rhythm else jobs
    found = list(Job.objects.filter(pk__in=wanted.order_by().values("pk")).for_list().order_by("until_on", "pk"))
    load_what_is_waited_for(found)
    for job in found:
        yield row_of(job, on, units)
