"""Entries as a phone sends them, and the farm they are about."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from farm.models import Membership
from maintenance.field.reading import Parcel, cleaned, read_moment
from maintenance.field.taking import Taken, take_in
from maintenance.models import FieldEntry

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def entry(kind: str, **fields: Any) -> dict[str, Any]:
    """Return an entry as a phone writes it, made five minutes before noon unless the test says so."""
    made_at = fields.pop("made_at", NOON - 5 * MINUTE)
    when = made_at if isinstance(made_at, str) else made_at.isoformat().replace("+00:00", "Z")
    return {"id": str(uuid.uuid4()), "kind": kind, "made_at": when, **fields}


def send(member: Membership, *entries: Any, now: datetime = NOON, sent_at: datetime | None = None) -> list[Taken]:
    """Take entries in from a member whose phone's clock is right unless ``sent_at`` says otherwise."""
    parcel = Parcel(read_moment((sent_at or now).isoformat()), tuple(cleaned(one) for one in entries))
    return take_in(membership=member, user=member.user, phone=None, parcel=parcel, now=now)


def states(answers: list[Taken]) -> list[str]:
    """Return what became of each entry."""
    return [one.state for one in answers]


def row(sent: dict[str, Any]) -> FieldEntry:
    """Return the row of an entry."""
    return FieldEntry.objects.get(pk=sent["id"])
