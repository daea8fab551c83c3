"""The plan as GeoJSON (RFC 7946): tunnels as polygons, end walls as lines, openings as points.

Positions are on WGS 84, to seven decimals of a degree, which is a centimetre. Rings run counterclockwise: the
right-hand rule of section 3.1.6.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final

from django.db import DEFAULT_DB_ALIAS
from django.utils.translation import gettext as _

from farm.fields import metres
from farm.geometry import MAX_SIZE, MOST_LATITUDE, End, footprint, on_globe, opening_on_plan
from farm.geometry.limits import Floats, GeometryError
from farm.models import EndWall, Farm, Opening, Tunnel

MEDIA_TYPE: Final = "application/geo+json"  # RFC 7946, 12
DECIMALS: Final = 7
CORNERS: Final = {"A": [0, 1], "B": [2, 3]}  # of a footprint: left and right, seen from outside


class NoPlaceError(Exception):
    """A farm whose place on the globe is not known; the message says what to do."""


def require_place(farm: Farm) -> tuple[float, float]:
    """Return the latitude and longitude of the plan's origin.

    Raises
    ------
    NoPlaceError
        Where nobody has written them down, or so near to a pole that a plan has no directions.
    """
    if farm.latitude_deg is None or farm.longitude_deg is None:
        raise NoPlaceError(
            _("The farm's place is not known. Write its latitude and longitude, then the plan can lie on a map.")
        )
    if abs(farm.latitude_deg) > MOST_LATITUDE - 1:
        raise NoPlaceError(_("So near to a pole a plan has no directions. Look at the farm's latitude again."))
    return float(farm.latitude_deg), float(farm.longitude_deg)


def plan_as_geojson(farm: Farm, *, using: str = DEFAULT_DB_ALIAS) -> dict[str, Any]:
    """Return what stands on the plan as a feature collection; it is empty where the farm's place is not known."""
    try:
        latitude, longitude = require_place(farm)
    except NoPlaceError:
        return {"type": "FeatureCollection", "features": []}
    tunnels = Tunnel.objects.using(using).of(farm).for_plan()
    features = [one for tunnel in tunnels for one in _tunnel(tunnel, latitude, longitude)]
    return {"type": "FeatureCollection", "features": features}


def _tunnel(tunnel: Tunnel, latitude: float, longitude: float) -> Iterator[dict[str, Any]]:
    """Yield a tunnel, its walls and its openings; nothing where its place or size is not known."""
    corners = _corners(tunnel)
    if corners is None:
        return
    globe = on_globe(corners, latitude=latitude, longitude=longitude)
    yield _feature("Polygon", [_line([*globe, globe[0]])], {
        "kind": "tunnel", "code": tunnel.code, "name": tunnel.name, "status": tunnel.status, "shape": tunnel.shape,
        "width_m": _metres(tunnel.width_mm), "length_m": _metres(tunnel.length_mm),
        "ridge_m": _metres(tunnel.ridge_mm), "axis_bearing_deg": _number(tunnel.axis_bearing_deg),
    })  # fmt: skip
    for wall in sorted(tunnel.end_walls.all(), key=lambda one: one.end):
        yield _feature("LineString", _line(globe[CORNERS[wall.end]]), {
            "kind": "end_wall", "tunnel": tunnel.code, "end": wall.end, "bearing_deg": _number(wall.bearing_deg),
            "covering": wall.covering,
        })  # fmt: skip
        for opening in sorted(wall.openings.all(), key=lambda one: one.code):
            where = on_globe(_middle(corners, wall, opening), latitude=latitude, longitude=longitude)
            yield _feature("Point", _position(where), {
                "kind": "opening", "code": opening.code, "tunnel": tunnel.code, "end": wall.end, "door": opening.kind,
                "rough_width_m": _metres(opening.rough_width_mm), "rough_height_m": _metres(opening.rough_height_mm),
                "is_offset_known": opening.offset_mm is not None,
            })  # fmt: skip


def _corners(tunnel: Tunnel) -> Floats | None:
    east, north = metres(tunnel.east_mm), metres(tunnel.north_mm)
    width, length = metres(tunnel.width_mm), metres(tunnel.length_mm)
    if east is None or north is None or width is None or length is None or tunnel.axis_bearing_deg is None:
        return None
    corners = footprint(east, north, width, length, float(tunnel.axis_bearing_deg))
    return corners if abs(corners).max() <= MAX_SIZE else None


def _middle(corners: Floats, wall: EndWall, opening: Opening) -> Floats:
    """Return the middle of an opening; without an offset, or with one outside its wall, the middle of the wall."""
    left, right = corners[CORNERS[wall.end]]
    if opening.offset_mm is not None:
        end: End = "A" if wall.end == "A" else "B"
        try:
            left, right = opening_on_plan(
                corners, end, float(opening.offset_mm) / 1000, float(opening.rough_width_mm) / 1000
            )
        except GeometryError:  # as measured it does not stand in its wall
            left, right = corners[CORNERS[wall.end]]
    middle: Floats = (left + right) / 2
    return middle


def _feature(kind: str, coordinates: list[Any], properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "Feature", "geometry": {"type": kind, "coordinates": coordinates}, "properties": properties,
    }  # fmt: skip


def _line(points: Any) -> list[list[float]]:
    return [_position(point) for point in points]


def _position(point: Floats) -> list[float]:
    return [round(float(degrees), DECIMALS) for degrees in point]


def _metres(value_mm: Decimal | None) -> float | None:
    length = metres(value_mm)
    return None if length is None else round(length, 9)  # binary noise of the division


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
