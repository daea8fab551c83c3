"""Changes that span rows of the register: a tunnel has two end walls, and these face along its axis."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from farm.geometry import wall_bearing
from farm.models import EndWall, Farm, Opening, Tunnel
from farm.naming import moved_code, next_opening_code, next_tunnel_code, point

NOT_CLONED = {"id", "pk", "east_mm", "north_mm", "retired_on", "status"}


@dataclass(frozen=True, slots=True)
class Clone:
    """A cloned tunnel, and each cloned opening by the id of its model."""

    tunnel: Tunnel
    openings: Mapping[int, Opening]


def proposed_tunnel_code(farm: Farm) -> str:
    """Return the next free code of the farm, retired tunnels included."""
    return next_tunnel_code(Tunnel.objects.of(farm).values_list("code", flat=True))


def proposed_opening_code(end_wall: EndWall) -> str:
    """Return the next free code in a wall whose tunnel is loaded."""
    first = f"{end_wall.tunnel.code}-{point(end_wall.bearing_deg, end_wall.end)}"
    taken = Opening.objects.of(end_wall.farm).filter(code__startswith=first).values_list("code", flat=True)
    return next_opening_code(end_wall.tunnel.code, point(end_wall.bearing_deg, end_wall.end), set(taken))


def facing(axis_bearing_deg: Decimal | None, end: str) -> Decimal | None:
    """Return where the wall at one end faces, to the hundredth of a degree the columns keep."""
    if axis_bearing_deg is None:
        return None
    return round(Decimal(str(wall_bearing(float(axis_bearing_deg), "A" if end == "A" else "B"))), 2) % 360


@transaction.atomic
def add_tunnels(*, tunnels: Collection[Tunnel]) -> None:
    """Save new tunnels, each together with its two end walls."""
    Tunnel.objects.bulk_create(tunnels)
    EndWall.objects.bulk_create(
        EndWall(farm=tunnel.farm, tunnel=tunnel, end=end, bearing_deg=facing(tunnel.axis_bearing_deg, end))
        for tunnel in tunnels
        for end in Tunnel.End.values
    )


@transaction.atomic
def change_tunnel(*, tunnel: Tunnel, columns: Collection[str]) -> None:
    """Save these columns; where the axis changed, turn the end walls with it."""
    tunnel.save(update_fields=list(columns))
    if "axis_bearing_deg" in columns:
        for end in Tunnel.End.values:
            bearing = facing(tunnel.axis_bearing_deg, end)
            EndWall.objects.filter(tunnel=tunnel, end=end).update(bearing_deg=bearing)


@transaction.atomic
def change_end_wall(*, end_wall: EndWall, columns: Collection[str]) -> None:
    """Save these columns; where the wall was turned, turn the axis and the other wall with it."""
    end_wall.save(update_fields=list(columns))
    if "bearing_deg" in columns:
        tunnel = end_wall.tunnel
        # End B faces along the axis and end A against it: half a turn is its own inverse.
        tunnel.axis_bearing_deg = facing(end_wall.bearing_deg, end_wall.end)
        change_tunnel(tunnel=tunnel, columns=["axis_bearing_deg"])


@transaction.atomic
def clone_tunnel(*, tunnel: Tunnel, code: str, name: str) -> Clone:
    """Copy a tunnel, its walls and the openings in use; not its place on the plan, and not its parts."""
    copy = Tunnel(**_copied(tunnel), code=code, name=name)
    if tunnel.status == Tunnel.Status.PLANNED:
        copy.status = tunnel.status
    copy.save(force_insert=True)
    taken = set(Opening.objects.of(tunnel.farm).values_list("code", flat=True))
    openings: dict[int, Opening] = {}
    for wall in EndWall.objects.filter(tunnel=tunnel).order_by("end"):
        new_wall = EndWall(**_copied(wall, "tunnel"), tunnel=copy)
        new_wall.save(force_insert=True)
        for model in Opening.objects.in_use().filter(end_wall=wall).order_by("pk"):
            new_code = moved_code(model.code, tunnel.code, code)
            if not model.code.startswith(f"{tunnel.code}-") or new_code in taken:
                new_code = next_opening_code(code, point(wall.bearing_deg, wall.end), taken)
            taken.add(new_code)
            opening = Opening(**_copied(model, "end_wall", "code"), end_wall=new_wall, code=new_code)
            opening.save(force_insert=True)
            openings[model.pk] = opening
    return Clone(copy, openings)


@transaction.atomic
def retire_tunnel(*, tunnel: Tunnel, on: date) -> None:
    """Take a tunnel and its openings out of use; nothing is deleted."""
    tunnel.status, tunnel.retired_on = Tunnel.Status.RETIRED, on
    tunnel.save(update_fields=["status", "retired_on"])
    Opening.objects.in_use().filter(end_wall__tunnel=tunnel).update(retired_on=on)


@transaction.atomic
def restore_tunnel(*, tunnel: Tunnel) -> None:
    """Bring a retired tunnel back, with the openings that were retired on the same day."""
    retired_on = tunnel.retired_on
    tunnel.status, tunnel.retired_on = Tunnel.Status.IN_USE, None
    tunnel.save(update_fields=["status", "retired_on"])
    Opening.objects.filter(end_wall__tunnel=tunnel, retired_on=retired_on).update(retired_on=None)


def _copied(row: Tunnel | EndWall | Opening, *replaced: str) -> dict[str, object]:
    """Return the columns a copy starts with."""
    left_out = {*NOT_CLONED, *replaced, *(("code", "name") if isinstance(row, Tunnel) else ())}
    return {field.name: getattr(row, field.name) for field in row._meta.concrete_fields if field.name not in left_out}
