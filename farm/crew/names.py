"""Short names: what somebody with gloves types, so case, accents and spaces do not count."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection
from itertools import count
from typing import Final

LONGEST: Final = 20  # letters; the column's width


def folded(name: str) -> str:
    """Return a name as it is compared: José, jose and " JOSE " are one."""
    letters = unicodedata.normalize("NFKD", name.strip().casefold())
    return "".join(letter for letter in letters if not unicodedata.combining(letter) and not letter.isspace())


def free_name(wanted: str, taken: Collection[str]) -> str:
    """Return a short name for a person, with a number behind it where others bear the same.

    ``taken`` are folded names.
    """
    words = wanted.split()
    first = (words[0] if words else "1")[:LONGEST]
    if folded(first) not in taken:
        return first
    numbered = (f"{first[: LONGEST - len(str(n))]}{n}" for n in count(2))
    return next(name for name in numbered if folded(name) not in taken)
