"""What stands in a label's address: short enough to type from a dirty label, too many to guess."""

from __future__ import annotations

import secrets
from typing import Final

# Nothing that looks like something else on a wet label: no 0 O Q, 1 I L, 2 Z, 5 S, 8 B, U V.
ALPHABET: Final = "34679ACDEFGHJKMNPRTWXY"
LENGTH: Final = 8  # 22^8 addresses: 5 in 100 million are taken on a farm of 2,000 places


def new_token() -> str:
    """Return a new token."""
    return "".join(secrets.choice(ALPHABET) for _place in range(LENGTH))


def tidied(token: str) -> str:
    """Return a token as it is kept, however somebody typed it."""
    return token.strip().upper()
