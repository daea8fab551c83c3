"""How long a degree is on WGS 84, as tables print it."""

import math

import pytest

from farm.geometry import GeometryError, metres_per_degree, on_globe

# Metres in a degree of latitude and of longitude on WGS 84, by cosines of multiples of the latitude: the series of the
# National Geospatial-Intelligence Agency, printed in Wikipedia, "Geographic coordinate system", Length of a degree.
# W. A. Huber (gis.stackexchange.com, question 75528) found it to agree with the exact formulas to 0.6 parts per
# million.
AGREES = 0.6e-6
NORTH = {0: 111_132.92, 2: -559.82, 4: 1.175, 6: -0.0023}
EAST = {1: 111_412.84, 3: -93.5, 5: 0.118}


def series(terms, degrees):
    return sum(size * math.cos(math.radians(times * degrees)) for times, size in terms.items())


@pytest.mark.parametrize("latitude", range(-84, 85, 7))
def test_a_degree_is_as_long_as_the_printed_series_says(latitude):
    north, east = metres_per_degree(latitude)

    assert north == pytest.approx(series(NORTH, latitude), rel=AGREES)
    assert east == pytest.approx(series(EAST, latitude), rel=AGREES)


def test_north_and_south_are_alike():
    assert metres_per_degree(-42.5) == metres_per_degree(42.5)


@pytest.mark.parametrize(
    ("points", "latitude", "longitude", "field"),
    [
        ((0, 0), 84.1, 0, "latitude"),
        ((0, 0), -84.1, 0, "latitude"),
        ((0, 0), float("nan"), 0, "latitude"),
        ((0, 0), 0, float("inf"), "longitude"),
        ((10_000.1, 0), 0, 0, "points"),
        ((0, float("nan")), 0, 0, "points"),
    ],
)
def test_what_lies_beyond_is_refused(points, latitude, longitude, field):
    with pytest.raises(GeometryError) as refusal:
        on_globe(points, latitude=latitude, longitude=longitude)

    assert refusal.value.field == field


def test_the_limits_themselves_are_taken():
    for latitude in (84, -84):
        assert abs(on_globe((10_000, 10_000), latitude=latitude, longitude=0)).max() < 90
    with pytest.raises(GeometryError):
        metres_per_degree(85.1)
