"""What holds for every post in earth."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from doors.mechanics.post import lateral_load, needed_depth

depths = st.floats(0.01, 40)
loads = st.floats(0.1, 1e6)
heights = st.floats(0.01, 20)
widths = st.floats(0.02, 2)
grounds = st.floats(1e3, 4e5)
more = st.floats(1.01, 2)
constraints = st.booleans()


@given(depths, heights, widths, grounds, constraints, st.sampled_from([1.0, 1.5, 2.0]))
def test_depth_and_back(depth, height, width, ground, constrained, factor):
    load = lateral_load(depth, height, width, ground, constrained=constrained, factor=factor)

    back = needed_depth(load, height, width, ground, constrained=constrained, factor=factor)

    assert back == pytest.approx(depth, rel=1e-10)


@given(loads, heights, widths, grounds)
def test_a_free_post_obeys_the_printed_equation(load, height, width, ground):
    depth = needed_depth(load, height, width, ground)

    # Eq. 18-1 as it is printed, with the pressure at a third of the depth that came out.
    area = 2.34 * load / (ground * min(depth / 3, 12 * 0.3048) * width)
    assert depth == pytest.approx(area / 2 * (1 + np.sqrt(1 + 4.36 * height / area)), rel=1e-9)


@given(loads, heights, widths, grounds, constraints, more)
def test_more_load_needs_more_depth_and_better_ground_less(load, height, width, ground, constrained, times):
    def depth(load=load, height=height, width=width, ground=ground, **options):
        return needed_depth(load, height, width, ground, constrained=constrained, **options)

    assert depth(load=load * times) > depth()
    assert depth(height=height * times) > depth()
    assert depth(width=width * times) < depth()
    assert depth(ground=ground * times) < depth()


@given(loads, heights, widths, grounds, constraints)
def test_half_an_inch_of_motion_is_worth_twice_the_ground(load, height, width, ground, constrained):
    moving = needed_depth(load, height, width, ground, constrained=constrained, factor=2.0)

    assert moving == needed_depth(load, height, width, 2 * ground, constrained=constrained)


@given(depths, heights, widths, grounds, constraints)
def test_load_goes_with_width_and_ground(depth, height, width, ground, constrained):
    load = lateral_load(depth, height, width, ground, constrained=constrained)

    assert lateral_load(depth, height, 2 * width, ground, constrained=constrained) == pytest.approx(2 * load)
    assert lateral_load(depth, height, width, 3 * ground, constrained=constrained) == pytest.approx(3 * load)


@given(st.floats(0.01, 3.6), heights, widths, grounds)
def test_a_floor_at_grade_helps_a_post_that_is_pushed_high(depth, height, width, ground):
    # d^2 / 4.25h against d^2 / 7.02 (d + 1.09h): the floor wins once 7.02 (d + 1.09h) > 4.25h, which is always.
    held = lateral_load(depth, height, width, ground, constrained=True)

    assert held > lateral_load(depth, height, width, ground)
