"""Rows of the register as the drawings want them: metres, corners seen from outside, verdicts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from django.utils.html import format_html
from django.utils.translation import gettext as _

from doors.inputs import profile_points, side_operators
from doors.models import Door, Sizing
from doors.sizing import Side
from farm.drawings import PlanDoor, PlanTunnel
from farm.elevations import WallOpening, WallOperator, WallView
from farm.fields import metres
from farm.geometry import End, GeometryError, Profile, Shape
from farm.models import EndWall, Opening, Tunnel
from farm.naming import point
from farm.units import length_html

Verdicts = Mapping[int, str]


@dataclass(frozen=True, slots=True)
class Hung:
    """An opening with its verdict, as a list prints it."""

    opening: Opening
    verdict: str
    size: str = ""

    @property
    def word(self) -> str:
        """The verdict in words."""
        return str(Sizing.Verdict(self.verdict).label)


def verdicts_of(doors: Iterable[Door]) -> dict[int, str]:
    """Return the verdict of each opening's sizing in force."""
    return {door.opening_id: door.sizing.verdict for door in doors if door.sizing is not None}


def verdict_of(opening: Opening, verdicts: Verdicts) -> str:
    """Return an opening's verdict; one that was never sized lacks what sizing needs."""
    return verdicts.get(opening.pk, Sizing.Verdict.BLOCKED)


def size_printer(units: str) -> Callable[[Decimal | None, Decimal | None], str]:
    """Return what prints two lengths as a size; a farm builds the same few sizes again and again."""

    @cache
    def printed(one_mm: Decimal | None, other_mm: Decimal | None) -> str:
        return format_html("{} × {}", *(length_html(metres(value), units) for value in (one_mm, other_mm)))

    return printed


def doors_of(
    tunnels: Iterable[Tunnel], verdicts: Verdicts, printed: Callable[[Decimal | None, Decimal | None], str]
) -> dict[int, list[Hung]]:
    """Return the doors of each tunnel, wall by wall, with their rough sizes."""
    return {
        tunnel.pk: [
            Hung(opening, verdict_of(opening, verdicts), printed(opening.rough_width_mm, opening.rough_height_mm))
            for wall in tunnel.end_walls.all()
            for opening in wall.openings.all()
        ]
        for tunnel in tunnels
    }


def end_of(text: str) -> End:
    """Return an end as the geometry spells it."""
    return "A" if text == Tunnel.End.A else "B"


def wall_name(tunnel: Tunnel, wall: EndWall) -> str:
    """Return a wall's name: the tunnel's code and the compass point the wall faces."""
    return f"{tunnel.code}-{point(wall.bearing_deg, wall.end)}"


def missing_on_plan(tunnel: Tunnel) -> list[str]:
    """Return, in words, what keeps a tunnel off the plan."""
    wanted = {
        _("width"): tunnel.width_mm,
        _("length"): tunnel.length_mm,
        _("direction of the long axis"): tunnel.axis_bearing_deg,
        _("position on the plan"): None if tunnel.east_mm is None else tunnel.north_mm,
    }
    return [name for name, value in wanted.items() if value is None]


def plan_tunnel(tunnel: Tunnel, verdicts: Verdicts, label: str) -> PlanTunnel | None:
    """Return a tunnel for the plan, or None where its place, size or direction is not known."""
    if missing_on_plan(tunnel):
        return None
    return PlanTunnel(
        code=tunnel.code,
        href=tunnel.get_absolute_url(),
        label=label,
        east=metres(tunnel.east_mm) or 0.0,
        north=metres(tunnel.north_mm) or 0.0,
        width=metres(tunnel.width_mm) or 0.0,
        length=metres(tunnel.length_mm) or 0.0,
        axis_bearing=float(tunnel.axis_bearing_deg or 0),
        doors=tuple(
            PlanDoor(
                end=end_of(wall.end),
                offset=metres(opening.offset_mm),
                width=metres(opening.rough_width_mm) or 0.0,
                verdict=verdict_of(opening, verdicts),
            )
            for wall in tunnel.end_walls.all()
            for opening in wall.openings.all()
        ),
    )


def profile_of(tunnel: Tunnel, end: str) -> Profile | None:
    """Return the outline over an end wall seen from outside, or None where it was not measured in full."""
    width, ridge, side = metres(tunnel.width_mm), metres(tunnel.ridge_mm), metres(tunnel.side_mm)
    if not tunnel.shape or width is None or ridge is None:
        return None
    if side is None and tunnel.shape != Shape.MEASURED:
        return None
    try:
        return Profile(Shape(tunnel.shape), width, ridge, side or 0.0, profile_points(tunnel, end))
    except GeometryError:  # the form refuses such sizes; what came in another way is asked for again
        return None


def wall_view(tunnel: Tunnel, wall: EndWall, verdicts: Verdicts) -> WallView | None:
    """Return an end wall for its elevation, or None where the arch over it is not known."""
    profile = profile_of(tunnel, wall.end)
    if profile is None:
        return None
    return WallView(
        name=wall_name(tunnel, wall),
        profile=profile,
        stud_face=metres(wall.stud_face_mm),
        openings=tuple(
            wall_opening(opening, verdict_of(opening, verdicts))
            for opening in wall.openings.all()
            if opening.offset_mm is not None
        ),
        operators=tuple(
            WallOperator(corner="left" if one.corner == Side.LEFT else "right", travel_top=one.travel_top)
            for one in side_operators(wall)
        ),
    )


def wall_opening(opening: Opening, verdict: str) -> WallOpening:
    """Return a measured opening as its wall is drawn with it."""
    return WallOpening(
        code=opening.code,
        kind=opening.kind,
        left=metres(opening.offset_mm) or 0.0,
        width=metres(opening.rough_width_mm) or 0.0,
        height=metres(opening.rough_height_mm) or 0.0,
        threshold=metres(opening.threshold_mm) or 0.0,
        header_depth=metres(opening.header_depth_mm),
        verdict=verdict,
    )
