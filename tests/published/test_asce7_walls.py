"""Wall coefficients and how open a house is, against ASCE 7-16 chapters 26 and 30 as others quote them.

(GCp) of walls, Fig. 30.3-1: end points read in github.com/kangeles47/DPBWE code_pressures.py, which also reads
the chart between them by eye (0.02); the values between, three decimals, are arithmetic on the straight lines.
(GCpi), Table 26.13-1: tests of two public calculators. Definitions of 26.2 and the example of a box with one
side open: engineeringexpress.com/wiki/partially-enclosed. Zone 5: ASCE 7-02 Fig. 6-3 in Brockenbrough,
Structural Steel Designer's Handbook, p. 4.18.
"""

import numpy as np
import pint
import pytest

from doors.mechanics.walls_asce import corner_width, internal_coefficient, is_open, partly_enclosed, wall_coefficients

FOOT = pint.UnitRegistry().Quantity(1, "foot").to("metre").magnitude
SQUARE_FEET = np.array([10, 20, 50, 100, 500])
PUSH = [1.00, 0.947, 0.877, 0.823, 0.70]
SUCTION = {4: [-1.10, -1.047, -0.977, -0.923, -0.80], 5: [-1.40, -1.294, -1.153, -1.047, -0.80]}
# Square feet: push, suction in zone 4, suction in zone 5, read from the chart by eye.
CHART = {
    10: (1.0, -1.1, -1.4),
    20: (0.95, -1.05, -1.3),
    50: (0.85, -0.975, -1.15),
    100: (0.825, -0.95, -1.05),
    200: (0.775, -0.85, -0.95),
    500: (0.7, -0.8, -0.8),
}


@pytest.mark.parametrize("zone", SUCTION)
def test_coefficients_of_walls(zone):
    push, suction = wall_coefficients(SQUARE_FEET * FOOT**2, zone)

    assert push == pytest.approx(PUSH, abs=0.0006)
    assert suction == pytest.approx(SUCTION[zone], abs=0.0006)


@pytest.mark.parametrize("square_feet", CHART)
def test_coefficients_read_from_the_chart(square_feet):
    push, middle = wall_coefficients(square_feet * FOOT**2, 4)
    _, corner = wall_coefficients(square_feet * FOOT**2, 5)

    assert (push, middle, corner) == pytest.approx(CHART[square_feet], abs=0.03)


def test_coefficients_under_a_roof_of_10_degrees_or_less():
    push, suction = wall_coefficients(10 * FOOT**2, [4, 5], low_slope=True)

    assert push == pytest.approx([0.9, 0.9])
    assert suction == pytest.approx([-0.99, -1.26])


def test_internal_coefficients():
    classes = ["enclosed", "partially enclosed", "partially open", "open"]

    assert internal_coefficient(classes).tolist() == [0.18, 0.55, 0.18, 0.0]


def test_a_box_with_one_side_more_open_than_the_rest():
    # Sides of 20 ft²; openings of 3, 2, 2 and 0 in the rest: 1.1 x 7 = 7.7 and 7/80 = 0.0875, both printed.
    foot = FOOT**2
    holes = np.array([7.6, 7.8]) * foot

    assert partly_enclosed(holes, 20 * foot, 7 * foot, 80 * foot).tolist() == [False, True]


def test_an_opening_of_4_square_feet_or_1_percent_of_the_wall_is_none():
    foot = FOOT**2
    holes = np.array([3.9, 4.1, 0.9, 1.1]) * foot
    walls = np.array([1000, 1000, 100, 100]) * foot

    assert partly_enclosed(holes, walls, 0.0, 1000 * foot).tolist() == [False, True, False, True]


def test_a_house_with_a_fifth_of_the_rest_open_is_not_partially_enclosed():
    assert partly_enclosed(50.0, 60.0, [19.0, 20.0, 21.0], 100.0).tolist() == [True, True, False]


def test_a_house_is_open_when_each_wall_is_four_fifths_open():
    assert is_open([[8, 9, 8, 10], [8, 9, 7.9, 10]], 10.0).tolist() == [True, False]


@pytest.mark.parametrize(
    ("width", "height", "reach"),
    [
        (100, 20, 8),  # 0.4 h below a tenth of the width
        (40, 30, 4),  # a tenth of the width
        (250, 20, 10),  # 4 % of the width above 0.4 h
        (20, 12, 3),  # never less than 3 ft
    ],
)
def test_how_far_zone_5_reaches(width, height, reach):
    assert corner_width(width * FOOT, height * FOOT) / FOOT == pytest.approx(reach)
