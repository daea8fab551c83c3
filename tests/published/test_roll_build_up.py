"""Film wound on a tube, against the closed form, the sum of circles and the spiral itself.

Length of a roll on a core, L = pi (D^2 - d^2) / 4t, as printed at packcalc-global.pages.dev and
cal12.calculator.city/calculate-the-length-of-a-roll-formula. The numbers below were derived from it by hand; the
paper roll 400/76/0.09 mm is the example on that page. Its neighbour ?p=214739 prints "about 1.9 m" of length for
1 mm of diameter at 300 mm; the formula gives 4.7 m, and so do the circles.
Tubes: 1.660 in and 1.315 in outside diameter (NPS 1 1/4 and 1, Mott, Machine Elements in Mechanical Design,
4th ed., Table A16-6); film of 6 mil = 0.1524 mm.
"""

import math

import numpy as np
import pytest

from doors.sizing.roll import turns_between, wound_diameter, wound_length

# case: core mm, film mm, turns, diameter mm, length mm, tolerance of the length mm
BY_TURNS = {
    "R1": (42.164, 0.1524, 10, 45.212, 1372.499, 0.0005),
    "R2": (42.164, 0.1524, 20, 48.260, 2840.754, 0.0005),
    "R4": (33.401, 0.1524, 24, 40.7162, 2794.153, 0.0005),
}


def sum_of_circles(core, thickness, turns):
    """Add the turns one by one, each as a circle through the middle of its film."""
    return sum(math.pi * (core + (2 * turn - 1) * thickness) for turn in range(1, turns + 1))


def spiral(core, thickness, turns, steps=200_000):
    """Integrate the arc length of the Archimedean spiral that leaves the core and gains one film a turn."""
    angle = np.linspace(0, 2 * math.pi * turns, steps + 1)
    radius = core / 2 + thickness * angle / (2 * math.pi)
    speed = np.hypot(radius, thickness / (2 * math.pi))
    return float(np.trapezoid(speed, angle))


@pytest.mark.parametrize("case", BY_TURNS)
def test_the_length_on_a_roll(case):
    core, thickness, turns, diameter, length, tolerance = BY_TURNS[case]

    assert core + 2 * turns * thickness == pytest.approx(diameter, abs=5e-5)
    assert sum_of_circles(core, thickness, turns) == pytest.approx(length, abs=tolerance)
    assert wound_length(core, thickness, core + 2 * turns * thickness) == pytest.approx(length, abs=tolerance)


@pytest.mark.parametrize("case", BY_TURNS)
def test_the_diameter_of_a_length(case):
    core, thickness, turns, diameter, length, _ = BY_TURNS[case]

    assert wound_diameter(core, thickness, length) == pytest.approx(diameter, abs=5e-5)
    assert turns_between(core, diameter, thickness) == pytest.approx(turns, abs=0.001)


def test_the_true_spiral_differs_by_two_millionths():
    # R1: the spiral is 1372.500 mm long, the circles 1372.499 mm.
    length = spiral(42.164, 0.1524, 10)

    assert length == pytest.approx(1372.500, abs=0.0005)
    assert wound_length(42.164, 0.1524, 45.212) == pytest.approx(length, rel=2e-6)


def test_three_metres_of_film_on_a_bar():
    # R6: 3000 mm on 1.660 in: 48.5791 mm after 21.047 turns.
    diameter = wound_diameter(42.164, 0.1524, 3000)

    assert diameter == pytest.approx(48.5791, abs=5e-5)
    assert turns_between(42.164, diameter, 0.1524) == pytest.approx(21.047, abs=0.0005)


def test_a_paper_roll():
    # R8: a 400 mm roll on a 76 mm core of 0.09 mm paper holds 1 345 858 mm.
    assert wound_length(76, 0.09, 400) == pytest.approx(1_345_858, abs=0.5)


def test_a_millimetre_more_of_diameter():
    # R9: dL/dD = pi D / 2t: 4712 mm of film for 1 mm of diameter at 300 mm and 0.1 mm, not 1.9 m.
    more = wound_length(50, 0.1, 300.5) - wound_length(50, 0.1, 299.5)

    assert more == pytest.approx(math.pi * 300 / 0.2, rel=0.01)
    assert more == pytest.approx(4712, abs=0.5)


def test_two_films_at_once_are_one_of_double_thickness():
    # The bar at mid height takes up the film above and below it: ten turns of two films are ten of 0.3048 mm.
    diameter = 42.164 + 2 * 10 * 0.3048
    each_side = sum_of_circles(42.164, 0.3048, 10)

    assert wound_length(42.164, 0.1524, diameter, layers=2) == pytest.approx(each_side)
    assert wound_diameter(42.164, 0.1524, each_side, layers=2) == pytest.approx(diameter)
    assert turns_between(42.164, diameter, 0.1524, layers=2) == pytest.approx(10)
