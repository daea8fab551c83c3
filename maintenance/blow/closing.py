"""What there is to do at a tunnel before a storm, from its rows."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from doors import sizing
from doors.models import Component, FailureMode
from farm.fields import metres
from farm.models import Opening, Tunnel
from maintenance.ages.ageing import FILMS
from maintenance.models import Repair
from maintenance.storm.condition import Posture
from maintenance.storm.quantity import MINUTE
from maintenance.storm.work import Door as DoorToShut
from maintenance.storm.work import Repair as Defect
from maintenance.storm.work import Structure

USUAL_REPAIR: Final = 30  # minutes, where nobody said how long it takes; common practice, no source
TAPED: Final = frozenset({FailureMode.TORN, FailureMode.HOLED})
QUARTER_TURN: Final = 90.0  # degrees


def work_at(
    tunnel: Tunnel,
    openings: Sequence[Opening],
    defects: Sequence[Repair],
    parts: Sequence[Component],
    film_age: float | None,
) -> Structure:
    """Return a tunnel's doors, sides, faults and gear as the storm core takes them."""
    axis = tunnel.axis_bearing_deg
    turned = {"left": -QUARTER_TURN, "right": QUARTER_TURN}
    sides = [
        (f"side-{tunnel.pk}-{name}", None if axis is None else (float(axis) + turn) % 360)
        for name, turn in turned.items()
        if getattr(tunnel, f"has_{name}_rollup")
    ]
    return Structure(
        code=str(tunnel.pk),
        doors=tuple(_door(one) for one in openings),
        sides=tuple(sides),
        is_inflated=tunnel.film_layers == 2,
        has_shade=any(part.kind == Component.Kind.SHADE and part.tunnel_id == tunnel.pk for part in parts),
        repairs=tuple(_defect(one) for one in defects),
        posture=Posture(tunnel.storm_posture),
        film_age=film_age or 0.0,
    )


def _door(opening: Opening) -> DoorToShut:
    return DoorToShut(
        place=f"door-{opening.pk}",
        kind=sizing.DoorKind(opening.kind),
        width=metres(opening.rough_width_mm) or 0.0,
        bearing=_bearing(opening.end_wall.bearing_deg),
    )


def _defect(repair: Repair) -> Defect:
    wall = repair.opening.end_wall if repair.opening else repair.end_wall
    return Defect(
        place=f"repair-{repair.pk}",
        time=(USUAL_REPAIR if repair.minutes is None else repair.minutes) * MINUTE,
        is_critical=repair.is_critical,
        needs_dry=repair.part in FILMS and repair.mode in TAPED,
        bearing=_bearing(wall.bearing_deg) if wall else None,
    )


def _bearing(degrees: Decimal | None) -> float | None:
    return None if degrees is None else float(degrees)
