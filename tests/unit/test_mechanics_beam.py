"""The beam solver: what it refuses, supports at one place, loads that stand close, springs."""

import numpy as np
import pytest

from doors.mechanics.beam import LineLoad, PointLoad, Support, bend
from doors.sizing.quantity import SizingError

ENDS = (Support(0.0), Support(3.0))


@pytest.mark.parametrize(
    ("arguments", "field", "relation"),
    [
        ((0.0, 1.0, ENDS), "length", "above"),
        ((np.nan, 1.0, ENDS), "length", "finite"),
        ((3.0, 0.0, ENDS), "stiffness", "above"),
        ((3.0, np.inf, ENDS), "stiffness", "finite"),
        ((3.0, 1.0, (Support(-0.1), Support(3.0))), "place", "at least"),
        ((3.0, 1.0, (Support(0.0), Support(3.1))), "place", "at most"),
        ((3.0, 1.0, (Support(0.0), Support(np.nan))), "place", "finite"),
        ((3.0, 1.0, (Support(0.0), Support(1.0, stiffness=0.0))), "support.stiffness", "above"),
        ((3.0, 1.0, ENDS, (PointLoad(4.0, 1.0),)), "place", "at most"),
        ((3.0, 1.0, ENDS, (PointLoad(1.0, np.nan),)), "point_load.force", "finite"),
        ((3.0, 1.0, ENDS, (), (LineLoad(2.0, 2.0, 1.0),)), "line_load.end", "above"),
        ((3.0, 1.0, ENDS, (), (LineLoad(-1.0, 2.0, 1.0),)), "place", "at least"),
        ((3.0, 1.0, ENDS, (), (LineLoad(1.0, 2.0, np.inf),)), "line_load.intensity", "finite"),
        ((3.0, 1.0, ()), "supports", "above"),
        ((3.0, 1.0, (Support(1.0),)), "supports", "above"),
        ((3.0, 1.0, (Support(1.0), Support(1.0))), "supports", "above"),
    ],
)
def test_what_cannot_stand_is_refused(arguments, field, relation):
    with pytest.raises(SizingError) as refusal:
        bend(*arguments)

    assert (refusal.value.field, refusal.value.relation) == (field, relation)


@pytest.mark.parametrize("gap", [1e-2, 1e-4, 1e-6, 1e-8, 1e-10])
def test_loads_that_stand_close_cost_no_digits(gap):
    """Two of 100 N about the middle of 3 m: 100 N at each end, less a hair; 100 x 1.5 N m under them."""
    bent = bend(3.0, 1000.0, ENDS, (PointLoad(1.5, 100.0), PointLoad(1.5 + gap, 100.0)))

    assert bent.reactions.sum() == pytest.approx(200, rel=1e-13)
    assert bent.reactions[1] - bent.reactions[0] == pytest.approx(200 * gap / 3, abs=1e-11)
    assert bent.worst_moment == pytest.approx(150 - 50 * gap, rel=1e-10)


@pytest.mark.parametrize("reach", [1e-1, 1e-3, 1e-6, 1e-9])
def test_a_short_end_beyond_a_support_costs_no_digits(reach):
    bent = bend(3.0 + reach, 1000.0, ENDS, (PointLoad(3.0 + reach, 60.0),), (LineLoad(0.0, 3.0, 100.0),))

    assert bent.reactions == pytest.approx([150 - 20 * reach, 210 + 20 * reach], rel=1e-12)


def test_supports_at_one_place_share_what_they_hold():
    single = bend(3.0, 1000.0, ENDS, line_loads=(LineLoad(0.0, 3.0, 100.0),))
    double = bend(3.0, 1000.0, (*ENDS, Support(3.0)), line_loads=(LineLoad(0.0, 3.0, 100.0),))
    sprung = bend(3.0, 1000.0, (*ENDS, Support(3.0, stiffness=50.0)), line_loads=(LineLoad(0.0, 3.0, 100.0),))
    walls = bend(1.0, 1000.0, (Support(0.0, is_fixed=True), Support(0.0, is_fixed=True)), (PointLoad(1.0, 8.0),))

    assert single.reactions == pytest.approx([150, 150])
    assert double.reactions == pytest.approx([150, 75, 75])
    assert sprung.reactions == pytest.approx([150, 150, 0])
    assert walls.reactions == pytest.approx([4, 4])
    assert walls.fixing_moments == pytest.approx([-4, -4])


def test_springs_share_by_their_stiffness():
    """A stiff beam on springs of 1 and 3 kN/m under 80 N in its middle: 40 N each, 40 and 13.3 mm."""
    bent = bend(2.0, 1e9, (Support(0.0, stiffness=1000.0), Support(2.0, stiffness=3000.0)), (PointLoad(1.0, 80.0),))

    assert bent.reactions == pytest.approx([40, 40])
    assert bent.deflection[[0, -1]] == pytest.approx([0.04, 0.04 / 3])


def test_a_spring_under_a_fixed_beam():
    """A wall that slides on 200 N/m and cannot turn: 50 N sink it by 0.25 m."""
    bent = bend(1.0, 1e9, (Support(0.0, stiffness=200.0, is_fixed=True),), (PointLoad(0.0, 50.0),))

    assert bent.deflection == pytest.approx(np.full(len(bent.places), 0.25))
    assert bent.reactions == pytest.approx([50])
    assert bent.fixing_moments == pytest.approx([0])


def test_an_unloaded_beam_stays_straight():
    bent = bend(3.0, 1000.0, (Support(0.5), Support(2.0)))

    assert bent.worst_moment == bent.worst_deflection == 0
    assert not bent.reactions.any()


def test_results_are_given_where_they_are_asked_for():
    bent = bend(3.0, 1000.0, ENDS, (PointLoad(1.0, 5.0),), samples=1)

    assert bent.places == pytest.approx([0, 0.5, 1, 1, 2, 3])
    assert bent.shear == pytest.approx([10 / 3, 10 / 3, 10 / 3, -5 / 3, -5 / 3, -5 / 3])
