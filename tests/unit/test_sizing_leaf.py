"""Doors that do not roll, by hand in inches."""

import math

import pytest

from doors.sizing import INCH, DoorKind, Machine, Rules, Verdict, size
from doors.sizing.leaf import leaf_of
from tests.openings import film, inches, make_opening

RULES = Rules()


def leaf(kind, width=72, height=96):
    made = leaf_of(make_opening(kind=kind, rough_width=width * INCH, rough_height=height * INCH), RULES)
    return made.count, *(inches(value) for value in (made.width, made.height, made.clear_width, made.clear_height))


def sheet(kind, width=72, height=96, **changes):
    return size(make_opening(kind=kind, rough_width=width * INCH, rough_height=height * INCH, **changes))


def check_of(made, name):
    return next((check for check in made.checks if check.check == name), None)


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        (DoorKind.PERSON, (1, 71.25, 94.875, 72, 96)),  # 3/8 in at sides and head, 3/4 in at the floor
        (DoorKind.HINGED_PAIR, (2, 35.4375, 94.875, 72, 96)),  # (72 - 3 x 3/8) / 2
        (DoorKind.SLIDING_PAIR, (2, 38, 97.25, 72, 96)),  # half and 2 in of lap; 96 + 2 - 3/4
        (DoorKind.COIL, (1, 72, 96, 66, 96)),  # between two guides of 3 in
        (DoorKind.LIFT_OUT, (1, 76, 98, 72, 96)),  # laps both jambs and the header by 2 in
    ],
)
def test_leaves_and_what_they_leave_clear(kind, expected):
    assert leaf(kind) == pytest.approx(expected)


def test_the_cut_list_of_a_pair():
    made = {line.part: (line.count, inches(line.length)) for line in sheet(DoorKind.HINGED_PAIR).cuts}

    # Rails between stiles: 35.4375 - 7 = 28.4375. Three rails of 3.5 in leave two fields of (94.875 - 10.5) / 2.
    assert made == {
        "leaf_stile": (4, pytest.approx(94.875)),
        "leaf_rail": (6, pytest.approx(28.4375)),
        "leaf_brace": (4, pytest.approx(math.hypot(28.4375, 42.1875))),
        "leaf_film": (2, pytest.approx(94.875 + 7)),
    }


def test_a_brace_reaches_from_corner_to_corner():
    # 3-4-5: rail 37 - 7 = 30 wide, fields (90.5 - 10.5) / 2 = 40 high, brace 50.
    made = sheet(DoorKind.PERSON, 37.75, 90.5 + 1.125)
    brace = next(line for line in made.cuts if line.part == "leaf_brace")

    assert (brace.count, inches(brace.length)) == (2, pytest.approx(50))


def test_the_film_of_a_leaf_wraps_its_frame():
    film_line = next(line for line in sheet(DoorKind.PERSON, 36, 80).cuts if line.part == "leaf_film")

    assert (inches(film_line.width), inches(film_line.length)) == pytest.approx((35.25 + 7, 78.875 + 7))
    assert film_line.pieces == (film_line.length,)
    assert "leaf_film" not in {line.part for line in sheet(DoorKind.PERSON, 36, 80, design={"film": None}).cuts}


def test_a_track_carries_both_panels_open():
    made = sheet(DoorKind.SLIDING_PAIR)
    track = next(line for line in made.cuts if line.part == "track")
    step = next(step for step in made.steps if step.step == "hang_sliding")

    assert (track.count, inches(track.length)) == (1, pytest.approx(72 + 2 * 38))
    assert inches(step.figures.lengths["track"]) == pytest.approx(72 + 2 * 38)


def test_a_coil_is_bought_whole():
    made = sheet(DoorKind.COIL)

    assert made.cuts == ()
    assert [(line.item, line.count) for line in made.hardware] == [("coil_door", 1)]
    assert [step.step for step in made.steps] == ["measure", "coil", "record"]


@pytest.mark.parametrize(
    ("kind", "width", "expected"),
    [
        (DoorKind.PERSON, 36, {"hinge": 3, "latch": 1}),
        (DoorKind.HINGED_PAIR, 72, {"hinge": 6, "latch": 1, "bolt_top_bottom": 2}),
        (DoorKind.SLIDING_PAIR, 72, {"hanger": 4, "floor_guide": 2, "latch": 1}),
        (DoorKind.LIFT_OUT, 72, {"turn_button": 6}),
    ],
)
def test_what_holds_the_leaves(kind, width, expected):
    assert {line.item: line.count for line in sheet(kind, width).hardware} == expected


@pytest.mark.parametrize(
    ("kind", "step"),
    [
        (DoorKind.PERSON, "hang_person"),
        (DoorKind.HINGED_PAIR, "hang_pair"),
        (DoorKind.SLIDING_PAIR, "hang_sliding"),
        (DoorKind.LIFT_OUT, "hang_panel"),
    ],
)
def test_the_order_of_work(kind, step):
    assert [made.step for made in sheet(kind, 40).steps] == ["measure", "build_leaf", step, "record"]


@pytest.mark.parametrize(
    ("kind", "width", "reason"),
    [
        (DoorKind.PERSON, 48.75, "leaf_fits"),  # a leaf of 48 in, the most
        (DoorKind.PERSON, 48.8, "leaf_too_wide"),
        (DoorKind.PERSON, 11.25, "leaf_fits"),  # 10.5 in, three members of 3.5
        (DoorKind.PERSON, 11.2, "leaf_too_small"),
        (DoorKind.HINGED_PAIR, 145.125, "leaf_fits"),  # two leaves of 72 in
        (DoorKind.HINGED_PAIR, 145.2, "leaf_too_wide"),
        (DoorKind.SLIDING_PAIR, 284, "leaf_fits"),  # two panels of 144 in
        (DoorKind.SLIDING_PAIR, 284.1, "leaf_too_wide"),
        (DoorKind.LIFT_OUT, 140, "leaf_fits"),
        (DoorKind.LIFT_OUT, 140.1, "leaf_too_wide"),
        (DoorKind.COIL, 300, "leaf_fits"),
    ],
)
def test_the_size_of_a_leaf(kind, width, reason):
    made = sheet(kind, width, offset=None)

    assert check_of(made, "leaf").reason == reason
    assert bool(made.hardware) is (reason == "leaf_fits")


def test_a_leaf_too_low_has_no_frame():
    made = sheet(DoorKind.PERSON, 36, 11.6)  # 11.6 - 1.125 = 10.475 in

    assert check_of(made, "leaf").reason == "leaf_too_small"
    assert (made.verdict, made.cuts) == (Verdict.FAIL, ())


@pytest.mark.parametrize(("offset", "verdict"), [(38, Verdict.PASS), (37.9, Verdict.FAIL), (250, Verdict.PASS),
                                                 (250.1, Verdict.FAIL)])  # fmt: skip
def test_panels_slide_along_the_wall(offset, verdict):
    # Panels of 38 in: as much on the left, and 360 - 72 - 250 = 38 in on the right.
    assert check_of(sheet(DoorKind.SLIDING_PAIR, offset=offset * INCH), "side_room").verdict == verdict


def test_the_room_to_slide_is_not_guessed():
    assert check_of(sheet(DoorKind.SLIDING_PAIR, offset=None), "side_room").figures.names["field"] == "offset"
    no_wall = sheet(DoorKind.SLIDING_PAIR, wall={"width": None})
    assert check_of(no_wall, "side_room").figures.names["field"] == "wall.width"
    assert check_of(sheet(DoorKind.LIFT_OUT), "side_room") is None


def test_people_pass_a_person_door_without_being_measured():
    people = sheet(DoorKind.PERSON, 36, 80, machine=None)
    cart = sheet(DoorKind.PERSON, 36, 80, machine=Machine(width=12 * INCH, height=40 * INCH, name="cart"))

    assert check_of(people, "machine") is None
    assert people.verdict == Verdict.PASS
    assert people.missing == ()
    assert check_of(cart, "machine").reason == "tight"


def test_leaves_want_no_film_roll():
    assert sheet(DoorKind.HINGED_PAIR, design={"film": film()}).missing == ()
