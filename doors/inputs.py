"""From the register's rows to what the sizing core is told."""

from __future__ import annotations

import math
from collections.abc import Collection

from doors import sizing
from doors.models import Door, Material
from farm.fields import metres
from farm.geometry import Shape
from farm.models import EndWall, Farm, Opening, Tunnel


def opening_input(opening: Opening, door: Door, others: Collection[Opening], farm: Farm) -> sizing.Opening:
    """Return an opening as the core takes it; rows come with their wall, tunnel and materials loaded.

    Parameters
    ----------
    opening : Opening
        With ``end_wall.tunnel``.
    door : Door
        Its design, with the materials.
    others : collection of Opening
        The other openings of the same tunnel, those in its other wall too.
    farm : Farm
        For its storm wind.
    """
    same_wall = [other for other in others if other.end_wall_id == opening.end_wall_id]
    return sizing.Opening(
        kind=sizing.DoorKind(opening.kind),
        rough_width=float(opening.rough_width_mm) / 1000,
        rough_height=float(opening.rough_height_mm) / 1000,
        offset=metres(opening.offset_mm),
        threshold=metres(opening.threshold_mm),
        header_depth=metres(opening.header_depth_mm),
        wall=_wall(opening.end_wall),
        design=_design(door),
        machine=_machine(opening),
        neighbours=tuple(_neighbour(other) for other in same_wall if other.offset_mm is not None),
        site=_site(opening, others, farm),
        code=opening.code,
    )


def side_operators(wall: EndWall) -> tuple[sizing.SideOperator, ...]:
    """Return the operators that stand at this end wall's corners, seen from outside.

    Left and right of a tunnel are seen along its axis, from tail to head. Outside its tail end one looks the
    same way, so the left operator stands at the left corner; outside its head end one looks back.
    """
    tunnel = wall.tunnel
    same_way = wall.end == Tunnel.End.A
    travel = metres(tunnel.operator_travel_mm)
    sides = (
        (tunnel.has_left_rollup, tunnel.left_operator_end, same_way),
        (tunnel.has_right_rollup, tunnel.right_operator_end, not same_way),
    )
    return tuple(
        sizing.SideOperator(corner=sizing.Side.LEFT if on_left else sizing.Side.RIGHT, travel_top=travel)
        for rolls_up, end, on_left in sides
        if rolls_up and end == wall.end
    )


def _wall(wall: EndWall) -> sizing.Wall:
    tunnel = wall.tunnel
    return sizing.Wall(
        width=metres(tunnel.width_mm),
        shape=Shape(tunnel.shape) if tunnel.shape else None,
        ridge=metres(tunnel.ridge_mm),
        side=metres(tunnel.side_mm),
        points=profile_points(tunnel, wall.end),
        stud_face=metres(wall.stud_face_mm),
        header_thickness=metres(wall.header_thickness_mm),
        side_operators=side_operators(wall),
    )


def profile_points(tunnel: Tunnel, end: str) -> tuple[tuple[float, float], ...]:
    """Return a measured profile from the left corner of an end wall seen from outside. [m]

    The profile is kept as seen from outside the tail end; the head end sees its mirror image.
    """
    points = [(float(x) / 1000, float(y) / 1000) for x, y in tunnel.profile_mm]
    if end == Tunnel.End.A or not points:
        return tuple(points)
    width = points[-1][0]
    return tuple((width - x, y) for x, y in reversed(points))


def _site(opening: Opening, others: Collection[Opening], farm: Farm) -> sizing.Site:
    return sizing.Site(
        diagonal_1=metres(opening.diagonal_1_mm),
        diagonal_2=metres(opening.diagonal_2_mm),
        exit=_exit(opening, others),
        storm_angle=_storm_angle(opening.end_wall, farm),
    )


def _exit(opening: Opening, others: Collection[Opening]) -> sizing.Exit:
    walls = {other.end_wall_id for other in others if other.kind == Opening.Kind.PERSON}
    if opening.end_wall_id in walls:
        return sizing.Exit.THIS_WALL
    return sizing.Exit.OTHER_WALL if walls else sizing.Exit.NONE


def _storm_angle(wall: EndWall, farm: Farm) -> float | None:
    """Return the angle between the way a wall faces and where the storm wind comes from. [rad]"""
    if wall.bearing_deg is None or farm.storm_bearing_deg is None:
        return None
    turned = (float(wall.bearing_deg) - float(farm.storm_bearing_deg)) % 360
    return math.radians(min(turned, 360 - turned))


def _machine(opening: Opening) -> sizing.Machine | None:
    width, height = metres(opening.machine_width_mm), metres(opening.machine_height_mm)
    if width is None or height is None:
        return None
    return sizing.Machine(width=width, height=height, name=opening.machine)


def _neighbour(other: Opening) -> sizing.Neighbour:
    return sizing.Neighbour(
        left=metres(other.offset_mm) or 0.0,
        width=float(other.rough_width_mm) / 1000,
        head=float(other.rough_height_mm) / 1000 + (metres(other.threshold_mm) or 0.0),
        code=other.code,
    )


def _design(door: Door) -> sizing.Design:
    return sizing.Design(
        drive_side=sizing.Side(door.drive_side) if door.drive_side else None,
        turning_tube=tube_input(door.turning_tube),
        sill_tube=tube_input(door.sill_tube),
        post_tube=tube_input(door.post_tube),
        anti_billow_tube=tube_input(door.anti_billow_tube),
        film=_film(door.film),
        channel=_stock(door.channel),
        wire=_stock(door.wire),
        rod=_rod(door.rod),
        gear_ratio=float(door.drive.gear_ratio) if door.drive and door.drive.gear_ratio else None,
    )


def tube_input(material: Material | None) -> sizing.Tube | None:
    """Return a line of the book as a tube, or None where its sizes are not known."""
    if material is None or material.diameter_mm is None or material.wall_mm is None:
        return None
    return sizing.Tube(
        diameter=float(material.diameter_mm) / 1000,
        wall=float(material.wall_mm) / 1000,
        stock_length=metres(material.stock_length_mm),
        name=material.name,
    )


def _stock(material: Material | None) -> sizing.Stock | None:
    if material is None:
        return None
    return sizing.Stock(stock_length=metres(material.stock_length_mm), name=material.name)


def _film(material: Material | None) -> sizing.Film | None:
    if material is None or material.thickness_mm is None:
        return None
    widths = tuple(float(width) / 1000 for width in material.roll_widths_mm)
    return sizing.Film(thickness=float(material.thickness_mm) / 1000, roll_widths=widths, name=material.name)


def _rod(material: Material | None) -> sizing.Rod | None:
    if material is None:
        return None
    sizes = (
        material.diameter_mm, material.stock_length_mm, material.nut_height_mm, material.washer_thickness_mm,
    )  # fmt: skip
    if any(size is None for size in sizes):
        return None
    diameter, length, nut, washer = (float(size or 0) / 1000 for size in sizes)
    return sizing.Rod(diameter=diameter, length=length, nut_height=nut, washer_thickness=washer, name=material.name)
