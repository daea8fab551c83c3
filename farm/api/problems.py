"""Errors as other programs read them (RFC 9457), each with a sentence that says what to do."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.http import HttpResponse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

MEDIA_TYPE: Final = "application/problem+json"
DOCS_PATH: Final = "/api/v1/docs"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem: its status, its title, and what the docs page says to do about it."""

    status: int
    title: str | Promise
    advice: str | Promise


KINDS: Final[Mapping[str, Kind]] = {
    "unreadable": Kind(
        400, _("The request cannot be read"),
        _("Send UTF-8 JSON with plain numbers and text without control characters; follow a cursor as it was given."),
    ),
    "no-key": Kind(
        401, _("A key is needed"), _("Send “Authorization: Bearer” with a key from your page of API keys.")
    ),
    "not-allowed": Kind(
        403, _("This is not allowed"), _("The key, or its person's role on the farm, does not reach so far.")
    ),
    "not-found": Kind(
        404, _("There is no such thing"), _("Look at the address; what another farm has is not found either.")
    ),
    "wrong-method": Kind(
        405, _("This cannot be asked so"), _("Use one of the methods that the header Allow names.")
    ),
    "conflict": Kind(
        409, _("It no longer fits"), _("Read the thing again: somebody changed it, or the day does not fit.")
    ),
    "stale": Kind(
        412, _("It was changed meanwhile"), _("Read it again, look at the difference, and send its new ETag.")
    ),
    "too-large": Kind(413, _("The request is too large"), _("Send less in one request.")),
    "not-json": Kind(415, _("The body is not JSON"), _("Send the header “Content-Type: application/json”.")),
    "refused": Kind(
        422, _("Some of it cannot be so"), _("Each entry of errors names a place in the body and what to write there.")
    ),
    "key-reused": Kind(
        422, _("This idempotency key was used"), _("Make a new Idempotency-Key for every new request.")
    ),
    "no-match": Kind(428, _("Say what you have seen"), _("Send the ETag of what you read as If-Match.")),
    "too-many": Kind(429, _("Too many requests"), _("Wait as many seconds as the header Retry-After says.")),
    "failed": Kind(
        500, _("The program made a mistake"), _("Nothing was changed. Tell the operator; the log says more.")
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wrong:
    """What is wrong at one place: of the body as a JSON pointer (RFC 6901), or of a parameter by its name."""

    detail: str
    pointer: str = ""
    parameter: str = ""

    @property
    def plain(self) -> dict[str, str]:
        """As the answer holds it."""
        where = {"parameter": self.parameter} if self.parameter else {"pointer": f"#{self.pointer}"}
        return {"detail": self.detail, **where}


class Problem(Exception):  # noqa: N818 - RFC 9457 calls it so
    """Ends a request with a problem."""

    def __init__(
        self, kind: str, detail: str, *, errors: Sequence[Wrong] = (), headers: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(detail)
        self.kind, self.detail, self.errors, self.headers = kind, detail, errors, headers or {}

    @property
    def status(self) -> int:
        """The status of its kind."""
        return KINDS[self.kind].status


def response_of(problem: Problem) -> HttpResponse:
    """Return a problem as the answer."""
    kind = KINDS[problem.kind]
    body: dict[str, Any] = {
        "type": f"{settings.PUBLIC_ADDRESS}{DOCS_PATH}#{problem.kind}", "title": str(kind.title),
        "status": kind.status, "detail": problem.detail,
    }  # fmt: skip
    if problem.errors:
        body["errors"] = [each.plain for each in problem.errors]
    return HttpResponse(
        json.dumps(body, ensure_ascii=False), status=kind.status, content_type=MEDIA_TYPE, headers=dict(problem.headers)
    )
