"""Coming in without a password: by a short name and a code, or by a printed square."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password

from farm.crew import tries
from farm.crew.keys import Role, digest, is_farms_own
from farm.crew.names import folded
from farm.models import CrewKey, Membership


class RefusedError(Exception):
    """The name or the code is not right; whoever asks is not told which. ``wait`` is what the next try costs."""

    def __init__(self, wait: timedelta) -> None:
        super().__init__("the name or the code is not right")
        self.wait = wait


class TooSoonError(Exception):
    """After so many wrong codes a try counts only when ``wait`` has passed; nothing was looked at."""

    def __init__(self, wait: timedelta) -> None:
        super().__init__(f"the next try counts in {wait}")
        self.wait = wait


def by_code(*, farm_slug: str, short_name: str, code: str, address: str, now: datetime) -> Membership:
    """Return who comes in by this name and code on a farm.

    A name that nobody bears costs the same time, gets the same answers and is counted the same.

    Raises
    ------
    RefusedError
        If the name or the code is not right.
    TooSoonError
        If too many wrong codes came for this name or from this address.
    """
    if wait := tries.count_address(address, now):
        raise TooSoonError(wait)
    name = folded(short_name)
    key = _key_named(farm_slug, name)
    if wait := tries.count_name(key=key, farm_slug=farm_slug, name=name, now=now):
        raise TooSoonError(wait)
    if not _is_right(key, code) or key is None or not _may_come(key.membership, by_code=True):
        raise RefusedError(tries.next_wait(key=key, farm_slug=farm_slug, name=name, now=now))
    CrewKey.objects.filter(pk=key.pk).update(failures=0, locked_until=None)
    tries.pardon_address(address)
    return key.membership


def by_square(token: str) -> Membership | None:
    """Return whose printed square this is; None where it is nobody's, or no more."""
    keys = CrewKey.objects.select_related("membership__user", "membership__farm")
    key = keys.filter(token_hash=digest(token)).first()
    return key.membership if key is not None and _may_come(key.membership) else None


def _key_named(farm_slug: str, name: str) -> CrewKey | None:
    keys = CrewKey.objects.filter(farm__slug=farm_slug).select_related("membership__user", "membership__farm")
    return next((key for key in keys.order_by("pk") if folded(key.short_name) == name), None)


def _is_right(key: CrewKey | None, code: str) -> bool:
    if key is None or not key.code_hash:
        make_password(code)  # as long as a comparison takes
        return False
    return check_password(code, key.code_hash)


def _may_come(membership: Membership, *, by_code: bool = False) -> bool:
    is_too_much = by_code and membership.role == Role.MANAGER
    return membership.user.is_active and not is_too_much and is_farms_own(membership)
