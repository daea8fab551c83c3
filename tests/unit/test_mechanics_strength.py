"""What the parts of one door hold, by hand; coefficients and limit gusts at their edges."""

import dataclasses

import numpy as np
import pytest

from doors.mechanics.fastener import KSI
from doors.mechanics.post import Soil
from doors.mechanics.strength import (
    Hanging,
    Stand,
    Strengths,
    at_least,
    built_of,
    coefficients,
    limit_gust,
)
from doors.mechanics.timber import size_factor
from doors.mechanics.wind_data import Enclosure
from doors.sizing import DoorKind, Rules, frame_of, given_of, work_out
from doors.sizing.quantity import FOOT, INCH, POUND_FORCE, SizingError
from tests.hung_doors import make_door

PSI = KSI / 1000
HANGING = Hanging(
    turning_wall=np.asarray(0.065 * INCH),
    sill_wall=np.asarray(0.083 * INCH),
    billow_wall=np.asarray(0.065 * INCH),
    rod_diameter=np.asarray(0.375 * INCH),
    stud_depth=np.asarray(5.5 * INCH),
    soil=Soil.SAND,
    hold_down_spacing=np.asarray(4 * FOOT),
)


def build(opening, hanging=HANGING, strengths=None, rules=None):
    rules, given = rules or Rules(), given_of(opening, frame_of(opening.wall))
    mid = opening.kind == DoorKind.MID_BAR
    figures = work_out(given, rules, winds_at_mid_height=mid)
    return built_of(given, figures, hanging, strengths or Strengths(), rules, winds_at_mid_height=mid)


def test_sizes():
    """12 x 10 ft mid bar: threshold 0.1 m, header 9.25 in, studs 3.5 in; tubes 3 in inside the jambs."""
    built = build(make_door())

    assert built.width == pytest.approx(12 * FOOT)
    assert built.height == pytest.approx(10 * FOOT)
    assert built.inner == 0
    assert built.billow_spacing == pytest.approx(12 * FOOT - 6 * INCH)
    assert built.hole_height == pytest.approx(0.1 + 10 * FOOT + 9.25 / 2 * INCH)
    assert built.stud_height >= 0.1 + 10 * FOOT + 9.25 * INCH
    assert built.belly == 0.1
    assert built.screw_spacing == pytest.approx(1 * FOOT)
    # clamps 2 in beyond both studs: 12 ft + 11 in = 155 in in 11 spaces of at most 15 in
    assert built.clamp_spacing == pytest.approx(155 / 11 * INCH)
    assert built.hold_down_spacing == pytest.approx(4 * FOOT)
    assert built.hold_down == 1330


def test_bending():
    """Tubes: 345 MPa x S, 2048 mm³ for 1.660 x 0.065 in; 1.315 x 0.083 in: 1526 mm³.

    Wood: 2.54 x 875 = 2222.5 psi, x 1.3 for 5.5 in, x 1.1 for 9.25 in. Stud 3.5 x 5.5 in: S = 17.6458 and 11.2292 in³;
    header 3 x 9.25 in: 13.875 flat, half of it where two boards slide on each other, and 42.78125 in³ on edge.
    """
    built = build(make_door())

    assert built.bar_moment == pytest.approx(345e6 * 2048e-9, rel=1e-3)
    assert built.billow_moment == built.bar_moment
    assert built.sill_moment == pytest.approx(345e6 * 1526e-9, rel=1e-3)
    assert built.stud_moment / (PSI * INCH**3) == pytest.approx(2222.5 * 1.3 * 17.6458, rel=1e-5)
    assert built.stud_moment_sideways / (PSI * INCH**3) == pytest.approx(2222.5 * 1.3 * 11.2292, rel=1e-5)
    assert built.header_moment / (PSI * INCH**3) == pytest.approx(2222.5 * 1.1 * 13.875 / 2, rel=1e-5)
    assert built.header_moment_down / (PSI * INCH**3) == pytest.approx(2222.5 * 1.1 * 42.78125, rel=1e-5)


def test_a_bottom_bar_is_its_own_sill_bar():
    built = build(make_door(kind=DoorKind.BOTTOM_BAR))

    assert built.sill_moment == built.bar_moment
    assert built.tube_screw == pytest.approx(
        # the thinner of channel and bar: 4.2 sqrt(0.065³ x 0.216) x 45 ksi and 2.7 x 0.050 x 0.216 x 45 ksi; 1312 lbf
        min(4.2 * np.sqrt(0.065**3 * 0.216) + 0.2 * (2.7 * 0.05 * 0.216 - 4.2 * np.sqrt(0.065**3 * 0.216)),
            2.7 * 0.05 * 0.216) * 45_000 * POUND_FORCE, rel=1e-6
    )  # fmt: skip


def test_fastenings():
    """Wood screw: 2850 x 0.42² x 0.216 x 1 in = 108.6 lbf, x 3.32. Clamp screw: 0.85 x 0.065 x 0.216 x 45 ksi.

    Rod 3/8-16: At = 0.0775 in² x 36 ksi = 2790 lbf; its washer: 1 in less a hole of 7/16 in, 425 psi x 1.67:
    709.75 x 0.785398 x (1 - 0.191406) = 450.7 lbf, the lesser.
    """
    built = build(make_door())

    assert built.wood_screw / POUND_FORCE == pytest.approx(108.59 * 3.32, rel=1e-4)
    assert built.clamp / POUND_FORCE == pytest.approx(537.0, rel=1e-3)
    assert built.rod_pull / POUND_FORCE == pytest.approx(450.7, rel=1e-3)
    bare = build(make_door(), strengths=Strengths(washer=3 * INCH))
    assert bare.rod_pull / POUND_FORCE == pytest.approx(36_000 * 0.0775, rel=2e-3)


def test_a_rod_thicker_than_the_usual_washer_gets_a_wider_one():
    """1 in rod: the washer is taken as 1.9 in, its hole 1 1/16 in."""
    built = build(make_door(), dataclasses.replace(HANGING, rod_diameter=np.asarray(1.0 * INCH)))
    area = np.pi / 4 * (1.9**2 - 1.0625**2)

    assert built.rod_pull / POUND_FORCE == pytest.approx(425 * 1.67 * area, rel=1e-6)


def test_film():
    """6 mil of 10 MPa: 1524 N/m; half as strong when half is left."""
    assert build(make_door()).film_pull == pytest.approx(1524)
    assert build(make_door(), dataclasses.replace(HANGING, film_left=np.asarray(0.5))).film_pull == pytest.approx(762)


def test_soil():
    """24 in of 1.66 in tube in sand, pushed at grade.

    IBC: S1 = 2 x 150 psf/ft x 2/3 ft = 200 psf; P = S1 b d/2.34 = 200 x 0.138333 x 2 / 2.34 = 23.65 lbf.
    Broms: phi 32 degrees, Kp 3.2546: 18 000 x 0.042164 x 0.6096² x 3.2546 / 2 = 459 N.
    """
    built = build(make_door())

    assert built.soil_leans / POUND_FORCE == pytest.approx(23.65, rel=1e-3)
    assert built.soil_push == pytest.approx(459, rel=1e-3)
    unknown = build(make_door(), dataclasses.replace(HANGING, soil=None))
    assert np.isnan([unknown.soil_leans, unknown.soil_push]).all()


def test_what_hangs_at_the_lower_edge():
    """Mid bar: sill bar 12 ft + 7 in + 19 in = 14 ft 2 in of 1.315 x 0.083 in (1.627 kg/m) and of channel 0.35 kg/m;
    12 clamps of 0.03 kg; half of a panel 174 in wide and 5 ft high at 0.140208 kg/m².
    """
    length, film = (14 + 2 / 12) * FOOT, 0.140208 * 174 * INCH * 5 * FOOT / 2
    built = build(make_door())

    assert built.lower_weight == pytest.approx(9.80665 * (length * (1.627 + 0.35) + 12 * 0.03 + film), rel=1e-3)


def test_a_bottom_bars_weight():
    """Turning bar, its clamps, half of the film; no channel."""
    opening = make_door(kind=DoorKind.BOTTOM_BAR)
    figures = work_out(given_of(opening, frame_of(opening.wall)), Rules(), winds_at_mid_height=False)
    film = 0.140208 * 174 * INCH * 10 * FOOT / 2
    bar = float(figures.turning_bar.length) * 1.650

    assert build(opening).lower_weight == pytest.approx(9.80665 * (bar + 12 * 0.03 + film), rel=1e-3)


@pytest.mark.parametrize(
    ("field", "unknown"),
    [
        ("turning_wall", {"bar_moment", "clamp"}),
        ("sill_wall", {"sill_moment", "tube_screw", "lower_weight"}),
        ("billow_wall", {"billow_moment"}),
        ("rod_diameter", {"rod_pull"}),
        ("stud_depth", {"stud_moment", "stud_moment_sideways"}),
        ("hold_down_spacing", {"hold_down_spacing"}),
        ("film_left", {"film_pull"}),
    ],
)
def test_what_is_not_known_stays_unknown(field, unknown):
    built = build(make_door(), dataclasses.replace(HANGING, **{field: np.asarray(np.nan)}))
    found = {one.name for one in dataclasses.fields(built) if np.isnan(getattr(built, one.name)).any()}

    assert found == unknown


def test_an_unknown_frame_leaves_the_studs_held_at_the_header():
    bare = make_door(wall=dataclasses.replace(make_door().wall, shape=None))

    assert build(bare).stud_height == pytest.approx(0.1 + 10 * FOOT + 9.25 * INCH)


def test_a_header_above_the_frame_holds_the_studs():
    """A frame lower than the header's upper edge is not what holds them."""
    deep = make_door(header_depth=3.0)

    assert build(deep).stud_height == pytest.approx(0.1 + 10 * FOOT + 3.0)


# NDS Supplement 2018, Table 4A: 2x4, 2x5, 2x6, 2x8, 2x10, 2x12, 2x14
@pytest.mark.parametrize(
    ("inches", "factor"),
    [(1.5, 1.5), (3.5, 1.5), (4.5, 1.4), (5.5, 1.3), (7.25, 1.2), (9.25, 1.1), (11.25, 1.0), (13.25, 0.9), (20, 0.9)],
)
def test_size_factor(inches, factor):
    assert size_factor(inches * INCH) == pytest.approx(factor)


def test_size_factor_of_nothing_is_refused():
    with pytest.raises(SizingError, match="width is 0: must be above 0"):
        size_factor(0.0)
    assert np.isnan(size_factor(np.array([np.nan, 0.1]))).tolist() == [True, False]


def test_coefficients_head_on_sideways_and_unknown():
    """120 ft², zone 4: 1.1766 - 0.1766 log10 120 = 0.8094 in, 1.2766 - 0.3672 = 0.9094 out; inside 0.18.

    Head on the push is full and no suction: 0.9894 in, and out only what is left of 0.18 against the push: 0.
    Along the wall: no push; 0.9094 + 0.18 out. Not known: both, each with 0.18.
    """
    head_on, along, unknown = (coefficients(120 * FOOT**2, angle, Enclosure.ENCLOSED) for angle in (0, 90, np.nan))

    assert (head_on.inward, head_on.outward) == pytest.approx((0.9894, 0), abs=2e-4)
    assert (along.inward, along.outward) == pytest.approx((0, 1.0894), abs=2e-4)
    assert (unknown.inward, unknown.outward) == pytest.approx((0.9894, 1.0894), abs=2e-4)


def test_an_opening_elsewhere_pushes_from_inside():
    shut, torn = (coefficients(10.0, np.nan, one) for one in (Enclosure.ENCLOSED, Enclosure.PARTLY_ENCLOSED))

    assert torn.outward - shut.outward == pytest.approx(0.55 - 0.18)


def test_limit_gusts():
    """0.613 x 20² x 1.2 = 294.24 Pa."""
    found = limit_gust(
        np.array([294.24, np.inf, 100.0, np.nan, 100.0, 0.0]), np.array([1.2, 1.0, 0.0, 1.0, np.nan, 0.0])
    )

    assert found == pytest.approx([20, np.inf, np.inf, np.nan, np.nan, np.inf], nan_ok=True)


def stand(inward, outward, link=0.0):
    inward, outward = np.asarray(inward, dtype=np.float64), np.asarray(outward, dtype=np.float64)
    none = np.zeros_like(inward)
    return Stand(inward, outward, none, none + link, none + link)


def test_what_has_given_leaves_the_door_as_before():
    found = at_least(
        stand([5.0, 7.0, np.nan, 5.0], [1.0, 1.0, 1.0, 1.0], 3.0),
        stand([6.0, 6.0, 6.0, np.nan], [2.0, 1.0, 0.5, np.nan], 2.0),
    )

    assert found.inward == pytest.approx([6, 7, np.nan, 5], nan_ok=True)
    assert found.outward == pytest.approx([2, 1, 1, 1])
    assert found.inward_link == pytest.approx([-1, 3, 3, 3])
    assert found.outward_link == pytest.approx([-1, 3, 3, 3])
