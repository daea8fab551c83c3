"""Which state of a thing a program has seen (RFC 9110, 8.8.3 and 13.1)."""

from __future__ import annotations

import hashlib
from typing import Any

from django.http.request import HttpHeaders
from django.utils.http import parse_etags
from django.utils.translation import gettext as _
from pydantic import BaseModel

from farm.api.problems import Problem


def etag_of(body: str) -> str:
    """Return the strong ETag of an answer."""
    return f'"{hashlib.sha256(body.encode()).hexdigest()[:32]}"'


def is_known(headers: HttpHeaders, etag: str) -> bool:
    """Return whether the asker holds this state already; here a weak ETag is as good as a strong one."""
    known = [each.removeprefix("W/") for each in parse_etags(headers.get("If-None-Match", ""))]
    return etag in known or "*" in known


def require_match(request: Any, shown: BaseModel, *, is_needed: bool = True) -> None:
    """Refuse a change by somebody who has not seen the thing as it stands now, ``shown`` as a GET would.

    Call it under the lock of the row that changes, else two who saw the same state both get through.
    """
    given = request.headers.get("If-Match")
    if given is None:
        if is_needed:
            raise Problem("no-match", _("Read the thing first and send its ETag in the header If-Match."))
        return
    wanted = parse_etags(given)
    if "*" not in wanted and etag_of(shown.model_dump_json()) not in wanted:
        raise Problem("stale", _("It is no longer as you have read it. Read it again and send its new ETag."))
