"""From metres on a farm's plan to longitude and latitude on the ellipsoid of WGS 84.

Angles are degrees; longitudes run east and latitudes north.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from farm.geometry.limits import MAX_SIZE, Floats, check_finite, floats, require

# NGA.STND.0036, version 1.0.0 (2014), table 3.1: the defining parameters of the ellipsoid.
SEMI_MAJOR: Final = 6_378_137.0  # m
FLATTENING: Final = 1 / 298.257223563
ECCENTRICITY_2: Final = FLATTENING * (2 - FLATTENING)
MOST_LATITUDE: Final = 85.0  # degrees; nearer to a pole, metres to the east are many degrees


def metres_per_degree(latitude: ArrayLike) -> tuple[Floats, Floats]:
    r"""Return how long a degree of latitude and one of longitude are, on the ground of WGS 84.

    Parameters
    ----------
    latitude : array_like, shape (...)
        From -85 to 85. [degrees]

    Returns
    -------
    tuple of ndarray, shape (...)
        To the north, and to the east. [m]

    Raises
    ------
    GeometryError
        If a latitude is beyond its limits or not finite.

    Notes
    -----
    :math:`M = a (1 - e^2) / (1 - e^2 \sin^2\varphi)^{3/2}` and
    :math:`N \cos\varphi = a \cos\varphi / (1 - e^2 \sin^2\varphi)^{1/2}`, each times :math:`\pi / 180`.

    References
    ----------
    J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987), p. 24 f.,
    Eqs. (4-18) to (4-21).
    """
    (degrees,) = floats(latitude)
    check_finite("latitude", degrees)
    require(np.abs(degrees) <= MOST_LATITUDE, "latitude", degrees, "at_most", MOST_LATITUDE)
    angle = np.deg2rad(degrees)
    bulge = 1 - ECCENTRICITY_2 * np.sin(angle) ** 2
    north = SEMI_MAJOR * (1 - ECCENTRICITY_2) / bulge**1.5
    east = SEMI_MAJOR * np.cos(angle) / np.sqrt(bulge)
    return np.deg2rad(north), np.deg2rad(east)


def on_globe(points: ArrayLike, *, latitude: float, longitude: float) -> Floats:
    """Return points of the plan as longitude and latitude.

    A degree of latitude is taken as long as at the plan's origin, one of longitude as at each point: on a plan of
    one kilometre that is true to a few millimetres.

    Parameters
    ----------
    points : array_like, shape (..., 2)
        East and north of the plan's origin, at most 10 km. [m]
    latitude, longitude : float
        Of the origin, the latitude from -84 to 84. [degrees]

    Returns
    -------
    ndarray, shape (..., 2)
        Longitude and latitude. [degrees]

    Raises
    ------
    GeometryError
        If a value is beyond its limits or not finite.
    """
    (plan,) = floats(points)
    check_finite("points", plan)
    require(np.abs(plan) <= MAX_SIZE, "points", plan, "at_most", MAX_SIZE)
    check_finite("longitude", longitude)
    require(abs(latitude) <= MOST_LATITUDE - 1, "latitude", latitude, "at_most", MOST_LATITUDE - 1)
    north, _east = metres_per_degree(latitude)
    latitudes = latitude + plan[..., 1] / north
    _north, east = metres_per_degree(latitudes)
    return np.stack([longitude + plan[..., 0] / east, latitudes], axis=-1)
