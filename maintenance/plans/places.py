"""What places have: the conditions under which a routine applies to a tunnel, an end wall, an opening or a part."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, Final

from doors.models import Component
from farm.models import EndWall, Farm, Opening, Tunnel

WIDE_FROM_MM: Final = Decimal("4267.2")  # 14 ft, common practice, no source: a wide film door
FILM_DOORS: Final = frozenset({Opening.Kind.MID_BAR, Opening.Kind.BOTTOM_BAR})

TUNNEL: Final[Mapping[str, Callable[[Tunnel], bool]]] = {
    "two_layers": lambda tunnel: tunnel.film_layers == 2,
    "rollup_sides": lambda tunnel: bool(tunnel.has_left_rollup or tunnel.has_right_rollup),
    "film": lambda tunnel: tunnel.film_layers != 0,
}
OPENING: Final[Mapping[str, Callable[[Opening], bool]]] = {
    "film_door": lambda opening: opening.kind in FILM_DOORS,
    "wide_film_door": lambda opening: opening.kind in FILM_DOORS and opening.rough_width_mm >= WIDE_FROM_MM,
    "person_door": lambda opening: opening.kind == Opening.Kind.PERSON,
}
NEEDS: Final = frozenset({*TUNNEL, *OPENING})


def has(row: Farm | Tunnel | EndWall | Opening | Component, need: str) -> bool:
    """Tell whether a place has what a routine needs; a need of a tunnel holds for all that is in it."""
    if need in OPENING:
        opening = row.opening if isinstance(row, Component) else row
        return isinstance(opening, Opening) and OPENING[need](opening)
    tunnel = _tunnel(row)
    return tunnel is not None and need in TUNNEL and TUNNEL[need](tunnel)


def _tunnel(row: Any) -> Tunnel | None:
    match row:
        case Tunnel():
            return row
        case EndWall():
            return row.tunnel
        case Opening():
            return row.end_wall.tunnel
        case Component():
            return row.tunnel or _tunnel(row.end_wall or row.opening)
    return None
