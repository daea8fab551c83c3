"""What end walls, tunnels and openings are called: by the compass point the wall faces."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from decimal import Decimal

from farm.geometry import compass_point

NUMBERED = re.compile(r"T(\d{1,6})", re.ASCII | re.IGNORECASE)


def point(bearing_deg: Decimal | float | None, end: str) -> str:
    """Return the compass point a wall faces, or its end where the tunnel's direction is not known."""
    return end if bearing_deg is None else compass_point(float(bearing_deg))


def next_tunnel_code(codes: Iterable[str]) -> str:
    """Return the code after the highest numbered one: T13 after T12, T01 on a new farm."""
    numbers = [int(match[1]) for code in codes if (match := NUMBERED.fullmatch(code))]
    return f"T{max(numbers, default=0) + 1:02d}"


def next_opening_code(tunnel_code: str, wall_point: str, codes: Collection[str]) -> str:
    """Return the wall's name for its first opening, and the same with 2, 3 … for the next ones."""
    first = f"{tunnel_code}-{wall_point}"
    code, number = first, 1
    while code in codes:
        number += 1
        code = f"{first}{number}"
    return code


def moved_code(code: str, old_tunnel: str, new_tunnel: str) -> str:
    """Return an opening's code for the clone of its tunnel: T13-W for T04-W."""
    prefix = f"{old_tunnel}-"
    return f"{new_tunnel}-{code.removeprefix(prefix)}"
