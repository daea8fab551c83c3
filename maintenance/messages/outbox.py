"""Messages are written in the transaction that makes them necessary, and sent later: see ``delivery.py``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.conf import settings
from django.utils.text import Truncator
from django.utils.translation import gettext_noop

from farm.models import Membership
from maintenance.messages.contacts import contact_of, email_of
from maintenance.messages.quiet import after_quiet
from maintenance.models import Job, Reminder

# Kept in English and translated where they are shown.
NO_MAIL_SERVER: Final = gettext_noop("no mail server is set")
NO_PUSH_CONTACT: Final = gettext_noop("no contact for push services is set")
LONGEST_SUBJECT: Final = 200
BATCH: Final = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """What one member is to be told.

    ``key`` names the occasion: the same key is told once. ``path`` is the page that closes the loop; without one it
    is the signed page where the member can answer without a log-in. Only ``is_danger`` breaks into quiet hours.
    ``ways`` leaves out those that would not arrive.
    """

    membership: Membership
    kind: Reminder.Kind
    key: str
    subject: str
    body: str
    path: str = ""
    job: Job | None = None
    expires_at: datetime | None = None
    is_danger: bool = False
    ways: tuple[Reminder.Way, ...] = tuple(Reminder.Way)


def tell(
    *, membership: Membership, kind: Reminder.Kind, key: str, subject: str, body: str, path: str, now: datetime,
    job: Job | None = None, expires_at: datetime | None = None, is_danger: bool = False,
) -> None:  # fmt: skip
    """Write a message to a member, for each way the member wishes; the same key a second time writes nothing."""
    notice = Notice(
        membership=membership, kind=kind, key=key, subject=subject, body=body, path=path, job=job,
        expires_at=expires_at, is_danger=is_danger,
    )  # fmt: skip
    write([notice], now=now)


def write(notices: Iterable[Notice], *, now: datetime) -> None:
    """Write many messages with few queries; members come from ``contacts.addressees``."""
    rows = [row for notice in notices if notice.membership.user.is_active for row in _rows(notice, now)]
    Reminder.objects.bulk_create(rows, ignore_conflicts=True, batch_size=BATCH)


def _rows(notice: Notice, now: datetime) -> Iterator[Reminder]:
    membership, contact = notice.membership, contact_of(notice.membership)
    common: dict[str, Any] = {
        "farm": membership.farm, "membership": membership, "kind": notice.kind, "key": notice.key, "job": notice.job,
        "subject": Truncator(notice.subject).chars(LONGEST_SUBJECT), "body": notice.body, "path": notice.path,
        "made_at": now, "expires_at": notice.expires_at, "not_before": now,
    }  # fmt: skip
    if not notice.is_danger:
        common["not_before"] = after_quiet(now, contact.quiet_from, contact.quiet_until, membership.farm.zone)
    if Reminder.Way.EMAIL in notice.ways and contact.by_email and email_of(membership):
        error = "" if settings.HAS_MAIL_SERVER else NO_MAIL_SERVER
        yield Reminder(way=Reminder.Way.EMAIL, error=error, **common)
    if Reminder.Way.PUSH in notice.ways and contact.by_push:
        error = "" if settings.PUSH_CONTACT else NO_PUSH_CONTACT
        for device in membership.push_subscriptions.all():
            yield Reminder(way=Reminder.Way.PUSH, subscription=device, error=error, **common)
