"""From mean winds to gusts, and the Beaufort scale."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics import wind_data as data
from doors.mechanics.choices import Indices, index_of
from doors.mechanics.pressure_asce import require_gust
from doors.mechanics.wind_data import Curve, Surroundings
from doors.sizing.quantity import Floats, require

SECONDS = 3600.0  # s, the longest mean the curves compare with


def gust_from_mean(
    mean: ArrayLike, *, over: int, gust: int = 3, surroundings: ArrayLike = Surroundings.IN_LAND
) -> Floats:
    r"""Return the greatest short gust expected within a mean wind.

    Parameters
    ----------
    mean : array_like, shape (...)
        Mean wind 10 m up. [m/s]
    over : int
        Time the mean was taken over: 3600, 600, 180, 120 or 60. [s]
    gust : int, default 3
        Length of the gust: 3, 60, 120, 180 or 600, shorter than the mean. [s]
    surroundings : array_like of str, shape (...), default in land
        at sea, off sea, off land or in land.

    Returns
    -------
    ndarray, shape (...)
        [m/s]

    Raises
    ------
    ValueError
        If the table has no factor for the two times, a name is unknown or a mean is negative.

    Notes
    -----
    :math:`V_\tau = G_{\tau,T_0} V_{T_0}`, only from a mean to a gust within it: the report's factors do not turn
    one mean into another, or a gust back into a mean. Its in-land column is for roughly open country.

    References
    ----------
    Harper, Kepert and Ginger, WMO/TD-No. 1555 (2010), Table 1.1.
    """
    require_gust("mean", mean)
    factors = data.WMO_GUST_FACTORS.get((over, gust))
    if factors is None:
        pairs = ", ".join(f"{short} in {long}" for long, short in data.WMO_GUST_FACTORS)
        raise ValueError(f"no factor for a gust of {gust} s in a mean over {over} s: the table has {pairs} s")
    which = index_of("surroundings", surroundings, Surroundings)
    return np.asarray(np.asarray(factors)[which] * np.asarray(mean, dtype=np.float64))


def hourly_ratio(seconds: ArrayLike, *, curve: Curve | str = Curve.DURST) -> Floats:
    """Return the greatest mean over a short time within an hour, over the mean of that hour.

    Parameters
    ----------
    seconds : array_like, shape (...)
        The short time, 1 to 3600. [s]
    curve : {"Durst", "Krayer-Marshall"}
        Durst for gales of wide lows, Krayer and Marshall for hurricanes.

    Returns
    -------
    ndarray, shape (...)
        [-]

    Raises
    ------
    ValueError
        If a time is outside the curve or the curve is unknown.

    Notes
    -----
    Open country, 10 m up; straight over the logarithm of time between the points read from the curve.

    References
    ----------
    Durst, Meteorological Magazine 89 (1960), 181; Krayer and Marshall, Bulletin of the American Meteorological
    Society 73 (1992), 613; both in ASCE 7-16, C26.5.
    """
    require("seconds", seconds, "at least", 1.0)
    require("seconds", seconds, "at most", SECONDS)
    index_of("curve", curve, Curve)
    points = data.AVERAGING[Curve(curve)]
    times = np.log(np.asarray(seconds, dtype=np.float64))
    return np.asarray(np.interp(times, np.log(list(points)), list(points.values())))


def gust_by_curve(
    mean: ArrayLike, *, over: ArrayLike = SECONDS, gust: ArrayLike = 3.0, curve: Curve | str = Curve.DURST
) -> Floats:
    r"""Return the greatest short gust within a mean wind over open country, for any two times.

    Parameters
    ----------
    mean : array_like, shape (...)
        Mean wind 10 m up. [m/s]
    over, gust : array_like, shape (...), default an hour and 3 s
        Time the mean was taken over, and length of the gust: the shorter. [s]
    curve : {"Durst", "Krayer-Marshall"}
        As in `hourly_ratio`.

    Returns
    -------
    ndarray, shape (...)
        [m/s]

    Raises
    ------
    ValueError
        If the gust is longer than the mean, a time is outside the curve or a mean is negative.

    Notes
    -----
    :math:`V_\tau = V_T C(\tau) / C(T)`.

    References
    ----------
    ASCE 7-16, C26.5.
    """
    require_gust("mean", mean)
    require("gust", gust, "at most", over)
    ratio = hourly_ratio(gust, curve=curve) / hourly_ratio(over, curve=curve)
    return np.asarray(np.asarray(mean, dtype=np.float64) * ratio)


def beaufort(mean: ArrayLike) -> Indices:
    """Return the Beaufort force of a mean wind.

    Parameters
    ----------
    mean : array_like, shape (...)
        10-minute mean 10 m up. [m/s]

    Returns
    -------
    ndarray of int, shape (...)
        0 to 12.

    Raises
    ------
    SizingError
        If a speed is not known, negative or above any wind on record.

    Notes
    -----
    A force begins at the least speed of its row in the metric column. The columns in knots, mph and km/h are each
    rounded for themselves, so that a speed at the very edge of a row may print a neighbouring force there.

    References
    ----------
    WMO Beaufort scale of wind force, equivalent speeds; where its limits were read stands in `wind_data`.
    """
    require("mean", mean, "finite")  # a missing speed would sort above the highest force
    require_gust("mean", mean)
    return np.asarray(np.searchsorted(data.BEAUFORT, np.asarray(mean, dtype=np.float64), side="right"))
