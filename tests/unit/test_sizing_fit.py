"""Does it fit: each check with its outcome and reason, by hand in inches for the opening of tests/openings.py."""

import pytest

from doors.sizing import INCH, DoorKind, Neighbour, Rules, Side, SideOperator, Verdict, fit, frame_of
from tests.openings import FEET, inches, make_opening

RULES = Rules()


def outcome(check):
    return check.verdict, check.reason


@pytest.mark.parametrize(
    ("feet", "expected"),
    [
        (7.99, (Verdict.WARN, "narrow")),
        (8, (Verdict.PASS, "in_range")),
        (22, (Verdict.PASS, "in_range")),
        (22.01, (Verdict.FAIL, "too_wide")),
    ],
)
def test_hand_cranked_film_doors_are_8_to_22_ft_wide(feet, expected):
    assert outcome(fit.width_in_range(make_opening(rough_width=feet * FEET * INCH), RULES)) == expected


@pytest.mark.parametrize("offset", [3.5, 360 - 144 - 3.5])
def test_a_stud_may_touch_the_corner(offset):
    assert outcome(fit.studs_in_wall(make_opening(offset=offset * INCH))) == (Verdict.PASS, "studs_inside")


@pytest.mark.parametrize("offset", [3.4, 360 - 144 - 3.4])
def test_a_stud_may_not_stand_outside(offset):
    made = fit.studs_in_wall(make_opening(offset=offset * INCH))

    assert outcome(made) == (Verdict.FAIL, "stud_outside")
    assert min(inches(made.figures.lengths[side]) for side in ("left", "right")) == pytest.approx(-0.1)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"offset": None}, "offset"),
        ({"wall": {"width": None}}, "wall.width"),
        ({"wall": {"stud_face": None}}, "wall.stud_face"),
    ],
)
def test_studs_are_not_checked_without_their_measures(changes, field):
    made = fit.studs_in_wall(make_opening(**changes))

    assert outcome(made) == (Verdict.BLOCKED, "missing")
    assert made.figures.names["field"] == field


def arch(**changes):
    opening = make_opening(**changes)
    return fit.arch(opening, frame_of(opening.wall), None, RULES)


def test_the_arch_over_the_jambs_decides():
    # 99.5 in from the middle the arch is 60 + 114 (1 - (99.5/180)^1.7) = 132.39 in high; the ridge is 174.
    low = 60 + 114 * (1 - (99.5 / 180) ** 1.7)
    fits = arch(rough_height=(low - 1 - 12) * INCH)
    hits = arch(rough_height=(low - 1 - 12 + 0.01) * INCH)

    assert outcome(fits) == (Verdict.PASS, "arch_clear")
    assert outcome(hits) == (Verdict.FAIL, "arch_low")
    assert inches(hits.figures.lengths["left"]) == pytest.approx(low)
    assert inches(hits.figures.lengths["short"]) == pytest.approx(0.01)
    assert inches(hits.figures.lengths["headroom"]) == pytest.approx(12)


@pytest.mark.parametrize(
    ("kind", "room"),
    [
        (DoorKind.MID_BAR, 12),
        (DoorKind.BOTTOM_BAR, 12),
        (DoorKind.COIL, 20),
        (DoorKind.PERSON, 9.25),  # 6 in for the leaf, but the header is 9.25 in deep
        (DoorKind.SLIDING_PAIR, 9.25),
    ],
)
def test_each_kind_wants_its_headroom(kind, room):
    assert fit.headroom(make_opening(kind=kind), RULES) / INCH == pytest.approx(room)


def test_a_leaf_wants_six_inches_where_the_header_is_shallow():
    shallow = make_opening(kind=DoorKind.PERSON, header_depth=3.5 * INCH)
    unknown = make_opening(kind=DoorKind.PERSON, header_depth=None)

    assert fit.headroom(shallow, RULES) / INCH == pytest.approx(6)
    assert fit.headroom(unknown, RULES) / INCH == pytest.approx(6)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"wall": {"width": None}}, "wall.width"),
        ({"wall": {"shape": None}}, "wall.shape"),
        ({"wall": {"ridge": None}}, "wall.ridge"),
        ({"wall": {"side": None}}, "wall.side"),
        ({"wall": {"shape": "measured", "points": ()}}, "wall.points"),
        ({"offset": None}, "offset"),
        ({"threshold": None}, "threshold"),
        ({"wall": {"stud_face": None}}, "wall.stud_face"),
    ],
)
def test_the_arch_is_not_checked_without_its_measures(changes, field):
    made = arch(**changes)

    assert outcome(made) == (Verdict.BLOCKED, "missing")
    assert made.figures.names["field"] == field


@pytest.mark.parametrize(
    ("clear", "expected"),
    [
        ((60 + 48, 72 + 24), "passes"),  # 24 in at each side and overhead
        ((60 + 47.8, 72 + 24), "tight"),
        ((60 + 48, 72 + 23.9), "tight"),
        ((60 + 24, 72 + 12), "tight"),
        ((60 + 23.8, 72 + 12), "too_tight"),
        ((60 + 24, 72 + 11.9), "too_tight"),
    ],
)
def test_a_machine_wants_a_foot_and_better_two(clear, expected):
    made = fit.machine(make_opening(), clear[0] * INCH, clear[1] * INCH, RULES)

    assert made.reason == expected
    assert made.figures.names["machine"] == "tractor"


def test_what_must_pass_is_not_guessed():
    assert fit.machine(make_opening(machine=None), 1.0, 1.0, RULES).figures.names["field"] == "machine"
    assert fit.machine(make_opening(), None, 1.0, RULES).figures.names["field"] == "clear_opening"
    assert fit.machine(make_opening(), 1.0, None, RULES).figures.names["field"] == "clear_opening"


def operator_check(travel, *, corner=Side.RIGHT, others=(), **changes):
    travel_top = None if travel is None else travel * INCH
    here = SideOperator(corner=corner, travel_top=travel_top)
    return fit.side_operator(make_opening(wall={"side_operators": (here, *others)}, **changes), RULES)


@pytest.mark.parametrize(
    ("travel", "expected"),
    [(43, "above_operator"), (43.1, "close"), (55, "close"), (55.1, "clash")],  # the bar rests at 1 + 54 in
)
def test_the_bar_rests_above_the_side_operator(travel, expected):
    assert operator_check(travel).reason == expected


def test_the_bottom_bar_rests_on_the_threshold():
    made = operator_check(2, kind=DoorKind.BOTTOM_BAR)

    assert outcome(made) == (Verdict.FAIL, "clash")
    assert inches(made.figures.lengths["rest"]) == pytest.approx(1)


def test_an_operator_at_the_other_corner_is_not_in_the_way():
    assert outcome(operator_check(60, corner=Side.LEFT)) == (Verdict.PASS, "corner_free")


def test_the_other_corner_is_offered_where_it_is_free():
    assert operator_check(60).figures.names["other"] == "left"
    assert operator_check(60, others=(SideOperator(corner=Side.LEFT),)).figures.names["other"] == ""
    assert operator_check(60, corner=Side.LEFT, design={"drive_side": Side.LEFT}).figures.names["other"] == "right"


def test_the_side_operator_is_not_checked_without_its_measures():
    assert operator_check(60, design={"drive_side": None}).figures.names["field"] == "design.drive_side"
    assert operator_check(None).figures.names["field"] == "wall.side_operators.travel_top"
    assert operator_check(60, threshold=None).figures.names["field"] == "threshold"


def beside(left, *, width=36, head=80, **changes):
    """Check a neighbour; the opening with its studs takes 80.5 to 231.5 in, its bar 74 to 373.5 in."""
    other = Neighbour(left=left * INCH, width=width * INCH, head=head * INCH, code="T1-P")
    return fit.neighbours(make_opening(neighbours=(other,), **changes), (74 * INCH, 373.5 * INCH))


def test_no_neighbours_no_check():
    assert fit.neighbours(make_opening(), None) is None


@pytest.mark.parametrize(("left", "overlap"), [(44.6, 0.1), (231.4, 0.1), (100, 36)])
def test_openings_do_not_overlap(left, overlap):
    made = beside(left)

    assert outcome(made) == (Verdict.FAIL, "overlaps")
    assert inches(made.figures.lengths["overlap"]) == pytest.approx(overlap)
    assert made.figures.names["other"] == "T1-P"


@pytest.mark.parametrize("left", [44.5, 231.5, 320])
def test_the_bar_does_not_lie_across_another_opening(left):
    assert outcome(beside(left)) == (Verdict.FAIL, "bar_across")


def test_an_opening_beyond_the_bar_is_clear():
    assert outcome(beside(38)) == (Verdict.PASS, "clear")


@pytest.mark.parametrize(("head", "expected"), [(55, "clear"), (55.1, "bar_across")])
def test_the_bar_passes_over_a_low_opening(head, expected):
    # It rests at 1 + 54 = 55 in.
    assert beside(300, head=head).reason == expected


def test_the_bottom_bar_lies_across_whatever_it_passes():
    assert beside(300, head=12, kind=DoorKind.BOTTOM_BAR).reason == "bar_across"


def test_leaves_have_no_bar():
    made = beside(300, kind=DoorKind.HINGED_PAIR)

    assert outcome(made) == (Verdict.PASS, "clear")


def test_neighbours_are_not_checked_without_their_measures():
    other = Neighbour(left=300 * INCH, width=36 * INCH, head=80 * INCH)
    opening = make_opening(neighbours=(other,))

    assert fit.neighbours(opening, None).figures.names["field"] == "turning_bar"
    assert beside(300, offset=None).figures.names["field"] == "offset"
    assert beside(300, wall={"stud_face": None}).figures.names["field"] == "wall.stud_face"
    assert beside(300, threshold=None).figures.names["field"] == "threshold"


def test_an_overlap_is_seen_without_the_studs():
    assert beside(100, wall={"stud_face": None}).reason == "overlaps"


def smaller(**changes):
    opening = make_opening(**changes)
    frame = frame_of(opening.wall)
    assert frame is not None
    return [(inches(less.rough_width), inches(less.rough_height), inches(less.offset)) for less in
            fit.smaller(opening, frame, RULES)]  # fmt: skip


def test_a_door_too_high_is_offered_lower_or_narrower():
    # 120 in high: 1 + 120 + 12 = 133 are needed, 132.39 are over the left jamb: lower in 6 in steps is 114.
    # Narrower: 133 in are reached 180 (41/114)^(1/1.7) = 98.66 in from the middle. The opening's middle is 24 in left
    # of the wall's, so 98.66 - 24 - 3.5 = 71.16 in each way: 142.3, in steps 138, which begins 84 + 3 from the corner.
    assert smaller(rough_height=120 * INCH) == [
        pytest.approx((144, 114, 84)),
        pytest.approx((138, 120, 87)),
    ]


def test_a_door_too_wide_is_offered_at_its_most():
    # 276 in is wider than 264; under a 200 in frame nothing else limits it: 264 x 96, 6 in further in, once.
    tall = {"shape": "measured", "points": tuple((x * INCH, 200 * INCH) for x in (0, 360))}

    assert smaller(rough_width=276 * INCH, rough_height=96 * INCH, offset=42 * INCH, wall=tall) == [
        pytest.approx((264, 96, 48))
    ]


def test_nothing_is_offered_that_is_no_door():
    # A frame 20 in high leaves 20 - 1 - 12 = 7 in: one step of 6 in; at its full height no width fits.
    low = {"shape": "measured", "points": tuple((x * INCH, 20 * INCH) for x in (0, 360))}
    assert smaller(wall=low) == [pytest.approx((144, 6, 84))]
    lower = {"shape": "measured", "points": tuple((x * INCH, 18 * INCH) for x in (0, 360))}
    assert smaller(wall=lower) == []


def test_a_film_door_is_not_offered_narrower_than_usual():
    # 1 + 150 + 12 = 163 in are reached 41.6 in from the middle of this gable: 2 x (41.6 - 3.5) = 76 in is below 96.
    # As wide as asked, 104.5 in from the corner it is 40 + 104.5 x 160 / 180 = 132.9 high: 119.9, in steps 114.
    steep = {"shape": "measured", "points": tuple((x * INCH, y * INCH) for x, y in ((0, 40), (180, 200), (360, 40)))}

    assert [size[:2] for size in smaller(wall=steep, offset=108 * INCH, rough_height=150 * INCH)] == [
        pytest.approx((144, 114))
    ]
