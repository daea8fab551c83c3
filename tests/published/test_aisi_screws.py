"""Screws in thin steel against published capacity tables.

[1] Allowable pull-out in an ICC-ES evaluation report in public records, Fu = 45 ksi, safety factor 3,
    https://lfportal.everettwa.gov/WebLink/0/doc/1596364/Page38.aspx. Whole pounds; its rounding is up to 0.6 lb.
[2] Allowable strength of two equal sheets after AISI S100, E4, with Fu = 33 ksi and safety factor 3 in a permit
    file, https://publicrecords.tigard-or.gov, document 930449. Whole pounds; some are cut off, not rounded.
[3] Screw numbers: Yu and LaBoube, Cold-Formed Steel Design, 4th ed., Table 8.6.
[4] Limit on the head that counts, 3/4 in: AISI S100-16, J4.4.2, as read in public code.
"""

import numpy as np
import pytest

from doors.mechanics.fastener import (
    KSI,
    POUND_FORCE,
    SCREW_OMEGA,
    SCREW_PHI,
    screw_diameter,
    screw_pull_out,
    screw_pull_over,
    screw_shear,
)
from doors.sizing.quantity import INCH

THICKNESSES = np.array([0.018, 0.024, 0.030, 0.036, 0.048, 0.060, 0.075, 0.105, 0.125, 0.187, 0.250])  # in
PULL_OUT = {  # [1], diameter [in]: allowable [lb]
    0.190: [44, 58, 73, 87, 116, 145, 182, 254, 303],
    0.216: [50, 66, 83, 99, 132, 165, 207, 289, 344, 515, 689],
    0.250: [57, 77, 96, 115, 153, 191, 239, 335, 398, 596, 797],
}
EQUAL_SHEETS = [  # [2], diameter, head, thickness [in]; shear, pull-out, pull-over [lb]
    (0.138, 0.272, 0.0188, 44, 24, 84),
    (0.164, 0.272, 0.0188, 48, 29, 84),
    (0.190, 0.340, 0.0188, 52, 33, 105),
    (0.216, 0.340, 0.0188, 55, 38, 105),
    (0.250, 0.409, 0.0188, 60, 44, 127),
    (0.138, 0.272, 0.0283, 82, 37, 127),
    (0.164, 0.272, 0.0283, 89, 43, 127),
    (0.190, 0.340, 0.0283, 96, 50, 159),
    (0.216, 0.340, 0.0283, 102, 57, 159),
    (0.250, 0.409, 0.0283, 110, 66, 191),
]
NUMBERS = {0: 0.060, 1: 0.073, 2: 0.086, 3: 0.099, 4: 0.112, 5: 0.125, 6: 0.138, 7: 0.151, 8: 0.164, 10: 0.190,
           12: 0.216}  # [3], in  # fmt: skip


@pytest.mark.parametrize("diameter", PULL_OUT)
def test_pull_out(diameter):
    printed = PULL_OUT[diameter]

    nominal = screw_pull_out(diameter * INCH, THICKNESSES[: len(printed)] * INCH, ultimate=45 * KSI)

    assert nominal / SCREW_OMEGA / POUND_FORCE == pytest.approx(printed, abs=0.6)


@pytest.mark.parametrize(("diameter", "head", "thickness", "shear", "pull_out", "pull_over"), EQUAL_SHEETS)
def test_two_equal_sheets(diameter, head, thickness, shear, pull_out, pull_over):
    d, t, fu = diameter * INCH, thickness * INCH, 33 * KSI
    pound = SCREW_OMEGA * POUND_FORCE

    assert screw_shear(d, t, t, near_ultimate=fu, far_ultimate=fu) / pound == pytest.approx(shear, abs=1)
    assert screw_pull_out(d, t, ultimate=fu) / pound == pytest.approx(pull_out, abs=1)
    over = screw_pull_over(head * INCH, t, ultimate=fu, least_head=0.272 * INCH)
    assert over / pound == pytest.approx(pull_over, abs=1)


@pytest.mark.parametrize("number", NUMBERS)
def test_screw_numbers(number):
    assert screw_diameter(number) / INCH == pytest.approx(NUMBERS[number], abs=5e-4)


def test_a_number_14_is_not_a_quarter_inch():
    assert screw_diameter(14) / INCH == pytest.approx(0.242, abs=5e-4)  # the series of [3] carried on


def test_washers_beyond_three_quarters_of_an_inch_do_not_count():
    at_limit, beyond = screw_pull_over(np.array([0.75, 1.0]) * INCH, 0.03 * INCH)

    assert beyond == at_limit  # [4]


def test_shear_by_thickness_of_the_far_sheet():
    # AISI S100-16, J4.3.1, worked by hand with d = 0.19 in, t1 = 0.03 in, both sheets 45 ksi; pounds.
    # t2 = 0.03: 4.2 sqrt(0.03³ 0.19) 45000 = 428.08, bearing 2.7 0.03 0.19 45000 = 692.55.
    # t2 = 0.0525, half way from 1 to 2.5: 4.2 sqrt(0.0525³ 0.19) 45000 = 991.0 is above bearing, so 692.55.
    # t2 = 0.036, a fifth of 1.5 over: 4.2 sqrt(0.036³ 0.19) 45000 = 562.72;
    #   562.72 + 0.2/1.5 (692.55 - 562.72) = 580.03.
    # t2 = 0.09: bearing in the thin sheet alone.
    shear = screw_shear(0.19 * INCH, 0.03 * INCH, np.array([0.03, 0.036, 0.0525, 0.09]) * INCH,
                        near_ultimate=45 * KSI, far_ultimate=45 * KSI)  # fmt: skip

    assert shear / POUND_FORCE == pytest.approx([428.08, 580.03, 692.55, 692.55], abs=0.01)


def test_bearing_in_the_sheet_that_is_weaker():
    # As above, d = 0.19 in, t1 = 0.12 in of 45 ksi, t2 = 0.1 in of 33 ksi; pounds. Tilting 4.2 sqrt(0.1³ 0.19)
    # 33000 = 1910.5, bearing near 2.7 0.12 0.19 45000 = 2770.2, far 2.7 0.1 0.19 33000 = 1692.9: the least.
    shear = screw_shear(0.19 * INCH, 0.12 * INCH, 0.1 * INCH, near_ultimate=45 * KSI, far_ultimate=33 * KSI)

    assert shear / POUND_FORCE == pytest.approx(1692.9, abs=0.05)


def test_the_two_ways_of_safety():
    assert (SCREW_OMEGA, SCREW_PHI) == (3.0, 0.5)  # AISI S100-12, E4: ASD and LRFD
