"""Film: belly and tension under wind, slack with temperature, strength left with age, weight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics.membrane import LOOSEST, edge_slope
from doors.sizing.quantity import Floats, require

YEAR = 31_557_600.0  # s, Julian year of 365.25 days
KILOLANGLEY = 41.84e6  # J/m², 1 Ly = 1 cal(th)/cm²

FILM_DENSITY = 920.0  # kg/m³, low-density polyethylene, from memory
FILM_MODULUS = 200e6  # Pa, secant at small strain, 23 °C, from memory (ASTM D882, ISO 527-3); stiffer in frost
FILM_EXPANSION = 200e-6  # 1/K, linear, from memory
FILM_YIELD = 10e6  # Pa, from memory (ASTM D882); film that has passed it stays slack
FILM_BREAK = 20e6  # Pa, from memory (ASTM D882)
FILM_RANGES = {  # what sound greenhouse film may have; from memory, to be replaced by the data sheet of the roll
    "density": (910.0, 930.0),
    "modulus": (150e6, 300e6),
    "expansion": (100e-6, 220e-6),
    "yield": (8e6, 12e6),
    "break": (17e6, 28e6),
}
COLDEST, HOTTEST = 233.15, 343.15  # K; the linear law is taken from -40 to +70 °C, from memory
TIGHTEST = -0.1  # -, stretch beyond which film has long yielded (10 MPa over 200 MPa is 0.05)
LOST_AT_RATED_LIFE = 0.5  # -, end of life: elongation at break half of new, doi.org/10.2478/adms-2024-0008


@dataclass(frozen=True, slots=True)
class Strip:
    """An elastic film under wind, per metre of its breadth; every field has the shape of the inputs."""

    sag: Floats  # m
    radius: Floats  # m
    length: Floats  # m
    strain: Floats  # -, from the unstressed length
    tension: Floats  # N/m, along the film
    stress: Floats  # Pa
    pull: Floats  # N/m, share of the tension along the span, on each edge
    push: Floats  # N/m, share of the tension with the wind, on each edge


def strip(
    pressure: ArrayLike,
    span: ArrayLike,
    thickness: ArrayLike,
    *,
    modulus: ArrayLike = FILM_MODULUS,
    slack: ArrayLike = 0.0,
) -> Strip:
    r"""Return belly and tension of an elastic film held along two edges.

    Parameters
    ----------
    pressure : array_like, shape (...)
        Net pressure on the film. [Pa]
    span, thickness : array_like, shape (...)
        Distance between the held edges; thickness of the film. [m]
    modulus : array_like, default polyethylene
        [Pa]
    slack : array_like, default 0
        Unstressed length over span less 1; below zero where the film was hung stretched. [-]

    Returns
    -------
    Strip
        Of the inputs' shape. Its pull and push make up the tension and the push on both edges the wind.

    Raises
    ------
    SizingError
        If pressure, span, thickness or modulus is not above zero, the slack is not from -0.1 to
        :math:`\pi/2 - 1`, or the belly would be deeper than half a circle.

    Notes
    -----
    :math:`Et(\ell/\ell_0 - 1) = pR`, with arc :math:`\ell`, :math:`\ell_0 = (1+k)L` and edge slope
    :math:`\theta`, is :math:`\theta/(1+k) - \sin\theta = pL/2Et`, solved to the last digits. The film stays
    linear: past its yield stress a real one bellies out further and pulls less, so the tension is then an
    upper bound. Film that is held at all four edges pulls less too.
    """
    for name, value in (("pressure", pressure), ("span", span), ("thickness", thickness), ("modulus", modulus)):
        require(name, value, "above", 0.0)
    require("slack", slack, "at least", TIGHTEST)
    require("slack", slack, "below", LOOSEST)
    pressure, span, thickness, modulus, slack = (
        np.asarray(value, dtype=np.float64) for value in (pressure, span, thickness, modulus, slack)
    )
    stretch_force = 2 * modulus * thickness / span  # Pa
    require("pressure", pressure, "at most", stretch_force * (np.pi / 2 / (1 + slack) - 1))
    slope = edge_slope(slack, pressure / stretch_force)
    radius = span / (2 * np.sin(slope))
    tension = pressure * radius
    return Strip(
        sag=np.asarray(span / 2 * np.tan(slope / 2)),
        radius=np.asarray(radius),
        length=np.asarray(2 * radius * slope),
        strain=np.asarray(tension / (modulus * thickness)),
        tension=np.asarray(tension),
        stress=np.asarray(tension / thickness),
        pull=np.asarray(tension * np.cos(slope)),
        push=np.asarray(pressure * span / 2 + 0 * slope),
    )


def strip_pressure(
    tension: ArrayLike,
    span: ArrayLike,
    thickness: ArrayLike,
    *,
    modulus: ArrayLike = FILM_MODULUS,
    slack: ArrayLike = 0.0,
) -> Floats:
    r"""Return the pressure that brings an elastic film to a tension: the inverse of `strip`.

    Parameters
    ----------
    tension : array_like, shape (...)
        Along the film, per metre of breadth. [N/m]
    span, thickness, modulus, slack : array_like, shape (...)
        As in `strip`.

    Returns
    -------
    ndarray, shape (...)
        Net pressure; 0 where the film hangs with that tension already. [Pa]

    Raises
    ------
    SizingError
        If tension, span, thickness or modulus is not above zero, or the film would be longer than half a circle.
    """
    for name, value in (("tension", tension), ("span", span), ("thickness", thickness), ("modulus", modulus)):
        require(name, value, "above", 0.0)
    require("slack", slack, "at least", TIGHTEST)
    tension, span, thickness, modulus, slack = (
        np.asarray(value, dtype=np.float64) for value in (tension, span, thickness, modulus, slack)
    )
    strain = tension / (modulus * thickness)
    longer = np.asarray(slack + strain + slack * strain)  # length now over span, less 1
    require("slack", longer, "at most", LOOSEST)
    flat = longer <= 0
    slope = np.where(flat, 0.0, edge_slope(np.where(flat, LOOSEST, longer), np.zeros(())))
    return np.asarray(2 * tension * np.sin(slope) / span)


def slack_after(
    temperature: ArrayLike, hung_at: ArrayLike, *, slack: ArrayLike = 0.0, expansion: ArrayLike = FILM_EXPANSION
) -> Floats:
    r"""Return the slack of film that has warmed or cooled since it was hung.

    Parameters
    ----------
    temperature, hung_at : array_like, shape (...)
        Of the film, now and when it was fastened; from 233.15 to 343.15. [K]
    slack : array_like, default 0
        When hung. [-]
    expansion : array_like, default polyethylene
        [1/K]

    Returns
    -------
    ndarray, shape (...)
        Unstressed length over span less 1: slack above zero, a stretch that holds tension below. [-]

    Raises
    ------
    SizingError
        If a temperature is outside its limits or the expansion is negative.

    Notes
    -----
    :math:`k = k_0 + \alpha \Delta T`. The frame's own expansion, a sixteenth of the film's, is left out.
    """
    for name, value in (("temperature", temperature), ("hung_at", hung_at)):
        require(name, value, "at least", COLDEST)
        require(name, value, "at most", HOTTEST)
    require("expansion", expansion, "at least", 0.0)
    warming = np.asarray(temperature, dtype=np.float64) - np.asarray(hung_at, dtype=np.float64)
    return np.asarray(np.asarray(slack, dtype=np.float64) + np.asarray(expansion, dtype=np.float64) * warming)


def held_tension(slack: ArrayLike, thickness: ArrayLike, *, modulus: ArrayLike = FILM_MODULUS) -> Floats:
    r"""Return the tension of film held shorter than it would like to be long, without wind.

    Parameters
    ----------
    slack : array_like, shape (...)
        Unstressed length over span less 1, as `slack_after` gives it. [-]
    thickness : array_like, shape (...)
        [m]
    modulus : array_like, default polyethylene
        [Pa]

    Returns
    -------
    ndarray, shape (...)
        Per metre of breadth, :math:`Et\,(1/(1+k) - 1)`; 0 where the film is slack. [N/m]

    Raises
    ------
    SizingError
        If thickness or modulus is not above zero or the slack is below -0.1.
    """
    require("thickness", thickness, "above", 0.0)
    require("modulus", modulus, "above", 0.0)
    require("slack", slack, "at least", TIGHTEST)
    slack, thickness, modulus = (np.asarray(value, dtype=np.float64) for value in (slack, thickness, modulus))
    return np.asarray(modulus * thickness * np.maximum(-slack / (1 + slack), 0))


def strength_left(
    age: ArrayLike, rated_life: ArrayLike, *, dose: ArrayLike = np.nan, rated_dose: ArrayLike = np.nan
) -> Floats:
    r"""Return the share of its strength that film has left after years in use and a dose of sunlight.

    Parameters
    ----------
    age, rated_life : array_like, shape (...)
        Time in use; life the maker rates the film for. [s]
    dose, rated_dose : array_like, default not known
        Solar energy taken; energy the film is rated for. [J/m²]

    Returns
    -------
    ndarray, shape (...)
        By age or by dose, whichever leaves less; NaN where neither is known. [-]

    Raises
    ------
    SizingError
        If age or dose is negative, or a rating is not above zero.

    Notes
    -----
    A planning line, not a law: from 1 when new straight to 1/2 at the rating, on to 0 at twice the rating and
    not below. Real film keeps its strength for long and then loses it fast. Hot steel, chafing at clamps,
    sulphur and chlorine are left out: they can end a film well before its rating.
    """
    for name, used, rating in (("life", age, rated_life), ("dose", dose, rated_dose)):
        require("age" if name == "life" else name, used, "at least", 0.0)
        require(f"rated_{name}", rating, "above", 0.0)
    age, rated_life, dose, rated_dose = (
        np.asarray(value, dtype=np.float64) for value in (age, rated_life, dose, rated_dose)
    )
    used_up = np.fmax(age / rated_life, dose / rated_dose)
    return np.asarray(np.clip(1 - LOST_AT_RATED_LIFE * used_up, 0, 1))


def areal_mass(thickness: ArrayLike, *, density: ArrayLike = FILM_DENSITY) -> Floats:
    """Return the mass of film per area.

    Parameters
    ----------
    thickness : array_like, shape (...)
        [m]
    density : array_like, default polyethylene
        [kg/m³]

    Returns
    -------
    ndarray, shape (...)
        [kg/m²]

    Raises
    ------
    SizingError
        If thickness or density is not above zero.
    """
    require("thickness", thickness, "above", 0.0)
    require("density", density, "above", 0.0)
    return np.asarray(np.asarray(thickness, dtype=np.float64) * np.asarray(density, dtype=np.float64))
