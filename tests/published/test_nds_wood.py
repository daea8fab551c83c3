"""Screws and washers in wood against published values.

[1] https://www.engineeringtoolbox.com/wood-screws-allowable-withdrawal-load-d_1815.html: No. 10, specific
    gravity 0.45: 109 lb/in, cut off from 109.66.
[2] NDS 2018, 12.2.2, as worked in public code: No. 10 in Douglas fir-larch, 135 lb/in; in spruce-pine-fir
    95.5 lb/in.
[3] NDS 2018, Table 12.2B, lb/in of thread, from memory: Douglas fir-larch No. 6, 8, 12, 14.
[4] NDS 2018, Table 3.10.4, bearing area factor by length of bearing, from memory; it rounds 1.094 up to 1.10.
"""

import numpy as np
import pytest

from doors.mechanics.fastener import POUND_FORCE, PSI, screw_diameter
from doors.mechanics.timber import WET_WITHDRAWAL, WIND_DURATION, WOODS, washer_bearing, wood_screw_withdrawal
from doors.sizing.quantity import INCH


def pounds(number, gravity, inches=1.0, **options):
    """Return the withdrawal of a numbered screw in pounds."""
    return wood_screw_withdrawal(screw_diameter(number), inches * INCH, gravity, **options) / POUND_FORCE


def test_a_number_10_in_spruce():
    assert int(pounds(10, 0.45)) == 109  # [1]


@pytest.mark.parametrize(
    ("wood", "printed", "half"), [("douglas fir-larch", 135, 0.5), ("spruce-pine-fir", 95.5, 0.05)]
)
def test_a_number_10_by_species(wood, printed, half):
    assert pounds(10, WOODS[wood].gravity) == pytest.approx(printed, abs=half)  # [2]


@pytest.mark.parametrize(("number", "printed"), [(6, 98), (8, 117), (10, 135), (12, 154), (14, 172)])
def test_withdrawal_in_douglas_fir(number, printed):
    assert pounds(number, 0.50) == pytest.approx(printed, abs=0.5)  # [3]


def test_wet_wood_under_wind():
    # 135.375 lb/in x 1.5 in x 1.6 x 0.7 = 227.43 lb.
    held = pounds(10, 0.50, 1.5, adjustment=WIND_DURATION * WET_WITHDRAWAL)

    assert held == pytest.approx(227.43, abs=0.005)


@pytest.mark.parametrize(
    ("washer", "factor", "half"),
    [(0.5, 1.75, 0.005), (1, 1.38, 0.0051), (1.5, 1.25, 0.005), (2, 1.19, 0.005), (3, 1.13, 0.0051), (4, 1.10, 0.0065),
     (6, 1.00, 0.005)],
)  # fmt: skip
def test_wood_beside_a_washer_helps(washer, factor, half):
    inside = washer_bearing(washer * INCH, 0.25 * INCH, 425 * PSI, end_distance=12 * INCH)
    at_end = washer_bearing(washer * INCH, 0.25 * INCH, 425 * PSI)

    assert inside / at_end == pytest.approx(factor, abs=half)  # [4]


def test_a_washer_in_spruce_pine_fir():
    # pi/4 (1.5² - 0.4375²) = 1.6168 in²; x 425 psi = 687.1 lb at the end of a member, x 1.25 elsewhere = 858.9.
    held = washer_bearing(1.5 * INCH, 0.4375 * INCH, 425 * PSI, end_distance=np.array([0.0, 2.9, 3.0]) * INCH)

    assert held / POUND_FORCE == pytest.approx([687.1, 687.1, 858.9], abs=0.06)
