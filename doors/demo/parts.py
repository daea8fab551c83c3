"""The demo farm's parts in service: covers, each door's outfit as its sheet counts it, and what happened to some."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, Final

from doors.demo.history import PARTS, REMARKS, RENEWED_DAYS, PartRow
from doors.demo.rows import TUNNELS, TunnelRow, age
from doors.models import Component, Door, Material
from doors.sheets import sheet_from_json
from farm.models import EndWall, Farm, Opening, Tunnel

Kind = Component.Kind
Book = Mapping[str, Material]

FILM_IS_WORN_AFTER: Final = age(3.1)  # film that is rolled lasts some three years: common practice, no source
WALLS_LATER: Final = age(2)  # roof and end walls are not covered in the same year, but for a new tunnel
LEAVES: Final = {Opening.Kind.PERSON: 1, Opening.Kind.SLIDING_PAIR: 2}
CUT_PARTS: Final = {  # a line of the cut list: the part it became, and the design's material for it
    "turning_bar": (Kind.TURNING_BAR, "turning_tube"),
    "sill_bar": (Kind.SILL_BAR, "sill_tube"),
    "guide_post": (Kind.GUIDE_POST, "post_tube"),
    "anti_billow_tube": (Kind.ANTI_BILLOW_TUBE, "anti_billow_tube"),
}
HARDWARE_PARTS: Final = {  # item and place on the sheet: the part it became, and its line in the farm's book
    ("clamp", "turning_bar"): (Kind.CLAMP, "CLAMP-1.660"),
    ("clamp", "sill_bar"): (Kind.CLAMP, "CLAMP-1.315"),
    ("clamp_screw", "turning_bar"): (Kind.CLAMP_SCREW, "SCREW-SD"),
    ("tie_rod", "header"): (Kind.TIE_ROD, "ROD-3/8x12"),
}


def fit_parts(*, farm: Farm, on: date) -> None:
    """Fit every part of the demo farm, on dates counted back from a day."""
    book = {material.code: material for material in Material.objects.of(farm)}
    tunnels = {tunnel.code: tunnel for tunnel in Tunnel.objects.of(farm).for_sheet().order_by("pk")}
    doors = {door.opening.code: door for door in Door.objects.of(farm).for_sheet().order_by("pk")}
    parts: list[Component] = []
    for row in TUNNELS:
        parts += _covers(tunnels[row.code], row, on, book)
    since = {row.code: on - age(row.built_years) for row in TUNNELS}
    for door in doors.values():
        parts += _outfit(door, on, book)
    since |= {code: door.hung_on for code, door in doors.items() if door.hung_on is not None}
    for told in PARTS:
        place = doors[told.place].opening if told.place in doors else tunnels[told.place]
        parts.append(_told(told, place, since[told.place], on, book))
    Component.objects.bulk_create(parts)


def _part(place: Tunnel | EndWall | Opening, kind: str, fitted_on: date, **values: Any) -> Component:
    column = {Tunnel: "tunnel", EndWall: "end_wall", Opening: "opening"}[type(place)]
    values.setdefault("notes", REMARKS.get((str(getattr(place, "code", "")), kind), ""))
    return Component(farm_id=place.farm_id, kind=kind, fitted_on=fitted_on, **{column: place}, **values)


def _covers(tunnel: Tunnel, row: TunnelRow, on: date, book: Book) -> Iterator[Component]:
    """Yield what covers a tunnel and keeps its sides and ends."""
    built_on, covered_on = on - age(row.built_years), on - age(row.roof_years)
    walls_on = covered_on + (WALLS_LATER if row.roof_years > 3 else age(0))
    film = book["FILM-6MIL"]
    yield _part(tunnel, Kind.ROOF_FILM, covered_on, quantity=Decimal(tunnel.film_layers or 1), material=film)
    if tunnel.film_layers == 2:
        yield _part(tunnel, Kind.BLOWER, built_on, spot="east end", material=book["BLOWER"])
    for side in ("north", "south"):
        yield _part(tunnel, Kind.CORD, built_on, spot=f"{side} side", material=book["CORD"])
    for wall in tunnel.end_walls.all():
        yield _part(wall, Kind.WALL_FILM, walls_on, material=film)
        yield _part(wall, Kind.BRACE, built_on, spot="to the first bow inside", quantity=Decimal(2))


def _outfit(door: Door, on: date, book: Book) -> Iterator[Component]:
    """Yield the parts of a door, in the numbers of the sheet it was hung by."""
    opening, hung_on = door.opening, door.hung_on
    assert door.as_built is not None and hung_on is not None  # noqa: S101, PT018 - every demo door hangs
    leaves = LEAVES.get(Opening.Kind(opening.kind))
    if leaves is not None:
        yield _part(opening, Kind.LEAF, hung_on, quantity=Decimal(leaves))
        yield _part(opening, Kind.LATCH, hung_on)
        return
    sheet = sheet_from_json(door.as_built.result)
    for cut in sheet.cuts:
        if cut.part in CUT_PARTS:
            kind, material = CUT_PARTS[cut.part]
            since = _since(opening, kind, hung_on, on)
            yield _part(opening, kind, since, quantity=Decimal(cut.count), material=getattr(door, material))
    counts = Counter({(line.item, line.place): line.count for line in sheet.hardware})
    for (item, place), (kind, code) in HARDWARE_PARTS.items():
        spot = place.replace("_", " ")
        yield _part(opening, kind, hung_on, spot=spot, quantity=Decimal(counts[item, place]), material=book[code])
    yield _part(opening, Kind.DRIVE, hung_on, spot=f"{door.drive_side} corner", material=door.drive)
    yield from _door_films(door, hung_on, on)


def _since(opening: Opening, kind: str, hung_on: date, on: date) -> date:
    days = RENEWED_DAYS.get((opening.code, kind))
    return hung_on if days is None else on - timedelta(days=days)


def _door_films(door: Door, hung_on: date, on: date) -> Iterator[Component]:
    """Yield the door's films: each was changed when it was worn, and the last one is in service."""
    fitted_on = hung_on
    while (worn_on := fitted_on + FILM_IS_WORN_AFTER) <= on:
        worn = {"removed_on": worn_on, "removal_reason": Component.Reason.WORN}
        yield _part(door.opening, Kind.DOOR_FILM, fitted_on, material=door.film, **worn)
        fitted_on = worn_on
    yield _part(door.opening, Kind.DOOR_FILM, fitted_on, material=door.film)


def _told(row: PartRow, place: Tunnel | Opening, since: date, on: date, book: Book) -> Component:
    """Return a part with a story; its days count back from the load."""
    return _part(
        place,
        row.kind,
        since if row.fitted_days is None else on - timedelta(days=row.fitted_days),
        spot=row.spot,
        quantity=Decimal(row.quantity),
        material=book[row.material] if row.material else None,
        removed_on=None if row.removed_days is None else on - timedelta(days=row.removed_days),
        removal_reason=row.reason,
        notes=row.notes,
    )
