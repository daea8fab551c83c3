"""Threaded rods against published stress areas and strengths.

[1] Unified coarse threads, tensile stress and root areas: https://ja.scribd.com/document/219093147.
    It prints .0525 for 5/16-18, where the formula gives .0524.
[2] ISO metric coarse threads, stress area to five digits:
    https://www.engineersedge.com/hardware/metric_thread_stress_and_shear_areas_table_15797.htm.
[3] EN ISO 898-1, least ultimate tensile load, class 4.6, Rm = 400 MPa:
    http://usefastener.com/knowledge/404-minimum-ultimate-tensile-loads-for-metric-coarse-pitch-thread-en-iso-898-1.html.
[4] ASTM A307 grade A, 60 ksi, and F1554 grade 36, from memory, times the areas of [1]; AISC 360-16, J3, by hand.
[5] ISO metric coarse threads, root diameter d3 of the tables of DIN 13-1: M8 6.466, M10 8.160, M12 9.853 mm,
    from memory.
"""

import numpy as np
import pytest

from doors.mechanics.fastener import KSI, POUND_FORCE
from doors.mechanics.rod import METRIC, ROD_OMEGA, ROD_YIELD, rod_side_load, rod_strength, rod_stress, thread
from doors.sizing.quantity import INCH

# diameter [in], threads per inch; tensile area and what is printed in the last place, root area [in²], of [1]
UNIFIED_THREADS = [
    (0.375, 16, 0.0775, 5e-5, 0.0678),
    (0.250, 20, 0.0318, 5e-5, 0.0269),
    (0.3125, 18, 0.0524, 5e-5, None),
    (0.500, 13, 0.1419, 5e-5, 0.126),
    (0.500, 13, 0.142, 5e-4, 0.126),
    (0.190, 24, 0.0175, 5e-5, 0.0145),
    (0.216, 24, 0.0242, 5e-5, 0.0206),
]
# the same to one more place, pi/4 (D - 0.9743/n)² worked by hand
FINER = [(0.375, 16, 0.07749), (0.25, 20, 0.03182), (0.3125, 18, 0.05243), (0.5, 13, 0.14190), (0.19, 24, 0.01753),
         (0.216, 24, 0.02416)]  # fmt: skip
# diameter, pitch, stress area [mm, mm, mm²] of [2]; least breaking load [N] of [3], three digits
METRIC_THREADS = [
    (5, 0.8, 14.183, 5680),
    (6, 1.0, 20.123, 8040),
    (8, 1.25, 36.609, 14_600),
    (10, 1.5, 57.990, 23_200),
    (12, 1.75, 84.267, 33_700),
    (14, 2.0, 115.44, 46_000),
    (16, 2.0, 156.67, 62_800),
    (20, 2.5, 244.79, 98_000),
]


def inch_rod(diameter, per_inch):
    """Return the sections of a unified rod."""
    return thread(diameter * INCH, INCH / per_inch)


@pytest.mark.parametrize(("diameter", "per_inch", "tensile", "half_digit", "root"), UNIFIED_THREADS)
def test_unified_areas(diameter, per_inch, tensile, half_digit, root):
    sections = inch_rod(diameter, per_inch)

    assert sections.tensile_area / INCH**2 == pytest.approx(tensile, abs=half_digit)
    if root is not None:
        assert sections.root_area / INCH**2 == pytest.approx(root, abs=5e-5 if root < 0.1 else 5e-4)


@pytest.mark.parametrize(("diameter", "per_inch", "tensile"), FINER)
def test_unified_areas_by_hand(diameter, per_inch, tensile):
    assert inch_rod(diameter, per_inch).tensile_area / INCH**2 == pytest.approx(tensile, abs=5e-6)


@pytest.mark.parametrize(("diameter", "pitch", "area", "breaking"), METRIC_THREADS)
def test_metric_areas(diameter, pitch, area, breaking):
    sections = thread(diameter / 1000, pitch / 1000, form=METRIC)
    strength = rod_strength(sections, yield_stress=240e6, ultimate=400e6)

    assert sections.tensile_area * 1e6 == pytest.approx(area, rel=5e-5)
    assert strength.at_breaking == pytest.approx(breaking, rel=0.005)


@pytest.mark.parametrize(("diameter", "pitch", "root"), [(8, 1.25, 6.466), (10, 1.5, 8.160), (12, 1.75, 9.853)])
def test_metric_roots(diameter, pitch, root):
    sections = thread(diameter / 1000, pitch / 1000, form=METRIC)

    assert 1000 * np.sqrt(4 / np.pi * sections.root_area) == pytest.approx(root, abs=5.1e-4)  # [5]


def test_strength_of_a_three_eighths_rod():
    strength = rod_strength(inch_rod(0.375, 16), yield_stress=36 * KSI, ultimate=60 * KSI)

    # [4]: 60 ksi x 0.0775 = 4650 lb; 36 ksi x 0.0775 = 2790 lb; 0.75 x 60 ksi x 0.11045 / 2 = 2485 lb.
    assert strength.at_breaking / POUND_FORCE == pytest.approx(4650, abs=60_000 * 5e-5)
    assert strength.at_yield / POUND_FORCE == pytest.approx(2790, abs=36_000 * 5e-5)
    assert strength.allowable / POUND_FORCE == pytest.approx(2485, abs=0.5)


def test_bending_of_a_three_eighths_rod_off_its_header():
    # Round bar, S = A d/8: the printed root area 0.0678 in² has d = 0.2938 in and S = 0.002490 in³.
    # 20 lb at 2.5 in: 50/0.002490 = 20 080 psi; with 300 lb of pull over 0.0775 in²: 3871 psi more.
    sections = inch_rod(0.375, 16)
    bent = rod_stress(sections, 300 * POUND_FORCE, 20 * POUND_FORCE, 2.5 * INCH)

    assert sections.root_modulus / INCH**3 == pytest.approx(0.002490, rel=1.5e-3)
    assert bent / KSI == pytest.approx(20.080 + 3.871, rel=1.5e-3)


def test_side_load_of_a_three_eighths_rod_off_its_header():
    # Without pull, 36 ksi / 1.67 = 21 557 psi over 2.5 in: 21 557 x 0.002490 / 2.5 = 21.47 lb.
    sections = inch_rod(0.375, 16)
    load = rod_side_load(sections, 0.0, 2.5 * INCH, stress=ROD_YIELD / ROD_OMEGA)

    assert load / POUND_FORCE == pytest.approx(21.47, rel=2e-3)


def test_gross_area_is_the_full_circle():
    # 3/8 in: 0.1104 in².
    assert thread(0.375 * INCH, INCH / 16).gross_area / INCH**2 == pytest.approx(0.1104, abs=6e-5)
    assert np.shape(thread([0.009, 0.01], 0.001).gross_area) == (2,)
