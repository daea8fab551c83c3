"""Limits of screws, rods and washers."""

import numpy as np
import pytest

from doors.mechanics.fastener import (
    LEAST_HEAD,
    THICKEST_SCREW,
    THINNEST_SCREW,
    screw_diameter,
    screw_pull_out,
    screw_pull_over,
    screw_shear,
)
from doors.mechanics.rod import rod_side_load, rod_strength, rod_stress, thread
from doors.mechanics.timber import THICKEST_WOOD_SCREW, THINNEST_WOOD_SCREW, washer_bearing, wood_screw_withdrawal
from doors.sizing.quantity import INCH, SizingError

D, T, HEAD = 0.0048, 0.0006, 0.010
ROD = thread(0.375 * INCH, INCH / 16)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: screw_diameter(-1), "number"),
        (lambda: screw_diameter(25), "number"),
        (lambda: screw_shear(THINNEST_SCREW * 0.99, T, T), "diameter"),
        (lambda: screw_shear(THICKEST_SCREW * 1.01, T, T), "diameter"),
        (lambda: screw_shear(D, T, T, spacing=2.9 * D), "spacing"),
        (lambda: screw_shear(D, T, T, edge=1.4 * D), "edge"),
        (lambda: screw_shear(D, 0.0, T), "near"),
        (lambda: screw_shear(D, T, 0.0), "far"),
        (lambda: screw_shear(D, T, T, near_ultimate=0.0), "near_ultimate"),
        (lambda: screw_shear(D, T, T, far_ultimate=0.0), "far_ultimate"),
        (lambda: screw_pull_out(THICKEST_SCREW * 1.01, T), "diameter"),
        (lambda: screw_pull_out(D, T, spacing=2.9 * D), "spacing"),
        (lambda: screw_pull_out(D, T, edge=1.4 * D), "edge"),
        (lambda: screw_pull_out(D, 0.0), "thickness"),
        (lambda: screw_pull_out(D, T, ultimate=0.0), "ultimate"),
        (lambda: screw_pull_over(LEAST_HEAD * 0.99, T), "head"),
        (lambda: screw_pull_over(HEAD, 0.0), "thickness"),
        (lambda: screw_pull_over(HEAD, T, ultimate=0.0), "ultimate"),
        (lambda: thread(0.01, 0.0), "pitch"),
        (lambda: thread(0.01, 0.005), "pitch"),
        (lambda: thread(0.0, 0.001), "pitch"),
        (lambda: rod_strength(ROD, yield_stress=0.0), "yield_stress"),
        (lambda: rod_strength(ROD, yield_stress=3e8, ultimate=2e8), "ultimate"),
        (lambda: rod_stress(ROD, -1.0, 1.0, 0.1), "tension"),
        (lambda: rod_stress(ROD, 1.0, -1.0, 0.1), "side_load"),
        (lambda: rod_stress(ROD, 1.0, 1.0, -0.1), "lever"),
        (lambda: rod_side_load(ROD, -1.0, 0.1), "tension"),
        (lambda: rod_side_load(ROD, 1.0, 0.0), "lever"),
        (lambda: rod_side_load(ROD, 1.0, 0.1, stress=0.0), "stress"),
        (lambda: wood_screw_withdrawal(THINNEST_WOOD_SCREW * 0.99, 0.03, 0.42), "diameter"),
        (lambda: wood_screw_withdrawal(THICKEST_WOOD_SCREW * 1.01, 0.03, 0.42), "diameter"),
        (lambda: wood_screw_withdrawal(D, -0.01, 0.42), "penetration"),
        (lambda: wood_screw_withdrawal(D, 0.03, 0.30), "gravity"),
        (lambda: wood_screw_withdrawal(D, 0.03, 0.74), "gravity"),
        (lambda: wood_screw_withdrawal(D, 0.03, 0.42, adjustment=0.0), "adjustment"),
        (lambda: washer_bearing(0.03, 0.0, 3e6), "hole"),
        (lambda: washer_bearing(0.01, 0.01, 3e6), "washer"),
        (lambda: washer_bearing(0.03, 0.01, 0.0), "bearing"),
        (lambda: washer_bearing(0.03, 0.01, 3e6, end_distance=-0.1), "end_distance"),
        (lambda: washer_bearing(0.03, 0.01, 3e6, adjustment=0.0), "adjustment"),
    ],
)
def test_what_no_fastener_can_be(call, field):
    with pytest.raises(SizingError) as raised:
        call()

    assert raised.value.field == field


def test_limits_are_still_within():
    assert screw_shear(THINNEST_SCREW, T, T) > 0
    assert screw_shear(THICKEST_SCREW, T, T, spacing=3 * THICKEST_SCREW, edge=1.5 * THICKEST_SCREW) > 0
    assert screw_pull_over(LEAST_HEAD, T) > 0
    assert wood_screw_withdrawal(THINNEST_WOOD_SCREW, 0.0, [0.31, 0.73]) == pytest.approx([0, 0])


def test_a_rod_that_its_pull_uses_up_takes_no_side_load():
    too_much = 200e6 * ROD.tensile_area

    assert rod_side_load(ROD, too_much, 0.05, stress=200e6) == pytest.approx(0, abs=1e-9)
    assert rod_side_load(ROD, 2 * too_much, 0.05, stress=200e6) == 0


def test_what_is_not_known_stays_unknown():
    assert np.isnan(screw_shear(D, T, np.nan))
    assert np.isnan(screw_pull_out(np.nan, T))
    assert np.isnan(screw_pull_over(np.nan, T))
    assert np.isnan(rod_side_load(ROD, np.nan, 0.1))
    assert np.isnan(washer_bearing(np.nan, 0.01, 3e6))
