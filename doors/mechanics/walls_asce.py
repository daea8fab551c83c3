"""Pressure coefficients of walls and how open a house is, after ASCE 7-16 and 7-22. Planning estimates.

Both editions print the same wall figure. The local code and a licensed engineer have the last word.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from doors.mechanics import wind_data as data
from doors.mechanics.choices import index_of
from doors.sizing.quantity import Floats, require


def wall_coefficients(area: ArrayLike, zone: ArrayLike = 4, *, low_slope: ArrayLike = False) -> tuple[Floats, Floats]:
    r"""Return the greatest external coefficients toward and away from a wall.

    Parameters
    ----------
    area : array_like, shape (...)
        Effective wind area: what loads one part, span times at least a third of the span. [m²]
    zone : array_like of int, shape (...), default 4
        4 along the wall, 5 within `corner_width` of its corners.
    low_slope : array_like of bool, shape (...), default False
        True where the roof rises by 10 degrees or less: both are then a tenth less.

    Returns
    -------
    inward, outward : ndarray, shape (...)
        Positive and negative :math:`(GC_p)`. [-]

    Raises
    ------
    ValueError
        If an area is not above zero or a zone is not 4 or 5.

    Notes
    -----
    Straight over the logarithm of the area from 10 to 500 ft²; level outside, as the figure is drawn.

    References
    ----------
    ASCE 7-16 and 7-22, Fig. 30.3-1, mean roof height up to 60 ft.
    """
    require("area", area, "above", 0.0)
    which = index_of("zone", zone, data.WALL_ZONES)
    ends = np.array([[wall.inward, wall.outward] for wall in data.WALL_ZONES.values()])[which]
    smallest, largest = data.WALL_AREAS
    share = np.log(np.clip(area, smallest, largest) / smallest) / np.log(largest / smallest)
    factor = np.where(low_slope, data.LOW_SLOPE_FACTOR, 1.0)
    inward, outward = (
        np.asarray(factor * (ends[..., side, 0] + share * (ends[..., side, 1] - ends[..., side, 0]))) for side in (0, 1)
    )
    return inward, outward


def corner_width(least_width: ArrayLike, roof_height: ArrayLike) -> Floats:
    r"""Return how far zone 5 reaches from a wall's corners.

    Parameters
    ----------
    least_width : array_like, shape (...)
        Shorter side of the house on plan. [m]
    roof_height : array_like, shape (...)
        Mean height of the roof. [m]

    Returns
    -------
    ndarray, shape (...)
        The lesser of a tenth of the width and 0.4 of the height, but at least 4 % of the width and 3 ft. [m]

    Raises
    ------
    SizingError
        If a size is not above zero or the roof is above 60 ft.

    References
    ----------
    ASCE 7-16 and 7-22, Fig. 30.3-1, notation.
    """
    require("least_width", least_width, "above", 0.0)
    require("roof_height", roof_height, "above", 0.0)
    require("roof_height", roof_height, "at most", data.HIGHEST_ROOF)
    width, height = np.asarray(least_width, dtype=np.float64), np.asarray(roof_height, dtype=np.float64)
    usual = np.minimum(data.ZONE_5_OF_WIDTH * width, data.ZONE_5_OF_HEIGHT * height)
    return np.asarray(np.maximum(usual, np.maximum(data.ZONE_5_LEAST_OF_WIDTH * width, data.ZONE_5_LEAST)))


def internal_coefficient(enclosure: ArrayLike) -> Floats:
    """Return the internal pressure coefficient, which acts with both signs.

    Parameters
    ----------
    enclosure : array_like of str, shape (...)
        Names of `Enclosure`.

    Returns
    -------
    ndarray, shape (...)
        Magnitude of (GCpi). [-]

    Raises
    ------
    ValueError
        If a name is unknown.

    References
    ----------
    ASCE 7-16 and 7-22, Table 26.13-1.
    """
    return np.asarray(np.array(list(data.INTERNAL.values()))[index_of("enclosure", enclosure, data.INTERNAL)])


def partly_enclosed(
    openings: ArrayLike, wall: ArrayLike, other_openings: ArrayLike, other_surface: ArrayLike
) -> NDArray[np.bool_]:
    r"""Return whether the openings of the wall in the wind dominate all others.

    Parameters
    ----------
    openings, wall : array_like, shape (...)
        Area of the openings in the wall that the wind presses on, and of that wall. [m²]
    other_openings, other_surface : array_like, shape (...)
        Area of the openings in the rest of the envelope, roof included, and of that rest. [m²]

    Returns
    -------
    ndarray of bool, shape (...)

    Raises
    ------
    SizingError
        If an area is not known or negative, or openings are larger than what they are in.

    Notes
    -----
    All of :math:`A_o > 1.1 A_{oi}`, :math:`A_o > \min(0.37\ \mathrm{m}^2, 0.01 A_g)` and
    :math:`A_{oi}/A_{gi} \le 0.2`. A house open on every side (`is_open`) counts as open even so.

    References
    ----------
    ASCE 7-16 and 7-22, 26.2.
    """
    require("wall", wall, "above", 0.0)
    require("other_surface", other_surface, "above", 0.0)
    for field, opened, whole in (("openings", openings, wall), ("other_openings", other_openings, other_surface)):
        _require_within(field, opened, whole)
    hole, other = np.asarray(openings, dtype=np.float64), np.asarray(other_openings, dtype=np.float64)
    least = np.minimum(data.DOMINANT_AREA, data.DOMINANT_SHARE * np.asarray(wall))
    airy = other > data.OTHER_SHARE * np.asarray(other_surface)
    return np.asarray((hole > data.DOMINANT_RATIO * other) & (hole > least) & ~airy)


def is_open(openings: ArrayLike, walls: ArrayLike) -> NDArray[np.bool_]:
    """Return whether every wall is at least four fifths open.

    Parameters
    ----------
    openings, walls : array_like, shape (..., walls)
        Area of the openings in each wall, and of the wall. [m²]

    Returns
    -------
    ndarray of bool, shape (...)

    Raises
    ------
    SizingError
        If an area is not known or negative, or openings are larger than their wall.

    References
    ----------
    ASCE 7-16 and 7-22, 26.2.
    """
    require("walls", walls, "above", 0.0)
    _require_within("openings", openings, walls)
    return np.asarray(np.all(np.asarray(openings) >= data.OPEN_SHARE * np.asarray(walls), axis=-1))


def _require_within(field: str, openings: ArrayLike, whole: ArrayLike) -> None:
    require(field, openings, "finite")  # a missing area must not pass for a small one
    require(field, whole, "finite")
    require(field, openings, "at least", 0.0)
    require(field, openings, "at most", whole)
