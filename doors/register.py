"""Changes of the register that reach the doors: each ends with the openings it concerns sized again."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from django.db import transaction

from doors.book import default_design
from doors.models import Door, Material
from doors.services import resize_openings
from farm import services
from farm.models import EndWall, Farm, Opening, Tunnel

DESIGN = (
    "drive_side", "turning_tube_id", "sill_tube_id", "post_tube_id", "anti_billow_tube_id", "film_id", "channel_id",
    "wire_id", "rod_id", "drive_id",
)  # fmt: skip
SIZED_BY = frozenset(
    {"kind", "name", "diameter_mm", "wall_mm", "stock_length_mm", "thickness_mm", "roll_widths_mm", "nut_height_mm",
     "washer_thickness_mm", "gear_ratio"}
)  # fmt: skip


@transaction.atomic
def change_farm(*, farm: Farm, columns: Collection[str]) -> None:
    """Save a farm; where its storm wind turned, check every door against it again."""
    if columns:
        farm.save(update_fields=list(columns))
    if "storm_bearing_deg" in columns:
        resize_openings(farm=farm)


@transaction.atomic
def change_tunnel(*, tunnel: Tunnel, columns: Collection[str]) -> None:
    """Save a tunnel and size the doors in both its walls again."""
    if columns:
        services.change_tunnel(tunnel=tunnel, columns=columns)
        _resize(tunnel.farm, Opening.objects.filter(end_wall__tunnel=tunnel).values_list("pk", flat=True))


@transaction.atomic
def change_end_wall(*, end_wall: EndWall, columns: Collection[str]) -> None:
    """Save an end wall and size its doors again."""
    if columns:
        services.change_end_wall(end_wall=end_wall, columns=columns)
        _resize(end_wall.farm, Opening.objects.filter(end_wall__tunnel=end_wall.tunnel_id).values_list("pk", flat=True))


@transaction.atomic
def clone_tunnel(*, tunnel: Tunnel, code: str, name: str) -> Tunnel:
    """Copy a tunnel with its walls, its openings and the designs of their doors; parts and dates stay behind."""
    clone = services.clone_tunnel(tunnel=tunnel, code=code, name=name)
    models = {door.opening_id: door for door in Door.objects.filter(opening__in=list(clone.openings))}
    Door.objects.bulk_create(
        Door(farm=tunnel.farm, opening=opening, **{name: getattr(models[pk], name) for name in DESIGN})
        for pk, opening in clone.openings.items()
        if pk in models
    )
    _resize(tunnel.farm, [opening.pk for opening in clone.openings.values()])
    return clone.tunnel


@transaction.atomic
def restore_tunnel(*, tunnel: Tunnel) -> None:
    """Bring a tunnel back with its openings, sized by what is true today."""
    services.restore_tunnel(tunnel=tunnel)
    _resize(tunnel.farm, Opening.objects.filter(end_wall__tunnel=tunnel).values_list("pk", flat=True))


@transaction.atomic
def add_opening(*, opening: Opening, drive_side: str = "") -> Opening:
    """Save a new opening with a door designed from the farm's book, and size it and its neighbours."""
    opening.save(force_insert=True)
    design = {f"{part}_id": pk for part, pk in default_design(opening.farm, opening.kind).items()}
    Door.objects.create(farm=opening.farm, opening=opening, drive_side=drive_side, **design)
    _resize(opening.farm, [opening.pk])
    return opening


@transaction.atomic
def change_opening(*, opening: Opening, columns: Collection[str]) -> None:
    """Save an opening; a new kind of door also gets the materials its kind takes, where none were chosen."""
    if not columns:
        return
    opening.save(update_fields=list(columns))
    if "kind" in columns:
        _complete_design(opening)
    _resize(opening.farm, [opening.pk])


@transaction.atomic
def retire_opening(*, opening: Opening, on: date | None) -> None:
    """Take an opening out of use, or with None bring it back; its neighbours are sized again."""
    wall = Opening.objects.filter(end_wall=opening.end_wall_id).values_list("pk", flat=True)
    opening.retired_on = on
    opening.save(update_fields=["retired_on"])
    _resize(opening.farm, wall)


@transaction.atomic
def change_door(*, door: Door, columns: Collection[str]) -> None:
    """Save a door's design and size it again; a door that hangs keeps the sheet it was hung by."""
    if columns:
        door.save(update_fields=list(columns))
        _resize(door.farm, [door.opening_id])


@transaction.atomic
def change_material(*, material: Material, columns: Collection[str]) -> None:
    """Save a line of the book; where a size changed, size every door again that may be made of it."""
    if columns:
        material.save(update_fields=list(columns))
    if SIZED_BY & set(columns):
        resize_openings(farm=material.farm)


def _complete_design(opening: Opening) -> None:
    door = Door.objects.filter(opening=opening).first()
    if door is None:
        return
    design = default_design(opening.farm, opening.kind)
    lacking = [part for part in design if getattr(door, f"{part}_id") is None]
    for part in lacking:
        setattr(door, f"{part}_id", design[part])
    door.save(update_fields=[f"{part}_id" for part in lacking]) if lacking else None


def _resize(farm: Farm, opening_ids: Collection[int]) -> None:
    resize_openings(farm=farm, opening_ids=list(opening_ids))
