"""The short names that came in on this phone before: they are offered on it, and nowhere else."""

from __future__ import annotations

import json
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

from farm.crew.names import folded
from farm.crew.phones import LASTS

COOKIE: Final = "gablekeep_names"
SALT: Final = "farm.crew.recent"
MOST: Final = 6  # the people who share one phone


def names_on(request: HttpRequest, farm_slug: str) -> list[str]:
    """Return the names of one farm's people that came in on this phone, the last on top."""
    return [name for slug, name in _pairs(request) if slug == farm_slug]


def keep_name(*, request: HttpRequest, response: HttpResponseBase, farm_slug: str, name: str) -> None:
    """Let this phone remember a name that came in."""
    others = [pair for pair in _pairs(request) if (pair[0], folded(pair[1])) != (farm_slug, folded(name))]
    response.set_signed_cookie(
        COOKIE, json.dumps([(farm_slug, name), *others][:MOST]), salt=SALT, max_age=LASTS, httponly=True,
        samesite="Lax", secure=settings.SESSION_COOKIE_SECURE,
    )  # fmt: skip


def _pairs(request: HttpRequest) -> list[tuple[str, str]]:
    text = request.get_signed_cookie(COOKIE, default="", salt=SALT, max_age=LASTS)
    return [(slug, name) for slug, name in json.loads(text)] if text else []
