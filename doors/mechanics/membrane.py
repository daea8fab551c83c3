"""Shapes of a strip held along two edges: arc under wind, parabola and catenary under weight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.sizing.quantity import Floats, require

LOOSEST = np.pi / 2 - 1  # -, slack of a strip that hangs in half a circle
_CUBE = (np.pi / 2 - 1) / (np.pi / 2) ** 3  # x - sin x >= _CUBE x³ up to a right angle
_ALMOST_NONE = 1e-30  # -, stretch too small to count, but safe to divide by
_NEWTON_STEPS = 12  # from an upper bound at most twice the root, 7 reach the last digit


@dataclass(frozen=True, slots=True)
class Arc:
    """A belly in the shape of a circular arc; every field has the shape of the inputs."""

    radius: Floats  # m
    length: Floats  # m
    strain: Floats  # -, length over span less 1
    slope: Floats  # rad, between film and span at the edge


@dataclass(frozen=True, slots=True)
class Cable:
    """A strip that hangs by its weight, per metre of its breadth; every field has the shape of the inputs."""

    pull: Floats  # N/m, along the span, the same everywhere
    tension: Floats  # N/m, at the edges, where it is largest
    length: Floats  # m


def arc(span: ArrayLike, sag: ArrayLike) -> Arc:
    r"""Return the circular arc that film takes under uniform pressure.

    Parameters
    ----------
    span, sag : array_like, shape (...)
        Distance between the held edges; belly at the middle. [m]

    Returns
    -------
    Arc
        Of the inputs' shape.

    Raises
    ------
    SizingError
        If the span or the sag is not above zero, or the belly is deeper than half a circle.

    Notes
    -----
    With the slope :math:`\theta = 2 \arctan(2s/L)` at the edge: :math:`R = (L^2/4 + s^2)/2s`, length
    :math:`L \theta / \sin\theta`.
    """
    require("span", span, "above", 0.0)
    require("sag", sag, "above", 0.0)
    span, sag = np.asarray(span, dtype=np.float64), np.asarray(sag, dtype=np.float64)
    require("sag", sag, "at most", span / 2)
    slope = 2 * np.arctan(2 * sag / span)
    return Arc(
        radius=np.asarray((span**2 / 4 + sag**2) / (2 * sag)),
        length=np.asarray(span * slope / np.sin(slope)),
        strain=np.asarray(less_sine(slope) / np.sin(slope)),
        slope=np.asarray(slope),
    )


def arc_tension(pressure: ArrayLike, span: ArrayLike, sag: ArrayLike) -> Floats:
    r"""Return the tension of film whose belly is known.

    Parameters
    ----------
    pressure : array_like, shape (...)
        Net pressure on the film. [Pa]
    span, sag : array_like, shape (...)
        As in `arc`. [m]

    Returns
    -------
    ndarray, shape (...)
        Tension along the film per metre of breadth, :math:`T = pR`. [N/m]

    Raises
    ------
    SizingError
        If the pressure is negative or there is no such arc.
    """
    require("pressure", pressure, "at least", 0.0)
    return np.asarray(np.asarray(pressure, dtype=np.float64) * arc(span, sag).radius)


def arc_of_slack(span: ArrayLike, slack: ArrayLike) -> Floats:
    r"""Return the belly of film cut longer than its span and blown full, before it stretches.

    Parameters
    ----------
    span : array_like, shape (...)
        Distance between the held edges. [m]
    slack : array_like, shape (...)
        Film length over span less 1, above 0 and at most :math:`\pi/2 - 1`. [-]

    Returns
    -------
    ndarray, shape (...)
        Sag of the arc :math:`(1 + k)L` long. [m]

    Raises
    ------
    SizingError
        If the span is not above zero or the slack outside its limits.
    """
    require("span", span, "above", 0.0)
    require("slack", slack, "above", 0.0)
    require("slack", slack, "at most", LOOSEST)
    half = edge_slope(np.asarray(slack, dtype=np.float64), np.zeros(())) / 2
    return np.asarray(np.asarray(span, dtype=np.float64) / 2 * np.tan(half))


def parabola(load: ArrayLike, span: ArrayLike, sag: ArrayLike) -> Cable:
    r"""Return the pull of a strip that carries an even load per metre of its span.

    Parameters
    ----------
    load : array_like, shape (...)
        Load per metre of span and metre of breadth. [Pa]
    span, sag : array_like, shape (...)
        As in `arc`; the sag at most the span. [m]

    Returns
    -------
    Cable
        Of the inputs' shape.

    Raises
    ------
    SizingError
        If the load is negative, span or sag not above zero, or the sag beyond the span.

    Notes
    -----
    :math:`H = wL^2/8s`; at the edge :math:`T = H\sqrt{1+u^2}` with :math:`u = 4s/L`; length
    :math:`\frac{L}{2}(\sqrt{1+u^2} + \operatorname{arsinh}(u)/u)`.
    """
    load, span, sag = _hanging(load, span, sag)
    slope = 4 * sag / span
    pull = load * span**2 / (8 * sag)
    return Cable(
        pull=np.asarray(pull),
        tension=np.asarray(pull * np.hypot(1, slope)),
        length=np.asarray(span / 2 * (np.hypot(1, slope) + np.arcsinh(slope) / slope)),
    )


def catenary(weight: ArrayLike, span: ArrayLike, sag: ArrayLike) -> Cable:
    r"""Return the pull of a strip that hangs by its own weight.

    Parameters
    ----------
    weight : array_like, shape (...)
        Weight per metre of film and metre of breadth. [Pa]
    span, sag : array_like, shape (...)
        As in `parabola`. [m]

    Returns
    -------
    Cable
        Of the inputs' shape.

    Raises
    ------
    SizingError
        As `parabola`.

    Notes
    -----
    With :math:`x = L/2a`, :math:`s/L = (\cosh x - 1)/2x` is solved for the parameter :math:`a`; then
    :math:`H = wa`, :math:`T = w(a+s)`, length :math:`2a \sinh x`.
    """
    weight, span, sag = _hanging(weight, span, sag)
    ratio = sag / span
    x = np.asarray(4 * ratio)  # the parabola's: never too small, and the curve is convex, so Newton cannot overshoot
    for _ in range(_NEWTON_STEPS):
        rise = np.sinh(x / 2) ** 2 / x
        x = x - (rise - ratio) / (np.sinh(x) / (2 * x) - rise / x)
    parameter = span / (2 * x)
    return Cable(
        pull=np.asarray(weight * parameter),
        tension=np.asarray(weight * (parameter + sag)),
        length=np.asarray(2 * parameter * np.sinh(x)),
    )


def edge_slope(slack: Floats, force: Floats) -> Floats:
    """Solve x/(1+k) - sin x = c for x up to a right angle; c above zero, or c zero and k above zero.

    The left side is convex there, so Newton's steps from an upper bound come down on the root and cannot
    overshoot it. The bounds follow from x - sin x >= _CUBE x³.
    """
    excess = slack / (1 + slack)
    bound = np.cbrt(force / _CUBE) + np.sqrt(np.maximum(excess, 0) / _CUBE)
    bound = np.where(excess < 0, np.minimum(bound, force / np.maximum(-excess, _ALMOST_NONE)), bound)
    slope = np.asarray(np.minimum(bound, np.pi / 2))
    for _ in range(_NEWTON_STEPS):
        error = less_sine(slope) - slope * excess - force
        slope = slope - error / (2 * np.sin(slope / 2) ** 2 - excess)
    return slope


def less_sine(angle: Floats) -> Floats:
    """Return x - sin x, by its series where the difference would lose digits."""
    square = np.minimum(angle, 0.25) ** 2
    series = 1 - square / 110  # what is left out is below 1e-14
    for divisor in (72, 42, 20):
        series = 1 - square / divisor * series
    return np.where(angle < 0.25, angle**3 / 6 * series, angle - np.sin(angle))


def _hanging(load: ArrayLike, span: ArrayLike, sag: ArrayLike) -> tuple[Floats, Floats, Floats]:
    require("load", load, "at least", 0.0)
    require("span", span, "above", 0.0)
    require("sag", sag, "above", 0.0)
    require("sag", sag, "at most", span)
    load, span, sag = (np.asarray(value, dtype=np.float64) for value in (load, span, sag))
    return load, span, sag
