"""Where everything sits, worked out by hand in inches as the trade does.

The opening is 144 in wide, 84 in from the left corner of a wall 360 in wide: 132 in are left of it on the right.
"""

import numpy as np
import pytest

from doors.sizing import INCH, Rules
from doors.sizing.layout import (
    Span,
    channel_screws,
    clamps,
    film_panel,
    joint,
    sill_bar,
    spread,
    supports,
    turning_bar,
)
from tests.openings import FEET

RULES = Rules()
WIDTH, OFFSET, WALL, STUD = 144 * INCH, 84 * INCH, 360 * INCH, 3.5 * INCH
RIGHT, LEFT = 1.0, 0.0


def in_inches(*values):
    return [float(value) / INCH for value in values]


def test_marks_share_the_distance_in_the_fewest_spaces():
    # 40 in at 15 in at most: three spaces of 13 1/3 in, four marks.
    marks = spread(0.0, 40.0, 15.0)

    assert (marks.first, marks.last, marks.count, marks.spacing) == (0, 40, 4, pytest.approx(40 / 3))


@pytest.mark.parametrize("spaces", range(1, 200))
def test_whole_spaces_get_no_extra_mark(spaces):
    # n x 15 in are n spaces, though in binary metres the quotient may be a hair above n.
    marks = spread(0.0, spaces * 15 * INCH, 15 * INCH)

    assert marks.count == spaces + 1


def test_two_marks_in_one_place_are_two_marks():
    marks = spread(1.0, 1.0, 15.0)

    assert (marks.count, marks.spacing) == (2, 0)


def test_a_drive_on_the_right_reaches_past_the_right_side():
    # 10 in of free end + 144 + 132 in to the corner + 13.5 in past the side = 299.5 in, from 10 in left of the opening.
    bar = turning_bar(WIDTH, OFFSET, WALL, RIGHT, RULES)

    assert in_inches(bar.start, bar.length, bar.end) == pytest.approx([-10, 299.5, 289.5])


def test_a_drive_on_the_left_reaches_past_the_left_side():
    # 13.5 in past the side + 84 in to the opening + 144 + 10 in of free end = 251.5 in.
    bar = turning_bar(WIDTH, OFFSET, WALL, LEFT, RULES)

    assert in_inches(bar.start, bar.length, bar.end) == pytest.approx([-97.5, 251.5, 154])


def test_the_bar_hangs_on_where_the_opening_sits():
    # The same opening one foot further right: one foot less to the right corner, one more to the left.
    right = turning_bar(WIDTH, OFFSET + 12 * INCH, WALL, RIGHT, RULES)
    left = turning_bar(WIDTH, OFFSET + 12 * INCH, WALL, LEFT, RULES)

    assert in_inches(right.length, left.length) == pytest.approx([287.5, 263.5])


def test_the_sill_bar_passes_both_studs():
    # 3.5 in of stud + 9.5 in on each side: 144 + 26 = 170 in, from 13 in left of the opening.
    bar = sill_bar(WIDTH, STUD, RULES)

    assert in_inches(bar.start, bar.length) == pytest.approx([-13, 170])


def test_clamps_stand_outboard_of_both_studs():
    # 3.5 + 2 = 5.5 in past each edge: 155 in, 11 spaces of 14.09 in, 12 clamps.
    marks = clamps(WIDTH, STUD, RULES)

    assert in_inches(marks.first, marks.last, marks.spacing) == pytest.approx([-5.5, 149.5, 155 / 11])
    assert marks.count == 12


def test_channel_screws_begin_an_inch_from_the_end():
    # 170 in of channel: 168 in between the end screws, 14 spaces of 12 in, 15 screws.
    marks = channel_screws(170 * INCH, RULES)

    assert in_inches(marks.first, marks.last, marks.spacing) == pytest.approx([1, 169, 12])
    assert marks.count == 15


def test_a_stub_of_channel_takes_its_screws_in_the_middle():
    marks = channel_screws(1.5 * INCH, RULES)

    assert in_inches(marks.first, marks.last) == pytest.approx([0.75, 0.75])


@pytest.mark.parametrize(
    ("feet", "inner"),
    [(8, 0), (13.99, 0), (14, 1), (16, 2), (20, 2), (21, 2), (22, 3)],  # ceil(width / 7 ft) - 1 from 14 ft on
)
def test_wide_doors_get_more_supports(feet, inner):
    marks = supports(feet * FEET * INCH, RULES)

    assert marks.count == inner + 2
    assert in_inches(marks.first, marks.last) == pytest.approx([3, feet * FEET - 3])
    assert float(marks.spacing) / INCH == pytest.approx((feet * FEET - 6) / (inner + 1))


def test_the_panel_and_what_hangs_below():
    # 144 + 2 x 15 by 108 + 42; of the 42 in the header takes 9.25 and the strip above it 4: 28.75 in hang below.
    panel = film_panel(WIDTH, 108 * INCH, 9.25 * INCH, RULES)

    assert in_inches(panel.width, panel.height, panel.below_hanging) == pytest.approx([174, 150, 28.75])


def join(length, stock, *, side=RIGHT, first=-5.5, last=149.5, start=-10.0, rules=RULES):
    """Return the joint in inches of a bar from ``start``, with clamps every 15 in at most."""
    marks = spread(first * INCH, last * INCH, 15 * INCH)
    return (
        float(joint(Span(np.asarray(start * INCH), np.asarray(length * INCH)), marks, stock * INCH, side, rules)) / INCH
    )


def test_a_joint_leaves_no_stub():
    # 299.5 in from 288 in stock: a full length at the drive would leave 11.5 in; 24 in is the least.
    # It lies at -10 + 24 = 14 in; the clamps beside it at -5.5 + 14.09 = 8.59 and 22.68 in.
    assert join(299.5, 288) == pytest.approx(14)


def test_a_full_length_stands_at_the_drive():
    # 299.5 in from 240 in stock: the bar ends at 289.5, so the joint lies at 49.5 in; clamps at 36.77 and 50.86:
    # 1.36 in to the second is too close, so the drive's piece is cut back to 2 in short of it, at 52.86 in.
    assert join(299.5, 240) == pytest.approx(-5.5 + 4 * 155 / 11 + 2)


def test_a_full_length_stands_where_it_is_clear():
    # 299.5 in from 246 in stock: the joint lies at 43.5 in, between clamps at 36.77 and 50.86 in.
    assert join(299.5, 246) == pytest.approx(43.5)


def test_the_joint_of_a_left_drive_is_the_mirror_image():
    # Mirrored about the opening's middle, 72 in: the bar runs from -145.5 to 154.
    assert join(299.5, 240, side=LEFT, start=-145.5) == pytest.approx(144 - (-5.5 + 4 * 155 / 11 + 2))


def test_a_joint_may_lie_beyond_all_clamps():
    # The drive overhangs 140 in; with stock of 160 in the drive's piece ends at 289.5 - 160 = 129.5 in. But
    # the rest, 139.5 in, comes from one length too. Clamps at 121.32 and 135.41: clear.
    assert join(299.5, 160) == pytest.approx(129.5)
    # One metre of clamps near the free end only: the wish lies beyond them and is taken as it is.
    assert join(299.5, 160, last=100) == pytest.approx(129.5)


def test_clamps_too_dense_for_a_joint_push_it_past_the_last():
    # Gaps of 8 in leave nothing between clamps 14.09 in apart; the nearest clear place towards the drive is
    # 8 in past the last clamp, 157.5 in: the drive's piece is 132 in, the other 167.5 in, both within 240 in.
    rules = Rules(clamp_joint_gap=8 * INCH)

    assert join(299.5, 240, rules=rules) == pytest.approx(157.5)


def test_no_joint_where_a_piece_would_be_too_long():
    # As above, but from stock of 160 in the free end's piece of 167.5 in cannot be cut.
    rules = Rules(clamp_joint_gap=8 * INCH)

    assert np.isnan(join(299.5, 160, rules=rules))


@pytest.mark.parametrize(
    ("length", "stock"),
    [(288, 288), (240, 288), (299.5, 149), (40, 30)],  # one piece; one piece; three pieces; only stubs
)
def test_no_joint_without_two_pieces(length, stock):
    assert np.isnan(join(length, stock))


def test_equal_lengths_in_other_units_are_one_piece():
    # 24 ft as 24 x 0.3048 m and as 288 x 0.0254 m may differ in the last bit.
    bar = Span(np.asarray(-10 * INCH), np.asarray(7.315200000000001))

    assert np.isnan(joint(bar, clamps(WIDTH, STUD, RULES), 7.3152, RIGHT, RULES))
