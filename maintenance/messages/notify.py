"""E-mail and Web Push: the only code that sends. Every call has a timeout and runs outside a transaction."""

from __future__ import annotations

import contextlib
import json
import smtplib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime, parsedate_to_datetime
from types import TracebackType
from typing import Any, Final, Self

import requests
from django.conf import settings
from django.core.mail import EmailMultiAlternatives, get_connection
from py_vapid import Vapid02, VapidException
from pywebpush import WebPushException, webpush

from maintenance.messages.contacts import public_host
from maintenance.messages.vapid import KeyFileError, private_key

SMTP: Final = "django.core.mail.backends.smtp.EmailBackend"
PUSH_TIMEOUT: Final = 10.0  # seconds
LARGEST_PAYLOAD: Final = 3000  # bytes; a push service takes 4096 with what encryption adds (RFC 8291, 4)
LONGEST_TTL: Final = 28 * 24 * 3600  # seconds
GONE: Final = (404, 410)
TOO_MANY, FAILING = 429, 500  # statuses that pass
CLOSING: Final = 421  # the mail server ends the connection (RFC 5321, 4.2.3)


@dataclass(frozen=True, slots=True)
class Sent:
    """It is the other side's now."""


@dataclass(frozen=True, slots=True)
class Gone:
    """Nobody listens at this subscription any more, and never will."""


@dataclass(frozen=True, slots=True)
class TryLater:
    """Not now; ``after`` is the least wait the other side asked for, ``is_down`` that nobody answers there at all."""

    reason: str
    after: timedelta = timedelta(0)
    is_down: bool = False


@dataclass(frozen=True, slots=True)
class Refused:
    """Never; the reason in words."""

    reason: str


Result = Sent | Gone | TryLater | Refused


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """An e-mail ready to leave."""

    to: str
    subject: str
    text: str
    html: str
    message_id: str
    written_at: datetime
    wishes_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Alert:
    """What a phone shows: within LARGEST_PAYLOAD bytes, whatever was written."""

    title: str
    body: str
    url: str
    tag: str

    def payload(self) -> str:
        """Return the alert as JSON, its text cut where it would not fit."""
        most = len(self.body)
        while True:
            body = self.body if most == len(self.body) else self.body[:most].rstrip() + "…"
            fields = {"title": self.title, "body": body, "url": self.url, "tag": self.tag}
            text = json.dumps(fields, ensure_ascii=False)
            if len(text.encode()) <= LARGEST_PAYLOAD or most == 0:
                return text
            most = most * 3 // 4


def message_id(name: str) -> str:
    """Return a Message-ID that is the same whenever the same message is sent (RFC 5322, 3.6.4)."""
    return f"<{name}@{public_host()}>"


class Post:
    """A way to the mail server that is opened once for many letters."""

    def __init__(self) -> None:
        self._connection = get_connection(SMTP)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._close()

    def send_email(self, letter: Letter) -> Result:
        """Hand a letter to the mail server and say what it answered."""
        try:
            self._connection.open()
            self._message(letter).send()
        except smtplib.SMTPRecipientsRefused as error:
            return self._answered(*next(iter(error.recipients.values())))
        except (smtplib.SMTPSenderRefused, smtplib.SMTPDataError) as error:
            return self._answered(error.smtp_code, error.smtp_error)
        except smtplib.SMTPResponseException as error:  # the greeting or the log-in: no fault of the letter
            return self._down(_words(error.smtp_code, error.smtp_error))
        except (smtplib.SMTPException, OSError) as error:
            return self._down(f"the mail server does not answer: {error}")
        except ValueError as error:  # such as a line break in a header
            return Refused(f"the letter cannot be written: {error}")
        return Sent()

    def _message(self, letter: Letter) -> EmailMultiAlternatives:
        headers = {
            "Message-ID": letter.message_id,
            "Date": format_datetime(letter.written_at.astimezone(UTC)),
            "Auto-Submitted": "auto-generated",
            "List-Unsubscribe": f"<{letter.wishes_url}>",
        }
        message = EmailMultiAlternatives(
            letter.subject, letter.text, to=[letter.to], headers=headers, connection=self._connection
        )
        message.attach_alternative(letter.html, "text/html")
        return message

    def _answered(self, code: int, words: bytes | str) -> Result:
        """Return what an answer to this letter means: 4xx passes, 5xx stays (RFC 5321, 4.2.1)."""
        reason = _words(code, words)
        if code == CLOSING:
            return self._down(reason)
        return TryLater(reason) if code < FAILING else Refused(reason)

    def _down(self, reason: str) -> TryLater:
        self._close()
        return TryLater(reason, is_down=True)

    def _close(self) -> None:
        """Leave the mail server; one that is gone already needs no good-bye."""
        with contextlib.suppress(smtplib.SMTPException, OSError):
            self._connection.close()


def send_push(
    subscription: Mapping[str, Any], alert: Alert, *, ttl: timedelta, urgency: str, topic: str, now: datetime
) -> Result:
    """Hand an encrypted alert to the push service of a phone and say what it answered.

    ``topic`` replaces an alert with the same topic that the phone has not fetched yet (RFC 8030, 5.4).
    """
    seconds = min(max(int(ttl.total_seconds()), 0), LONGEST_TTL)
    try:
        with requests.Session() as session:
            session.max_redirects = 0  # an answer from elsewhere is none
            webpush(
                subscription,
                alert.payload(),
                vapid_private_key=Vapid02(private_key(settings.PUSH_KEY_FILE)),
                vapid_claims={"sub": settings.PUSH_CONTACT},  # a new one each time: the library writes into it
                timeout=PUSH_TIMEOUT,
                ttl=seconds,
                headers={"Urgency": urgency, "Topic": topic},
                requests_session=session,
            )
    except WebPushException as error:
        return _push_answered(error.response, now) if error.response is not None else Refused(error.message)
    except requests.RequestException as error:
        return TryLater(f"the push service does not answer: {type(error).__name__}")
    except KeyFileError as error:
        return TryLater(str(error))
    except (ValueError, VapidException) as error:
        return Refused(f"this phone's keys cannot be used: {error}")
    return Sent()


def _push_answered(response: requests.Response, now: datetime) -> Result:
    status = response.status_code
    reason = f"the push service answered {status} {response.reason}: {response.text[:150]}".strip(": ")
    if status in GONE:
        return Gone()
    if status == TOO_MANY or status >= FAILING:
        return TryLater(reason, after=_retry_after(response.headers.get("Retry-After", ""), now))
    return Refused(reason)


def _retry_after(text: str, now: datetime) -> timedelta:
    """Return the wait that a Retry-After header asks for: seconds or a date (RFC 9110, 10.2.3)."""
    if text.strip().isdecimal():
        return timedelta(seconds=min(int(text), LONGEST_TTL))
    try:
        return max(parsedate_to_datetime(text).astimezone(UTC) - now, timedelta(0))
    except (ValueError, TypeError):
        return timedelta(0)


def _words(code: int, words: bytes | str) -> str:
    text = words.decode(errors="replace") if isinstance(words, bytes) else words
    return f"the mail server answered {code} {text}"
