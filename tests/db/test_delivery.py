"""Messages leave, through a real mail server and a real push service on this machine."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime

import pytest

from maintenance.messages.delivery import LEFT, MOST_TRIES, NO_ADDRESS, NOT_WISHED, STALE, TOO_LATE, send_due
from maintenance.messages.outbox import NO_MAIL_SERVER
from maintenance.messages.vapid import public_key
from maintenance.models import Contact, PushSubscription, Reminder
from tests.factories import make_farm
from tests.messages import NOW, make_device, make_person, make_reminder
from tests.post_office import (
    FINE,
    MailServer,
    Phone,
    PushService,
    claims_of,
    encoded,
    mail_server,
    mail_settings,
    push_service,
)

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def post() -> Iterator[MailServer]:
    with mail_server() as server:
        yield server


@pytest.fixture
def pushes(settings, tmp_path) -> Iterator[PushService]:
    settings.PUSH_KEY_FILE = tmp_path / "vapid.pem"
    with push_service() as service:
        yield service


def fate(reminder: Reminder) -> tuple[str, int, str]:
    reminder.refresh_from_db()
    return reminder.state, reminder.tries, reminder.error


def pushed(service: PushService, name: str = "1", **changes) -> tuple[Reminder, Phone]:
    """Tell somebody something on one device, and on no other way."""
    member, phone = make_person(by_email=False), Phone()
    make_device(member, service.endpoint(name), phone)
    return make_reminder(member, **changes), phone


def test_a_letter_arrives_whole(post: MailServer) -> None:
    member = make_person(make_farm(slug="north"), email="crew@farm.example")
    reminder = make_reminder(
        member, subject="Finca Ñandú: apretar", body="Late\n- T08-W: 5 días\n\nMore", path="/farm/north/jobs/1/"
    )

    send_due(now=NOW + MINUTE)

    (letter,) = post.letters
    plain, html = (part.get_content() for part in letter.iter_parts())
    assert letter["From"] == "Farm <post@farm.example>"
    assert letter["To"] == "crew@farm.example"
    assert letter["Subject"] == "Finca Ñandú: apretar"
    assert letter["Auto-Submitted"] == "auto-generated"
    assert letter["List-Unsubscribe"] == "<https://tunnels.example/farm/north/reminders/>"
    assert parsedate_to_datetime(letter["Date"]) == NOW
    assert letter["Message-ID"].endswith("@tunnels.example>")
    assert [part.get_content_type() for part in letter.iter_parts()] == ["text/plain", "text/html"]
    assert plain.splitlines()[:4] == ["Late", "- T08-W: 5 días", "", "More"]
    assert plain.splitlines()[-1] == "https://tunnels.example/farm/north/jobs/1/"
    assert plain.count("https://") == 1
    assert html.count('href="https://tunnels.example/farm/north/jobs/1/"') == 1
    assert "<img" not in html
    assert fate(reminder) == ("sent", 1, "")
    assert reminder.sent_at == NOW + MINUTE


def test_a_letter_is_in_its_persons_language(post: MailServer) -> None:
    member = make_person(make_farm(language="es"))
    make_reminder(member)

    send_due(now=NOW)

    assert '<html lang="es">' in post.letters[0].get_body(("html",)).get_content()


@pytest.mark.django_db(transaction=True)
def test_nothing_is_sent_inside_a_transaction(post: MailServer) -> None:
    make_reminder(make_person())

    send_due(now=NOW)

    assert post.in_transaction == [False]


def test_a_letter_is_not_sent_before_its_time_or_twice(post: MailServer) -> None:
    reminder = make_reminder(make_person())
    Reminder.objects.update(not_before=NOW + MINUTE)

    send_due(now=NOW)
    assert (len(post.letters), fate(reminder)[0]) == (0, "waiting")
    send_due(now=NOW + MINUTE)
    send_due(now=NOW + 2 * MINUTE)
    assert (len(post.letters), fate(reminder)[0]) == (1, "sent")


def test_a_server_that_is_busy_is_asked_again_under_the_same_id(post: MailServer) -> None:
    reminder = make_reminder(make_person())
    post.answers = ["451 4.3.0 try again", FINE]

    send_due(now=NOW)

    assert fate(reminder) == ("waiting", 1, "the mail server answered 451 4.3.0 try again")
    assert reminder.not_before == NOW + MINUTE
    send_due(now=NOW + MINUTE)
    assert fate(reminder) == ("sent", 2, "")
    assert len(post.letters) == 1


def test_the_waits_double_up_to_an_hour_and_end(post: MailServer) -> None:
    reminder = make_reminder(make_person())
    post.answers = ["451 busy"] * MOST_TRIES
    now, waits = NOW, []

    for _try in range(MOST_TRIES - 1):
        send_due(now=now)
        reminder.refresh_from_db()
        waits.append(round((reminder.not_before - now) / MINUTE))
        now = reminder.not_before
    send_due(now=now)

    assert waits == [1, 2, 4, 8, 16, 32, 60, 60, 60]
    assert fate(reminder) == ("failed", 10, "the mail server answered 451 busy")


def test_a_recipient_refused_for_good_fails_alone(post: MailServer) -> None:
    bad, good = make_reminder(make_person()), make_reminder(make_person())
    post.answers = ["550 5.1.1 no such mailbox", FINE]

    send_due(now=NOW)

    assert fate(bad) == ("failed", 1, "the mail server answered 550 5.1.1 no such mailbox")
    assert fate(good) == ("sent", 1, "")


def test_a_server_that_is_down_costs_one_message_one_try() -> None:
    with socket.socket() as closed:  # bound and not listening: it refuses
        closed.bind(("127.0.0.1", 0))
        first, second = make_reminder(make_person()), make_reminder(make_person())
        with mail_settings(closed.getsockname()[1]):
            more = send_due(now=NOW)

    state, tries, error = fate(first)
    assert (state, tries) == ("waiting", 1)
    assert error.startswith("the mail server does not answer")
    assert fate(second)[1] == 0
    assert more is False


def test_without_a_server_it_waits_and_leaves_when_there_is_one() -> None:
    reminder = make_reminder(make_person())
    Reminder.objects.update(error="")

    send_due(now=NOW)
    assert fate(reminder) == ("waiting", 0, NO_MAIL_SERVER)
    with mail_server() as server:
        send_due(now=NOW + MINUTE)

    assert fate(reminder) == ("sent", 1, "")
    assert len(server.letters) == 1


@pytest.mark.parametrize(("error", "kept"), [("", TOO_LATE), ("answered 451", "answered 451")])
def test_what_is_of_no_use_any_more_is_given_up(post: MailServer, error: str, kept: str) -> None:
    reminder = make_reminder(make_person(), expires_at=NOW + MINUTE)
    Reminder.objects.update(error=error)

    send_due(now=NOW + MINUTE)

    assert fate(reminder) == ("failed", 0, kept)
    assert post.letters == []


def test_a_claim_left_behind_is_sent_again_under_the_same_id(post: MailServer) -> None:
    """A sender dies after the server took the letter, before it wrote that down."""
    reminder = make_reminder(make_person())
    send_due(now=NOW)
    Reminder.objects.update(state="sending", claimed_at=NOW, sent_at=None)

    send_due(now=NOW + STALE)
    assert len(post.letters) == 1
    send_due(now=NOW + STALE + MINUTE)

    first, second = post.letters
    assert first["Message-ID"] == second["Message-ID"]
    assert fate(reminder) == ("sent", 2, "")


def test_other_messages_have_other_ids(post: MailServer) -> None:
    member = make_person()
    make_reminder(member, key="one")
    make_reminder(member, key="two")

    send_due(now=NOW)

    assert len({letter["Message-ID"] for letter in post.letters}) == 2


def test_a_second_sender_takes_what_is_left(post: MailServer) -> None:
    """While the first sends, the second runs: the claimed row is not its own."""
    one = make_reminder(make_person(email="one@farm.example"))
    two = make_reminder(make_person(email="two@farm.example"), now=NOW + MINUTE)
    Reminder.objects.filter(pk=one.pk).update(state="sending", claimed_at=NOW + MINUTE, tries=1)

    send_due(now=NOW + 2 * MINUTE)

    assert [letter["To"] for letter in post.letters] == ["two@farm.example"]
    assert fate(one) == ("sending", 1, "")
    assert fate(two) == ("sent", 1, "")


def test_a_sender_that_was_given_up_does_not_write_over_the_other(post: MailServer) -> None:
    reminder = make_reminder(make_person())
    taken_again = NOW + STALE + MINUTE
    send_due(now=NOW)
    Reminder.objects.update(state="sending", claimed_at=taken_again, sent_at=None)

    from maintenance.messages.delivery import _note
    from maintenance.messages.notify import Refused

    reminder.claimed_at = NOW
    _note(reminder, Refused("late news"), taken_again)

    assert fate(reminder)[0] == "sending"


def test_what_cannot_wait_leaves_first(post: MailServer) -> None:
    member = make_person()
    make_reminder(member, key="list", kind=Reminder.Kind.DIGEST, subject="list")
    make_reminder(member, key="now", subject="now", now=NOW + MINUTE)

    send_due(now=NOW + MINUTE)

    assert [letter["Subject"] for letter in post.letters] == ["now", "list"]


def test_a_long_queue_leaves_in_batches(post: MailServer) -> None:
    member = make_person()
    for number in range(30):
        make_reminder(member, key=f"job-{number}")

    assert send_due(now=NOW) is True
    assert send_due(now=NOW) is False
    assert len(post.letters) == 30


def test_wishes_that_changed_meanwhile_are_honoured(post: MailServer) -> None:
    left, turned_off, unknown = (make_reminder(make_person()) for _ in range(3))
    left.membership.user.is_active = False
    left.membership.user.save()
    Contact.objects.filter(membership=turned_off.membership).update(by_email=False)
    Contact.objects.filter(membership=unknown.membership).update(email="")

    send_due(now=NOW)

    assert [fate(row)[::2] for row in (left, turned_off, unknown)] == [
        ("failed", LEFT), ("failed", NOT_WISHED), ("failed", NO_ADDRESS),
    ]  # fmt: skip
    assert post.letters == []


def test_an_alert_is_encrypted_signed_and_lives_until_it_is_of_no_use(pushes: PushService, settings) -> None:
    """RFC 8030, 8291 and 8292, and a browser's own decryption."""
    reminder, phone = pushed(
        pushes, expires_at=NOW + timedelta(hours=2), subject="Farm: ¡ráfagas!", body="Close T08-W."
    )
    before = datetime.now(UTC)

    send_due(now=NOW)

    ((path, headers, body),) = pushes.requests
    claims, key = claims_of(headers["authorization"])
    alert = phone.read(body)
    assert path == "/push/1"
    assert key == public_key(settings.PUSH_KEY_FILE)
    assert claims["aud"] == pushes.address
    assert claims["sub"] == "mailto:post@farm.example"
    assert before.timestamp() < claims["exp"] <= before.timestamp() + 24 * 3600
    assert headers["content-encoding"] == "aes128gcm"
    assert headers["ttl"] == "7200"
    assert headers["urgency"] == "high"
    assert len(headers["topic"]) <= 32
    assert alert == {
        "title": "Farm: ¡ráfagas!", "body": "Close T08-W.", "url": "/farm/somewhere/", "tag": headers["topic"],
    }  # fmt: skip
    assert fate(reminder) == ("sent", 1, "")
    assert PushSubscription.objects.get().last_sent_at == NOW


def test_two_services_get_claims_of_their_own(pushes: PushService) -> None:
    with push_service() as other:
        pushed(pushes, key="one")
        pushed(other, key="two")
        send_due(now=NOW)

        audiences = [claims_of(service.requests[0][1]["authorization"])[0]["aud"] for service in (pushes, other)]

        assert audiences == [pushes.address, other.address]


def test_a_claimed_alert_left_behind_has_the_same_topic(pushes: PushService) -> None:
    pushed(pushes)
    send_due(now=NOW)
    Reminder.objects.update(state="sending", claimed_at=NOW)

    send_due(now=NOW + STALE + MINUTE)

    first, second = (headers["topic"] for _path, headers, _body in pushes.requests)
    assert first == second


@pytest.mark.parametrize("status", [404, 410])
def test_a_device_that_is_gone_is_forgotten(pushes: PushService, status: int) -> None:
    reminder, _phone = pushed(pushes)
    kept = make_device(make_person())
    pushes.answers = [(status, {})]

    send_due(now=NOW)

    assert list(PushSubscription.objects.all()) == [kept]
    assert not Reminder.objects.filter(pk=reminder.pk).exists()


@pytest.mark.parametrize(
    ("status", "headers", "wait"),
    [
        (429, {"Retry-After": "600"}, timedelta(minutes=10)),
        (503, {"Retry-After": "Tue, 24 Nov 2026 12:30:00 GMT"}, timedelta(minutes=30)),
        (429, {"Retry-After": "1"}, MINUTE),
        (429, {"Retry-After": "soon"}, MINUTE),
        (503, {"Retry-After": "Tue, 24 Nov 2026 11:30:00 GMT"}, MINUTE),
        (500, {}, MINUTE),
        (307, {"Location": "http://127.0.0.1:9/"}, MINUTE),
    ],
)
def test_a_busy_push_service_says_when_to_come_again(pushes: PushService, status, headers, wait) -> None:
    reminder, _phone = pushed(pushes)
    pushes.answers = [(status, headers)]

    send_due(now=NOW)

    state, tries, error = fate(reminder)
    assert (state, tries, reminder.not_before) == ("waiting", 1, NOW + wait)
    assert str(status) in error or "TooManyRedirects" in error
    send_due(now=NOW + wait)
    assert fate(reminder) == ("sent", 2, "")


@pytest.mark.parametrize("status", [400, 403, 413])
def test_a_push_service_that_refuses_is_not_asked_again(pushes: PushService, status: int) -> None:
    reminder, _phone = pushed(pushes)
    pushes.answers = [(status, {})]

    send_due(now=NOW)
    send_due(now=NOW + timedelta(hours=1))

    assert fate(reminder)[:2] == ("failed", 1)
    assert f"the push service answered {status}" in reminder.error
    assert len(pushes.requests) == 1


def test_a_push_service_that_does_not_answer_is_asked_again(settings, tmp_path) -> None:
    settings.PUSH_KEY_FILE = tmp_path / "vapid.pem"
    with socket.socket() as closed, push_service() as service:
        closed.bind(("127.0.0.1", 0))
        service.address = f"http://127.0.0.1:{closed.getsockname()[1]}"
        reminder, _phone = pushed(service)
        send_due(now=NOW)

    assert fate(reminder)[:2] == ("waiting", 1)
    assert reminder.error == "the push service does not answer: ConnectionError"


def test_keys_that_are_none_fail_in_words(pushes: PushService) -> None:
    reminder, _phone = pushed(pushes)
    PushSubscription.objects.update(p256dh=encoded(b"\x04" + b"x" * 64))

    send_due(now=NOW)

    assert fate(reminder)[0] == "failed"
    assert reminder.error.startswith("this phone's keys cannot be used")


def test_an_alert_that_is_too_long_is_cut_and_stays_readable(pushes: PushService) -> None:
    _reminder, phone = pushed(pushes, body="ñ" * 5000)

    send_due(now=NOW)

    ((_path, _headers, body),) = pushes.requests
    assert len(body) <= 4096  # octets; RFC 8291, 4
    text = phone.read(body)["body"]
    assert set(text[:-1]) == {"ñ"}
    assert text.endswith("…")
    assert len(text) > 700
