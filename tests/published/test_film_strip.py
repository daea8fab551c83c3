"""Membrane strips against closed forms, and film against what is published of polyethylene.

Arc, parabola and catenary: the textbook closed forms, worked out by hand beside the formulas in each test.
Elastic strip: Et (arc/L - 1) = pR solved by hand, and its small-sag form s = L (3 p L / 64 E t)^(1/3).
Units: 1 mil is 25.4 um; 1 langley is 1 thermochemical calorie, 4.184 J, per cm² (NIST SP 811, Appendix B.8).
End of life, elongation at break half of new: a single-layer film lost half in six months,
https://doi.org/10.2478/adms-2024-0008.
Polyethylene: https://matmake.com/materials-data/low-density-polyethylene-properties.html,
https://www.makeitfrom.com/material-properties/Low-Density-Polyethylene-LDPE,
https://greensutra.in/greenpedia/plastics/.
"""

import numpy as np
import pytest

from doors.mechanics.film import (
    FILM_BREAK,
    FILM_DENSITY,
    FILM_EXPANSION,
    FILM_MODULUS,
    FILM_RANGES,
    FILM_YIELD,
    KILOLANGLEY,
    YEAR,
    areal_mass,
    held_tension,
    slack_after,
    strength_left,
    strip,
)
from doors.mechanics.membrane import arc, arc_tension, catenary, parabola
from doors.sizing.quantity import FOOT, INCH

SIX_MIL = 0.006 * INCH

# span, sag [m]; R = (L²/4 + s²)/2s, L²/8s, arc 2R asin(L/2R) [m]; L (1 + 8/3 (s/L)²) [m]; arc/L - 1 [%].
ARCS = [
    (1.0, 0.05, 2.525, 2.500, 1.00665, 1.00667, 0.665),
    (3.0, 0.15, 7.575, 7.500, 3.01996, 3.02000, 0.665),
    (3.0, 0.30, 3.900, 3.750, 3.07937, 3.08000, 2.646),
    (2.4, 0.24, 3.120, 3.000, 2.46350, 2.46400, 2.646),
    (3.6, 0.10, 16.250, 16.200, 3.60740, 3.60741, 0.206),
]

# span, sag [m]; H/w, length, Tmax/w of s = a (cosh(L/2a) - 1); H/w of the parabola [m].
CATENARIES = [
    (3, 0.15, 7.52487, 3.01991, 7.67487, 7.5),
    (3, 0.30, 3.79897, 3.07856, 4.09897, 3.75),
    (10, 1.0, 12.66324, 10.26187, 13.66324, 12.5),
    (10, 2.5, 5.37160, 11.50791, 7.87160, 5.0),
]

# span, sag [m]; T [N/m] and T/t [MPa] at 500 Pa in 0.1524 mm film.
STRESSES = [(3.0, 0.15, 3787.5, 24.85), (3.0, 0.30, 1950.0, 12.80), (1.0, 0.05, 1262.5, 8.28)]

# E [MPa]; s [m], T [N/m]; s of the small-sag form [m]; 3 m of 0.1524 mm film under 500 Pa.
ELASTIC = [(150, 0.4517, 1358, 0.4363), (200, 0.4079, 1481, 0.3964), (300, 0.3539, 1678, 0.3463)]


@pytest.mark.parametrize(("span", "sag", "radius", "shallow", "length", "series", "strain"), ARCS)
def test_a_belly_is_an_arc(span, sag, radius, shallow, length, series, strain):
    shape, flat = arc(span, sag), parabola(1.0, span, sag)

    assert shape.radius == pytest.approx(radius, abs=5e-4)
    assert shape.length == pytest.approx(length, abs=5e-6)
    assert 100 * shape.strain == pytest.approx(strain, abs=5e-4)
    assert flat.pull == pytest.approx(shallow, abs=5e-4)
    # The series of the parabola's length goes on with -32/5 (s/L)⁴, then +256/7 (s/L)⁶.
    assert series - flat.length == pytest.approx(
        6.4 * span * (sag / span) ** 4, abs=256 / 7 * span * (sag / span) ** 6 + 5e-6
    )


@pytest.mark.parametrize(("span", "sag", "pull", "length", "largest", "shallow"), CATENARIES)
def test_a_strip_hangs_in_a_catenary(span, sag, pull, length, largest, shallow):
    cable = catenary(1.0, span, sag)

    assert cable.pull == pytest.approx(pull, abs=5e-6)
    assert cable.length == pytest.approx(length, abs=5e-6)
    assert cable.tension == pytest.approx(largest, abs=5e-6)
    assert parabola(1.0, span, sag).pull == pytest.approx(shallow, abs=5e-6)


@pytest.mark.parametrize(("span", "sag", "tension", "stress"), STRESSES)
def test_stress_of_a_known_belly(span, sag, tension, stress):
    pulled = arc_tension(500.0, span, sag)

    assert pulled == pytest.approx(tension, abs=0.05)
    assert pulled / SIX_MIL / 1e6 == pytest.approx(stress, abs=0.005)


@pytest.mark.parametrize(("modulus", "sag", "tension", "shallow"), ELASTIC)
def test_an_elastic_strip(modulus, sag, tension, shallow):
    film = strip(500.0, 3.0, SIX_MIL, modulus=modulus * 1e6)

    assert film.sag == pytest.approx(sag, abs=5e-5)
    assert film.tension == pytest.approx(tension, abs=0.5)
    # Under next to no pressure only the small-sag form is left, and the sag goes with its cube root.
    assert 1e3 * strip(500e-9, 3.0, SIX_MIL, modulus=modulus * 1e6).sag == pytest.approx(shallow, abs=5e-5)


def test_six_mil_film():
    grams = 1000 * areal_mass(SIX_MIL, density=[920.0, 925.0, 930.0])

    assert pytest.approx(SIX_MIL, rel=1e-15) == 0.1524e-3
    assert grams == pytest.approx([140.2, 141.0, 141.7], abs=0.05)


def test_units_of_sunlight():
    assert KILOLANGLEY == 41_840_000
    assert pytest.approx(23.901, abs=5e-4) == 1e6 / (KILOLANGLEY / 1000)


def test_thirty_metres_of_film_in_forty_degrees():
    # 30 m, 40 K, 180e-6 1/K: 216 mm.
    assert 30_000 * slack_after(313.15, 273.15, expansion=180e-6) == pytest.approx(216, abs=1e-6)


def test_a_twelve_foot_door_over_a_swing_of_fifty_fahrenheit():
    # 144 in x 2e-4 x 50/1.8 = 0.800 in.
    longer = slack_after(273.15 + 50 / 1.8, 273.15, expansion=2e-4) * 12 * FOOT

    assert longer / INCH == pytest.approx(0.8, abs=1e-6)


def test_film_that_cools_pulls_by_modulus_and_strain():
    # 200 MPa x 0.1524 mm x (20 K x 2e-4) = 121.92 N/m for small strain; 1/(1 - 0.004) of it in full.
    cold = held_tension(slack_after(273.15, 293.15, expansion=2e-4), SIX_MIL, modulus=200e6)

    assert cold == pytest.approx(121.92 / 0.996, rel=1e-12)


def test_half_is_left_at_the_end_of_life():
    half_a_year = YEAR / 2

    assert strength_left(half_a_year, half_a_year) == 0.5
    assert strength_left(0.0, 4 * YEAR, dose=600 * KILOLANGLEY, rated_dose=600 * KILOLANGLEY) == 0.5


def test_constants_stay_within_what_is_published():
    values = {
        "density": FILM_DENSITY,
        "modulus": FILM_MODULUS,
        "expansion": FILM_EXPANSION,
        "yield": FILM_YIELD,
        "break": FILM_BREAK,
    }

    for name, value in values.items():
        low, high = FILM_RANGES[name]
        assert low <= value <= high
    assert 912 <= FILM_DENSITY <= 925  # matmake.com
    assert 140e6 <= FILM_MODULUS <= 300e6  # matmake.com from 0.14, makeitfrom.com 0.3 GPa
    assert 100e-6 <= FILM_EXPANSION <= 220e-6  # greensutra.in 100 to 220 ppm, makeitfrom.com 220
    assert FILM_YIELD <= 11.5e6 < FILM_BREAK <= 26e6  # matmake.com


def test_a_half_circle_is_the_deepest_belly():
    # Archimedes: half of pi times the span.
    shape = arc(2.0, 1.0)

    assert shape.length == pytest.approx(np.pi, rel=1e-15)
    assert shape.radius == 1.0
    assert shape.slope == pytest.approx(np.pi / 2)
