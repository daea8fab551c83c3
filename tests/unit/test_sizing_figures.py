"""Every number of a film door, worked out by hand in inches for the opening of tests/openings.py."""

import math
from dataclasses import replace

import numpy as np
import pytest

from doors.sizing import INCH, DoorKind, Rules, Side, SizingError, frame_of, given_of, work_out
from doors.sizing.figures import choose_roll
from doors.sizing.layout import FilmPanel
from farm.geometry import Shape
from tests.openings import FEET, make_design, make_opening

RULES = Rules()


def figures_of(rules=RULES, **changes):
    opening = make_opening(**changes)
    given = given_of(opening, frame_of(opening.wall))
    return work_out(given, rules, winds_at_mid_height=opening.kind == DoorKind.MID_BAR)


def gothic(from_middle):
    """Height in inches of a gothic arch 360 in wide, 174 in to the ridge, 60 in sides: a planning shape, no source."""
    return 60 + 114 * (1 - (abs(from_middle) / 180) ** 1.7)


def test_bars_and_joint():
    made = figures_of()

    assert float(made.turning_bar.start) / INCH == pytest.approx(-10)
    assert float(made.turning_bar.length) / INCH == pytest.approx(299.5)
    assert float(made.turning_joint) / INCH == pytest.approx(14)  # 24 in from the free end, see test_sizing_layout
    assert float(made.sill_bar.length) / INCH == pytest.approx(170)


def test_the_header_hole_and_the_tubes_under_it():
    made = figures_of()

    # Half way up the header: 108 + 9.25 / 2.
    assert float(made.header_hole_height) / INCH == pytest.approx(112.625)
    # 24 in the ground, 1 up to the threshold, up to the hole, 3 above it.
    assert float(made.billow_length) / INCH == pytest.approx(24 + 1 + 112.625 + 3)


def test_a_post_beside_a_straight_side_stands_upright():
    # Half height, 1 + 54 in, lies below the 60 in side. 24 in the ground, 1 + 108 + 9.25 + 2 above it.
    made = figures_of()

    assert made.post_lean == 0
    assert float(made.post_length) / INCH == pytest.approx(144.25)


def test_a_post_beside_an_arch_leans_with_it():
    # 132 in high: half height is 1 + 66 = 67 in. There the arch has (67 - 60) / 114 = 1 - (d/180)^1.7 behind it.
    made = figures_of(rough_height=132 * INCH, offset=108 * INCH)
    inset = 180 - 180 * (1 - 7 / 114) ** (1 / 1.7)
    lean = math.atan(inset / 67)

    assert float(made.post_lean) == pytest.approx(lean)
    assert float(made.post_length) / INCH == pytest.approx(24 + (1 + 132 + 9.25 + 2) / math.cos(lean))


def test_the_strip_hangs_from_the_frame_beside_the_drive():
    made = figures_of()

    # The bar ends at 289.5, its last clamp sits at 149.5.
    assert float(made.drive_overhang) / INCH == pytest.approx(140)
    # Middle of the strip: 13.5 in past the side and half of 12 in inside it, so 6 in inside the corner.
    assert float(made.strip_place) / INCH == pytest.approx(132 + 144 - 6)
    # From the frame there down to the bar at 55 in, 4 in for the channel and 4 in for the first turn.
    assert float(made.strip_length) / INCH == pytest.approx(gothic(174) - 55 + 8)


def test_the_strip_hangs_no_higher_than_the_post():
    # A frame 130 in high all along: the post ends at 1 + 108 + 9.25 + 2 = 120.25 in.
    made = figures_of(
        wall={"shape": Shape.MEASURED, "points": tuple((x * INCH, 130 * INCH) for x in (0, 360)), "side": None}
    )

    assert float(made.strip_length) / INCH == pytest.approx(120.25 - 55 + 8)


def test_no_strip_within_the_rule():
    # A drive on the left with 36 in between opening and corner: 36 + 13.5 - 5.5 = 44 in of overhang, 48 are free.
    made = figures_of(offset=36 * INCH, design={"drive_side": Side.LEFT})

    assert float(made.drive_overhang) / INCH == pytest.approx(44)
    assert made.strip_length == 0


def test_no_strip_where_the_frame_is_lower_than_the_bar():
    # A 30 in side: 6 in inside the corner the arch is some 38 in high, the bar rests at 55.
    made = figures_of(wall={"side": 30 * INCH})

    assert made.strip_length == 0


def test_an_unknown_overhang_makes_no_strip():
    made = figures_of(wall={"stud_face": None})

    assert np.isnan(made.drive_overhang)
    assert np.isnan(made.strip_length)


def test_the_rod_reaches_through_all():
    # Inside a nut of 0.328125 and a washer of 0.065; 3 of header; 2.5 to the tube's middle, in which the washers and
    # nuts between header and tube find room; half of 1.315 behind it; a washer and a nut, or two.
    made = figures_of()

    assert float(made.rod_needed_one_nut) / INCH == pytest.approx(0.65625 + 0.13 + 3 + 2.5 + 0.6575)
    assert float(made.rod_needed) / INCH == pytest.approx(0.984375 + 0.13 + 3 + 2.5 + 0.6575)


def test_channel_and_screws():
    made = figures_of()

    # Header: 144 + 2 x 3.5 = 151; 149 between the end screws, 13 spaces. Jamb: 108; 106, 9 spaces. Sill: 170; 168, 14.
    assert float(made.header_channel.length) / INCH == pytest.approx(151)
    assert [made.header_screws.count, made.jamb_screws.count, made.sill_screws.count] == [14, 10, 15]
    assert float(made.header_screws.spacing) / INCH == pytest.approx(149 / 13)
    assert float(made.jamb_screws.spacing) / INCH == pytest.approx(106 / 9)


def test_what_is_clear_between_the_tubes():
    # Their middles stand 3 in inside the jambs, half of 1.315 in towards each other: 144 - 2 x 3.6575.
    assert float(figures_of().clear_width) / INCH == pytest.approx(136.685)


def test_the_frame_at_the_outer_faces_of_the_studs():
    # 84 - 3.5 = 80.5 in from the left corner, 231.5 in: 99.5 and 51.5 in from the middle. 1 + 108 + 12 in are needed.
    made = figures_of()

    assert float(made.arch_left) / INCH == pytest.approx(gothic(99.5))
    assert float(made.arch_right) / INCH == pytest.approx(gothic(51.5))
    assert float(made.head_needed) / INCH == pytest.approx(121)


def test_a_deep_header_needs_its_own_room():
    # 14 in of header are more than the 12 in of headroom a film door wants.
    assert float(figures_of(header_depth=14 * INCH).head_needed) / INCH == pytest.approx(1 + 108 + 14)


def test_a_geared_crank_turns_more_often():
    one, four = figures_of(), figures_of(design={"gear_ratio": 4.0})

    assert one.crank_turns == one.winding.turns_to_open
    assert four.crank_turns == pytest.approx(4 * float(one.winding.turns_to_open))


def panel(width, height):
    return FilmPanel(np.asarray(width * FEET * INCH), np.asarray(height * FEET * INCH), np.asarray(0.0))


@pytest.mark.parametrize(
    ("size", "rolls", "chosen", "runs_down"),
    [
        ((14, 12), (14, 16), 14, True),  # 14 x 12 ft of film; across, 14 x 14 ft
        ((14, 12), (12, 16), 12, False),  # 12 x 14 ft; down, 16 x 12 ft
        ((14, 12), (16, 13), 13, False),  # 13 x 14 = 182 sq ft against 16 x 12 = 192
        ((14, 12), (20,), 20, True),  # 20 x 12 = 240 against 20 x 14 = 280
        ((12, 14), (20,), 20, False),
        ((14, 12), (13,), 13, False),  # not wide enough to run down
        ((12, 12), (12,), 12, True),  # either way: down is simpler to hang
    ],
)
def test_the_roll_that_wastes_least(size, rolls, chosen, runs_down):
    width, down = choose_roll(panel(*size), tuple(feet * FEET * INCH for feet in rolls))

    assert float(width) / INCH == pytest.approx(chosen * FEET)
    assert bool(down) is runs_down


@pytest.mark.parametrize("rolls", [(), (11.9,)])
def test_no_roll_is_wide_enough(rolls):
    width, down = choose_roll(panel(14, 12), tuple(feet * FEET * INCH for feet in rolls))

    assert np.isnan(width)
    assert np.isnan(down)


@pytest.mark.parametrize("half_feet", range(16, 45))
def test_a_roll_exactly_as_wide_as_the_panel_serves(half_feet):
    # 138 in + 2 x 15 in are 168 in, 14 ft, but binary metres may make the panel a hair wider.
    made = figures_of(
        rough_width=(half_feet * 6 - 30) * INCH,
        offset=12 * INCH,
        design=replace(make_design(), film=replace(make_design().film, roll_widths=(half_feet * 0.5 * 0.3048,))),
    )

    assert not np.isnan(made.roll_width)


def test_an_opening_has_room_between_its_tubes():
    # 2 x 3 in to the tubes' middles and 1.315 in of tube: 7.315 in.
    with pytest.raises(SizingError) as caught:
        figures_of(rough_width=7.3 * INCH)

    assert (caught.value.field, caught.value.limit) == ("rough_width", pytest.approx(7.315 * INCH))


def test_the_clamps_line_lies_above_the_threshold():
    # Half of 8 in less 4 in leaves nothing.
    with pytest.raises(SizingError) as caught:
        figures_of(rough_height=8 * INCH)

    assert (caught.value.field, caught.value.limit) == ("rough_height", pytest.approx(8 * INCH))


def test_the_bottom_bar_has_no_second_line():
    assert np.isfinite(figures_of(kind=DoorKind.BOTTOM_BAR, rough_height=8 * INCH).winding.turns_to_open)


def test_two_openings_of_one_array():
    rows = [given_of(make_opening(rough_width=width * INCH), None) for width in (96, 144)]
    both = replace(rows[0], rough_width=np.array([row.rough_width for row in rows]))

    made = work_out(both, RULES, winds_at_mid_height=True)

    assert made.turning_bar.length / INCH == pytest.approx([299.5, 299.5])  # one end past the wall, whatever the width
    assert made.panel.width / INCH == pytest.approx([126, 174])


def test_an_array_is_refused_by_its_first_fault():
    given = replace(given_of(make_opening(), None), rough_height=np.array([2.0, -1.0, -2.0]))

    with pytest.raises(SizingError, match=r"rough_height \(opening 1\) is -1: must be above 0") as caught:
        work_out(given, RULES, winds_at_mid_height=True)

    assert (caught.value.index, caught.value.value) == (1, -1.0)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_an_array_has_sizes_everywhere(value):
    given = replace(given_of(make_opening(), None), rough_width=np.array([2.0, value]))

    with pytest.raises(SizingError) as caught:
        work_out(given, RULES, winds_at_mid_height=True)

    assert (caught.value.field, caught.value.relation, caught.value.index) == ("rough_width", "finite", 1)
