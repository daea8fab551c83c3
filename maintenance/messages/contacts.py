"""How each member wants to be told, also one who never said so, and how that member reads."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final
from urllib.parse import urlsplit

from django.conf import settings
from django.db.models import QuerySet
from django.utils import timezone, translation

from farm.models import Membership
from maintenance.models import Contact

DOT_ATOM: Final = re.compile(r"[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)*")


def contact_of(membership: Membership) -> Contact:
    """Return a member's wishes; who never made any has the usual ones, and only those who work get a list."""
    try:
        return membership.contact
    except Contact.DoesNotExist:
        return Contact(membership=membership, has_digest=membership.role != Membership.Role.VIEWER)


def email_of(membership: Membership) -> str:
    """Return where a member's mail goes: the address given for this farm, else the account's."""
    return contact_of(membership).email or membership.user.email


def language_of(membership: Membership) -> str:
    """Return the language a member reads this farm's messages in."""
    return membership.language or membership.farm.language


def units_of(membership: Membership) -> str:
    """Return the units a member reads this farm's messages in."""
    return membership.units or membership.farm.units


@contextmanager
def reading_as(membership: Membership) -> Iterator[None]:
    """Write what this member is to read: in the member's language, by the farm's clock."""
    with translation.override(language_of(membership)), timezone.override(membership.farm.zone):
        yield


def addressees() -> QuerySet[Membership]:
    """Return the members who may be told anything, with all that telling them takes."""
    active = Membership.objects.filter(user__is_active=True)
    return active.select_related("user", "farm", "contact").prefetch_related("push_subscriptions").order_by("pk")


def public_host() -> str:
    """Return the host in the names of our messages and events: the public one where it has a name or number."""
    host = urlsplit(settings.PUBLIC_ADDRESS).hostname or ""
    return host if DOT_ATOM.fullmatch(host) else "localhost"
