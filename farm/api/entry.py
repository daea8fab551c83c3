"""Who asks: the key in the header, its scope, the farm in the address, and the role its person holds there."""

from __future__ import annotations

import math
from typing import Any, Literal

from django.conf import settings
from django.contrib.auth.models import User
from django.http import HttpRequest
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from ninja.security import HttpBearer

from farm.access import FarmRequest, Role, membership_on, require_role
from farm.api.keys import find_key, note_use
from farm.api.models import ApiKey
from farm.api.pace import PACE
from farm.api.problems import Problem

Scope = Literal["read", "write"]
CHALLENGE = {"WWW-Authenticate": 'Bearer realm="Gablekeep"'}
INVALID = {"WWW-Authenticate": 'Bearer realm="Gablekeep", error="invalid_token"'}


class ApiRequest(FarmRequest):
    """A request by a key; ``farm`` and ``membership`` are set where the address names a farm."""

    api_key: ApiKey
    person: User
    headers_out: dict[str, str]  # what the answer says beside its body


class ApiBearer(HttpBearer):
    """Lets in whoever holds a live key of enough scope, with at least ``role`` on the farm that the address names.

    Cookies count for nothing here, so no other site can make a browser ask for us.
    """

    openapi_description = "A key from the page “API keys”."

    def __init__(self, role: Role, scope: Scope) -> None:
        super().__init__()
        self.role, self.scope = role, scope

    def __call__(self, request: HttpRequest) -> Any:
        """Return the key that the request shows, or raise the problem it has."""
        scheme, _space, token = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != "bearer" or not token.strip():
            _slow_down(f"address {request.META.get('REMOTE_ADDR', '')}")
            said = _("Send the header “Authorization: Bearer” with a key from your page of API keys.")
            raise Problem("no-key", said, headers=CHALLENGE)
        return self.authenticate(request, token.strip())

    def authenticate(self, request: HttpRequest, token: str) -> ApiKey:
        """Return the key, having set on the request what it opens."""
        assert isinstance(request, HttpRequest)  # noqa: S101
        now = timezone.now()
        key = find_key(token=token, now=now)
        if key is None:
            _slow_down(f"address {request.META.get('REMOTE_ADDR', '')}")
            said = _("This key is not known, has ended or was taken back. Make another on your page of API keys.")
            raise Problem("no-key", said, headers=INVALID)
        _slow_down(f"key {key.pk}")
        note_use(key=key, now=now)
        request.user = request.person = key.user  # type: ignore[attr-defined]
        request.api_key, request.headers_out = key, {}  # type: ignore[attr-defined]
        slug = request.resolver_match.kwargs.get("farm") if request.resolver_match else None
        if slug is not None:
            self._open_farm(request, key, slug)
        if self.scope == "write" and key.scope != ApiKey.Scope.WRITE:
            raise Problem("not-allowed", _("This key only reads. Make one that may change, and use it here."))
        return key

    def _open_farm(self, request: Any, key: ApiKey, slug: str) -> None:
        """Put the farm on the request, by its own clock, in the person's language, in the units of the names."""
        membership = membership_on(key.user, slug)
        require_role(membership, self.role)
        request.farm, request.membership = membership.farm, membership
        request.farm.units = "metric"  # sentences speak of millimetres, as the fields do; not to be saved
        timezone.activate(membership.farm.zone)
        translation.activate(membership.language or translation.get_language() or "en")


def _slow_down(caller: str) -> None:
    wait = PACE.wait(caller, settings.API_PER_MINUTE)
    if wait > 0:
        seconds = math.ceil(wait)
        said = _("Ask again in %(seconds)d s; %(most)d requests a minute are answered.")
        raise Problem(
            "too-many", said % {"seconds": seconds, "most": settings.API_PER_MINUTE},
            headers={"Retry-After": str(seconds)},
        )  # fmt: skip
