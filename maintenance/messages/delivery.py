"""Messages leave: a sender claims a row, sends outside any transaction, and writes down how it went."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any, Final

from django.conf import settings
from django.db.models import F, Q
from django.utils.translation import gettext_noop

from maintenance.messages.answering import link_of, path_of
from maintenance.messages.contacts import contact_of, email_of, reading_as
from maintenance.messages.notify import (
    Alert,
    Gone,
    Letter,
    Post,
    Refused,
    Result,
    Sent,
    TryLater,
    message_id,
    send_push,
)
from maintenance.messages.outbox import NO_MAIL_SERVER, NO_PUSH_CONTACT
from maintenance.models import PushSubscription, Reminder
from maintenance.querysets import ReminderQuerySet
from maintenance.words.letters import html_of, text_of, wishes_url

BATCH: Final = 25  # letters that leave over one connection
STALE: Final = timedelta(minutes=5)  # a claim as old as this was left behind by a sender that died
MOST_TRIES: Final = 10
LONGEST_WAIT: Final = timedelta(hours=1)
USUAL_LIFE: Final = timedelta(days=7)  # of an alert that says of no end: as long as its link works
LONGEST_ERROR: Final = 300
TOO_LATE: Final = gettext_noop("it could not be sent in time")
LEFT: Final = gettext_noop("this person's account is closed")
NOT_WISHED: Final = gettext_noop("this way was turned off")
NO_ADDRESS: Final = gettext_noop("no e-mail address is known")
State, Way = Reminder.State, Reminder.Way


def send_due(*, now: datetime) -> bool:
    """Send a batch of what is due by each way, and tell whether there is more to send at once.

    Any number of senders may run at once: each row is claimed by a conditional update. A row that was claimed and
    never reported on is sent again under the same Message-ID or Topic, by which the other side knows a double.
    """
    _drop_expired(now)
    more = [_send_batch(way, now) for way in _open_ways()]
    return any(more)


def _send_batch(way: str, now: datetime) -> bool:
    """Send a batch by one way and tell whether more may follow; stop where nobody answers at the other side."""
    batch = list(_due(now).filter(way=way).values_list("pk", flat=True)[:BATCH])
    with Post() as post:
        for pk in batch:
            if (reminder := _claim(pk, now)) is None:
                continue
            result = _send(reminder, post, now)
            _note(reminder, result, now)
            if isinstance(result, TryLater) and result.is_down:
                return False
    return len(batch) == BATCH


def _due(now: datetime) -> ReminderQuerySet:
    """Return what may be sent, what cannot wait first."""
    return Reminder.objects.to_send(now, now - STALE).order_by("-kind", "not_before", "pk")


def _drop_expired(now: datetime) -> None:
    """Give up what nobody would have any use for; the last error stays to be seen."""
    left = Q(state=State.WAITING) | Q(state=State.SENDING, claimed_at__lt=now - STALE)
    expired = Reminder.objects.filter(left, expires_at__lte=now)
    expired.filter(error="").update(state=State.FAILED, error=TOO_LATE)
    expired.update(state=State.FAILED)


def _open_ways() -> list[str]:
    """Return the ways that are set up; what waits for another one says so."""
    ways = {
        Way.EMAIL: (settings.HAS_MAIL_SERVER, NO_MAIL_SERVER),
        Way.PUSH: (bool(settings.PUSH_CONTACT), NO_PUSH_CONTACT),
    }
    for way, (is_set, error) in ways.items():
        if not is_set:
            Reminder.objects.filter(state=State.WAITING, way=way).exclude(error=error).update(error=error)
    return [str(way) for way, (is_set, _error) in ways.items() if is_set]


def _claim(pk: int, now: datetime) -> Reminder | None:
    """Return a row that this sender alone may send now, or nothing where another was quicker."""
    claimed = _due(now).order_by().filter(pk=pk).update(state=State.SENDING, claimed_at=now, tries=F("tries") + 1)
    if claimed != 1:
        return None
    return Reminder.objects.select_related(
        "membership__user", "membership__farm", "membership__contact", "subscription", "farm"
    ).get(pk=pk)


def _send(reminder: Reminder, post: Post, now: datetime) -> Result:
    if not reminder.membership.user.is_active:
        return Refused(LEFT)
    if not _is_wished(reminder):
        return Refused(NOT_WISHED)
    with reading_as(reminder.membership):
        if reminder.way == Way.PUSH:
            return _send_push(reminder, now)
        address = email_of(reminder.membership)
        return post.send_email(_letter(reminder, address)) if address else Refused(NO_ADDRESS)


def _is_wished(reminder: Reminder) -> bool:
    """Tell whether its person has left this way on since it was written."""
    contact = contact_of(reminder.membership)
    return contact.by_email if reminder.way == Way.EMAIL else contact.by_push


def _letter(reminder: Reminder, address: str) -> Letter:
    link = link_of(reminder)
    return Letter(
        to=address,
        subject=reminder.subject,
        text=text_of(reminder, link),
        html=html_of(reminder, link),
        message_id=message_id(_name(reminder)),
        written_at=reminder.made_at,
        wishes_url=wishes_url(reminder.farm),
    )


def _send_push(reminder: Reminder, now: datetime) -> Result:
    device = reminder.subscription
    if device is None:  # the database has no such row
        return Gone()
    name = _name(reminder)
    expires_at = reminder.expires_at or reminder.made_at + USUAL_LIFE
    return send_push(
        {"endpoint": device.endpoint, "keys": {"p256dh": device.p256dh, "auth": device.auth}},
        Alert(title=reminder.subject, body=reminder.body, url=path_of(reminder), tag=name),
        ttl=expires_at - now,
        urgency="high" if reminder.kind == Reminder.Kind.NOW else "normal",
        topic=name,
        now=now,
    )


def _name(reminder: Reminder) -> str:
    """Return the name a message bears each time it is sent: at most 32 letters of base64url (RFC 8030, 5.4)."""
    return f"{reminder.pk}-{int(reminder.made_at.timestamp())}"


def _note(reminder: Reminder, result: Result, now: datetime) -> None:
    """Write down how it went, unless the claim has passed on to another sender meanwhile."""
    match result:
        case Sent():
            _change(reminder, state=State.SENT, sent_at=now, error="")
            if reminder.subscription_id:
                PushSubscription.objects.filter(pk=reminder.subscription_id).update(last_sent_at=now)
        case Gone():
            PushSubscription.objects.filter(reminders=reminder).delete()
        case TryLater() if reminder.tries < MOST_TRIES:
            wait = max(_wait(reminder.tries), result.after)
            _change(reminder, state=State.WAITING, not_before=now + wait, error=result.reason[:LONGEST_ERROR])
        case TryLater() | Refused():
            _change(reminder, state=State.FAILED, error=result.reason[:LONGEST_ERROR])


def _wait(tries: int) -> timedelta:
    """Return the wait after so many tries: 1, 2, 4 minutes and so on, at most an hour."""
    return min(timedelta(minutes=2 ** (tries - 1)), LONGEST_WAIT)


def _change(reminder: Reminder, **values: Any) -> None:
    claimed = {"state": State.SENDING, "claimed_at": reminder.claimed_at}
    Reminder.objects.filter(pk=reminder.pk, **claimed).update(**values)
