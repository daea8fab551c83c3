"""Load the demo farm: its people, tunnels, doors and parts, sized and hung as their sheets say."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.db import transaction

from doors.book import default_design, start_book
from doors.demo import rows
from doors.demo.parts import fit_parts
from doors.demo.rows import DoorRow, TunnelRow
from doors.models import Door, Material, Sizing
from doors.services import hang_door, resize_openings
from farm.models import EndWall, Farm, Membership, Opening, Tunnel
from farm.services import add_tunnels, proposed_opening_code

DAYS_FROM_SHEET_TO_DOOR = 3
DAYS_FROM_REFUSAL_TO_SHEET = 2
NOON = time(12)


class DemoError(Exception):
    """The demo farm cannot be loaded."""


def load_demo_farm(*, on: date) -> Farm:
    """Load the demo farm as it stands on a day.

    Raises
    ------
    DemoError
        If it is loaded already.
    """
    if Farm.objects.filter(slug=rows.SLUG).exists():
        raise DemoError("The demo farm is loaded already.")
    with transaction.atomic():
        farm = Farm.objects.create(slug=rows.SLUG, **rows.FARM)
        _add_people(farm)
        _fill_book(farm)
        _add_tunnels(farm, on)
        resize_openings(farm=farm)
        _settle_for_what_fits(farm)
        _hang_doors(farm, on)
        fit_parts(farm=farm, on=on)
    return farm


def reload_demo_farm(*, on: date) -> Farm:
    """Load the demo farm afresh; every change made to it is lost, its people stay."""
    with transaction.atomic():
        Farm.objects.filter(slug=rows.SLUG).delete()
        return load_demo_farm(on=on)


def _add_people(farm: Farm) -> None:
    """Make the people members; they have no password until they set one after a one-time log-in."""
    for username, first_name, last_name, role in rows.PEOPLE:
        person, is_new = User.objects.get_or_create(
            username=username, defaults={"first_name": first_name, "last_name": last_name}
        )
        if is_new:
            person.set_unusable_password()
            person.save(update_fields=["password"])
        Membership.objects.create(farm=farm, user=person, role=role)


def _fill_book(farm: Farm) -> None:
    start_book(farm=farm)
    Material.objects.bulk_create(Material(farm=farm, **line) for line in rows.EXTRA_MATERIALS)
    for code, (price, per) in rows.PRICES.items():
        Material.objects.filter(farm=farm, code=code).update(price=Decimal(price), price_per=per)


def _add_tunnels(farm: Farm, on: date) -> None:
    add_tunnels(tunnels=[_tunnel(farm, row, on) for row in rows.TUNNELS])
    EndWall.objects.of(farm).update(**rows.FRAMING)
    walls = {(wall.tunnel.code, wall.end): wall for wall in EndWall.objects.of(farm).for_sheet()}
    loose = [walls[code, rows.WALLS[point]].pk for code, point in rows.LOOSE_WALLS]
    EndWall.objects.filter(pk__in=loose).update(is_tied_to_bows=False)
    for row in rows.TUNNELS:
        for door in row.doors:
            _add_opening(farm, walls[row.code, rows.WALLS[door.wall]], door)


def _tunnel(farm: Farm, row: TunnelRow, on: date) -> Tunnel:
    frame = {**rows.FRAMES[row.frame], **(row.more or {})}
    left, right = (rows.WALLS[wall] for wall in row.operators)
    return Tunnel(
        farm=farm, code=row.code, name=row.name, axis_bearing_deg=Decimal(270),
        east_mm=rows.length(row.west_ft) + frame["length_mm"] / 2, north_mm=rows.length(row.north_ft),
        bow_spacing_mm=rows.BOW_SPACING_MM, has_left_rollup=True, has_right_rollup=True, left_operator_end=left,
        right_operator_end=right, shelter=row.shelter, notes=_tunnel_notes(row, on), **frame,
    )  # fmt: skip


def _tunnel_notes(row: TunnelRow, on: date) -> str:
    if row.contract_months is None:
        return row.notes
    ends = on.year * 12 + on.month - 1 + row.contract_months
    return f"Built with a cost-share programme; its contract runs until {ends // 12}-{ends % 12 + 1:02d}."


def _add_opening(farm: Farm, wall: EndWall, row: DoorRow) -> None:
    machine = row.machine
    code = proposed_opening_code(wall)
    opening = Opening.objects.create(
        farm=farm, end_wall=wall, code=code, kind=row.kind, rough_width_mm=row.width_mm,
        rough_height_mm=row.asked_height_mm or row.height_mm, offset_mm=row.offset_mm, threshold_mm=row.threshold_mm,
        header_depth_mm=row.header_mm, machine=machine.name if machine else "",
        machine_width_mm=machine.width_mm if machine else None,
        machine_height_mm=machine.height_mm if machine else None, notes=row.notes,
    )  # fmt: skip
    design = {f"{part}_id": pk for part, pk in default_design(farm, row.kind).items()}
    held = rows.HOLD_DOWNS.get(code)
    Door.objects.create(farm=farm, opening=opening, drive_side=row.drive_side, hold_down_spacing_mm=held, **design)


def _settle_for_what_fits(farm: Farm) -> None:
    """Change what the sheet refused to what was ordered instead, and size it again."""
    for tunnel, wall, row in _door_rows():
        if row.asked_height_mm is None:
            continue
        opening = Opening.objects.of(farm).get(
            end_wall__tunnel__code=tunnel.code, end_wall__end=rows.WALLS[wall], rough_height_mm=row.asked_height_mm
        )
        opening.rough_height_mm = row.height_mm
        opening.save(update_fields=["rough_height_mm"])
        resize_openings(farm=farm, opening_ids=[opening.pk])


def _door_rows() -> Iterable[tuple[TunnelRow, str, DoorRow]]:
    return ((tunnel, door.wall, door) for tunnel in rows.TUNNELS for door in tunnel.doors)


def _hang_doors(farm: Farm, on: date) -> None:
    ages = {row.code: rows.door_age(row) for row in rows.TUNNELS}
    for opening in Opening.objects.of(farm).with_place().order_by("pk"):
        hung_on = on - ages[opening.end_wall.tunnel.code]
        _date_sheets(opening, hung_on, ZoneInfo(farm.time_zone))
        hang_door(opening=opening, on=hung_on)


def _date_sheets(opening: Opening, hung_on: date, zone: ZoneInfo) -> None:
    """Date an opening's sheets a few days before its door was hung, the newest last."""
    day = hung_on - timedelta(days=DAYS_FROM_SHEET_TO_DOOR)
    for sizing in Sizing.objects.filter(opening=opening).newest_first():
        Sizing.objects.filter(pk=sizing.pk).update(made_at=datetime.combine(day, NOON, zone))
        day -= timedelta(days=DAYS_FROM_REFUSAL_TO_SHEET)
