"""Limits of posts in earth."""

import numpy as np
import pytest

from doors.mechanics.post import DEEPEST_BEARING, lateral_load, needed_depth
from doors.sizing.quantity import SizingError

GROUND = 20_000.0  # Pa/m


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: needed_depth(-1.0, 1.0, 0.1, GROUND), "load"),
        (lambda: needed_depth(1.0, -1.0, 0.1, GROUND), "height"),
        (lambda: needed_depth(1.0, 0.0, 0.1, GROUND, constrained=True), "height"),
        (lambda: needed_depth(1.0, 1.0, 0.0, GROUND), "width"),
        (lambda: needed_depth(1.0, 1.0, 0.1, 0.0), "lateral"),
        (lambda: needed_depth(1.0, 1.0, 0.1, GROUND, factor=0.99), "factor"),
        (lambda: needed_depth(1.0, 1.0, 0.1, GROUND, factor=2.01), "factor"),
        (lambda: lateral_load(-0.1, 1.0, 0.1, GROUND), "depth"),
        (lambda: lateral_load(1.0, 0.0, 0.1, GROUND, constrained=[False, True]), "height"),
    ],
)
def test_what_no_post_can_be(call, field):
    with pytest.raises(SizingError) as raised:
        call()

    assert raised.value.field == field


def test_no_load_needs_no_depth():
    assert list(needed_depth(0.0, [0.0, 1.0], 0.1, GROUND)) == [0.0, 0.0]
    assert needed_depth(0.0, 1.0, 0.1, GROUND, constrained=True) == 0
    assert lateral_load(0.0, 1.0, 0.1, GROUND) == 0


def test_a_foot_pushed_at_grade():
    # Eq. 18-1 with h = 0: d = A, so P = S1 b d / 2.34 = (20000 x 0.6/3) x 0.1 x 0.6 / 2.34 = 102.56 N.
    assert lateral_load(0.6, 0.0, 0.1, GROUND) == pytest.approx(102.564, abs=5e-4)
    assert needed_depth(102.564, 0.0, 0.1, GROUND) == pytest.approx(0.6, abs=5e-6)


@pytest.mark.parametrize(("constrained", "bend"), [(False, 3 * DEEPEST_BEARING), (True, DEEPEST_BEARING)])
def test_pressure_stops_growing_twelve_feet_down(constrained, bend):
    depths = bend * np.array([1 - 1e-9, 1 + 1e-9, 2.0])

    below, above, deep = lateral_load(depths, 3.0, 0.1, GROUND, constrained=constrained)

    assert above == pytest.approx(below, rel=1e-8)
    grows = 2**2 if constrained else 2**2 * (bend + 1.09 * 3) / (2 * bend + 1.09 * 3)  # under an even pressure
    assert deep == pytest.approx(above * grows, rel=1e-8)


def test_mixed_posts_in_one_call():
    both = needed_depth(500.0, 2.0, 0.1, GROUND, constrained=[False, True])

    assert list(both) == [
        needed_depth(500.0, 2.0, 0.1, GROUND),
        needed_depth(500.0, 2.0, 0.1, GROUND, constrained=True),
    ]


def test_what_is_not_known_stays_unknown():
    for constrained in (False, True):
        assert np.isnan(needed_depth(np.nan, 1.0, 0.1, GROUND, constrained=constrained))
        assert np.isnan(needed_depth(100.0, np.nan, 0.1, GROUND, constrained=constrained))
        assert np.isnan(lateral_load(0.6, np.nan, 0.1, GROUND, constrained=constrained))
        assert np.isnan(lateral_load(0.6, 1.0, np.nan, GROUND, constrained=constrained))
