"""Checks that only a film roll-up door has, by hand in inches for the opening of tests/openings.py."""

from dataclasses import replace

import pytest

from doors.sizing import INCH, DoorKind, Rules, Side, Verdict, size
from tests.openings import film, inches, make_design, make_opening, tube

ROD = make_design().rod


def outcome(name, rules=None, **changes):
    sheet = size(make_opening(**changes), rules or Rules())
    return next((check for check in sheet.checks if check.check == name), None)


def lengths(check):
    return {name: inches(value) for name, value in check.figures.lengths.items()}


def turning(stock):
    return {"turning_tube": tube(1.66, stock=stock)}


@pytest.mark.parametrize(
    ("stock", "verdict", "reason"),
    [
        (299.5, Verdict.PASS, "one_piece"),
        (299.4, Verdict.PASS, "two_pieces"),
        (149.75, Verdict.PASS, "two_pieces"),  # two halves, joined at 139.75 in, between clamps at 135.4 and 149.5
        (149.7, Verdict.FAIL, "three_pieces"),
    ],
)
def test_the_bar_comes_from_one_or_two_lengths(stock, verdict, reason):
    made = outcome("bar_joint", design=turning(stock))

    assert (made.verdict, made.reason) == (verdict, reason)


def test_the_pieces_of_a_joined_bar():
    made = lengths(outcome("bar_joint"))

    assert (made["left"], made["right"]) == pytest.approx((24, 275.5))


def test_no_clear_place_for_a_joint():
    # Two halves of 149.75 in must meet at 139.75 in: 4.3 in past the clamp at 135.4, where 5 are asked for.
    made = outcome("bar_joint", Rules(clamp_joint_gap=5 * INCH), design=turning(149.75))

    assert (made.verdict, made.reason) == (Verdict.FAIL, "no_clear_place")


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"design": {"turning_tube": None}}, "design.turning_tube"),
        ({"design": turning(None)}, "design.turning_tube.stock_length"),
        ({"offset": None}, "turning_bar"),
        ({"wall": {"stud_face": None}}, "wall.stud_face"),
    ],
)
def test_a_joint_is_not_placed_without_its_measures(changes, field):
    made = outcome("bar_joint", **changes)

    assert (made.verdict, made.figures.names["field"]) == (Verdict.BLOCKED, field)


def test_a_short_bar_needs_no_clamps_to_be_one_piece():
    made = outcome("bar_joint", design={"drive_side": Side.LEFT}, wall={"stud_face": None})

    assert made.reason == "one_piece"


def test_the_outer_clamps_sit_on_bars_and_film():
    # 3.5 + 2 = 5.5 in past the opening; the bar reaches 10, the sill bar 13, the film 15.
    made = outcome("clamps")

    assert made.verdict == Verdict.PASS
    assert lengths(made) == pytest.approx({"outer": 5.5, "least": 10, "bar": 10, "film": 15, "sill": 13})


@pytest.mark.parametrize(
    ("stud", "kind", "verdict"),
    [
        (8, DoorKind.MID_BAR, Verdict.PASS),
        (8.1, DoorKind.MID_BAR, Verdict.FAIL),  # 10.1 in, but the bar ends at 10
        (8, DoorKind.BOTTOM_BAR, Verdict.PASS),
        (8.1, DoorKind.BOTTOM_BAR, Verdict.FAIL),
    ],
)
def test_wide_studs_push_the_clamps_off_the_bar(stud, kind, verdict):
    assert outcome("clamps", kind=kind, wall={"stud_face": stud * INCH}).verdict == verdict


def test_a_short_sill_bar_loses_its_clamps():
    made = outcome("clamps", Rules(sill_bar_end=1 * INCH))

    assert (made.verdict, made.reason) == (Verdict.FAIL, "clamps_off_bar")
    assert outcome("clamps", Rules(sill_bar_end=1 * INCH), kind=DoorKind.BOTTOM_BAR).verdict == Verdict.PASS


def test_clamps_need_the_studs():
    made = outcome("clamps", wall={"stud_face": None})

    assert (made.verdict, made.figures.names["field"]) == (Verdict.BLOCKED, "wall.stud_face")


@pytest.mark.parametrize(
    ("part", "name", "length"),
    [
        ("sill_bar", "sill_tube", 170),
        ("guide_post", "post_tube", 144.25),
        ("anti_billow_tube", "anti_billow_tube", 140.625),
    ],
)
def test_tubes_of_one_piece_come_from_stock_long_enough(part, name, length):
    short = outcome("one_piece", design={name: tube(1.315, stock=length - 0.1)})

    assert (short.verdict, short.reason, short.figures.names["part"]) == (Verdict.WARN, "stock_short", part)
    assert lengths(short) == pytest.approx({"length": length, "stock": length - 0.1})
    assert outcome("one_piece", design={name: tube(1.315, stock=length)}) is None
    assert outcome("one_piece", design={name: tube(1.315, stock=None)}) is None


def test_the_bottom_bar_has_no_sill_bar_to_cut():
    assert outcome("one_piece", kind=DoorKind.BOTTOM_BAR, design={"sill_tube": tube(1.315, stock=100)}) is None


def test_the_roll_that_covers_the_panel():
    # 174 x 150 in: a 16 ft roll down, 192 x 150 = 28 800 sq in; a 14 ft roll across, 168 x 174 = 29 232 sq in.
    down = outcome("film_roll")
    across = outcome("film_roll", design={"film": film(168)})
    narrow = outcome("film_roll", design={"film": film(149)})

    assert (down.verdict, down.reason) == (Verdict.PASS, "runs_down")
    assert (lengths(down)["roll"], lengths(down)["run"]) == pytest.approx((192, 150))
    assert (across.verdict, across.reason) == (Verdict.PASS, "runs_across")
    assert (lengths(across)["roll"], lengths(across)["run"]) == pytest.approx((168, 174))
    assert (narrow.verdict, narrow.reason) == (Verdict.FAIL, "no_roll_wide_enough")
    assert lengths(narrow)["widest"] == pytest.approx(149)


@pytest.mark.parametrize(("sheet", "field"), [(None, "design.film"), (film(), "design.film.roll_widths")])
def test_a_roll_is_not_chosen_from_nothing(sheet, field):
    assert outcome("film_roll", design={"film": sheet}).figures.names["field"] == field


@pytest.mark.parametrize(
    ("header", "reason"),
    [
        (14, "film_enough"),  # 42 - 14 - 4 = 24 in hang below
        (14.1, "no_first_trim"),
        (29, "no_first_trim"),  # 9 in: twice 4 in are taken up, 1 stays
        (29.1, "film_too_short"),
    ],
)
def test_enough_film_hangs_below(header, reason):
    assert outcome("film_below", header_depth=header * INCH).reason == reason


@pytest.mark.parametrize(("header", "reason"), [(29.1, "no_first_trim"), (29.2, "film_too_short")])
def test_the_bottom_bar_takes_up_its_tail_wraps(header, reason):
    # 1.5 turns round 1.66 in: 7.82 in, and 1 in stays: 42 - 4 - 8.82 = 29.18 in of header at most.
    assert outcome("film_below", kind=DoorKind.BOTTOM_BAR, header_depth=header * INCH).reason == reason


def test_film_below_needs_header_and_bar():
    assert outcome("film_below", header_depth=None).figures.names["field"] == "header_depth"
    no_bar = outcome("film_below", kind=DoorKind.BOTTOM_BAR, design={"turning_tube": None})
    assert no_bar.figures.names["field"] == "design.turning_tube"


@pytest.mark.parametrize(
    ("length", "verdict", "reason"),
    [
        (7.272, Verdict.PASS, "rod_reaches"),  # 7.271875 in with two nuts behind the tube
        (7.271, Verdict.WARN, "one_nut_only"),
        (6.944, Verdict.WARN, "one_nut_only"),  # 6.94375 in with one
        (6.943, Verdict.FAIL, "rod_too_short"),
    ],
)
def test_the_rod_reaches_through_header_and_tube(length, verdict, reason):
    made = outcome("rod_reach", design={"rod": replace(ROD, length=length * INCH)})

    assert (made.verdict, made.reason) == (verdict, reason)


def test_nuts_between_header_and_tube_need_room():
    # 2.5 - 1.315 / 2 = 1.8425 in for two washers and two nuts.
    made = outcome("rod_reach", design={"rod": replace(ROD, nut_height=0.9 * INCH)})

    assert (made.verdict, made.reason) == (Verdict.WARN, "nuts_crowded")
    assert (lengths(made)["room"], lengths(made)["stack"]) == pytest.approx((1.8425, 1.93))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"wall": {"header_thickness": None}}, "wall.header_thickness"),
        ({"design": {"rod": None}}, "design.rod"),
        ({"design": {"anti_billow_tube": None}}, "design.anti_billow_tube"),
    ],
)
def test_the_rod_is_not_checked_without_its_measures(changes, field):
    made = outcome("rod_reach", **changes)

    assert (made.verdict, made.figures.names["field"]) == (Verdict.BLOCKED, field)


def test_a_long_overhang_hangs_in_a_strip():
    made = outcome("drive_strip")

    assert (made.verdict, made.reason) == (Verdict.PASS, "strip")
    # 60 + 114 (1 - (174/180)^1.7) = 66.384 in of frame, down to the bar at 55, and 8 in to fasten it.
    assert lengths(made) == pytest.approx({"overhang": 140, "limit": 48, "strip": 19.384}, abs=0.001)


@pytest.mark.parametrize(("left", "reason"), [(40, "no_strip"), (40.1, "strip")])
def test_a_strip_from_four_feet_on(left, reason):
    # left + 13.5 - 5.5 in of overhang.
    assert outcome("drive_strip", offset=left * INCH, design={"drive_side": Side.LEFT}).reason == reason


def test_no_strip_hangs_from_a_frame_below_the_bar():
    made = outcome("drive_strip", wall={"side": 30 * INCH})

    assert (made.verdict, made.reason) == (Verdict.WARN, "strip_has_no_frame")


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"offset": None}, "turning_bar"),
        ({"wall": {"stud_face": None}}, "wall.stud_face"),
        ({"wall": {"shape": None}}, "wall.shape"),
        ({"wall": {"side": None}}, "wall.side"),
        ({"threshold": None}, "threshold"),
        ({"header_depth": None}, "header_depth"),
    ],
)
def test_a_strip_is_not_guessed(changes, field):
    made = outcome("drive_strip", **changes)

    assert (made.verdict, made.figures.names["field"]) == (Verdict.BLOCKED, field)


def test_a_wide_door_has_supports_that_lift_out():
    # 168 in, 14 ft: one support between the jambs, (168 - 6) / 2 = 81 in apart.
    made = outcome("wide_door", rough_width=168 * INCH)

    assert (made.verdict, made.figures.names["count"]) == (Verdict.WARN, "1")
    assert lengths(made)["spacing"] == pytest.approx(81)
    assert outcome("wide_door", rough_width=167.9 * INCH) is None
