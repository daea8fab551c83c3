"""What it takes to crank a film door open: work, torque, force on the handle, turns, time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.sizing.quantity import Floats, require

HANDLE_FORCE_LEAST = 22.0  # N, 5 lbf: range for large hand cranks of 125 to 200 mm radius, ergonomics tables,
HANDLE_FORCE_MOST = 45.0  # N, 10 lbf: seen in a secondary source
SELF_LOCKING_EFFICIENCY = 0.5  # -; a drive that loses half its work or more cannot be driven backwards


@dataclass(frozen=True, slots=True)
class Weights:
    """What hangs on the film. [N], and the film's own weight per length of its height [N/m]"""

    turning_bar: Floats
    sill_bar: Floats
    film_per_height: Floats


@dataclass(frozen=True, slots=True)
class Cranking:
    """Effort at the start (closed) and at the end (open) of a lift; every field has the inputs' shape."""

    pull_closed: Floats  # N, upward force the bar must give along its path
    pull_open: Floats  # N
    torque_closed: Floats  # N m at the bar
    torque_open: Floats  # N m
    handle_force: Floats  # N, the larger of both ends
    work: Floats  # J put into the door
    seconds: Floats  # s
    runs_back: Floats  # 1 where the door would run down when released


def mid_bar_pull(weights: Weights, height: ArrayLike) -> Floats:
    r"""Return the force along the path of a bar that winds the film above and below it. [N]

    Parameters
    ----------
    weights : Weights
        Fields of shape (...).
    height : array_like, shape (...)
        Rough height. [m]

    Notes
    -----
    While the bar climbs by :math:`dL` the sill bar climbs by :math:`2 dL`. The film above the bar, :math:`h/2-L`
    long, leaves at the bar's height; the roll holds :math:`2L` and climbs; the film below, as long as that
    above, shortens from its upper end while it climbs. Adding up the changes of potential energy, the film's share is
    :math:`2\omega L + 2\omega(h/2 - L) = \omega h`, the same all the way:
    :math:`F = W_b + 2 W_s + \omega h`.
    """
    return np.asarray(weights.turning_bar + 2 * weights.sill_bar + weights.film_per_height * np.asarray(height))


def bottom_bar_pull(weights: Weights, wound: ArrayLike) -> Floats:
    r"""Return the force along the path of a bar that winds only the film above it. [N]

    Parameters
    ----------
    weights : Weights
        Fields of shape (...); the sill bar is not there.
    wound : array_like, shape (...)
        Film on the bar. [m]

    Notes
    -----
    The bar carries the film it has wound: :math:`F = W_b + \omega L`.
    """
    return np.asarray(weights.turning_bar + weights.film_per_height * np.asarray(wound))


def crank(
    pull_closed: ArrayLike,
    pull_open: ArrayLike,
    diameter_closed: ArrayLike,
    diameter_open: ArrayLike,
    rise: ArrayLike,
    turns: ArrayLike,
    *,
    ratio: ArrayLike,
    handle_radius: ArrayLike,
    efficiency: ArrayLike,
    turns_per_second: ArrayLike,
) -> Cranking:
    r"""Return the effort of cranking a door from closed to open.

    Parameters
    ----------
    pull_closed, pull_open : array_like, shape (...)
        Force along the bar's path at both ends of the lift. [N]
    diameter_closed, diameter_open : array_like, shape (...)
        Diameter of the roll. [m]
    rise : array_like, shape (...)
        Rise of the bar. [m]
    turns : array_like, shape (...)
        Turns of the bar. [-]
    ratio : array_like, shape (...)
        Crank turns per turn of the bar. [-]
    handle_radius : array_like, shape (...)
        [m]
    efficiency : array_like, shape (...)
        Share of the hand's work that reaches the bar, above 0 and at most 1. [-]
    turns_per_second : array_like, shape (...)
        Pace of the crank. [1/s]

    Returns
    -------
    Cranking
        [SI]

    Raises
    ------
    SizingError
        If a number is out of its range.

    Notes
    -----
    The film leaves the roll at its outside: :math:`T = F D / 2`; on the handle
    :math:`T / (i r \eta)`. The pull changes in proportion to the rise, so the work is the mean pull times the
    rise. A drive with :math:`\eta \le 1/2` holds the load by friction alone: driven backwards its
    efficiency would be :math:`2 - 1/\eta \le 0` (power screws, machine design textbooks, from memory).
    """
    for name, value in (("ratio", ratio), ("handle_radius", handle_radius), ("efficiency", efficiency),
                        ("turns_per_second", turns_per_second)):  # fmt: skip
        require(name, value, "above", 0.0)
    require("efficiency", efficiency, "at most", 1.0)
    first, last, closed, opened, rise, turns, ratio, radius, efficiency, pace = (
        np.asarray(value, dtype=np.float64)
        for value in (pull_closed, pull_open, diameter_closed, diameter_open, rise, turns, ratio, handle_radius,
                      efficiency, turns_per_second)
    )  # fmt: skip
    torque_closed, torque_open = first * closed / 2, last * opened / 2
    return Cranking(
        pull_closed=np.asarray(first),
        pull_open=np.asarray(last),
        torque_closed=np.asarray(torque_closed),
        torque_open=np.asarray(torque_open),
        handle_force=np.asarray(np.maximum(torque_closed, torque_open) / (ratio * radius * efficiency)),
        work=np.asarray((first + last) / 2 * rise),
        seconds=np.asarray(turns * ratio / pace),
        runs_back=np.asarray((efficiency > SELF_LOCKING_EFFICIENCY).astype(np.float64)),
    )
