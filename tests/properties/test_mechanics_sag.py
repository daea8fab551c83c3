"""What holds for every bar on films that pull up and never press down."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from doors.mechanics.sag import drive_overhang

clamp_sets = st.lists(st.integers(0, 40), min_size=2, max_size=8, unique=True).map(lambda at: np.sort(at) / 10)
weights = st.floats(1, 50)


@given(clamp_sets, st.floats(0.1, 4), weights, st.floats(0, 200), st.floats(0, 60))
def test_a_bar_tips_where_its_weight_hangs_beyond_its_films(clamps, beyond, weight, gearbox, below):
    first, last = float(clamps[0]), float(clamps[-1])
    length = last + beyond
    loads = [(weight * length, length / 2), (gearbox, length), (below * (last - first), (first + last) / 2)]
    middle = sum(load * at for load, at in loads) / sum(load for load, _ in loads)
    assume(abs(middle - last) > 1e-3 and first < middle)
    found = drive_overhang(length, clamps, drive_place=length, strip_place=None, stiffness=8636.0, weight=weight,
                           gearbox_weight=gearbox, below=below)  # fmt: skip

    assert np.isinf(found.tip) == (middle > last)
    assert found.moment == pytest.approx(weight * beyond**2 / 2 + gearbox * beyond)


@given(clamp_sets, st.floats(0.1, 1), weights, st.floats(0, 60), st.floats(0, 60), st.floats(0.05, 0.95))
def test_a_strip_never_lets_the_tip_down(clamps, beyond, weight, gearbox, below, share):
    length = float(clamps[-1]) + beyond
    found = drive_overhang(length, clamps, drive_place=length, strip_place=float(clamps[-1]) + share * beyond,
                           stiffness=8636.0, weight=weight, gearbox_weight=gearbox, below=below)  # fmt: skip

    # Where the span beside it bends so that the tip rises, the strip may hold it lower, but never below the line.
    assert found.tip_with_strip <= max(found.tip, 0) + 1e-9
