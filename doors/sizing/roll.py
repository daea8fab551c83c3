"""Film wound on a tube: diameter, turns, and how far a door opens."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.sizing.quantity import Floats, require


@dataclass(frozen=True, slots=True)
class Winding:
    """A door's roll, closed and open; every field has the shape of the inputs."""

    turns_to_rest: Floats
    turns_to_open: Floats
    diameter_closed: Floats
    diameter_open: Floats
    film_wound: Floats
    bar_rise: Floats
    clear_height: Floats


def wound_diameter(core: ArrayLike, thickness: ArrayLike, length: ArrayLike, *, layers: float = 1) -> Floats:
    r"""Return the diameter of a roll.

    Parameters
    ----------
    core : array_like, shape (...)
        Outer diameter of the tube. [m]
    thickness : array_like, shape (...)
        Thickness of the film. [m]
    length : array_like, shape (...)
        Film wound from each side. [m]
    layers : float, default 1
        Films wound at once: 2 where the bar takes up the film above and below it.

    Returns
    -------
    ndarray, shape (...)
        Outer diameter of the roll. [m]

    Raises
    ------
    ValueError
        If core or thickness is not above zero, or a length is negative.

    Notes
    -----
    :math:`D = \sqrt{d^2 + 4 n t L / \pi}`: the film's cross-section fills the ring. The sum of concentric
    circles gives the same; the true spiral differs by less than 2e-6.
    """
    require("core", core, "above", 0.0)
    require("thickness", thickness, "above", 0.0)
    require("length", length, "at least", 0.0)
    core, thickness, length = (np.asarray(value, dtype=np.float64) for value in (core, thickness, length))
    return np.asarray(np.sqrt(core**2 + 4 * layers * thickness * length / np.pi))


def wound_length(core: ArrayLike, thickness: ArrayLike, diameter: ArrayLike, *, layers: float = 1) -> Floats:
    r"""Return the film on a roll of a given diameter, from each side: the inverse of `wound_diameter`.

    Parameters
    ----------
    core, thickness, diameter : array_like, shape (...)
        Tube diameter, film thickness, roll diameter. [m]
    layers : float, default 1
        Films wound at once.

    Returns
    -------
    ndarray, shape (...)
        Film wound from each side. [m]

    Raises
    ------
    ValueError
        If the roll is thinner than its core, or a size is not above zero.

    Notes
    -----
    :math:`L = \pi (D^2 - d^2) / (4 n t)`.
    """
    require("core", core, "above", 0.0)
    require("thickness", thickness, "above", 0.0)
    require("diameter", diameter, "at least", core)
    core, thickness, diameter = (np.asarray(value, dtype=np.float64) for value in (core, thickness, diameter))
    return np.asarray(np.pi * (diameter**2 - core**2) / (4 * layers * thickness))


def turns_between(smaller: ArrayLike, larger: ArrayLike, thickness: ArrayLike, *, layers: float = 1) -> Floats:
    r"""Return the turns that bring a roll from one diameter to a larger one.

    Parameters
    ----------
    smaller, larger : array_like, shape (...)
        Diameters before and after. [m]
    thickness : array_like, shape (...)
        Film thickness. [m]
    layers : float, default 1
        Films wound at once.

    Returns
    -------
    ndarray, shape (...)
        Turns of the bar. [-]

    Notes
    -----
    Each turn adds ``layers`` films all round: :math:`N = (D_2 - D_1) / (2 n t)`.
    """
    gain = np.asarray(larger, dtype=np.float64) - np.asarray(smaller, dtype=np.float64)
    return np.asarray(gain / (2 * layers * np.asarray(thickness, dtype=np.float64)))


def mid_bar(
    height: ArrayLike, bar: ArrayLike, sill_bar: ArrayLike, thickness: ArrayLike, *, take_up: ArrayLike
) -> Winding:
    r"""Return the roll of a door whose turning bar rests at mid height and winds the film above and below.

    Parameters
    ----------
    height : array_like, shape (...)
        Rough height. [m]
    bar, sill_bar : array_like, shape (...)
        Outer diameters of the turning bar and of the bar at the sill. [m]
    thickness : array_like, shape (...)
        Film thickness. [m]
    take_up : array_like, shape (...)
        Film wound from each side before the bar rests at mid height. [m]

    Returns
    -------
    Winding
        ``film_wound`` is the film taken from each side between closed and open. [m]

    Raises
    ------
    ValueError
        If the opening is too low for the two bars to part.

    Notes
    -----
    Per turn the bar climbs the film above it and shortens the film below it by the same length, so the sill
    bar rises twice as fast and meets the roll before the roll meets the header. With :math:`L` wound from
    each side since closed, the bars touch when :math:`L = h/2 - d_s - D/2`; with
    :math:`D^2 = d^2 + 8t(L+u)/\pi` this is a quadratic in :math:`D`. The clear height is then
    :math:`2L = h - D - 2 d_s`. The clamps' own thickness is left out.
    """
    height, bar, sill_bar, thickness, take_up = (
        np.asarray(value, dtype=np.float64) for value in (height, bar, sill_bar, thickness, take_up)
    )
    closed = wound_diameter(bar, thickness, take_up, layers=2)
    require("rough_height", height, "above", 2 * sill_bar + closed)
    half_linear = 2 * thickness / np.pi
    constant = bar**2 + 8 * thickness / np.pi * (height / 2 - sill_bar + take_up)
    opened = np.sqrt(half_linear**2 + constant) - half_linear
    rise = height / 2 - sill_bar - opened / 2
    return Winding(
        turns_to_rest=turns_between(bar, closed, thickness, layers=2),
        turns_to_open=turns_between(closed, opened, thickness, layers=2),
        diameter_closed=closed,
        diameter_open=np.asarray(opened),
        film_wound=np.asarray(rise),
        bar_rise=np.asarray(rise),
        clear_height=np.asarray(2 * rise),
    )


def bottom_bar(height: ArrayLike, bar: ArrayLike, thickness: ArrayLike, *, tail_wraps: ArrayLike) -> Winding:
    r"""Return the roll of a door whose turning bar lies at the sill and winds the film above it.

    Parameters
    ----------
    height : array_like, shape (...)
        Rough height. [m]
    bar : array_like, shape (...)
        Outer diameter of the bar. [m]
    thickness : array_like, shape (...)
        Film thickness. [m]
    tail_wraps : array_like, shape (...)
        Turns of film on the bar when the door is closed. [-]

    Returns
    -------
    Winding
        ``film_wound`` is the film taken up between closed and open. [m]

    Raises
    ------
    ValueError
        If the opening is not higher than the bar.

    Notes
    -----
    The bar lies on the threshold and climbs until its roll is level with the header's underside:
    :math:`L = h - (D_0 + D)/2` with :math:`D^2 = D_0^2 + 4tL/\pi`, a quadratic in :math:`D`; the clear
    height is :math:`h - D`.
    """
    height, bar, thickness, tail_wraps = (
        np.asarray(value, dtype=np.float64) for value in (height, bar, thickness, tail_wraps)
    )
    require("thickness", thickness, "above", 0.0)
    closed = bar + 2 * thickness * tail_wraps
    require("rough_height", height, "above", closed)
    half_linear = thickness / np.pi
    constant = closed**2 + 4 * thickness / np.pi * (height - closed / 2)
    opened = np.sqrt(half_linear**2 + constant) - half_linear
    rise = height - (closed + opened) / 2
    return Winding(
        turns_to_rest=np.asarray(tail_wraps + 0 * height),
        turns_to_open=turns_between(closed, opened, thickness),
        diameter_closed=np.asarray(closed),
        diameter_open=np.asarray(opened),
        film_wound=np.asarray(rise),
        bar_rise=np.asarray(rise),
        clear_height=np.asarray(height - opened),
    )
