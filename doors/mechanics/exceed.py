"""When a forecast first brings more than a door stands: many doors against many hours at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from doors.mechanics.pressure import direction_shares
from doors.mechanics.wind_data import VELOCITY_CONSTANT
from doors.sizing.quantity import SizingError, require

STEPS_PER_DEGREE = 4  # -; the shares of push and suction change by less than 0.0131 from one step to the next
DOORS_AT_ONCE = 2048  # -; keeps the arrays of one round within a processor's cache
NEVER = -1  # hour index of a door that the forecast spares


def first_exceedance(
    inward: ArrayLike,
    outward: ArrayLike,
    push: ArrayLike,
    suction: ArrayLike,
    inside: ArrayLike,
    facing: ArrayLike,
    factor: ArrayLike,
    gusts: ArrayLike,
    directions: ArrayLike,
) -> NDArray[np.int64]:
    r"""Return the first hour in which each door's weakest link is used up.

    Parameters
    ----------
    inward, outward : array_like, shape (doors,)
        Net pressure that the door stands either way. [Pa]
    push, suction, inside : array_like, shape (doors,)
        Greatest external coefficients, both positive, and the internal one. [-]
    facing : array_like, shape (doors,)
        The way each wall faces. [degrees from north]
    factor : array_like, shape (doors,)
        Gust at the door over the gust forecast. [-]
    gusts : array_like, shape (hours,)
        Forecast gust, 3 s at 10 m in open country. [m/s]
    directions : array_like, shape (hours,)
        Where the wind comes from. [degrees from north]

    Returns
    -------
    ndarray of int, shape (doors,)
        Index of the hour, -1 where no hour is too much. Unknown strengths (NaN) count as none at all, and an
        hour of unknown direction as the worst one: a gap must never read as calm.

    Raises
    ------
    SizingError
        If there is more than one dimension, a gust is negative or not finite, a direction infinite, or a facing
        not finite.
    ValueError
        If shapes differ.

    Notes
    -----
    Net pressures as `doors.mechanics.pressure.net_pressures`, with the angle taken to the nearest quarter degree.
    """
    doors = np.broadcast_arrays(*(np.asarray(value, dtype=np.float32) for value in
                                  (inward, outward, push, suction, inside, facing, factor)))  # fmt: skip
    hours = np.broadcast_arrays(np.asarray(gusts, dtype=np.float32), np.asarray(directions, dtype=np.float32))
    if doors[0].ndim != 1 or hours[0].ndim != 1:
        raise SizingError("shape", float(doors[0].ndim), "exactly", 1.0)
    require("gusts", gusts, "finite")
    require("gusts", gusts, "at least", 0.0)
    require("facing", facing, "finite")
    require("directions", np.where(np.isnan(hours[1]), 0.0, hours[1]), "finite")
    shares = direction_shares(np.arange(0, 360 * STEPS_PER_DEGREE) / STEPS_PER_DEGREE)
    tables = (shares.push.astype(np.float32), shares.suction.astype(np.float32))
    velocity = np.float32(VELOCITY_CONSTANT) * hours[0] ** 2
    answer = np.full(doors[0].shape, NEVER, dtype=np.int64)
    for start in range(0, len(answer) if len(velocity) else 0, DOORS_AT_ONCE):
        part = slice(start, start + DOORS_AT_ONCE)
        into, out, pushed, sucked, held, faces, local = (values[part, None] for values in doors)
        answer[part] = _first(into, out, pushed, sucked, held, faces, local, velocity, hours[1], tables)
    return answer


def _first(
    inward: NDArray[np.float32],
    outward: NDArray[np.float32],
    push: NDArray[np.float32],
    suction: NDArray[np.float32],
    inside: NDArray[np.float32],
    facing: NDArray[np.float32],
    factor: NDArray[np.float32],
    velocity: NDArray[np.float32],
    directions: NDArray[np.float32],
    tables: tuple[NDArray[np.float32], NDArray[np.float32]],
) -> NDArray[np.int64]:
    unknown = np.isnan(directions)
    turned = np.where(unknown, 0, directions) - facing
    step = np.rint(turned * STEPS_PER_DEGREE).astype(np.int32) % (360 * STEPS_PER_DEGREE)
    pushed, sucked = tables[0][step] * push, tables[1][step] * suction
    into = pushed + np.maximum(inside - sucked, 0)
    out = sucked + np.maximum(inside - pushed, 0)
    into[:, unknown], out[:, unknown] = push + inside, suction + inside
    pressure = factor**2 * velocity
    # Written so that a NaN strength is exceeded, as soon as there is any wind.
    spared = (pressure * into <= inward) & (pressure * out <= outward) | (pressure == 0)
    first = np.argmin(spared, axis=1)
    return np.where(spared.all(axis=1), NEVER, first)
