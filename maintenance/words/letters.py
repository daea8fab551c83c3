"""What messages say: the morning list, a job that cannot wait, and how a letter prints them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import groupby
from typing import Final

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from farm.models import Farm
from maintenance.models import Job, Reminder, Routine
from maintenance.words.places import place_code, place_of_job, repair_of
from maintenance.words.reasons import lateness, why
from maintenance.words.said import lines_in_units, plan_name

MOST_LINES: Final = 40  # of one list; a longer one is read on the page
RHYTHMS: Final = (Routine.Rhythm.EVENT, Routine.Rhythm.DAILY, Routine.Rhythm.CYCLE)


@dataclass(frozen=True)
class Morning:
    """What presses on one person on a day: jobs in order of their last days, and how many have longer."""

    jobs: Sequence[Job]
    longer: int
    on: date

    @cached_property
    def late(self) -> list[Job]:
        """Jobs whose last day has passed."""
        return [job for job in self.jobs if job.until_on < self.on]

    @cached_property
    def today(self) -> list[Job]:
        """Jobs whose last day is today."""
        return [job for job in self.jobs if job.until_on == self.on]

    @cached_property
    def week(self) -> list[Job]:
        """Jobs that have to be done within the next days."""
        return [job for job in self.jobs if job.until_on > self.on]


def digest_subject(farm: Farm, morning: Morning) -> str:
    """Return how many jobs are late, for today and for the week."""
    late, today, week = len(morning.late), len(morning.today), len(morning.week)
    parts = [
        ngettext("%(count)s late", "%(count)s late", late) % {"count": late} if late else "",
        ngettext("%(count)s for today", "%(count)s for today", today) % {"count": today} if today else "",
        ngettext("%(count)s for this week", "%(count)s for this week", week) % {"count": week} if week else "",
    ]
    return f"{farm.name}: {', '.join(part for part in parts if part)}"


def digest_body(morning: Morning, units: str) -> str:
    """Return the morning list: late jobs first, and in each part the three rhythms apart."""
    last_on = (morning.on + timedelta(days=6)).isoformat()
    parts = [
        (_("Late"), morning.late),
        (_("Today at the latest"), morning.today),
        (_("By %(day)s") % {"day": last_on}, morning.week),
    ]
    blocks = [block for heading, jobs in parts if jobs for block in _blocks(heading, jobs, morning.on, units)]
    if morning.longer:
        text = ngettext("%(count)s more job has longer.", "%(count)s more jobs have longer.", morning.longer)
        blocks.append(text % {"count": morning.longer})
    return "\n\n".join(blocks)


def urgent_subject(job: Job, units: str) -> str:
    """Return what is to be done at once, and where."""
    return f"{job.farm.name}: {short_place(job)}, {plan_name(job.plan, units)}"


def urgent_body(job: Job, on: date, units: str) -> str:
    """Return why a job cannot wait, until when it has to be done, and its checklist."""
    head = _("This cannot wait for the morning's list: %(line)s.") % {
        "line": f"{short_place(job)}, {lateness(job, on)}"
    }
    lines = lines_in_units(job.plan.routine.checklist, units)
    return "\n\n".join(part for part in (head, why(job, on, units), _list(lines)) if part)


def short_place(job: Job) -> str:
    """Return where a job is done; what a fault's job is called says the spot already."""
    return place_code(job.plan) if repair_of(job) else place_of_job(job)


def job_line(job: Job, on: date, units: str) -> str:
    """Return a job in one line: where, what, how it stands with its days, and why."""
    head = f"{short_place(job)}: {plan_name(job.plan, units)} ({lateness(job, on)})."
    return f"{head} {why(job, on, units)}".strip()


def text_of(reminder: Reminder, link: str) -> str:
    """Return a letter as plain text; its last line is the link that closes the loop."""
    return f"{reminder.body}\n\n{invitation(reminder)}\n{link}\n"


def html_of(reminder: Reminder, link: str) -> str:
    """Return the same letter as HTML, without anything to load."""
    context = {"reminder": reminder, "link": link, "invitation": invitation(reminder), "language": get_language()}
    return render_to_string("maintenance/letter.html", context)


def invitation(reminder: Reminder) -> str:
    """Return what the link of a message is for."""
    if reminder.path:
        return _("Open the page:")
    if reminder.kind == Reminder.Kind.DIGEST:
        return _("Say what is done, what you take, and that you have seen it; no log-in needed, for a week:")
    return _("Say that you take it or that it is done; no log-in needed, for a week:")


def wishes_url(farm: Farm) -> str:
    """Return the address at which a person says how to be told."""
    return f"{settings.PUBLIC_ADDRESS}{reverse('reminders', args=[farm.slug])}"


def _blocks(heading: str, jobs: Iterable[Job], on: date, units: str) -> Iterator[str]:
    """Yield the jobs of one part of the list, each rhythm under its own heading."""
    ranked = sorted(jobs, key=lambda job: RHYTHMS.index(Routine.Rhythm(job.plan.routine.rhythm)))
    for rhythm, found in groupby(ranked, key=lambda job: Routine.Rhythm(job.plan.routine.rhythm)):
        listed = list(found)
        title = f"{heading}, {rhythm.label} ({len(listed)})"
        more = len(listed) - MOST_LINES
        lines = [job_line(job, on, units) for job in listed[:MOST_LINES]]
        if more > 0:
            lines.append(ngettext("and %(count)s more", "and %(count)s more", more) % {"count": more})
        yield f"{capfirst(title)}\n{_list(lines)}"


def _list(lines: Sequence[str]) -> str:
    return "\n".join(f"- {line}" for line in lines)
