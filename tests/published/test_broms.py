"""The side load that uproots a short post, against Broms's own balance.

Clay: https://oercollective.caul.edu.au/fundamentals-of-foundation-engineering/chapter/
6-24-broms-method-piles-in-undrained-soil, Eq. 6.104 and 6.105 (f = H / 9 Su D, M = H (e + 1.5 D + 0.5 f)), and
"Broms method for analysis of single piles under lateral loading", ja.scribd.com/document/339904414, Eq. A.1 to A.5
(M = 2.25 cu b g², L = 1.5 b + f + g). Sand: Broms 1964, from memory: three times Rankine's passive pressure over the
post's width, balanced about its tip.
"""

import numpy as np
import pytest

from doors.mechanics.post import BEARING, ISOLATED_POLE, Soil, lateral_load
from doors.mechanics.uproot import EARTHS, uproot, uproot_clay, uproot_sand
from doors.sizing.quantity import FOOT, INCH, SizingError

# depth, height of the load, width [m], undrained shear strength [Pa]
CLAYS = [(0.61, 0.0, 0.042, 25e3), (0.61, 0.5, 0.042, 25e3), (1.2, 1.5, 0.09, 40e3), (3.0, 0.3, 0.3, 60e3)]


@pytest.mark.parametrize(("depth", "height", "width", "shear"), CLAYS)
def test_clay_fulfils_the_published_balance(depth, height, width, shear):
    load = float(uproot_clay(depth, height, width, shear=shear))
    f = load / (9 * shear * width)
    g = depth - 1.5 * width - f

    assert g > 0
    assert load * (height + 1.5 * width + 0.5 * f) == pytest.approx(2.25 * shear * width * g**2)


@pytest.mark.parametrize(("depth", "height", "width", "shear"), CLAYS)
def test_clay_balances_in_thin_slices(depth, height, width, shear):
    """A rigid post turns about a point: full resistance one way above, the other below, none in the top 1.5 b."""
    slices = 200_000
    at = (np.arange(slices) + 0.5) / slices * depth
    full = np.where(at > 1.5 * width, 9 * shear * width, 0.0) * depth / slices
    arms = np.cumsum(full * (at + height))  # about the load
    turned_back = arms <= arms[-1] / 2  # resistance above the point and below it turns alike about the load
    load = full[turned_back].sum() - full[~turned_back].sum()

    assert uproot_clay(depth, height, width, shear=shear) == pytest.approx(load, rel=1e-3)


@pytest.mark.parametrize(("depth", "height", "width"), [row[:3] for row in CLAYS])
@pytest.mark.parametrize("degrees", [20.0, 32.0, 45.0])
def test_sand_balances_about_its_tip(depth, height, width, degrees):
    passive = np.tan(np.radians(45 + degrees / 2)) ** 2
    slices = 20_000
    at = (np.arange(slices) + 0.5) / slices * depth
    moment = (3 * passive * 18_000 * at * width * (depth - at)).sum() * depth / slices
    load = uproot_sand(depth, height, width, friction=np.radians(degrees), weight=18_000.0)

    assert load == pytest.approx(moment / (height + depth), rel=1e-6)


def test_by_hand():
    """Sand of 30 degrees: Kp = 3; 18 kN/m³, 0.6 m deep, 0.05 m wide, pushed at grade:
    18 000 x 0.05 x 0.6³ x 3 / (2 x 0.6) = 486 N; 0.6 m above grade half of it.
    Clay of 20 kPa, 0.575 m deep, 0.05 m wide: l = 0.5, 2 e' = 0.15, lever 0.65:
    9 x 20 000 x 0.05 x (sqrt(0.65² + 0.5²) - 0.65) = 9000 x 0.170061 = 1530.5 N.
    """
    sand = uproot_sand(0.6, np.array([0.0, 0.6]), 0.05, friction=np.radians(30), weight=18_000.0)

    assert sand == pytest.approx([486, 243])
    assert uproot_clay(0.575, 0.0, 0.05, shear=20_000.0) == pytest.approx(1530.5, rel=1e-4)


@pytest.mark.parametrize("soil", Soil)
def test_classes_of_ground(soil):
    """Deeper, wider and lower holds more; what uproots is more than what makes it lean."""
    depth, width = 24 * INCH, 1.66 * INCH
    hold = uproot(depth, 0.0, width, soil)

    assert uproot(2 * depth, 0.0, width, soil) > 2 * hold
    assert uproot(depth, 0.0, 2 * width, soil) > hold
    assert uproot(depth, 1 * FOOT, width, soil) < hold
    assert hold > lateral_load(depth, 0.0, width, BEARING[soil].lateral, factor=ISOLATED_POLE)


def test_each_class_has_friction_or_shear_but_not_both():
    assert all(np.isnan(earth.shear) != np.isnan(earth.friction) for earth in EARTHS.values())


def test_arrays_and_unknowns():
    sand, clay = (uproot(np.array([0.6, np.nan]), 0.0, 0.05, soil) for soil in (Soil.SAND, Soil.CLAY))

    assert np.isnan([sand[1], clay[1]]).all()
    assert sand[0] == uproot(0.6, 0.0, 0.05, Soil.SAND)


def test_clay_does_not_hold_a_post_within_its_dead_zone():
    assert uproot_clay(0.07, 0.0, 0.05, shear=25e3) == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"depth": 0.0}, "depth is 0: must be above 0"),
        ({"height": -0.1}, "height is -0.1: must be at least 0"),
        ({"width": 0.0}, "width is 0: must be above 0"),
    ],
)
def test_sizes_no_post_has_are_refused(arguments, message):
    sizes = {"depth": 0.6, "height": 0.0, "width": 0.05} | arguments
    for soil in (Soil.SAND, Soil.CLAY):
        with pytest.raises(SizingError, match=message):
            uproot(sizes["depth"], sizes["height"], sizes["width"], soil)


def test_ground_outside_the_formula_is_refused():
    for friction, relation in ((0.3, "at least"), (0.9, "at most")):
        with pytest.raises(SizingError, match=f"friction is .* must be {relation}"):
            uproot_sand(0.6, 0.0, 0.05, friction=friction, weight=18_000.0)
    with pytest.raises(SizingError, match="weight"):
        uproot_sand(0.6, 0.0, 0.05, friction=0.5, weight=0.0)
    with pytest.raises(SizingError, match="shear"):
        uproot_clay(0.6, 0.0, 0.05, shear=0.0)
