"""Rows for tests: plain functions with keyword overrides. Sizes are those of a common 30 x 96 ft tunnel."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import count
from typing import Any

from django.contrib.auth.models import User

from doors.models import Component, Material
from farm.models import EndWall, Farm, Membership, Opening, Tunnel

FOOT = Decimal("304.8")  # mm, exact
INCH = Decimal("25.4")  # mm, exact

_numbers = count(101)  # beyond the codes that tests give by hand


def feet(number: float | str) -> Decimal:
    """Return feet in millimetres."""
    return Decimal(str(number)) * FOOT


def inches(number: float | str) -> Decimal:
    """Return inches in millimetres."""
    return Decimal(str(number)) * INCH


def make_farm(**values: Any) -> Farm:
    """Make a farm in feet and inches."""
    number = next(_numbers)
    return Farm.objects.create(**{"name": f"Farm {number}", "slug": f"farm-{number}", **values})


def make_member(farm: Farm | None = None, role: str = "manager", **values: Any) -> Membership:
    """Make a person with a role on a farm; the person is ``membership.user``."""
    user = values.pop("user", None) or User.objects.create_user(f"person{next(_numbers)}")
    return Membership.objects.create(farm=farm or make_farm(), user=user, role=role, **values)


def make_tunnel(farm: Farm | None = None, **values: Any) -> Tunnel:
    """Make a gothic tunnel, 30 x 96 ft, whose head end faces west; with its two end walls."""
    farm = farm or make_farm()
    code = values.pop("code", None) or f"T{next(_numbers):02d}"
    sizes = {
        "name": code, "shape": "gothic", "width_mm": feet(30), "length_mm": feet(96), "ridge_mm": feet("14.5"),
        "side_mm": feet(5), "axis_bearing_deg": Decimal(270), "bow_spacing_mm": feet(4),
    }  # fmt: skip
    tunnel = Tunnel.objects.create(farm=farm, code=code, **{**sizes, **values})
    axis = tunnel.axis_bearing_deg
    for end, turned in (("A", 180), ("B", 0)):
        bearing = None if axis is None else (Decimal(axis) + turned) % 360
        EndWall.objects.create(
            farm=farm, tunnel=tunnel, end=end, bearing_deg=bearing, covering="film", stud_face_mm=inches("3.5"),
            stud_depth_mm=inches("3.5"), header_thickness_mm=inches(3),
        )  # fmt: skip
    return tunnel


def make_wall(tunnel: Tunnel | None = None, end: str = "B", **values: Any) -> EndWall:
    """Return one end wall of a tunnel, changed as asked; the head end faces west."""
    wall = EndWall.objects.select_related("tunnel").get(tunnel=tunnel or make_tunnel(), end=end)
    for name, value in values.items():
        setattr(wall, name, value)
    wall.save(update_fields=list(values)) if values else None
    return wall


def make_opening(end_wall: EndWall | None = None, **values: Any) -> Opening:
    """Make a 12 x 8 ft opening for a film door, in the middle of its wall."""
    end_wall = end_wall or make_wall()
    sizes = {
        "code": f"{end_wall.tunnel.code}-{end_wall.end}{next(_numbers)}", "kind": "mid_bar",
        "rough_width_mm": feet(12), "rough_height_mm": feet(8), "offset_mm": feet(9), "threshold_mm": Decimal(0),
        "header_depth_mm": inches("9.25"),
    }  # fmt: skip
    return Opening.objects.create(farm=end_wall.farm, end_wall=end_wall, **{**sizes, **values})


def make_material(farm: Farm | None = None, **values: Any) -> Material:
    """Make a tube of the farm's book, 1.660 in outside with a 0.083 in wall."""
    farm = farm or make_farm()
    number = next(_numbers)
    sizes = {
        "kind": "tube", "code": f"tube-{number}", "name": f"Tube {number}", "diameter_mm": inches("1.66"),
        "wall_mm": inches("0.083"), "stock_length_mm": feet(21),
    }  # fmt: skip
    return Material.objects.create(farm=farm, **{**sizes, **values})


def make_component(place: Tunnel | EndWall | Opening | None = None, **values: Any) -> Component:
    """Make a clamp in service since the first of May 2024 on a tunnel, an end wall or an opening."""
    place = place or make_opening()
    where = {Tunnel: "tunnel", EndWall: "end_wall", Opening: "opening"}[type(place)]
    sizes: dict[str, Any] = {"kind": "clamp", "quantity": 1, "fitted_on": date(2024, 5, 1), where: place}
    return Component.objects.create(farm=place.farm, **{**sizes, **values})
