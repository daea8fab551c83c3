"""How often a wrong code may be typed: after a few, each further try has to wait, longer and longer.

A name that nobody bears is counted like one that somebody does, so that the answers of both are the same. Their
counts, and those of an address, live in the memory of the web server's one process; those of real names are kept.
"""

from __future__ import annotations

import hashlib
import ipaddress
import threading
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.core.cache import cache

from farm.models import CrewKey

FORGOTTEN_AFTER: Final = timedelta(days=1)  # without a wrong code
_one_at_a_time = threading.Lock()


@dataclass(frozen=True, slots=True)
class Patience:
    """So many wrong codes cost nothing; the next waits ``first``, and each one after it twice as long."""

    free: int
    first: timedelta
    longest: timedelta

    def wait(self, failures: int) -> timedelta:
        """Return how long the next try has to wait after so many wrong codes."""
        if failures < self.free:
            return timedelta(0)
        doubled: int = 2 ** min(failures - self.free, 30)
        return min(self.first * doubled, self.longest)


# At a try each quarter of an hour, half of the million codes take 14 years. A crew shares the farm's one address.
OF_A_NAME: Final = Patience(free=5, first=timedelta(seconds=30), longest=timedelta(minutes=15))
OF_AN_ADDRESS: Final = Patience(free=30, first=timedelta(seconds=10), longest=timedelta(minutes=5))


@dataclass(frozen=True, slots=True)
class Tally:
    """Wrong codes so far, and when the next try counts; ``until`` is None where it counts at once."""

    failures: int = 0
    until: datetime | None = None

    def next(self, patience: Patience, now: datetime) -> Tally:
        """Return the tally with one more wrong code."""
        is_old = self.until is not None and self.until + FORGOTTEN_AFTER <= now
        failures = 1 if is_old else min(self.failures + 1, 1000)
        wait = patience.wait(failures)
        return Tally(failures, now + wait if wait else None)

    def left(self, now: datetime) -> timedelta:
        """Return how long the next try has to wait."""
        return max(self.until - now, timedelta(0)) if self.until is not None else timedelta(0)


def count_address(address: str, now: datetime) -> timedelta:
    """Count a try from an address before its code is looked at; return how long it has to wait instead, if at all."""
    return _count_in_memory(_key("address", _network(address)), OF_AN_ADDRESS, now)


def pardon_address(address: str) -> None:
    """Take the last try of an address back: its code was right. Those before it stay counted."""
    key = _key("address", _network(address))
    with _one_at_a_time:
        tally = cache.get(key, Tally())
        cache.set(key, Tally(max(tally.failures - 1, 0)), FORGOTTEN_AFTER.total_seconds())


def count_name(*, key: CrewKey | None, farm_slug: str, name: str, now: datetime) -> timedelta:
    """Count a try with a name before its code is looked at; return how long it has to wait instead, if at all.

    Counting comes first so that a hundred tries at once are a hundred tries.
    """
    if key is None:
        CrewKey.objects.filter(pk=0).update(failures=0)  # as long as the count of a real name takes
        return _count_in_memory(_key("name", f"{farm_slug}\n{name}"), OF_A_NAME, now)
    while True:
        tally = Tally(key.failures, key.locked_until)
        if left := tally.left(now):
            return left
        following = tally.next(OF_A_NAME, now)
        seen = CrewKey.objects.filter(pk=key.pk, failures=tally.failures, locked_until=tally.until)
        if seen.update(failures=following.failures, locked_until=following.until):
            return timedelta(0)
        try:
            key.refresh_from_db(fields=["failures", "locked_until"])  # somebody else tried at the same moment
        except CrewKey.DoesNotExist:
            return timedelta(0)


def next_wait(*, key: CrewKey | None, farm_slug: str, name: str, now: datetime) -> timedelta:
    """Return how long the next try with a name has to wait."""
    if key is None:
        tally: Tally = cache.get(_key("name", f"{farm_slug}\n{name}"), Tally())
        return tally.left(now)
    row = CrewKey.objects.filter(pk=key.pk).values_list("failures", "locked_until").first()
    return Tally(*row).left(now) if row else timedelta(0)


def _count_in_memory(key: str, patience: Patience, now: datetime) -> timedelta:
    with _one_at_a_time:
        tally: Tally = cache.get(key, Tally())
        if left := tally.left(now):
            return left
        cache.set(key, tally.next(patience, now), FORGOTTEN_AFTER.total_seconds())
        return timedelta(0)


def _key(kind: str, text: str) -> str:
    return f"crew-{kind}-{hashlib.sha256(text.encode()).hexdigest()}"


def _network(address: str) -> str:
    """Return what one household or phone has: an IPv4 address, or the /64 of an IPv6 address."""
    try:
        number = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(number, ipaddress.IPv4Address):
        return str(number)
    return str(number.ipv4_mapped or ipaddress.ip_network((number, 64), strict=False))
