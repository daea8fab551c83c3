"""The address that goes on paper: what a phone has to call, and from where it can."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest
from django.http.request import split_domain_port


@dataclass(frozen=True, slots=True)
class PaperAddress:
    """The beginning of every address in print.

    Attributes
    ----------
    base
        Scheme and host, without a slash at the end.
    is_here_only
        No other machine can call it.
    is_near_only
        Only a phone in the farm's own network can call it.
    """

    base: str
    is_here_only: bool
    is_near_only: bool


def paper_address(request: HttpRequest) -> PaperAddress:
    """Return the address to print: the public one where it was set, else the one this page was opened at."""
    base = settings.PUBLIC_ADDRESS if settings.KNOWS_PUBLIC_ADDRESS else f"{request.scheme}://{request.get_host()}"
    host = split_domain_port(base.partition("://")[2].partition("/")[0])[0].strip("[]").lower()
    is_here = host == "localhost" or host.endswith(".localhost")
    is_near = "." not in host or host.endswith((".local", ".lan", ".internal", ".home.arpa"))
    try:
        number = ipaddress.ip_address(host)
    except ValueError:
        return PaperAddress(base.rstrip("/"), is_here, is_near and not is_here)
    is_here = number.is_loopback or number.is_unspecified
    return PaperAddress(base.rstrip("/"), is_here, not number.is_global and not is_here)
