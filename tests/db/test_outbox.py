"""Messages are written once for each way, and in the transaction that makes them necessary."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection, connections, transaction

from maintenance.messages.outbox import NO_MAIL_SERVER, NO_PUSH_CONTACT
from maintenance.models import Reminder
from tests.factories import make_farm, make_member
from tests.messages import NOW, make_device, make_person, tell_something
from tests.post_office import mail_settings

pytestmark = pytest.mark.django_db


def ways(member) -> list[tuple[str, str]]:
    rows = Reminder.objects.filter(membership=member).order_by("way", "pk")
    return [(row.way, row.subscription.device if row.subscription else "") for row in rows]


def test_each_way_gets_its_own_row() -> None:
    member = make_person()
    make_device(member, device="phone")
    make_device(member, device="tablet")
    make_device(make_person(member.farm), device="somebody else's")

    tell_something(member)

    assert ways(member) == [("email", ""), ("push", "phone"), ("push", "tablet")]


@pytest.mark.parametrize(
    ("wishes", "expected"),
    [
        ({"by_email": False}, [("push", "phone")]),
        ({"by_push": False}, [("email", "")]),
        ({"by_email": False, "by_push": False}, []),
    ],
)
def test_wishes_are_honoured(wishes, expected) -> None:
    member = make_person(**wishes)
    make_device(member, device="phone")

    tell_something(member)

    assert ways(member) == expected


def test_who_has_no_address_gets_no_letter_and_the_accounts_address_counts() -> None:
    nobody, known = make_member(role="crew"), make_member(role="crew")
    known.user.email = "known@farm.example"

    tell_something(nobody)
    tell_something(known)

    assert (ways(nobody), ways(known)) == ([], [("email", "")])


def test_a_closed_account_is_told_nothing() -> None:
    member = make_person()
    member.user.is_active = False

    tell_something(member)

    assert ways(member) == []


def test_the_same_occasion_is_told_once_and_another_again() -> None:
    member = make_person()
    make_device(member)

    tell_something(member, body="first")
    tell_something(member, body="second")
    tell_something(member, key="job-2", body="third")

    bodies = Reminder.objects.filter(membership=member).order_by("pk").values_list("body", flat=True)
    assert list(bodies) == ["first", "first", "third", "third"]


def test_a_message_dies_with_the_transaction_that_made_it_necessary() -> None:
    member = make_person()

    with transaction.atomic():
        tell_something(member)
        assert ways(member) != []
        transaction.set_rollback(True)

    assert ways(member) == []


def test_without_a_server_it_waits_and_says_so() -> None:
    member = make_person()
    make_device(member)

    tell_something(member)

    rows = Reminder.objects.filter(membership=member).order_by("way")
    assert [(row.state, row.error) for row in rows] == [("waiting", NO_MAIL_SERVER), ("waiting", NO_PUSH_CONTACT)]


def test_with_a_server_it_waits_for_the_sender_only() -> None:
    member = make_person()

    with mail_settings(25):
        tell_something(member)

    row = Reminder.objects.get(membership=member)
    assert (row.state, row.error, row.not_before, row.made_at) == ("waiting", "", NOW, NOW)


@pytest.mark.parametrize(("is_danger", "hour"), [(False, 5), (True, 2)])
def test_quiet_hours_hold_unless_it_is_dangerous(is_danger: bool, hour: int) -> None:
    """Seven in the morning in UTC is two at night in New York."""
    farm = make_farm(time_zone="America/New_York")
    member = make_person(farm, quiet_from="21:00", quiet_until="05:00")
    night = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)

    tell_something(member, now=night, is_danger=is_danger)

    row = Reminder.objects.get(membership=member)
    local = row.not_before.astimezone(farm.zone)
    assert (local.day, local.hour, local.minute) == (25, hour, 0)
    assert row.made_at == night


def test_words_that_are_too_long_are_cut() -> None:
    member = make_person()

    tell_something(member, subject="x" * 500)

    subject = Reminder.objects.get(membership=member).subject
    assert len(subject) == 200
    assert subject.endswith("…")


@pytest.mark.django_db(transaction=True)
def test_many_who_tell_the_same_at_once_tell_it_once() -> None:
    member = make_person()
    make_device(member)

    def tell_it(_number: int) -> None:
        try:
            with transaction.atomic():
                tell_something(member, now=NOW + timedelta(seconds=_number))
        finally:
            connections.close_all()

    if connection.vendor == "sqlite" and connection.is_in_memory_db():
        for number in range(8):  # a database in memory has one connection only
            with transaction.atomic():
                tell_something(member, now=NOW + timedelta(seconds=number))
    else:
        with ThreadPoolExecutor(8) as pool:
            list(pool.map(tell_it, range(8)))

    assert Reminder.objects.filter(membership=member).count() == 2
