"""Arches against published and hand-worked numbers.

Circular segment: worked example "chord 21, rise 6" with radius 12.1875 and segment area 89.254148,
https://matheass.eu/help/en/E210-Circular_Sections.html.
Half circle: area of a circle, Archimedes, Measurement of a Circle, proposition 3: pi lies between
3 10/71 and 3 1/7.
Gothic: planning shape, common practice, no source; worked by hand.
"""

import pytest

from farm.geometry import Profile, Shape, clear_height, end_wall_area, half_width_at

SEGMENT = Profile(Shape.ROUND, width=21.0, ridge=6.0, side=0.0)


def test_the_area_of_a_segment():
    assert end_wall_area(SEGMENT) == pytest.approx(89.254148, abs=5e-7)


def test_the_radius_of_a_segment():
    # On a circle of radius 12.1875 whose centre lies 6.1875 below the chord (both printed).
    height = float(clear_height(SEGMENT, 10.5 - 4.0))

    assert 4.0**2 + (6.1875 + height) ** 2 == pytest.approx(12.1875**2)


def test_sagitta_of_a_circle_in_closed_form():
    # Over a chord of 2 x 3 a circle of radius 5 rises by 5 - 4 = 1: the 3-4-5 triangle.
    arch = Profile(Shape.ROUND, width=8.0, ridge=2.0, side=0.0)

    assert 2.0 - clear_height(arch, [1.0, 7.0]) == pytest.approx([1.0, 1.0])


def test_half_a_circle_between_the_bounds_of_archimedes():
    area = end_wall_area(Profile(Shape.ROUND, width=2.0, ridge=1.0, side=0.0))

    assert 3 + 10 / 71 < 2 * area < 3 + 1 / 7


def test_a_wide_gothic_end_wall_at_the_jamb_of_a_22_ft_door():
    # 34 ft wide, 16 ft to the ridge, 6 ft sides: 6 + 10 (1 - (11/17)^1.7) = 11.2 ft at 11 ft from the middle.
    foot = 0.3048
    wall = Profile(Shape.GOTHIC, width=34 * foot, ridge=16 * foot, side=6 * foot)

    assert clear_height(wall, (17 + 11) * foot) / foot == pytest.approx(11.2, abs=0.05)
    assert half_width_at(wall, 11.2 * foot, "right") / foot == pytest.approx(11, abs=0.1)
