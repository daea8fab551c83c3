"""Addresses that people type: only public web addresses, and the connection goes where we looked.

A name may point into the farm's own network, or change where it points between the look and the connection. So
the name is resolved once, every address it has must be public, and the connection is made to one of those.
"""

from __future__ import annotations

import ipaddress
import re
import socket
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import httpx

from maintenance.weather.reasons import ForecastError

LONGEST: Final = 2_000
MOST_PORTS: Final = 65_535
HOST: Final = re.compile(rb"[\w.:-]+", re.ASCII)
CARRIED: Final = ipaddress.ip_network("64:ff9b::/96")  # RFC 6052: an IPv4 address in the last 32 bits

Resolver = Callable[[str, int], Sequence[str]]


@dataclass(frozen=True, slots=True)
class Target:
    """Where to connect and as what: the address itself, and the name for the Host header and the certificate."""

    url: httpx.URL
    pinned_to: str | None = None

    def at(self, url: httpx.URL) -> Target:
        """Return another address on the same host, pinned as this one is."""
        return Target(url, self.pinned_to)


def look_up(host: str, port: int) -> Sequence[str]:
    """Return the addresses of a host."""
    return [str(found[4][0]) for found in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]


def web_address(text: str) -> httpx.URL:
    """Return an http or https address with a host and without a password.

    Raises
    ------
    ForecastError
        If it is something else.
    """
    try:
        url = httpx.URL(text.strip()) if len(text) <= LONGEST else httpx.URL()
    except (httpx.InvalidURL, UnicodeError) as error:
        raise ForecastError("bad_address", url=text) from error
    if url.scheme not in ("http", "https") or url.userinfo or (url.port or 0) > MOST_PORTS:
        raise ForecastError("bad_address", url=text)
    if not HOST.fullmatch(url.raw_host):
        raise ForecastError("bad_address", url=text)
    return url.copy_with(fragment=None)


def public_target(text: str, *, resolve: Resolver = look_up, allow_private: bool = False) -> Target:
    """Return a typed address pinned to a public one of its host's addresses.

    Raises
    ------
    ForecastError
        If it is no web address, the host is not known, or any of its addresses is not public.
    """
    url = web_address(text)
    try:
        found = [ipaddress.ip_address(address.partition("%")[0]) for address in resolve(host_of(url), _port(url))]
    except (OSError, UnicodeError, ValueError) as error:
        raise ForecastError("unreachable", host=host_of(url), detail="unknown name", tries=1) from error
    if not found:
        raise ForecastError("unreachable", host=host_of(url), detail="unknown name", tries=1)
    if not allow_private and not all(is_public(address) for address in found):
        raise ForecastError("private_address", host=host_of(url))
    return Target(url, str(found[0]))


def host_of(url: httpx.URL) -> str:
    """Return a host as it is asked for; ``URL.host`` would fail on letters that no language has."""
    return url.raw_host.decode("ascii")


def is_public(address: ipaddress.IPv4Address | ipaddress.IPv6Address) -> bool:
    """Tell whether an address belongs to the public net; one that carries another is as public as that."""
    if isinstance(address, ipaddress.IPv6Address):
        inner = address.ipv4_mapped or address.sixtofour or (address.teredo or (None, None))[1]
        if address in CARRIED:
            inner = ipaddress.IPv4Address(int(address) & 0xFFFFFFFF)
        if inner is not None:
            return is_public(inner)
    return address.is_global and not address.is_multicast


def is_same_host(one: httpx.URL, other: httpx.URL) -> bool:
    """Tell whether a redirect stays on its host; from http to https it may go."""
    if one.raw_host != other.raw_host or other.userinfo:
        return False
    upgraded = (one.scheme, other.scheme, one.port, other.port) == ("http", "https", None, None)
    return upgraded or (one.scheme, _port(one)) == (other.scheme, _port(other))


def _port(url: httpx.URL) -> int:
    return url.port or (443 if url.scheme == "https" else 80)
