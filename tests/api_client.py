"""A program that asks the API: a key of a fresh member, and requests as such a program sends them."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from farm.api.keys import make_key
from farm.api.models import ApiKey
from farm.models import Farm
from tests.factories import make_member


class Program:
    """Asks as the holder of a key."""

    def __init__(self, user: User, scope: str = "write", *, days: int = 30, now: datetime | None = None) -> None:
        self.user = user
        self.key, self.token = make_key(
            user=user, name="test", scope=scope, days=days, now=now or timezone.now() - timedelta(seconds=1)
        )
        self.client = Client(raise_request_exception=False)

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> HttpResponse:
        """Ask for a path below /api/v1; ``body`` is sent as JSON, bytes as they are; headers by name_with_lines."""
        sent = {"authorization": f"Bearer {self.token}", **{name.replace("_", "-"): v for name, v in headers.items()}}
        data = body if isinstance(body, bytes) else b"" if body is None else json.dumps(body).encode()
        kind = sent.pop("content-type", "application/json")
        return self.client.generic(method, f"/api/v1{path}", data, content_type=kind, headers=sent)

    def get(self, path: str, **headers: str) -> HttpResponse:
        """Ask for a thing or a list."""
        return self.ask("GET", path, **headers)

    def post(self, path: str, body: Any = None, **headers: str) -> HttpResponse:
        """Ask for a change."""
        return self.ask("POST", path, body, **headers)

    def patch(self, path: str, body: Any, **headers: str) -> HttpResponse:
        """Change a row as it stands, unless told what was seen."""
        if "if_match" not in headers:
            headers["if_match"] = self.get(path)["ETag"]
        return self.ask("PATCH", path, body, **headers)


def program_of(farm: Farm, role: str = "manager", scope: str = "write") -> Program:
    """Return a program of a fresh member of a farm."""
    return Program(make_member(farm, role).user, scope)


def revoke_all(user: User) -> None:
    """Take all keys of a person back."""
    ApiKey.objects.filter(user=user).update(revoked_at=timezone.now())
