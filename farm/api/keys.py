"""Keys of persons: made, found by what a program shows, noted as used, taken back."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import Final

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from farm.api.models import ApiKey

PREFIX: Final = "gk_"  # tells a person, and whoever searches files for lost secrets, what it is
BYTES: Final = 32
LONGEST: Final = 100  # letters of what is worth hashing
MOST_KEYS: Final = 20  # a person's, at a time
USED_EVERY: Final = timedelta(minutes=1)  # a row need not be written at every request


class KeyRefusedError(Exception):
    """Why a person gets no other key; a sentence for that person."""


@transaction.atomic
def make_key(*, user: User, name: str, scope: str, days: int, now: datetime) -> tuple[ApiKey, str]:
    """Make a key; return its row and the key itself, which nobody can read again."""
    User.objects.select_for_update().get(pk=user.pk)  # two tabs do not make the last key twice
    if live_keys(user, now).count() >= MOST_KEYS:
        raise KeyRefusedError(
            _("You have %(most)d keys. Take one back that nothing uses any more.") % {"most": MOST_KEYS}
        )
    token = PREFIX + secrets.token_urlsafe(BYTES)
    row = ApiKey.objects.create(
        user=user, name=name, token_hash=hash_of(token), hint=token[-4:], scope=scope, made_at=now,
        expires_at=now + timedelta(days=days),
    )  # fmt: skip
    return row, token


def hash_of(token: str) -> str:
    """Return what is kept of a key. It is 256 random bits, so one round of hashing is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


def find_key(*, token: str, now: datetime) -> ApiKey | None:
    """Return the key a program shows, with its person, unless it has ended, was taken back or its person is gone."""
    if not token.startswith(PREFIX) or len(token) > LONGEST:
        return None
    found = ApiKey.objects.select_related("user").filter(token_hash=hash_of(token), user__is_active=True).first()
    return found if found is not None and found.is_live(now) else None


def note_use(*, key: ApiKey, now: datetime) -> None:
    """Note that a key was used, at most once a minute."""
    stale = Q(used_at=None) | Q(used_at__lt=now - USED_EVERY)
    if key.used_at is None or key.used_at < now - USED_EVERY:
        ApiKey.objects.filter(stale, pk=key.pk).update(used_at=now)


def live_keys(user: User, now: datetime) -> QuerySet[ApiKey]:
    """Return a person's keys that still open."""
    return ApiKey.objects.filter(user=user, revoked_at=None, expires_at__gt=now)


def revoke(*, user: User, pk: int, now: datetime) -> bool:
    """Take a key of a person back; return whether there was one to take back."""
    return bool(ApiKey.objects.filter(user=user, pk=pk, revoked_at=None).update(revoked_at=now))
