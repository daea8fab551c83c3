"""The beam solver against closed forms and printed beams.

Closed forms: AISC Steel Construction Manual, Table 3-23 (the formula stands in each test's comment).
Pipe2STD, E = 29 000 ksi, I = 0.627 in⁴, 72 in: a public worked example on Table 3-23, cases 1 and 7, and chapter F.
Uniform loads on equal spans: Hicks, Civil Engineering Formulas, Table 2.1, as shown at
digilib.universitaspertamina.ac.id/ebook/Civil%20Engineering%20Formulas/files/basic-html/page97.html.
"""

from fractions import Fraction

import numpy as np
import pytest

from doors.mechanics.beam import LineLoad, PointLoad, Support, bend
from doors.mechanics.fastener import KSI
from doors.mechanics.spans import MOST_SPANS, uniform
from doors.mechanics.tube import DESIGN_FACTOR, STEEL_MODULUS, section
from doors.sizing.quantity import INCH, POUND_FORCE

TUBE = STEEL_MODULUS * 43_183e-12  # N m², 1.660 in x 0.065 in
PIPE = 29_000 * KSI * 0.627 * INCH**4  # N m²
ENDS = (Support(0.0), Support(3.0))
LBF_IN = POUND_FORCE * INCH


def test_simple_span_under_an_even_load():
    """M = w L²/8 = 100 x 9 / 8; d = 5 w L⁴ / 384 E I."""
    bent = bend(3.0, TUBE, ENDS, line_loads=(LineLoad(0.0, 3.0, 100.0),))

    assert bent.worst_moment == pytest.approx(112.5)
    assert np.interp(1.5, bent.places, bent.deflection) == pytest.approx(12.2118e-3, rel=1e-4)
    assert bent.reactions == pytest.approx([150, 150])


def test_simple_span_under_a_load_in_its_middle():
    """M = P L/4 = 200 x 3 / 4; d = P L³ / 48 E I."""
    bent = bend(3.0, TUBE, ENDS, (PointLoad(1.5, 200.0),))

    assert bent.worst_moment == pytest.approx(150)
    assert bent.worst_deflection == pytest.approx(13.0260e-3, rel=1e-4)


def test_cantilever_under_an_even_load():
    """M = w L²/2 = 50; d = w L⁴ / 8 E I; the wall turns the beam back, against the clock where it sticks out right."""
    load = (LineLoad(0.0, 1.0, 100.0),)
    right = bend(1.0, TUBE, (Support(0.0, is_fixed=True),), line_loads=load)
    left = bend(1.0, TUBE, (Support(1.0, is_fixed=True),), line_loads=load)

    assert right.worst_deflection == pytest.approx(1.44733e-3, rel=1e-4)
    assert right.moment[0] == pytest.approx(-50)
    assert right.fixing_moments == pytest.approx([-50])
    assert left.worst_deflection == pytest.approx(1.44733e-3, rel=1e-4)
    assert left.fixing_moments == pytest.approx([50])
    assert right.shear[0] == pytest.approx(100)
    assert left.shear[-1] == pytest.approx(-100)


def test_beam_fixed_at_both_ends():
    """Table 3-23, case 15: M = w L²/12 at the ends, w L²/24 in the middle; d = w L⁴ / 384 E I."""
    fixed = (Support(0.0, is_fixed=True), Support(3.0, is_fixed=True))
    bent = bend(3.0, TUBE, fixed, line_loads=(LineLoad(0.0, 3.0, 100.0),))

    assert bent.moment[[0, -1]] == pytest.approx([-75, -75])
    assert bent.moment.max() == pytest.approx(37.5)
    assert np.interp(1.5, bent.places, bent.deflection) == pytest.approx(12.2118e-3 / 5, rel=1e-4)
    assert bent.fixing_moments == pytest.approx([-75, 75])


def test_propped_cantilever_with_a_load_off_the_middle():
    """Table 3-23, case 14: R1 = P b² (a + 2 L) / 2 L³ at the prop; a = 1 from the prop, b = 2, L = 3: P x 28 / 54."""
    bent = bend(3.0, TUBE, (Support(0.0), Support(3.0, is_fixed=True)), (PointLoad(1.0, 270.0),))

    assert bent.reactions[0] == pytest.approx(140)
    assert bent.moment[-1] == pytest.approx(140 * 3 - 270 * 2)  # -120
    assert bent.fixing_moments == pytest.approx([0, 120])


def test_three_equal_spans():
    """R = 0.4, 1.1, 1.1, 0.4 w L; 0.1 w L² over the supports; d = 0.00688 and 0.00052 w L⁴ / E I in their middles."""
    bent = bend(3.0, 1.0, tuple(Support(float(place)) for place in range(4)), line_loads=(LineLoad(0.0, 3.0, 1.0),),
                samples=99)  # fmt: skip

    assert bent.reactions == pytest.approx([0.4, 1.1, 1.1, 0.4])
    assert bent.worst_moment == pytest.approx(0.1)
    assert np.interp([0.5, 1.5], bent.places, bent.deflection) == pytest.approx([0.00677, 0.00052], rel=0.01)
    assert bent.worst_deflection == pytest.approx(0.00688, rel=0.01)


def test_span_with_an_overhang():
    """L = 3, a = 0.8, w = 100: R = w (L² - a²)/2L, w (L + a)²/2L; M = w a²/2, w (L + a)² (L - a)²/8L²;
    the tip moves w a (4 a² L - L³ + 3 a³) / 24 E I, here upward.
    """
    bent = bend(3.8, TUBE, ENDS, line_loads=(LineLoad(0.0, 3.8, 100.0),))

    assert bent.reactions == pytest.approx([139.333, 240.667], rel=1e-5)
    assert bent.moment.min() == pytest.approx(-32)
    assert bent.moment.max() == pytest.approx(97.0689, rel=1e-5)
    assert bent.deflection[-1] == pytest.approx(-6.8638e-3, rel=1e-4)


def test_two_supports_where_the_beam_bends_least():
    """Set in by 0.20711 of the length both moments are 0.021447 w T², and grow on either side."""

    def worst(inset):
        return bend(1.0, 1.0, (Support(inset), Support(1 - inset)), line_loads=(LineLoad(0.0, 1.0, 1.0),)).worst_moment

    insets = np.linspace(0.2, 0.215, 1501)

    assert insets[np.argmin([worst(inset) for inset in insets])] == pytest.approx(0.20711, abs=1e-5)
    assert worst(0.20711) == pytest.approx(0.021447, rel=1e-4)


def test_pipe_in_the_trades_units():
    """2700 and 3600 lb-in; 0.08018, 0.08553 and, under its own 0.3050 lb/in, 0.005870 in; 197.6 lb-in."""
    ends, length, pound = (Support(0.0), Support(72 * INCH)), 72 * INCH, POUND_FORCE / INCH
    even = bend(length, PIPE, ends, line_loads=(LineLoad(0.0, length, 4.1667 * pound),))
    middle = bend(length, PIPE, ends, (PointLoad(36 * INCH, 200 * POUND_FORCE),))
    own = bend(length, PIPE, ends, line_loads=(LineLoad(0.0, length, 0.3050 * pound),))

    assert even.worst_moment / LBF_IN == pytest.approx(2700, rel=1e-3)
    assert middle.worst_moment / LBF_IN == pytest.approx(3600, rel=1e-3)
    assert own.worst_moment / LBF_IN == pytest.approx(197.6, rel=1e-3)
    for bent, sag in ((even, 0.08018), (middle, 0.08553), (own, 0.005870)):
        assert np.interp(length / 2, bent.places, bent.deflection) / INCH == pytest.approx(sag, rel=1e-3)


def test_allowable_bending_of_a_round_tube():
    """35 ksi, Z = 0.713 in³: 24 955 lb-in, over 1.67: 14 943; compact up to D/t = 0.07 E / Fy = 58.0."""
    tube = section(2.375 * INCH, 0.143 * INCH)
    nominal = 35 * KSI * float(tube.plastic_modulus) / LBF_IN

    assert nominal == pytest.approx(24_955, rel=0.01)  # the table rounds Z
    assert nominal / DESIGN_FACTOR == pytest.approx(14_943, rel=0.01)
    most = 0.07 * STEEL_MODULUS / (35 * KSI)
    assert most == pytest.approx(58.0, abs=0.05)


# 1.660 in x 0.065 in, 7850 kg/m³: length [m], sag [mm], moment [N m]
@pytest.mark.parametrize(("length", "sag", "moment"), [(2.4, 0.809, 11.65), (3.0, 1.975, 18.20), (3.6, 4.096, 26.21)])
def test_roll_bar_under_its_own_weight(length, sag, moment):
    tube = section(1.660 * INCH, 0.065 * INCH)
    bent = bend(length, STEEL_MODULUS * float(tube.second_moment), (Support(0.0), Support(length)),
                line_loads=(LineLoad(0.0, length, float(tube.weight)),))  # fmt: skip

    assert tube.weight == pytest.approx(16.176, rel=1e-3)
    assert np.interp(length / 2, bent.places, bent.deflection) * 1e3 == pytest.approx(sag, rel=2e-3)
    assert bent.worst_moment == pytest.approx(moment, rel=2e-3)


F = Fraction
# Spans: shear left and right of each support up to the middle one, moment over it, largest moment in each span
EQUAL_SPANS = {
    1: ([(0, F(1, 2))], [0], [0.125]),
    2: ([(0, F(3, 8)), (F(5, 8), F(5, 8))], [0, F(1, 8)], [0.0703]),
    3: ([(0, F(4, 10)), (F(6, 10), F(5, 10))], [0, F(1, 10)], [0.080, 0.025]),
    4: ([(0, F(11, 28)), (F(17, 28), F(15, 28)), (F(13, 28), F(13, 28))], [0, F(3, 28), F(2, 28)], [0.0772, 0.0364]),
    5: ([(0, F(15, 38)), (F(23, 38), F(20, 38)), (F(18, 38), F(19, 38))], [0, F(4, 38), F(3, 38)],
        [0.0779, 0.0332, 0.0461]),
    6: ([(0, F(41, 104)), (F(63, 104), F(55, 104)), (F(49, 104), F(51, 104)), (F(53, 104), F(53, 104))],
        [0, F(11, 104), F(8, 104), F(9, 104)], [0.0777, 0.0340, 0.0433]),
    7: ([(0, F(56, 142)), (F(86, 142), F(75, 142)), (F(67, 142), F(70, 142)), (F(72, 142), F(71, 142))],
        [0, F(15, 142), F(11, 142), F(12, 142)], [0.0778, 0.0338, 0.0440, 0.0405]),
}  # fmt: skip


@pytest.mark.parametrize("spans", EQUAL_SPANS)
def test_equal_spans_of_the_table(spans):
    shears, over, within = EQUAL_SPANS[spans]
    bent = bend(float(spans), 1.0, tuple(Support(float(place)) for place in range(spans + 1)),
                line_loads=(LineLoad(0.0, float(spans), 1.0),))  # fmt: skip

    for place, ((left, right), moment) in enumerate(zip(shears, over, strict=True)):
        at = np.flatnonzero(bent.places == place)
        assert bent.reactions[place] == pytest.approx(float(left + right))
        assert bent.shear[at[-1]] == pytest.approx(float(right))
        assert bent.moment[at] == pytest.approx(-float(moment), abs=1e-12)
        assert left == 0 or bent.shear[at[0]] == pytest.approx(-float(left))
    for number, moment in enumerate(within):
        inside = (bent.places >= number) & (bent.places <= number + 1)
        assert bent.moment[inside].max() == pytest.approx(moment, abs=1e-4)  # it cuts digits off


def test_coefficients_of_the_table():
    """The largest moment is over the second support, but in a single span; the largest reaction is there too."""
    moment, end, largest = uniform(np.arange(1.0, 8.0))

    for spans, (shears, over, within) in EQUAL_SPANS.items():
        assert moment[spans - 1] == pytest.approx(max(float(max(over)), within[0] if spans == 1 else 0))
        assert end[spans - 1] == pytest.approx(float(shears[0][1]))
        assert largest[spans - 1] == pytest.approx(max(float(left + right) for left, right in shears))


def test_many_spans_as_the_longest_beam_known():
    """An endless row tends to 0.1057 w L² and 1.134 w L: (3 - sqrt(3)) / 12 and its reaction, by hand."""
    moment, end, largest = uniform(np.array([1.9, 12, 13, 1e6, np.nan, 0.0]))

    assert moment[1] == pytest.approx((3 - np.sqrt(3)) / 12, abs=1e-5)
    assert MOST_SPANS == 12
    assert moment[1] == moment[2] == moment[3]
    assert np.isnan([moment[4], end[4], largest[4]]).all()
    assert moment[[0, 5]] == pytest.approx(0.125)
    assert uniform(np.float64(2))[2] == pytest.approx(1.25)
