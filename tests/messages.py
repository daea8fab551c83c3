"""Members who can be told, and messages for them."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import count
from typing import Any

from farm.models import Farm, Membership
from maintenance.messages.outbox import tell
from maintenance.models import Contact, PushSubscription, Reminder
from tests.factories import make_farm, make_member
from tests.post_office import Phone

NOW = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)

_numbers = count(1)


def make_person(farm: Farm | None = None, role: str = "crew", *, email: str = "", **wishes: Any) -> Membership:
    """Make a member with an address of one's own, who is never quiet unless the test says so."""
    member = make_member(farm or make_farm(), role)
    number = next(_numbers)
    usual = {"email": email or f"person{number}@farm.example", "quiet_from": "00:00", "quiet_until": "00:00"}
    Contact.objects.create(membership=member, **{**usual, **wishes})
    return Membership.objects.select_related("user", "farm", "contact").get(pk=member.pk)


def make_device(member: Membership, endpoint: str = "", phone: Phone | None = None, **values: Any) -> PushSubscription:
    """Make a device of a member."""
    where = endpoint or f"https://push.example/{next(_numbers)}"
    return PushSubscription.objects.create(
        membership=member, endpoint=where, created_at=NOW, **(phone or Phone()).keys, **values
    )


def tell_something(member: Membership, **changes: Any) -> None:
    """Tell a member something."""
    given: dict[str, Any] = {
        "membership": member, "kind": Reminder.Kind.NOW, "key": "job-1", "subject": "Farm: tighten the clamps",
        "body": "This cannot wait.", "path": "/farm/somewhere/", "now": NOW, **changes,
    }  # fmt: skip
    tell(**given)


def make_reminder(member: Membership, **changes: Any) -> Reminder:
    """Tell a member something by one way and return the message."""
    tell_something(member, **changes)
    return Reminder.objects.filter(membership=member).latest("pk")
