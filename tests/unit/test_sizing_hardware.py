"""Cut list, hardware list and marks, by hand in inches for the opening of tests/openings.py."""

from dataclasses import replace

import pytest

from doors.sizing import INCH, DoorKind, size
from doors.sizing.hardware import pieces_of
from tests.openings import FEET, inches, make_design, make_opening, tube


def cuts_of(**changes):
    return {line.part: line for line in size(make_opening(**changes)).cuts}


def counts_of(**changes):
    return {(line.item, line.place): line.count for line in size(make_opening(**changes)).hardware}


def rows_of(**changes):
    return {(row.part, row.mark): row for row in size(make_opening(**changes)).rows}


@pytest.mark.parametrize(
    ("length", "stock", "pieces"),
    [
        (60, 78, [60]),
        (78, 78, [78]),
        (151, 78, [78, 73]),
        (156, 78, [78, 78]),
        (170, 78, [78, 78, 14]),
    ],
)
def test_whole_lengths_then_the_rest(length, stock, pieces):
    assert [inches(piece) for piece in pieces_of(length * INCH, stock * INCH)] == pytest.approx(pieces)


@pytest.mark.parametrize("count", range(1, 30))
def test_whole_lengths_leave_no_sliver(count):
    # In binary metres n x 6.5 ft may be a hair more or less than n lengths of 78 in.
    assert len(pieces_of(count * 6.5 * 0.3048, 78 * INCH)) == count
    assert len(pieces_of(sum([78 * INCH] * count), 78 * INCH)) == count


def test_no_pieces_from_unknown_stock():
    assert pieces_of(1.0, None) == ()


def test_the_cut_list():
    made = cuts_of()

    listed = {
        part: (line.count, inches(line.length), [inches(piece) for piece in line.pieces]) for part, line in made.items()
    }
    assert listed == {
        "turning_bar": (1, pytest.approx(299.5), pytest.approx([24, 275.5])),
        "sill_bar": (1, pytest.approx(170), pytest.approx([170])),
        "guide_post": (1, pytest.approx(144.25), pytest.approx([144.25])),
        "anti_billow_tube": (2, pytest.approx(140.625), pytest.approx([140.625])),
        "header_channel": (1, pytest.approx(151), pytest.approx([78, 73])),
        "jamb_channel": (2, pytest.approx(108), pytest.approx([78, 30])),
        "sill_channel": (1, pytest.approx(170), pytest.approx([78, 78, 14])),
        "header_wire": (1, pytest.approx(151), pytest.approx([78, 73])),
        "jamb_wire": (2, pytest.approx(108), pytest.approx([78, 30])),
        "sill_wire": (1, pytest.approx(170), pytest.approx([78, 78, 14])),
        "film_panel": (1, pytest.approx(150), pytest.approx([150])),
        "drive_strip": (1, pytest.approx(19.384, abs=0.001), pytest.approx([19.384], abs=0.001)),
    }
    assert inches(made["turning_bar"].joint) == pytest.approx(24)
    assert [inches(made[part].width) for part in ("film_panel", "drive_strip")] == pytest.approx([174, 12])
    named = {"turning_bar": "tube", "film_panel": "film", "drive_strip": "film"}
    named |= {f"{place}_channel": "aluminium channel" for place in ("header", "jamb", "sill")}
    named |= {f"{place}_wire": "coated wire" for place in ("header", "jamb", "sill")}
    assert {part: made[part].material for part in named} == named


def test_channel_that_nobody_chose_is_cut_without_a_name():
    made = cuts_of(design={"channel": None})["header_channel"]

    assert (made.material, made.pieces) == ("", ())


def test_a_wide_door_has_more_tubes_and_studs():
    # 22 ft: three supports between the jambs, so five tubes and three studs of the opening's height.
    made = cuts_of(rough_width=22 * FEET * INCH, offset=48 * INCH)

    assert made["anti_billow_tube"].count == 5
    assert (made["inner_stud"].count, inches(made["inner_stud"].length)) == (3, pytest.approx(108))


def test_the_bottom_bar_has_no_sill_bar():
    made = cuts_of(kind=DoorKind.BOTTOM_BAR)

    assert not {"sill_bar", "sill_channel", "sill_wire"} & made.keys()
    assert not any(place == "sill_bar" for _, place in counts_of(kind=DoorKind.BOTTOM_BAR))
    assert not any(part in ("sill_bar", "sill_channel", "film") for part, _ in rows_of(kind=DoorKind.BOTTOM_BAR))


def test_a_bar_of_unknown_joint_has_no_pieces():
    assert cuts_of(wall={"stud_face": None})["turning_bar"].pieces == ()
    assert cuts_of(design={"turning_tube": tube(1.66, stock=None)})["turning_bar"].pieces == ()
    assert cuts_of(design={"turning_tube": tube(1.66, stock=120)})["turning_bar"].pieces == ()


def test_a_bar_within_its_stock_is_one_piece():
    bar = cuts_of(design={"turning_tube": tube(1.66, stock=300)})["turning_bar"]

    assert [inches(piece) for piece in bar.pieces] == pytest.approx([299.5])
    assert bar.joint is None


def test_the_strip_is_cut_of_film_not_chosen_yet():
    assert cuts_of(design={"film": None})["drive_strip"].material == ""


def test_the_hardware_list():
    # 12 clamps a bar; 14 + 2 x 10 + 15 channel screws; two rods with four washers and five nuts each.
    assert counts_of() == {
        ("clamp", "turning_bar"): 12,
        ("clamp", "sill_bar"): 12,
        ("clamp", "drive_strip"): 2,
        ("clamp_screw", "turning_bar"): 12,
        ("clamp_screw", "drive_strip"): 2,
        ("channel_screw", "header"): 14,
        ("channel_screw", "jambs"): 20,
        ("channel_screw", "sill_bar"): 15,
        ("tie_rod", "header"): 2,
        ("washer", "tie_rods"): 8,
        ("nut", "tie_rods"): 10,
        ("gearbox_right", "drive"): 1,
        ("round_adapter", "drive"): 1,
        ("drive_bolt", "drive"): 1,
        ("lock_nut", "drive"): 1,
        ("crank_handle", "drive"): 1,
        ("joint_sleeve", "turning_bar"): 1,
        ("joint_screw", "turning_bar"): 4,
    }


def test_no_sleeve_and_no_strip_for_a_short_bar():
    made = counts_of(offset=36 * INCH, design=replace(make_design(), drive_side="left"))

    assert not {item for item, place in made if item.startswith("joint") or place == "drive_strip"}
    assert ("gearbox_left", "drive") in made


def test_hardware_waits_for_its_measures():
    made = counts_of(wall={"stud_face": None}, design={"rod": None, "drive_side": None})

    assert made == {("channel_screw", "jambs"): 20}


def test_the_marks():
    made = rows_of()

    places = {
        key: (row.axis, row.count, (inches(row.first), inches(row.last), inches(row.part_start)))
        for key, row in made.items()
    }
    assert places == {
        ("turning_bar", "clamp"): ("along", 12, pytest.approx((-5.5, 149.5, -10))),
        ("turning_bar", "opening_edge"): ("along", 2, pytest.approx((0, 144, -10))),
        ("turning_bar", "joint"): ("along", 1, pytest.approx((14, 14, -10))),
        ("turning_bar", "strip_clamp"): ("along", 2, pytest.approx((266, 274, -10))),  # 2 in inside a strip 264 to 276
        ("sill_bar", "clamp"): ("along", 12, pytest.approx((-5.5, 149.5, -13))),
        ("sill_bar", "opening_edge"): ("along", 2, pytest.approx((0, 144, -13))),
        ("sill_channel", "channel_screw"): ("along", 15, pytest.approx((-12, 156, -13))),
        ("header_channel", "channel_screw"): ("along", 14, pytest.approx((-2.5, 146.5, -3.5))),
        ("header", "header_hole"): ("along", 2, pytest.approx((3, 141, 0))),
        ("header", "hole_height"): ("up", 1, pytest.approx((112.625, 112.625, 0))),
        ("jamb_channel", "channel_screw"): ("up", 10, pytest.approx((1, 107, 0))),
        ("film", "clamp_line"): ("up", 1, pytest.approx((50, 50, 0))),
        ("film", "rest_line"): ("up", 1, pytest.approx((54, 54, 0))),
    }


def test_running_dimensions_are_equal_steps():
    for row in rows_of(rough_width=264 * INCH, offset=48 * INCH).values():
        assert row.first + (row.count - 1) * row.spacing == pytest.approx(row.last)


def test_marks_on_a_bar_wait_until_it_is_known_where_it_begins():
    made = rows_of(design={"drive_side": None})

    assert not any(part == "turning_bar" for part, _ in made)
    assert ("sill_bar", "clamp") in made


def test_marks_wait_for_header_and_studs():
    made = rows_of(header_depth=None, wall={"stud_face": None})

    assert set(made) == {
        ("turning_bar", "opening_edge"),
        ("header", "header_hole"),
        ("jamb_channel", "channel_screw"),
        ("film", "clamp_line"),
        ("film", "rest_line"),
    }
