"""Velocity pressure of ASCE 7-16 and 7-22 against printed tables and worked examples.

Kz, Table 26.10-1 of each edition, two decimals: read in transcriptions in public repositories (7-16: the table
as a test fixture; 7-22: 30 ft and up in a test, 15 to 25 ft in a comment beside it); all rows agree with the
standards from memory. Tolerance 0.012: the printed rows are not all rounded from the formula.
Ke, Table 26.9-1: a transcription. Worked examples: continuing-education example S02-048 on 7-22 chapter 28
(W1) and tests of two public calculators (W3, W4).
"""

import numpy as np
import pint
import pytest

from doors.mechanics.pressure import gust_pressure
from doors.mechanics.pressure_asce import elevation_factor, exposure_coefficient, velocity_pressure
from doors.mechanics.wind_data import LOWEST_CLADDING_HEIGHT

UNITS = pint.UnitRegistry()
FOOT = UNITS.Quantity(1, "foot").to("metre").magnitude
MPH = UNITS.Quantity(1, "mile / hour").to("metre / second").magnitude
PSF = UNITS.Quantity(1, "force_pound / foot**2").to("pascal").magnitude

FEET = (15, 20, 25, 30, 40, 50, 60)
KZ = {
    ("7-16", "B"): (0.57, 0.62, 0.66, 0.70, 0.76, 0.81, 0.85),
    ("7-16", "C"): (0.85, 0.90, 0.94, 0.98, 1.04, 1.09, 1.13),
    ("7-16", "D"): (1.03, 1.08, 1.12, 1.16, 1.22, 1.27, 1.31),
    ("7-22", "B"): (0.57, 0.62, 0.66, 0.70, 0.74, 0.79, 0.83),
    ("7-22", "C"): (0.85, 0.90, 0.94, 0.98, 1.04, 1.09, 1.13),
    ("7-22", "D"): (1.03, 1.08, 1.12, 1.16, 1.22, 1.27, 1.31),
}
# Arithmetic on the formula with the printed constants, three decimals.
KZ_WORKED = {
    ("7-16", "B"): (0.575, 0.624, 0.665, 0.701, 0.761, 0.811, 0.854),
    ("7-16", "C"): (0.849, 0.902, 0.945, 0.982, 1.044, 1.094, 1.137),
    ("7-16", "D"): (1.030, 1.083, 1.126, 1.162, 1.222, 1.270, 1.311),
    ("7-22", "B"): (0.573, 0.619, 0.656, 0.689, 0.744, 0.790, 0.829),
    ("7-22", "C"): (0.851, 0.903, 0.945, 0.980, 1.040, 1.088, 1.129),
    ("7-22", "D"): (1.035, 1.088, 1.131, 1.168, 1.228, 1.276, 1.317),
}


@pytest.mark.parametrize(("edition", "exposure"), KZ)
def test_exposure_coefficients_of_the_table(edition, exposure):
    heights = np.array(FEET) * FOOT

    coefficients = exposure_coefficient(heights, exposure, edition=edition, cladding=False)

    assert coefficients == pytest.approx(KZ[edition, exposure], abs=0.012)
    assert coefficients == pytest.approx(KZ_WORKED[edition, exposure], abs=0.0006)


@pytest.mark.parametrize(("edition", "exposure"), KZ)
def test_the_first_row_of_the_table_reaches_down_to_the_ground(edition, exposure):
    down = exposure_coefficient([0.0, 15 * FOOT], exposure, edition=edition, cladding=False)

    assert down == pytest.approx([KZ[edition, exposure][0]] * 2, abs=0.012)


@pytest.mark.parametrize("edition", ["7-16", "7-22"])
def test_cladding_in_exposure_b_takes_the_value_of_30_feet(edition):
    # ASCE 7-98 to 7-16: Kz = 0.70 below 30 ft for cladding in exposure B; a comment in a public calculator.
    assert exposure_coefficient([0.0, 20 * FOOT, 30 * FOOT], "B", edition=edition) == pytest.approx(
        [0.70] * 3, abs=0.012
    )
    assert np.array(LOWEST_CLADDING_HEIGHT) / FOOT == pytest.approx([30, 15, 15])


def test_exposure_b_of_7_22_with_the_exponent_of_7_16_would_be_a_tenth_too_low():
    # Trap seen in a public package: alpha 7.0 beside the 7-22 constants gives 0.517.
    mixed = 2.41 * (15 / 3280) ** (2 / 7.0)

    ours = exposure_coefficient(15 * FOOT, "B", edition="7-22", cladding=False)

    assert mixed == pytest.approx(0.517, abs=0.001)
    assert ours == pytest.approx(0.573, abs=0.001)
    assert ours / mixed == pytest.approx(1.11, abs=0.01)


@pytest.mark.parametrize(
    ("feet", "printed", "tolerance"),
    [
        (0, 1.00, 0.006),
        (1000, 0.96, 0.006),
        (2000, 0.93, 0.006),
        (3000, 0.90, 0.006),
        (4000, 0.865, 0.01),  # sources print 0.86 and 0.87
        (5000, 0.835, 0.01),  # 0.83 and 0.84
        (6000, 0.805, 0.01),  # 0.80 and 0.81
    ],
)
def test_ground_elevation_factors(feet, printed, tolerance):
    assert elevation_factor(feet * FOOT) == pytest.approx(printed, abs=tolerance)


def test_the_ground_elevation_factor_is_not_the_old_wrong_one():
    assert elevation_factor(2000 * FOOT) - 0.67 > 0.25  # exp(-2.0e-4 x 2000 ft), a coefficient seen in error


def test_velocity_pressure_of_the_worked_example_at_36_7_feet():
    example = velocity_pressure(115 * MPH, 36.7 * FOOT, "C", edition="7-22")

    assert exposure_coefficient(36.7 * FOOT, "C", edition="7-22") == pytest.approx(1.02, abs=0.005)
    assert example.printed / PSF == pytest.approx(34.6, abs=0.1)  # 34.54 with Kz 1.02
    assert example.effective / PSF == pytest.approx(29.36, abs=0.1)


# ASCE 7 prints 0.613 in SI and 0.00256 in customary units, which are 0.06 % apart (0.016 psf at 115 mph).
SYSTEMS = 7e-4


def test_the_constants_of_the_two_unit_systems_agree():
    ratio = (0.613 * MPH**2) / (0.00256 * PSF)

    assert ratio == pytest.approx(1, abs=1e-3)
    assert ratio == pytest.approx(1, abs=SYSTEMS)


@pytest.mark.parametrize(("mph", "kz", "psf"), [(115, 1.0, 28.7776), (130, 0.98, 36.0406)])
def test_velocity_pressures_with_a_given_exposure_coefficient(mph, kz, psf):
    assert 0.85 * kz * gust_pressure(mph * MPH) / PSF == pytest.approx(psf, rel=SYSTEMS)


def test_the_pressure_of_115_mph_without_the_directionality_factor():
    assert gust_pressure(115 * MPH) / PSF == pytest.approx(33.856, rel=SYSTEMS)


def test_the_force_of_the_worked_example_at_130_mph():
    pounds = 1.9 * 20 * 0.85 * 0.98 * gust_pressure(130 * MPH) / PSF

    assert pounds == pytest.approx(1369.54, rel=SYSTEMS)


def test_7_22_prints_its_velocity_pressure_without_the_directionality_factor():
    # Trap: a 7-22 q in the 7-16 formula drops 0.85, a 7-16 q in the 7-22 formula takes it twice.
    older = velocity_pressure(50.0, 10.0, "C", edition="7-16")
    newer = velocity_pressure(50.0, 10.0, "C", edition="7-22")

    assert older.printed == older.effective
    assert newer.printed * 0.85 == pytest.approx(newer.effective)
    assert newer.effective == pytest.approx(older.effective, rel=0.005)  # Kz at 10 m is 1.00 in both tables
    assert newer.printed / older.printed == pytest.approx(1 / 0.85, rel=0.005)


# q = 0.00256 V² [psf, mph] and its pascals; 0.1 %.
@pytest.mark.parametrize(("mph", "psf", "pascals"), [(90, 20.736, 992.8), (60, 9.216, 441.3), (40, 4.096, 196.1)])
def test_pressures_by_the_rule_of_practice(mph, psf, pascals):
    assert gust_pressure(mph * MPH) / PSF == pytest.approx(psf, rel=1e-3)
    assert gust_pressure(mph * MPH) == pytest.approx(pascals, rel=1e-3)


def test_extension_texts_take_16_psf_at_80_mph():
    # Extension summaries of greenhouse wind damage print 16 lb/ft² at 80 mph, and about 10 000 lb on
    # a wall of 10 x 100 ft at 60 mph: one and a half figures.
    assert gust_pressure(80 * MPH) / PSF == pytest.approx(16.4, abs=0.05)
    assert gust_pressure(60 * MPH) / PSF * 1000 == pytest.approx(10_000, rel=0.1)


# Force on a shut door, pounds: q x area with a coefficient of 1, worked by hand in whole pounds.
FACES = {(8, 8): 0, (12, 10): 1, (16, 10): 2, (20, 10): 3, (22, 10): 4}
FORCES = {
    35: (201, 376, 502, 627, 690),
    46: (347, 650, 867, 1083, 1192),
    58: (551, 1033, 1378, 1722, 1895),
    70: (803, 1505, 2007, 2509, 2760),
}


@pytest.mark.parametrize("mph", FORCES)
@pytest.mark.parametrize("face", FACES)
def test_forces_on_the_face_of_a_door(mph, face):
    pounds = gust_pressure(mph * MPH) / PSF * face[0] * face[1]
    printed = FORCES[mph][FACES[face]]

    assert pounds == pytest.approx(printed, abs=0.5 + SYSTEMS * printed)
