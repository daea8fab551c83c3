"""Phones that stay signed in for their person, until the person or a manager takes that back.

A phone keeps a secret in a signed cookie that no script can read; the database keeps its digest. A session that a
phone opened lives only as long as the phone is known and its person belongs to the farm.
"""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.contrib.auth import login
from django.db.models import Exists, OuterRef, QuerySet
from django.http import HttpRequest, HttpResponseBase

from farm.crew.keys import digest
from farm.models import KnownPhone, Membership
from farm.sessions import KNOWN_PHONE, device

COOKIE: Final = "gablekeep_phone"
SALT: Final = "farm.crew.phones"
LASTS: Final = timedelta(days=400)  # no browser keeps a cookie longer, RFC 6265bis; each visit begins it anew
SEEN_EVERY: Final = timedelta(hours=1)  # a row is not written at each page
BACKEND: Final = "django.contrib.auth.backends.ModelBackend"


def phone_of(request: HttpRequest) -> KnownPhone | None:
    """Return the known phone that a request came from."""
    phone: KnownPhone | None = getattr(request, "known_phone", None)
    return phone


def standing() -> QuerySet[KnownPhone]:
    """Phones that may come in: known, their person active, on this farm and, as when the key was made, on no other."""
    places = Membership.objects.filter(user_id=OuterRef("user_id")).order_by()
    return KnownPhone.objects.filter(
        Exists(places.filter(farm_id=OuterRef("farm_id"))), ~Exists(places.exclude(farm_id=OuterRef("farm_id"))),
        revoked_at=None, user__is_active=True, user__is_staff=False, user__is_superuser=False,
    ).select_related("user")  # fmt: skip


def token_in(request: HttpRequest) -> str:
    """Return the secret of a phone that was here before; nothing where its cookie is none of ours, or too old."""
    return str(request.get_signed_cookie(COOKIE, default="", salt=SALT, max_age=LASTS))


def sign_in(*, request: HttpRequest, membership: Membership, is_kept: bool, now: datetime) -> str:
    """Let a person in on this phone; return the secret for its cookie. Whoever it was known for before is out on it."""
    if old := token_in(request):
        KnownPhone.objects.filter(token_hash=digest(old), revoked_at=None).update(revoked_at=now)
    token = secrets.token_urlsafe(32)
    phone = KnownPhone.objects.create(
        farm=membership.farm, user=membership.user, token_hash=digest(token),
        name=device(request.headers.get("User-Agent", "")), made_at=now, seen_at=now,
    )  # fmt: skip
    open_session(request, phone)
    if not is_kept:
        request.session.set_expiry(0)  # ends with the browser
    return token


def open_session(request: HttpRequest, phone: KnownPhone) -> None:
    """Open a session for a phone's person."""
    login(request, phone.user, backend=BACKEND)
    request.session[KNOWN_PHONE] = phone.pk
    request.known_phone = phone  # type: ignore[attr-defined]


def note_seen(*, phone: KnownPhone, now: datetime) -> bool:
    """Note that a phone was here, at most once an hour; tell whether it was noted."""
    return bool(KnownPhone.objects.filter(pk=phone.pk, seen_at__lte=now - SEEN_EVERY).update(seen_at=now))


def forget(*, request: HttpRequest, now: datetime) -> None:
    """Take back that this phone is known: whoever logs out is out, and not let in again by the next page."""
    own = [phone.pk] if (phone := phone_of(request)) else []
    KnownPhone.objects.filter(pk__in=own, revoked_at=None).update(revoked_at=now)
    if token := token_in(request):
        KnownPhone.objects.filter(token_hash=digest(token), revoked_at=None).update(revoked_at=now)


def keep_cookie(response: HttpResponseBase, token: str) -> None:
    """Let a phone keep its secret."""
    response.set_signed_cookie(
        COOKIE, token, salt=SALT, max_age=LASTS, httponly=True, samesite="Lax", secure=settings.SESSION_COOKIE_SECURE
    )


def drop_cookie(response: HttpResponseBase) -> None:
    """Take the secret off a phone."""
    response.delete_cookie(COOKIE, samesite="Lax")
