"""Entries taken in exactly once, however often and from wherever they come.

The row of an entry goes in first, under the number its phone made; what it does follows in the same transaction.
Where the row stood already, nothing is done and the answer is the one of before.
"""

from __future__ import annotations

import json
import logging
import random
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final, TypeVar

from django.contrib.auth.models import User
from django.db import IntegrityError, OperationalError, connection, transaction
from django.utils.translation import gettext as _

from farm.models import Farm, KnownPhone, Membership
from maintenance.field.acting import act
from maintenance.field.clocks import moment_of, skew_of
from maintenance.field.deeds import Beside, Deed, NotUnderstood, find
from maintenance.field.details import waiting_for
from maintenance.field.reading import LONGEST_REASON, Entry, Parcel, read_entry, read_key
from maintenance.field.telling import tell_of_unread_danger
from maintenance.hands.ticking import TickError, work_out
from maintenance.models import FieldEntry, Storm
from maintenance.work.closing import WorkError

logger = logging.getLogger(__name__)
TRIES: Final = 6
WORKED_OUT: Final = timedelta(seconds=15)
UNNAMED: Final = uuid.UUID("6f0c2a1e-6a53-4d7e-9a53-0d5a54f1b6c4")  # entries that came without a number of their own
NAMELESS_FIELDS: Final = ("kind", "anonymous", "door", "tunnel", "parent", "text")  # kept of what has no name
MAY_BE_NAMELESS: Final = (FieldEntry.Kind.NEAR_MISS, FieldEntry.Kind.DETAILS)
State = FieldEntry.State
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Taken:
    """The answer to one entry; ``id`` is what the phone called it."""

    id: Any
    state: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sender:
    """Who sends, on which phone, and when it came."""

    farm: Farm
    user: User
    membership: Membership
    phone: KnownPhone | None
    now: datetime
    skew_s: float | None


def take_in(
    *, membership: Membership, user: User, phone: KnownPhone | None, parcel: Parcel, now: datetime
) -> list[Taken]:  # fmt: skip
    """Take in what a phone sent; every entry is answered, in order."""
    sender = Sender(farm=membership.farm, user=user, membership=membership, phone=phone, now=now,
                    skew_s=skew_of(parcel.sent_at, now))  # fmt: skip
    storms: dict[int, Storm] = {}
    answers = [_taken(sender, raw, storms) for raw in parcel.entries]
    for storm in storms.values():
        _work_out(storm, now)
    return answers


def _work_out(storm: Storm, now: datetime) -> None:
    """Work a storm out once for all that came: with every task done the work must begin later.

    When many phones find a way at the same moment, this is not done for each: the clock does it again anyway.
    """
    storm.refresh_from_db(fields=["assessed_at"])
    if timedelta(0) <= now - storm.assessed_at < WORKED_OUT:
        return
    try:
        work_out(storm=storm, now=now)
    except Exception:
        logger.exception("storm %s could not be worked out after entries of phones", storm.pk)


def own_key(key: uuid.UUID, farm: Farm, user: User | None) -> uuid.UUID:
    """Return another number for an entry whose own is somebody else's: the answer must not tell that it is."""
    return uuid.uuid5(key, f"{farm.pk}:{user.pk if user else ''}")


def entry_of(farm: Farm, user: User, name: Any) -> FieldEntry | None:
    """Return what was taken in of a person under a number of the person's phone."""
    key = read_key(name)
    if key is None:
        return None
    keys = [key, own_key(key, farm, user), own_key(key, farm, None)]
    found = list(FieldEntry.objects.filter(pk__in=keys, farm=farm))
    mine = [row for row in found if row.by_id == user.pk or (row.by_id is None and row.payload.get("anonymous"))]
    return mine[0] if mine else None


def _taken(sender: Sender, raw: Any, storms: dict[int, Storm]) -> Taken:
    entry = read_entry(raw)
    user = None if _is_nameless(entry) else sender.user
    given = entry.payload.get("id")
    key = read_key(given) or _key_of(sender, entry, user)
    row = retried(lambda: _once(sender, entry, key, user, storms))
    return Taken(given if isinstance(given, str) else None, row.state, row.reason)


def retried(work: Callable[[], Result]) -> Result:
    """Do something in a transaction of its own, again where others were in its way."""
    for left in reversed(range(TRIES)):
        try:
            return work()
        except OperationalError:  # busy, or two that waited for each other: nothing of it was kept
            if not left or connection.in_atomic_block:
                raise
            time.sleep(random.uniform(0.02, 0.2))  # noqa: S311 - no secret
    raise AssertionError


def _is_nameless(entry: Entry) -> bool:
    return entry.is_anonymous and (entry.kind in MAY_BE_NAMELESS or entry.kind not in FieldEntry.Kind.values)


def _key_of(sender: Sender, entry: Entry, user: User | None) -> uuid.UUID:
    """Return a number for an entry that has none: the same for the same entry."""
    text = json.dumps(entry.payload, sort_keys=True, default=str)
    return own_key(uuid.uuid5(UNNAMED, text), sender.farm, user)


def _once(sender: Sender, entry: Entry, key: uuid.UUID, user: User | None, storms: dict[int, Storm]) -> FieldEntry:
    """Take one entry in, or return what was taken in of it before."""
    for pk in (key, own_key(key, sender.farm, user)):
        found = FieldEntry.objects.filter(pk=pk).first()
        if found is None:
            with transaction.atomic():
                # What one person sends is taken in one after the other, so that details find what they belong to.
                Membership.objects.select_for_update(no_key=True).get(pk=sender.membership.pk)
                row = _row(sender, entry, pk, user)
                if _insert(row):
                    touched = _act(sender, entry, row)
                    storms.update(touched)
                    return row
            found = FieldEntry.objects.get(pk=pk)
        if found.farm_id == sender.farm.pk and found.by_id == (user.pk if user else None):
            return found
    raise IntegrityError("two entries under one number")


def _insert(row: FieldEntry) -> bool:
    """Put a row in; False where its number is taken, after waiting for whoever is about to take it."""
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        if FieldEntry.objects.filter(pk=row.pk).exists():
            return False
        raise
    return True


def _row(sender: Sender, entry: Entry, pk: uuid.UUID, user: User | None) -> FieldEntry:
    if user is not None:
        return FieldEntry(
            pk=pk, farm=sender.farm, by=user, phone=sender.phone, kind=entry.kind, payload=entry.payload,
            made_at=entry.made_at or sender.now, skew_s=sender.skew_s, received_at=sender.now,
        )  # fmt: skip
    row = FieldEntry(pk=pk, farm=sender.farm, kind=entry.kind, payload=entry.payload, made_at=sender.now,
                     received_at=sender.now)  # fmt: skip
    return make_nameless(row)


def make_nameless(row: FieldEntry) -> FieldEntry:
    """Take out of an entry all that leads to a person; its time too: others that came with it have the same."""
    midnight = row.received_at.astimezone(row.farm.zone).replace(hour=0, minute=0, second=0, microsecond=0)
    row.by = row.phone = row.skew_s = None
    row.made_at = row.received_at = midnight
    row.payload = {name: row.payload[name] for name in NAMELESS_FIELDS if name in row.payload} | {"anonymous": True}
    return row


def _act(sender: Sender, entry: Entry, row: FieldEntry) -> dict[int, Storm]:
    """Do what an entry says; what cannot be done leaves nothing but its row, with the reason."""
    if entry.kind == FieldEntry.Kind.DETAILS and entry.parent is not None:
        _find_parent(sender, entry, row)
    deed = Deed(entry=entry, row=row, farm=sender.farm, by=row.by, now=sender.now,
                at=moment_of(entry.made_at, sender.skew_s, sender.now))  # fmt: skip
    try:
        with transaction.atomic():
            find(deed)
            if entry.problem:
                raise NotUnderstood(entry.problem)
            act(deed)
    except (Beside, TickError, WorkError) as error:
        _keep(deed, State.BESIDE, str(error))
    except NotUnderstood as error:
        _keep(deed, State.UNREAD, str(error))
    except OperationalError:
        raise
    except Exception as error:
        logger.error("an entry of kind %s could not be taken in: %s", entry.kind, type(error).__name__)
        logger.debug("how it failed", exc_info=None if row.by is None else error)
        _keep(deed, State.UNREAD, _("It could not be taken in. It is kept, and your manager sees it."))
    else:
        _keep(deed, State.TAKEN, "")
        _join_waiting(sender, deed)
        return deed.storms
    if entry.kind == FieldEntry.Kind.DANGER:
        tell_of_unread_danger(deed)
    return {}


def _keep(deed: Deed, state: FieldEntry.State, reason: str) -> None:
    """Write what became of an entry; what a refused deed made is gone again and must not be pointed at."""
    row, is_taken = deed.row, state == State.TAKEN
    row.state, row.reason = state, " ".join(reason.split())[:LONGEST_REASON]
    row.opening, row.tunnel, row.task, row.job = deed.opening, deed.tunnel, deed.task, deed.job
    row.repair = deed.repair if is_taken or deed.entry.repair is not None else None
    row.near_miss = deed.near_miss if is_taken else None
    row.save()


def _find_parent(sender: Sender, entry: Entry, row: FieldEntry) -> None:
    parent = entry_of(sender.farm, sender.user, str(entry.parent))
    if parent is not None and parent.kind != FieldEntry.Kind.DETAILS:
        row.parent = parent
        if parent.by_id is None:
            make_nameless(row)


def _join_waiting(sender: Sender, deed: Deed) -> None:
    """Let details that came first do now what they say."""
    if deed.entry.kind == FieldEntry.Kind.DETAILS:
        return
    for row in waiting_for(deed, str(deed.entry.payload.get("id", ""))):
        row.parent = deed.row
        if deed.row.by_id is None:
            make_nameless(row)
        later = read_entry(row.payload)
        skew_s = row.skew_s
        told = Sender(farm=sender.farm, user=sender.user, membership=sender.membership, phone=row.phone,
                      now=sender.now, skew_s=skew_s)  # fmt: skip
        _act(told, later, row)
