"""What a form proposes before anybody has measured: shown, marked as proposed, and open to change.

The timber sizes are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import Final

from doors.inputs import side_operators
from doors.sizing import FILM_ROLLS
from farm.models import EndWall, Opening

INCH: Final = Decimal("25.4")  # mm, exact
# A 4 x 4 in post, a doubled 2 in board for a header 10 in deep, in their real sizes; metric timber for metric farms.
FRAMING: Final[Mapping[str, Mapping[str, Decimal]]] = {
    "us": {
        "stud_face_mm": Decimal("3.5") * INCH,
        "stud_depth_mm": Decimal("3.5") * INCH,
        "header_thickness_mm": 3 * INCH,
    },
    "metric": {"stud_face_mm": Decimal(95), "stud_depth_mm": Decimal(95), "header_thickness_mm": Decimal(90)},
}
HEADER_DEPTH: Final[Mapping[str, Decimal]] = {"us": Decimal("9.25") * INCH, "metric": Decimal(220)}
STEP: Final[Mapping[str, Decimal]] = {"us": INCH / 16, "metric": Decimal(1)}  # what a tape shows


def framing(end_wall: EndWall) -> dict[str, Decimal]:
    """Return what an end wall's empty measurements are proposed as: the other wall's, else common timber."""
    other = EndWall.objects.filter(tunnel=end_wall.tunnel_id).exclude(pk=end_wall.pk).first()
    common = FRAMING[end_wall.farm.units]
    empty = [name for name in common if getattr(end_wall, name) is None]
    return {name: (getattr(other, name) if other else None) or common[name] for name in empty}


def header_depth(end_wall: EndWall, kind: str) -> Decimal:
    """Return the header depth over the same kind of door: in this tunnel, else on the farm, else a common board's.

    The board over a person door says nothing of the one that carries a film door.
    """
    alike = FILM_ROLLS if kind in FILM_ROLLS else {kind}
    used = Opening.objects.of(end_wall.farm).filter(kind__in=alike, header_depth_mm__isnull=False)
    here = used.filter(end_wall__tunnel=end_wall.tunnel_id).order_by("-rough_width_mm", "-pk")
    found = here.first() or used.order_by("-pk").first()
    return (found and found.header_depth_mm) or HEADER_DEPTH[end_wall.farm.units]


def drive_side(end_wall: EndWall) -> str:
    """Return the side whose corner no roll-up side's operator stands at; the right one where both are free."""
    taken = {str(operator.corner) for operator in side_operators(end_wall)}
    return next((side for side in ("right", "left") if side not in taken), "right")


def offset(end_wall: EndWall, rough_width_mm: Decimal) -> Decimal | None:
    """Return the offset that centres an opening in its wall, or in the widest gap the others leave."""
    standing = Opening.objects.in_use().filter(end_wall=end_wall).values_list("offset_mm", "rough_width_mm")
    free = free_offset(rough_width_mm, end_wall.tunnel.width_mm, list(standing))
    step = STEP[end_wall.farm.units]
    return None if free is None else free // step * step


def free_offset(
    rough_width_mm: Decimal, wall_width_mm: Decimal | None, others: Collection[tuple[Decimal | None, Decimal]]
) -> Decimal | None:
    """Return where an opening fits among ``others``, each an offset (or None) and a rough width. [mm]"""
    if wall_width_mm is None or rough_width_mm > wall_width_mm:
        return None
    standing = sorted((left, left + width) for left, width in others if left is not None)
    middle = (wall_width_mm - rough_width_mm) / 2
    if all(middle >= right or middle + rough_width_mm <= left for left, right in standing):
        return middle
    edges = [Decimal(0), *(edge for span in standing for edge in span), wall_width_mm]
    room, start = max((right - left, left) for left, right in zip(edges[::2], edges[1::2], strict=True))
    return start + (room - rough_width_mm) / 2 if room >= rough_width_mm else None
