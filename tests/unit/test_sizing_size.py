"""The whole sheet of an opening: what it says, its verdict, the sizes it offers."""

from dataclasses import replace

import pytest

from doors.sizing import (
    CORE_VERSION,
    INCH,
    DoorKind,
    Machine,
    Neighbour,
    Opening,
    Side,
    SideOperator,
    Verdict,
    size,
)
from tests.openings import FEET, film, inches, make_design, make_opening, make_wall

MACHINE_SHED = make_wall(width=34 * FEET * INCH, ridge=16 * FEET * INCH, side=6 * FEET * INCH)


def wide_door(width, height, **changes):
    """A door in the middle of a gothic end wall 34 ft wide, 16 ft to the ridge, with 6 ft sides."""
    offset = (34 - width) / 2 * FEET * INCH
    return make_opening(
        **{"rough_width": width * FEET * INCH, "rough_height": height * FEET * INCH, "offset": offset,
           "threshold": 0.0, "wall": MACHINE_SHED} | changes
    )  # fmt: skip


def failing(sheet):
    return {check.check for check in sheet.checks if check.verdict == Verdict.FAIL}


def offers(sheet):
    return [(inches(offer.rough_width) / FEET, inches(offer.rough_height) / FEET) for offer in sheet.sizes_that_fit]


def test_a_door_that_fits():
    sheet = size(make_opening(machine=Machine(width=78 * INCH, height=72 * INCH)))

    assert (sheet.core_version, sheet.kind, sheet.code) == (CORE_VERSION, "mid_bar", "T1-E")
    assert (sheet.verdict, sheet.missing, sheet.sizes_that_fit) == (Verdict.PASS, (), ())
    assert inches(sheet.diagonal) == pytest.approx(180)  # 144 by 108: the 3-4-5 triangle times 36
    assert (inches(sheet.turning_bar), inches(sheet.turning_bar_start)) == pytest.approx((299.5, -10))
    assert inches(sheet.clear_width) == pytest.approx(136.685)


def test_the_film_panel_at_each_stage():
    panel = size(make_opening()).panel

    assert panel is not None
    assert inches(panel.width) == pytest.approx(174)
    assert inches(panel.height) == pytest.approx(150)
    assert inches(panel.side_allowance) == pytest.approx(15)
    assert [inches(panel.above_hanging), inches(panel.above_trimmed)] == pytest.approx([4, 2])
    assert [inches(panel.below_hanging), inches(panel.below_first_trim), inches(panel.below_final)] == pytest.approx(
        [28.75, 24, 1]
    )
    assert (inches(panel.roll_width), panel.roll_runs) == (pytest.approx(192), "down")


def test_the_panel_without_a_roll():
    across = size(make_opening(design={"film": film(168)})).panel
    none = size(make_opening(design={"film": film(20)})).panel

    assert across is not None
    assert across.roll_runs == "across"
    assert none is not None
    assert (none.roll_width, none.roll_runs) == (None, "")


def test_the_two_windings():
    mid, bottom = size(make_opening()).roll, size(make_opening(kind=DoorKind.BOTTOM_BAR)).roll

    assert mid is not None
    assert (mid.windings, inches(mid.first_line), inches(mid.second_line)) == (2, *map(pytest.approx, (54, 50)))
    assert mid.crank_turns_to_open == mid.turns_to_open
    assert bottom is not None
    assert (bottom.windings, bottom.first_line, bottom.second_line) == (1, 0, 0)
    assert bottom.turns_to_first_line == 1.5  # the wraps that stay on the bar
    assert bottom.turns_to_open > mid.turns_to_open  # it takes up all the film, not half


def test_the_steps_of_the_mid_height_bar():
    steps = size(make_opening()).steps

    assert [step.step for step in steps] == [
        "measure", "channel", "header_holes", "guide_post", "hang_film", "lines", "prepare_bar", "clamp_bar", "drive",
        "strip", "sill_bar", "test_roll", "trim", "billow_tubes", "lock", "record",
    ]  # fmt: skip


def test_the_steps_of_the_bottom_bar():
    steps = size(make_opening(kind=DoorKind.BOTTOM_BAR, design={"drive_side": Side.LEFT}, offset=12 * INCH)).steps

    assert [step.step for step in steps] == [
        "measure", "channel", "header_holes", "guide_post", "hang_film", "prepare_bar", "clamp_bottom_bar", "drive",
        "test_roll", "trim", "billow_tubes", "lock", "record",
    ]  # fmt: skip


def test_a_step_carries_its_dimensions():
    steps = {step.step: step.figures for step in size(make_opening()).steps}

    clamp = {name: inches(value) for name, value in steps["clamp_bar"].lengths.items()}
    assert clamp == pytest.approx({"line": 50, "outboard": 2, "spacing": 155 / 11, "first": -5.5, "last": 149.5})
    assert steps["clamp_bar"].numbers == {"count": 12, "people": 2, "wraps": 1.5}
    bar = {name: inches(value) for name, value in steps["prepare_bar"].lengths.items()}
    assert bar == pytest.approx({"length": 299.5, "joint": 24, "drive_end": 13.5, "free_end": 10})
    assert steps["drive"].names == {"side": "right"}


@pytest.mark.parametrize(("feet", "people"), [(15.9, 2), (16, 3)])
def test_a_wide_door_takes_three_to_lift(feet, people):
    steps = {step.step: step.figures for step in size(wide_door(feet, 8)).steps}

    assert steps["clamp_bar"].numbers["people"] == people


def test_what_is_not_known_is_left_out_of_the_steps():
    bare = Opening(kind=DoorKind.MID_BAR, rough_width=3.0, rough_height=2.5)
    steps = {step.step: step.figures for step in size(bare).steps}

    assert "length" not in steps["prepare_bar"].lengths
    assert steps["clamp_bar"].numbers.keys() == {"people", "wraps"}
    assert steps["guide_post"].numbers == {}
    assert steps["test_roll"].numbers == {}


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({}, Verdict.PASS),  # wider than the machine needs: a standing note
        ({"machine": Machine(width=78 * INCH, height=72 * INCH)}, Verdict.PASS),
        ({"rough_width": 90 * INCH, "machine": Machine(width=0.5, height=1.0)}, Verdict.WARN),  # narrower than 8 ft
        ({"machine": None}, Verdict.WARN),  # a check could not be made
        ({"header_depth": None}, Verdict.BLOCKED),  # no length of post
        ({"header_depth": None, "machine": Machine(width=3.5, height=1.0)}, Verdict.FAIL),  # refused outweighs unknown
    ],
)
def test_the_verdict_is_the_worst_of_all(changes, verdict):
    assert size(make_opening(**changes)).verdict == verdict


def test_22_by_11_ft_under_a_34_ft_gothic_is_refused_and_22_by_10_offered():
    # Over the outer faces of its studs, 135.5 in from the middle: 72 + 120 (1 - (135.5/204)^1.7) = 132.14 in. With a
    # foot of headroom 144 are needed for 11 ft, 132 for 10. At 11 ft, 72 + 120 (1 - (x/204)^1.7) = 144 at x = 119.0:
    # 2 (119.0 - 3.5) = 231.0 in, in steps of 6 in 228.
    sheet = size(wide_door(22, 11))

    assert (sheet.verdict, failing(sheet)) == (Verdict.FAIL, {"arch"})
    assert offers(sheet) == [pytest.approx((22, 10)), pytest.approx((19, 11))]


@pytest.mark.parametrize(("width", "height"), [(22, 10), (19, 11)])
def test_what_is_offered_fits(width, height):
    assert failing(size(wide_door(width, height))) == set()


def test_a_door_wider_than_a_hand_can_crank():
    sheet = size(wide_door(24, 9))

    assert failing(sheet) == {"width"}
    assert offers(sheet) == [pytest.approx((22, 9))]


def test_a_size_too_small_for_the_machine_is_not_offered():
    # 22 x 10 ft leaves 10 ft less two sill bars and the roll for a machine of 9 ft and a foot above it.
    tall = wide_door(22, 11, machine=Machine(width=60 * INCH, height=108 * INCH))

    assert offers(size(tall)) == [pytest.approx((19, 11))]


def test_a_size_that_hits_the_side_operator_is_not_offered():
    # At 10 ft the bar rests at 60 in, the operator travels to 64; at 11 ft it rests at 66.
    wall = replace(MACHINE_SHED, side_operators=(SideOperator(corner=Side.RIGHT, travel_top=64 * INCH),))

    assert offers(size(wide_door(22, 11, wall=wall))) == [pytest.approx((19, 11))]


def test_a_size_is_offered_though_something_else_fails():
    # No size makes the rod longer; the rod is refused beside the offers.
    short = replace(make_design(), rod=replace(make_design().rod, length=4 * INCH))
    sheet = size(wide_door(22, 11, design=short))

    assert failing(sheet) == {"arch", "rod_reach"}
    assert offers(sheet) == [pytest.approx((22, 10)), pytest.approx((19, 11))]


def test_a_size_no_bar_can_open_is_not_offered():
    # A frame 20 in high leaves a step of 6 in, where half the height lies below the clamps' line 4 in lower.
    low = make_wall(shape="measured", points=tuple((x * INCH, 20 * INCH) for x in (0, 360)))

    assert size(make_opening(wall=low, machine=None)).sizes_that_fit == ()


def test_nothing_is_offered_where_the_place_is_not_known():
    assert size(wide_door(24, 9, offset=None)).sizes_that_fit == ()
    assert size(wide_door(24, 9, wall=replace(MACHINE_SHED, shape=None))).sizes_that_fit == ()


def test_sizes_are_offered_for_leaves_too():
    # A coil wants 20 in above it: 132.14 - 20 = 112.1, in steps of 6 in 108.
    sheet = size(wide_door(22, 12, kind=DoorKind.COIL))

    assert offers(sheet)[0] == pytest.approx((22, 9))
    assert all(failing(size(wide_door(*offer, kind=DoorKind.COIL))) == set() for offer in offers(sheet))


@pytest.mark.parametrize(
    ("left", "width", "clear"),
    [
        (40, 34, True),  # up to 74 in, where the bar begins: 84 - 10
        (40, 34.1, False),
        (373.6, 10, True),  # from beyond 373.5 in, where it ends: 360 + 13.5
        (373.4, 10, False),
    ],
)
def test_the_bar_reaches_as_far_as_it_is_cut(left, width, clear):
    other = Neighbour(left=left * INCH, width=width * INCH, head=80 * INCH)
    sheet = size(make_opening(neighbours=(other,)))
    check = next(check for check in sheet.checks if check.check == "neighbours")

    assert (check.verdict == Verdict.PASS) is clear
    if not clear:
        assert inches(check.figures.lengths["reach"]) == pytest.approx(299.5)


def test_a_drive_over_a_neighbour_is_refused():
    person_door = Neighbour(left=300 * INCH, width=36 * INCH, head=80 * INCH, code="T1-P")

    assert failing(size(make_opening(neighbours=(person_door,)))) == {"neighbours"}
    assert failing(size(make_opening(neighbours=(person_door,), design={"drive_side": Side.LEFT}))) == set()
