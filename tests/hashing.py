"""A hasher of codes that is quick, and counts how often it was asked to work."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.hashers import PBKDF2PasswordHasher


class CountingHasher(PBKDF2PasswordHasher):
    """Django's own way of hashing, once round; every piece of work is counted in ``rounds``."""

    algorithm = "pbkdf2_counted"
    iterations = 1
    rounds: list[int] = []

    def encode(self, password: str, salt: str, iterations: int | None = None) -> Any:
        self.rounds.append(iterations or self.iterations)
        return super().encode(password, salt, iterations)


PATH = f"{__name__}.CountingHasher"
