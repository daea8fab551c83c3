"""The page of one's reminders: wishes, devices, calendars, and how messages fared."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from farm.models import Farm, Membership
from maintenance.models import CalendarFeed, Contact, PushSubscription, Reminder
from tests.factories import make_farm, make_member
from tests.messages import make_device, make_person, make_reminder
from tests.post_office import Phone, encoded

pytestmark = pytest.mark.django_db

WISHES = {
    "by_email": "on", "email": "me@farm.example", "by_push": "on", "has_digest": "on", "digest_at": "04:45",
    "quiet_from": "20:30", "quiet_until": "04:30", "language": "es", "units": "metric",
}  # fmt: skip


@pytest.fixture
def member(client: Client) -> Membership:
    """A member of the crew, logged in, who never said how to be told."""
    member = make_member(make_farm(), "crew")
    client.force_login(member.user)
    return member


def url(farm: Farm, name: str = "reminders") -> str:
    return reverse(name, args=[farm.slug])


def text(client: Client, farm: Farm) -> str:
    answer = client.get(url(farm))
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_wishes_are_kept_for_this_farm(client: Client, member: Membership) -> None:
    answer = client.post(url(member.farm), WISHES)

    contact = Contact.objects.get(membership=member)
    member.refresh_from_db()
    assert answer.status_code == 302
    assert (contact.email, contact.by_email, contact.by_push, contact.has_digest) == (
        "me@farm.example",
        True,
        True,
        True,
    )
    assert [f"{at:%H:%M}" for at in (contact.digest_at, contact.quiet_from, contact.quiet_until)] == [
        "04:45", "20:30", "04:30",
    ]  # fmt: skip
    assert (member.language, member.units) == ("es", "metric")
    assert Farm.objects.get(pk=member.farm_id).units == "us"


def test_wishes_are_changed_and_not_doubled(client: Client, member: Membership) -> None:
    client.post(url(member.farm), WISHES)
    client.post(url(member.farm), {**WISHES, "email": "new@farm.example", "language": "", "units": ""})

    member.refresh_from_db()
    assert Contact.objects.get(membership=member).email == "new@farm.example"
    assert (member.language, member.units) == ("", "")


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"email": ""}, "Write an address, or turn e-mail off."),
        ({"email": "me@"}, "Enter a valid email address."),
        ({"digest_at": "5 o'clock"}, "Enter a valid time."),
        ({"quiet_from": ""}, "This field is required."),
        ({"units": "cubits"}, "Select a valid choice."),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_nothing_is_kept(
    client: Client, member: Membership, change: dict[str, str], sentence: str
) -> None:
    answer = client.post(url(member.farm), {**WISHES, "language": "", **change})

    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Contact.objects.exists()


def test_mail_goes_to_the_accounts_address_where_none_is_written(client: Client, member: Membership) -> None:
    member.user.email = "account@farm.example"
    member.user.save()

    assert client.post(url(member.farm), {**WISHES, "email": "", "language": ""}).status_code == 302
    assert "account@farm.example, from your account" in text(client, member.farm)


def test_who_cannot_be_reached_is_told_so(client: Client, member: Membership, settings: Any) -> None:
    assert "Nothing can reach you" in text(client, member.farm)
    Contact.objects.create(membership=member, email="me@farm.example")
    assert "E-mail waits: no mail server is set." in text(client, member.farm)
    settings.HAS_MAIL_SERVER = True
    assert "E-mail waits" not in text(client, member.farm)


def test_a_message_to_try_is_written_and_its_fate_stands_below(client: Client, member: Membership) -> None:
    Contact.objects.create(membership=member, email="me@farm.example")

    page = client.post(url(member.farm, "reminders-change"), {"do": "try"}, follow=True).content.decode()

    (row,) = Reminder.objects.all()
    assert (row.membership, row.way, row.not_before) == (member, "email", row.made_at)
    assert "A message to try is on its way." in page
    assert "no mail server is set" in page


def test_a_message_to_try_needs_a_way(client: Client, member: Membership) -> None:
    page = client.post(url(member.farm, "reminders-change"), {"do": "try"}, follow=True).content.decode()

    assert "There is no way to reach you yet" in page
    assert not Reminder.objects.exists()


def test_a_calendars_address_is_shown_once_and_can_be_closed(client: Client, member: Membership) -> None:
    change = url(member.farm, "reminders-change")

    first = client.post(change, {"do": "make-feed"}, follow=True).content.decode()
    address = first.split('class="secret" rows="2" readonly>')[1].split("<")[0]
    path = "/calendar/" + address.rpartition("/calendar/")[2]

    assert Client().get(path).status_code == 200
    assert path not in text(client, member.farm)
    client.post(change, {"do": "close-feed", "pk": CalendarFeed.objects.get().pk})
    assert Client().get(path).status_code == 404
    assert "Close it" not in text(client, member.farm)


def offer(**changes: Any) -> dict[str, Any]:
    """Return what a browser says of its subscription."""
    return {"endpoint": "https://push.example/abc", "keys": Phone().keys, "device": "Android", **changes}


def send(client: Client, farm: Farm, said: Any) -> Any:
    return client.post(url(farm, "push-device"), json.dumps(said), content_type="application/json")


def test_a_device_is_turned_on_and_off(client: Client, member: Membership) -> None:
    said = offer()

    assert send(client, member.farm, said).json() == {"on": True}
    assert send(client, member.farm, said).json() == {"on": True}
    kept = PushSubscription.objects.get()
    assert (kept.membership, kept.endpoint, kept.device) == (member, "https://push.example/abc", "Android")
    assert {"p256dh": kept.p256dh, "auth": kept.auth} == said["keys"]
    assert "Android" in text(client, member.farm)
    assert send(client, member.farm, {"off": True, "endpoint": said["endpoint"]}).json() == {"on": False}
    assert not PushSubscription.objects.exists()


def test_a_shared_phone_belongs_to_who_turned_it_on_last(client: Client, member: Membership) -> None:
    make_device(make_person(), "https://push.example/abc")

    send(client, member.farm, offer())

    assert PushSubscription.objects.get().membership == member


def test_one_phone_tells_its_person_of_both_farms(client: Client, member: Membership) -> None:
    other = make_member(user=member.user)

    send(client, member.farm, offer())
    send(client, other.farm, offer())

    assert {device.membership for device in PushSubscription.objects.all()} == {member, other}


@pytest.mark.parametrize(
    "said",
    [
        "no subscription", [], {}, offer(endpoint="http://push.example/x"), offer(endpoint="https://127.0.0.1/x"),
        offer(endpoint="https://192.168.1.1/x"), offer(endpoint="https://[::1]/x"), offer(endpoint="https://localhost/x"),
        offer(endpoint="https://printer.local/x"), offer(endpoint="https://169.254.169.254/x"), offer(endpoint=7),
        offer(keys={}), offer(keys="x"), offer(keys={"p256dh": "x", "auth": encoded(b"x" * 16)}),
        offer(keys={"p256dh": encoded(b"\x04" + b"x" * 64), "auth": encoded(b"x" * 16)}),
        offer(keys={**Phone().keys, "auth": encoded(b"x" * 15)}), offer(endpoint="https://push.example/" + "x" * 1000),
    ],
)  # fmt: skip
def test_what_is_no_subscription_is_refused_in_words(client: Client, member: Membership, said: Any) -> None:
    answer = send(client, member.farm, said)

    assert answer.status_code == 422
    assert answer.json()["error"]
    assert not PushSubscription.objects.exists()


def test_nobody_touches_what_is_anothers(client: Client, member: Membership) -> None:
    other = make_person(member.farm)
    device = make_device(other)
    feed = CalendarFeed.objects.create(membership=other, token_hash="x", created_at=device.created_at)
    change = url(member.farm, "reminders-change")

    assert client.post(change, {"do": "device-off", "pk": device.pk}).status_code == 404
    assert client.post(change, {"do": "close-feed", "pk": feed.pk}).status_code == 404
    assert client.post(change, {"do": "anything"}).status_code == 404
    send(client, member.farm, {"off": True, "endpoint": device.endpoint})

    feed.refresh_from_db()
    assert PushSubscription.objects.get() == device
    assert feed.revoked_at is None


def test_a_device_is_turned_off_from_another_one(client: Client, member: Membership) -> None:
    device = make_device(member)

    client.post(url(member.farm, "reminders-change"), {"do": "device-off", "pk": device.pk})

    assert not PushSubscription.objects.exists()


def test_only_managers_see_how_everybody_is_reached(client: Client, member: Membership) -> None:
    other = make_person(member.farm, email="other@farm.example")
    make_reminder(other, subject="For the other alone")

    crew = text(client, member.farm)
    client.force_login(make_person(member.farm, "manager").user)
    manager = text(client, member.farm)

    assert "other@farm.example" not in crew
    assert "other@farm.example" in manager
    assert "For the other alone" not in crew + manager


def test_the_page_asks_the_same_of_the_database_for_few_and_for_many(client: Client) -> None:
    def queries(count: int) -> int:
        manager = make_person(make_farm(), "manager")
        for _number in range(count):
            make_device(make_person(manager.farm))
        for number in range(count):
            make_device(manager)
            make_reminder(manager, key=f"job-{number}")
        client.force_login(manager.user)
        client.get(url(manager.farm))
        with CaptureQueriesContext(connection) as captured:
            client.get(url(manager.farm))
        return len(captured)

    assert queries(1) == queries(3)


def test_the_worker_script_governs_the_whole_site(client: Client) -> None:
    answer = Client().get("/sw.js")

    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Service-Worker-Allowed"] == "/"
    assert "no-cache" in answer["Cache-Control"]
    assert '"push"' in answer.content.decode()
