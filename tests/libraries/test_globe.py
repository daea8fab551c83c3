"""The plan on the globe beside PROJ's geodesics and Shapely's geometry; run by .ci/run.

PROJ's inverse geodesic goes by C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013) 43-55, good to
nanometres; ours takes a degree of latitude as long as at the plan's origin.
"""

import json
from datetime import date

import numpy as np
import pytest
from pyproj import Geod
from shapely import LinearRing, Point
from shapely.geometry import shape

from doors.exchange.geojson import plan_as_geojson
from farm.geometry import footprint, metres_per_degree, on_globe
from farm.models import Tunnel
from maintenance.demo.load import load_demo_farm

WGS84 = Geod(ellps="WGS84")
LATITUDES = [-84, -42.5, -10, 0, 0.5, 42.51, 60, 68.4, 84]
A_DEGREE = 1e-3  # of a degree: short enough to be straight


@pytest.mark.parametrize("latitude", LATITUDES)
def test_a_degree_is_as_long_as_proj_measures_it(latitude):
    north, east = metres_per_degree(latitude)
    half = A_DEGREE / 2
    _there, _back, up = WGS84.inv(0, latitude - half, 0, latitude + half)
    _there, _back, across = WGS84.inv(-half, latitude, half, latitude)

    assert north * A_DEGREE == pytest.approx(up, rel=1e-9)
    assert east * A_DEGREE == pytest.approx(across, rel=1e-9)


@pytest.mark.parametrize("latitude", LATITUDES[1:-1])
@pytest.mark.parametrize("bearing", [0, 37, 90, 181, 303])
def test_a_tunnel_on_the_globe_has_the_size_it_has_on_the_ground(latitude, bearing):
    """Some 500 m from the origin: to 5 mm in 44 m, and its axis to a twentieth of a degree below the polar circle."""
    corners = on_globe(footprint(400, -300, 9.144, 43.9, bearing), latitude=latitude, longitude=-76.79)
    (a_left, a_right, b_right, b_left) = corners
    middle_a, middle_b = (a_left + a_right) / 2, (b_left + b_right) / 2
    azimuth, _back, length = WGS84.inv(*middle_a, *middle_b)
    _there, _back, width = WGS84.inv(*a_left, *a_right)

    assert length == pytest.approx(43.9, abs=0.005)
    assert width == pytest.approx(9.144, abs=0.005)
    assert (azimuth - bearing + 180) % 360 - 180 == pytest.approx(0, abs=0.05)


@pytest.mark.django_db
def test_the_demo_farm_lies_on_the_map_as_on_its_plan():
    farm = load_demo_farm(on=date(2026, 11, 17))
    collection = json.loads(json.dumps(plan_as_geojson(farm)))
    shapes = [(shape(one["geometry"]), one["properties"]) for one in collection["features"]]
    tunnels = {said["code"]: one for one, said in shapes if said["kind"] == "tunnel"}

    assert len(tunnels) == 12
    assert len([1 for _one, said in shapes if said["kind"] == "opening"]) == 30
    for code, polygon in tunnels.items():
        row = Tunnel.objects.get(farm=farm, code=code)
        area, _perimeter = WGS84.geometry_area_perimeter(polygon)
        assert polygon.is_valid
        assert LinearRing(polygon.exterior.coords).is_ccw
        assert area == pytest.approx(float(row.width_mm * row.length_mm) / 1e6, rel=3e-3)  # to 7 decimals: 1 cm
    for one, said in shapes:
        if said["kind"] == "end_wall":
            assert tunnels[said["tunnel"]].exterior.distance(one.centroid) < 2e-7
        if said["kind"] == "opening":
            assert isinstance(one, Point)
            assert tunnels[said["tunnel"]].exterior.distance(one) < 2e-7
    codes = sorted(tunnels)
    assert not any(tunnels[a].intersects(tunnels[b]) for a in codes for b in codes if a < b)
    west = [one for one, said in shapes if said.get("code") == "T01-W"]
    assert west[0].x == pytest.approx(tunnels["T01"].bounds[0], abs=2e-7)
    assert np.allclose(
        [float(farm.longitude_deg), float(farm.latitude_deg)], tunnels["T01"].centroid.coords[0], atol=0.02
    )
