"""Closing the loop from a message: one signed link, with which its person can answer without a log-in for a week."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Final

from django.conf import settings
from django.core import signing
from django.urls import reverse

from farm.models import Membership
from maintenance.messages.whose import jobs_for, may_act, pressing, with_words
from maintenance.models import Job, Reminder, Routine
from maintenance.querysets import JobQuerySet
from maintenance.work import working

SALT: Final = "maintenance.messages.answering"
LIFE: Final = timedelta(days=7)
AHEAD: Final = timedelta(days=6)  # a list reaches from today over a week
TOMORROW: Final = timedelta(days=1)
DEEDS: Final = ("done", "take", "later")


class LinkClosedError(Exception):
    """The link leads nowhere any more."""


def path_of(reminder: Reminder) -> str:
    """Return the page that closes a message's loop."""
    return reminder.path or reverse("close-loop", args=[token_of(reminder)])


def link_of(reminder: Reminder) -> str:
    """Return the address of that page."""
    return f"{settings.PUBLIC_ADDRESS}{path_of(reminder)}"


def token_of(reminder: Reminder) -> str:
    """Return what a message's link carries: the message, the person and an end, signed; always the same."""
    ends_at = reminder.made_at + LIFE
    return _signer().sign_object([reminder.pk, reminder.membership_id, int(ends_at.timestamp())])


def reminder_of(token: str, now: datetime) -> Reminder:
    """Return the message that a link belongs to.

    Raises
    ------
    LinkClosedError
        If the link is not ours or too old, or its person has left the farm.
    """
    try:
        pk, membership_pk, ends_at = _signer().unsign_object(token)
    except (signing.BadSignature, ValueError) as error:
        raise LinkClosedError from error
    live = Reminder.objects.filter(pk=pk, membership=membership_pk, membership__user__is_active=True)
    reminder = live.select_related("farm", "membership__user", "membership__farm", "job").first()
    if reminder is None or now >= datetime.fromtimestamp(ends_at, UTC):
        raise LinkClosedError
    return reminder


def jobs_of(reminder: Reminder, on: date) -> JobQuerySet:
    """Return the jobs a message is about: its own one, or what presses on its person today."""
    mine = jobs_for(reminder.membership)
    if reminder.kind == Reminder.Kind.DIGEST:
        return with_words(pressing(mine, on + AHEAD))
    return with_words(mine.filter(pk=reminder.job_id) if reminder.job_id else mine.none())


def can_finish_here(job: Job) -> bool:
    """Tell whether one tap finishes a job; others ask for an answer that the job's own page takes."""
    return job.plan.routine.answer == Routine.Answer.DONE


def can_wait(job: Job, on: date) -> bool:
    """Tell whether a job has to be put off to stay for another day."""
    return job.until_on <= on


def answer(*, reminder: Reminder, job: Job, deed: str, now: datetime, on: date) -> None:
    """Do with a job what its person said.

    Raises
    ------
    WorkError
        If it cannot be done; the sentence says why.
    """
    membership: Membership = reminder.membership
    if not may_act(membership):
        raise PermissionError("Viewers see jobs; they do not change them.")
    match deed:
        case "done":
            working.finish(job=job, by=membership.user, now=now, on=on)
        case "take":
            working.assign(job=job, to=membership.user, by=membership.user, now=now)
        case "later":
            working.put_off(job=job, by=membership.user, now=now, on=on, until=on + TOMORROW)
        case _:
            raise ValueError(deed)


def note_seen(*, reminder: Reminder, now: datetime) -> None:
    """Note that a message was read, whichever way it came."""
    same = Reminder.objects.filter(membership=reminder.membership_id, key=reminder.key, seen_at=None)
    same.update(seen_at=now)


def _signer() -> signing.Signer:
    return signing.Signer(salt=SALT)
