"""Embedment of posts against published sheets and hand-worked values.

[1] Pole foundation sheet after "Engineering with the Spreadsheet" (ASCE, 2006), kupdf.net/download/16-polexls:
    prints a load of 0.5 k and works with 0.510 k.
[2] Flagpole footing, IBC 2018, https://www.scribd.com/document/560795266: constrained, with factor 2.
[3] Flagpole embedment, IBC 2021, https://www.scribd.com/document/697991832: constrained, deeper than 12 ft,
    pressure raised by 1.33.
[4] Flagpole footing, 2021 IBC, https://www.scribd.com/document/612680534: not constrained, deeper than 12 ft,
    with factor 2. Its trials stop a little short of the root.
[5] Light pole, IBC 2009 in SI, https://www.scribd.com/doc/90622087: one trial, 1.55 m in, 1.52 m out.
The rest: IBC 2021, Eq. 18-1 and 18-3, iterated by hand.
"""

import pytest

from doors.mechanics.post import BEARING, ISOLATED_POLE, POUND_FORCE, PSF_PER_FOOT, Soil, lateral_load, needed_depth
from doors.sizing.quantity import FOOT

# load [lb], height [ft], width [ft], lateral [psf/ft]; depth [ft], with factor 2, constrained.
BY_HAND = [
    (500, 8, 1, 100, 8.446, 6.430, 5.540),
    (500, 8, 1, 150, 7.195, 5.500, 4.839),
    (500, 8, 1, 200, 6.430, 4.929, 4.397),
    (300, 5, 10 / 12, 100, 6.757, 5.110, 4.245),
]

# IBC 2021, Table 1806.2 as copied at https://docslib.org/doc/1487422: lateral [psf/ft], vertical [psf].
TABLE = {
    Soil.BEDROCK: (1200, 12_000),
    Soil.ROCK: (400, 4000),
    Soil.GRAVEL: (200, 3000),
    Soil.SAND: (150, 2000),
    Soil.CLAY: (100, 1500),
}


def depth_in_feet(load, height, width, lateral, **options):
    """Return the depth for pounds, feet and pounds per square foot and foot."""
    return needed_depth(load * POUND_FORCE, height * FOOT, width * FOOT, lateral * PSF_PER_FOOT, **options) / FOOT


def test_a_post_in_open_ground():
    depth = depth_in_feet(510, 4, 1, 266)  # [1]

    assert depth == pytest.approx(5.02, abs=0.005)
    assert depth == pytest.approx(5.0159, abs=5e-5)
    assert 266 * depth / 3 == pytest.approx(445, abs=0.5)  # S1 [psf]


def test_a_post_held_at_grade():
    assert depth_in_feet(510, 4, 1, 266, constrained=True) == pytest.approx(3.19, abs=0.005)  # [1]


def test_a_held_post_that_may_move():
    depth = depth_in_feet(30_000, 3, 4.5, 350, constrained=True, factor=ISOLATED_POLE)  # [2]

    assert depth * FOOT == pytest.approx(1.509, abs=5e-4)
    assert 2 * 350 * PSF_PER_FOOT * depth * FOOT == pytest.approx(1.660e5, abs=50)  # S3 [Pa]
    assert 2 * 350 * PSF_PER_FOOT * depth * FOOT / 3 == pytest.approx(5.532e4, abs=5)  # S1 [Pa]


def test_a_held_post_deeper_than_twelve_feet():
    depth = depth_in_feet(33_700, 39.4, 178.19 / 12, 150 * 1.33, constrained=True)  # [3]

    assert depth == pytest.approx(12.60, abs=0.005)


def test_a_free_post_takes_its_pressure_at_a_third_of_its_depth_down_to_twelve_feet():
    # [4]; with the limit put on the depth before it is divided the sheet would have asked for 55 ft.
    assert depth_in_feet(100_000, 62.11, 6, 200, factor=ISOLATED_POLE) == pytest.approx(30.55, rel=0.005)


def test_a_light_pole_in_si():
    depth = needed_depth(1330, 8.0, 0.849, 31_400)  # [5]

    # The result falls when the trial grows, so the root lies between the two.
    assert 1.52 < depth < 1.55


@pytest.mark.parametrize(("load", "height", "width", "lateral", "free", "doubled", "held"), BY_HAND)
def test_depths_worked_by_hand(load, height, width, lateral, free, doubled, held):
    assert depth_in_feet(load, height, width, lateral) == pytest.approx(free, abs=5e-4)
    assert depth_in_feet(load, height, width, lateral, factor=ISOLATED_POLE) == pytest.approx(doubled, abs=5e-4)
    assert depth_in_feet(load, height, width, lateral, constrained=True) == pytest.approx(held, abs=5e-4)


@pytest.mark.parametrize(("load", "height", "width", "lateral", "free", "doubled", "held"), BY_HAND)
def test_loads_worked_by_hand(load, height, width, lateral, free, doubled, held):
    def pounds(depth, **options):
        newtons = lateral_load(depth * FOOT, height * FOOT, width * FOOT, lateral * PSF_PER_FOOT, **options)
        return newtons / POUND_FORCE

    assert pounds(free) == pytest.approx(load, rel=5e-4)
    assert pounds(doubled, factor=ISOLATED_POLE) == pytest.approx(load, rel=5e-4)
    assert pounds(held, constrained=True) == pytest.approx(load, rel=5e-4)


@pytest.mark.parametrize("soil", Soil)
def test_classes_of_ground(soil):
    lateral, vertical = TABLE[soil]

    assert BEARING[soil].lateral / PSF_PER_FOOT == pytest.approx(lateral, rel=1e-12)
    assert BEARING[soil].vertical / (PSF_PER_FOOT * FOOT) == pytest.approx(vertical, rel=1e-12)


def test_a_pound_per_square_foot_and_foot():
    assert pytest.approx(0.157, abs=5e-4) == PSF_PER_FOOT / 1000  # kPa/m, note of the same copy of the table
