"""Levels of many openings at once, as `levels.read_level` gives them for one structure: arrays in, arrays out."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from doors.mechanics.gusts import gust_from_mean
from doors.mechanics.wind_data import FASTEST_GUST
from maintenance.storm.criteria import SAME_SPEED
from maintenance.storm.levels import EXTREME
from maintenance.storm.quantity import StormError

UNKNOWN: Final = -1  # the level where no gust is known

Floats = NDArray[np.float64]
Levels = NDArray[np.int8]


def gusts_to_reckon_with(wind: ArrayLike, gust: ArrayLike, upper: ArrayLike | None = None) -> Floats:
    """Return the gusts of spells as `spells.gust_of` does for one; NaN where not known.

    Parameters
    ----------
    wind, gust : array_like, shape (spells,)
        Mean and expected gust. [m/s]
    upper : array_like, shape (spells,), optional
        The gust it may come to, which counts where it is known. [m/s]

    Raises
    ------
    StormError
        For a speed below zero or above any wind on record.
    """
    mean, expected = np.asarray(wind, dtype=np.float64), np.asarray(gust, dtype=np.float64)
    most = np.full(mean.shape, np.nan) if upper is None else np.asarray(upper, dtype=np.float64)
    for name, speeds in (("wind", mean), ("gust", expected), ("upper_gust", most)):
        bad = speeds[(speeds < 0) | (speeds > FASTEST_GUST)]  # NaN is neither
        if bad.size:
            raise StormError(f"spell.{name}", float(bad[0]), "at_most", FASTEST_GUST)
    known = np.fmax(expected, mean)
    from_mean = gust_from_mean(np.nan_to_num(mean), over=3600)
    usual = np.where(np.isnan(expected), np.where(np.isnan(mean), np.nan, from_mean), known)
    return np.asarray(np.where(np.isnan(most), usual, np.fmax(most, known)))


def highest_levels(
    speed: Floats, *, step: Floats, factor: Floats, change: Floats, limit: Floats, thresholds: Floats
) -> Levels:
    """Return the level that each opening comes to in a gust.

    Parameters
    ----------
    speed : ndarray, shape (openings,)
        Highest gust forecast for the opening's farm; NaN where not known. [m/s]
    step : ndarray, shape (openings,)
        The source's speeds are whole multiples of it. [m/s]
    factor : ndarray, shape (openings,)
        Gust at the opening over the gust forecast. [-]
    change : ndarray, shape (openings,)
        What the thresholds move by, `condition.offset_of`. [m/s]
    limit : ndarray, shape (openings,)
        Gust the opening's door stands. [m/s]
    thresholds : ndarray, shape (openings, 5)
        Gust from which each level holds, from the first up. [m/s]

    Returns
    -------
    ndarray of int8, shape (openings,)
        0 to 5, or `UNKNOWN`.
    """
    near = speed * factor + step * factor / 2
    level = np.zeros(near.shape, dtype=np.int8)
    for column in thresholds.T:
        level += near >= column + change - SAME_SPEED
    level[near >= limit - SAME_SPEED] = EXTREME
    level[np.isnan(near)] = UNKNOWN
    return level


def first_over(speeds: Floats, *, step: Floats, factor: Floats, least: Floats) -> NDArray[np.intp]:
    """Return the place of the first spell whose gust comes to each opening's least gust; one must.

    Parameters
    ----------
    speeds : ndarray, shape (spells,)
        Gusts forecast, NaN where not known. [m/s]
    step, factor : ndarray, shape (openings,)
        As for `highest_levels`.
    least : ndarray, shape (openings,)
        The gust at the opening that is looked for. [m/s]
    """
    near = speeds[:, np.newaxis] * factor + step * factor / 2
    return np.asarray((near >= least - SAME_SPEED).argmax(axis=0))
