"""What holds for every screw, rod and washer."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from doors.mechanics.fastener import screw_pull_out, screw_pull_over, screw_shear
from doors.mechanics.rod import METRIC, UNIFIED, rod_side_load, rod_stress, thread
from doors.mechanics.timber import washer_bearing, wood_screw_withdrawal

diameters = st.floats(0.0036, 0.00635)
sheets = st.floats(0.0003, 0.005)
strengths = st.floats(2e8, 6e8)
ratios = st.floats(0.2, 4)
forms = st.sampled_from([UNIFIED, METRIC])


@given(diameters, sheets, ratios, strengths)
def test_shear_is_bounded_by_bearing(diameter, near, ratio, strength):
    shear = screw_shear(diameter, near, near * ratio, near_ultimate=strength, far_ultimate=strength)

    assert 0 < shear <= 2.7 * diameter * strength * near * min(1, ratio) * (1 + 1e-12)


@given(diameters, sheets, ratios, ratios, strengths)
def test_a_thicker_far_sheet_never_weakens(diameter, near, one, other, strength):
    thin, thick = screw_shear(
        diameter, near, near * np.sort([one, other]), near_ultimate=strength, far_ultimate=strength
    )

    assert thick >= thin * (1 - 1e-12)


@given(diameters, sheets, st.floats(1e-9, 1e-6), strengths, st.sampled_from([1.0, 2.5]))
def test_shear_does_not_jump_where_its_rule_changes(diameter, near, step, strength, at):
    before, after = screw_shear(
        diameter, near, near * at * np.array([1 - step, 1 + step]), near_ultimate=strength, far_ultimate=strength
    )

    assert after == pytest.approx(before, rel=10 * step + 1e-9)


@given(diameters, sheets, strengths, st.floats(0.1, 10))
def test_pull_goes_with_thickness_and_strength(diameter, sheet, strength, scale):
    out, over = screw_pull_out(diameter, sheet, ultimate=strength), screw_pull_over(0.01, sheet, ultimate=strength)

    assert screw_pull_out(diameter, sheet * scale, ultimate=strength) == pytest.approx(out * scale)
    assert screw_pull_out(diameter, sheet, ultimate=strength * scale) == pytest.approx(out * scale)
    assert screw_pull_over(0.01, sheet * scale, ultimate=strength) == pytest.approx(over * scale)
    assert screw_pull_over(0.01, sheet, ultimate=strength * scale) == pytest.approx(over * scale)


@given(st.floats(0.004, 0.03), st.floats(0.02, 0.3), forms)
def test_sections_of_a_thread_keep_their_order(diameter, share, form):
    sections = thread(diameter, diameter * share, form=form)

    assert 0 < sections.root_area < sections.tensile_area < sections.gross_area


@given(st.floats(0.004, 0.03), st.floats(0.02, 0.3), forms, st.floats(0, 1), st.floats(0.001, 0.3))
def test_side_load_and_back(diameter, share, form, used, lever):
    sections = thread(diameter, diameter * share, form=form)
    tension = used * 250e6 * sections.tensile_area

    side = rod_side_load(sections, tension, lever, stress=250e6)

    assert rod_stress(sections, tension, side, lever) == pytest.approx(250e6, rel=1e-9)


@given(diameters, st.floats(0.001, 0.1), st.floats(0.31, 0.73), st.floats(0.1, 10))
def test_withdrawal_goes_with_penetration(diameter, penetration, gravity, scale):
    held = wood_screw_withdrawal(diameter, penetration, gravity)

    assert wood_screw_withdrawal(diameter, penetration * scale, gravity) == pytest.approx(held * scale)
    assert wood_screw_withdrawal(diameter, penetration, gravity, adjustment=scale) == pytest.approx(held * scale)


@given(st.floats(0.012, 0.14), st.floats(1.01, 2), st.floats(0, 1))
def test_a_wider_washer_holds_more(washer, times, end):
    small, large = washer_bearing([washer, washer * times], 0.01, 3e6, end_distance=end)

    assert large > small
