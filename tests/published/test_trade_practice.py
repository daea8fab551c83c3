"""The trade's practice for wide, hand-cranked film doors, read off the sheet an installer is given.

Every number here is common practice, no source, unless its test says otherwise. Sizes in inches.
"""

from dataclasses import fields, replace

import pytest

from doors.sizing import INCH, DoorKind, Rules, Side, Verdict, size
from tests.openings import FEET, inches, make_design, make_opening, make_wall

WIDTHS = [feet * FEET for feet in (8, 10, 12, 14, 16, 18, 20, 22)]
MACHINE_SHED = make_wall(width=34 * FEET * INCH, ridge=16 * FEET * INCH, side=6 * FEET * INCH)
STUD = 3.5


def door(width=144.0, height=96.0, left=60.0, **changes):
    """Return the sheet of a door in a wall 408 in wide."""
    return size(
        make_opening(
            **{"rough_width": width * INCH, "rough_height": height * INCH, "offset": left * INCH, "wall": MACHINE_SHED}
            | changes
        )
    )


def cut(sheet, part):
    return next(line for line in sheet.cuts if line.part == part)


def row(sheet, part, mark):
    return next(line for line in sheet.rows if (line.part, line.mark) == (part, mark))


def count(sheet, item, place):
    return next(line.count for line in sheet.hardware if (line.item, line.place) == (item, place))


def check(sheet, name):
    return next((made for made in sheet.checks if made.check == name), None)


RANGES = {  # in
    "free_end": (8, 12),
    "drive_end": (12, 15),
    "sill_bar_end": (7, 12),
    "film_side": (12, 18),
    "film_extra": (36, 48),
    "film_above_hanging": (4, 6),
    "post_above_header": (0, 4),
    "headroom_film": (10, 12),
    "headroom_coil": (16, 24),
}


@pytest.mark.parametrize("name", RANGES)
def test_a_rule_says_the_range_practice_keeps_to_and_keeps_to_it(name):
    rule = next(rule for rule in fields(Rules) if rule.name == name)
    low, high = RANGES[name]

    assert (inches(rule.metadata["low"]), inches(rule.metadata["high"])) == pytest.approx((low, high))
    assert low <= inches(getattr(Rules(), name)) <= high


def test_hand_cranked_film_doors_are_8_to_22_ft_wide():
    assert [check(door(width, left=20), "width").reason for width in (95, 96, 264, 265)] == [
        "narrow", "in_range", "in_range", "too_wide",
    ]  # fmt: skip


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("side", list(Side))
def test_the_free_end_passes_the_opening_by_8_to_12(width, side):
    sheet = door(width, design=make_design(drive_side=side))
    start, end = inches(sheet.turning_bar_start), inches(sheet.turning_bar_start) + inches(sheet.turning_bar)
    past = -start if side == Side.RIGHT else end - width

    assert 8 <= past <= 12


@pytest.mark.parametrize("left", [20, 60, 120])
@pytest.mark.parametrize("side", list(Side))
def test_the_drive_end_passes_the_structures_side_by_12_to_15(left, side):
    sheet = door(left=left, design=make_design(drive_side=side))
    start = left + inches(sheet.turning_bar_start)  # from the wall's left corner
    past = -start if side == Side.LEFT else start + inches(sheet.turning_bar) - 34 * FEET

    assert 12 <= past <= 15


def test_the_bars_length_depends_on_where_the_opening_sits():
    lengths = [inches(door(left=left).turning_bar) for left in (20, 60, 120)]

    assert lengths == pytest.approx([lengths[0], lengths[0] - 40, lengths[0] - 100])


def test_the_bar_comes_in_one_or_two_pieces():
    pieces = {len(cut(door(width, left=left), "turning_bar").pieces) for width in WIDTHS for left in (20, 144)}

    assert pieces == {1, 2}


@pytest.mark.parametrize("width", WIDTHS)
def test_the_sill_bar_is_one_piece_7_to_12_past_each_jamb_stud(width):
    sheet = door(width)
    bar = cut(sheet, "sill_bar")
    past = (inches(bar.length) - width - 2 * STUD) / 2

    assert len(bar.pieces) == bar.count == 1
    assert 7 <= past <= 12
    assert inches(row(sheet, "sill_bar", "clamp").part_start) == pytest.approx(-STUD - past)


def test_a_channel_runs_along_the_sill_bar():
    sheet = door()

    assert cut(sheet, "sill_channel").length == cut(sheet, "sill_bar").length
    assert any(step.step == "sill_bar" for step in sheet.steps)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("part", ["sill_channel", "header_channel", "jamb_channel"])
def test_channel_screws_an_inch_from_each_end_and_every_12(width, part):
    sheet = door(width)
    screws, channel = row(sheet, part, "channel_screw"), cut(sheet, part)

    assert inches(screws.first - screws.part_start) == pytest.approx(1)
    assert inches(screws.part_start + channel.length - screws.last) == pytest.approx(1)
    assert inches(screws.spacing) <= 12 + 1e-9


def test_the_film_panel_and_its_allowances():
    panel = door(144, 96).panel

    assert 12 <= (inches(panel.width) - 144) / 2 <= 18
    assert 36 <= inches(panel.height) - 96 <= 48
    assert 4 <= inches(panel.above_hanging) <= 6
    assert inches(panel.above_trimmed) == pytest.approx(2)
    assert inches(panel.below_first_trim) == pytest.approx(24)
    assert inches(panel.below_final) == pytest.approx(1)


def test_enough_film_hangs_below_for_the_first_trim():
    # A header of two 2 x 10s is 9.25 in deep.
    panel = door(header_depth=9.25 * INCH).panel

    assert inches(panel.below_hanging) >= 24


@pytest.mark.parametrize("height", [84, 96, 108, 120])
def test_two_lines_half_way_up_and_4_lower(height):
    sheet = door(height=height)

    assert inches(row(sheet, "film", "rest_line").first) == pytest.approx(height / 2)
    assert inches(row(sheet, "film", "clamp_line").first) == pytest.approx(height / 2 - 4)


def test_one_or_two_turns_bring_the_bar_to_the_first_line():
    # 4 in on 1.660 in of tube are three quarters of a turn; with the slip of the first turn, one.
    assert 0.5 < door().roll.turns_to_first_line <= 2


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("bar", ["turning_bar", "sill_bar"])
def test_clamps_at_most_15_apart_one_outboard_of_each_jamb_stud(width, bar):
    sheet = door(width)
    clamps = row(sheet, bar, "clamp")

    assert inches(clamps.spacing) <= 15 + 1e-9
    assert inches(clamps.first) < -STUD
    assert inches(clamps.last) > width + STUD
    # The next clamps inwards stand over the opening, or at least not outboard as well.
    assert inches(clamps.first + clamps.spacing) > -STUD
    assert clamps.count == count(sheet, "clamp", bar)


def test_a_screw_in_every_clamp_of_the_turning_bar():
    sheet = door()

    assert count(sheet, "clamp_screw", "turning_bar") == count(sheet, "clamp", "turning_bar")
    assert count(sheet, "clamp_screw", "drive_strip") == count(sheet, "clamp", "drive_strip")
    assert not any(line.item == "clamp_screw" and line.place == "sill_bar" for line in sheet.hardware)


def test_nothing_is_fastened_for_good_before_the_test_roll():
    steps = [step.step for step in door().steps]

    assert steps.index("clamp_bar") < steps.index("test_roll") < steps.index("trim")


@pytest.mark.parametrize("side", list(Side))
def test_the_gearbox_is_handed_with_adapter_bolt_and_lock_nut(side):
    sheet = door(design=make_design(drive_side=side))
    drive = {line.item: line.count for line in sheet.hardware if line.place == "drive"}

    assert drive == {f"gearbox_{side}": 1, "round_adapter": 1, "drive_bolt": 1, "lock_nut": 1, "crank_handle": 1}


def test_the_guide_post_ends_level_with_the_header_or_up_to_4_higher():
    # Beside a straight side it stands upright: 24 in the ground, then threshold 1, opening 96, header 9.25.
    above = inches(cut(door(), "guide_post").length) - 24 - (1 + 96 + 9.25)

    assert 0 <= above <= 4


def test_the_guide_post_is_parallel_to_the_hoops_side():
    upright = door(96 * 1.5).steps
    leaning = size(make_opening(rough_height=120 * INCH, offset=108 * INCH, threshold=8 * INCH)).steps

    def lean(steps):
        return next(step for step in steps if step.step == "guide_post").figures.numbers["lean_radians"]

    assert lean(upright) == 0  # half height lies below the 6 ft side
    assert lean(leaning) > 0  # and here above the 5 ft one


def test_a_strip_with_two_clamps_next_to_the_gearbox():
    sheet = door(left=60)  # far from the drive on the right
    clamps = row(sheet, "turning_bar", "strip_clamp")
    end = inches(sheet.turning_bar_start) + inches(sheet.turning_bar)

    assert count(sheet, "clamp", "drive_strip") == clamps.count == 2
    assert end - inches(clamps.last) < 24
    assert check(door(left=34 * FEET - 144 - 30), "drive_strip").reason == "no_strip"  # 30 + 13.5 - 5.5 in is not far


@pytest.mark.parametrize("width", WIDTHS)
def test_header_holes_3_in_from_the_jamb_studs(width):
    holes = row(door(width), "header", "header_hole")

    assert inches(holes.first) == pytest.approx(3)
    assert inches(holes.last) == pytest.approx(width - 3)


@pytest.mark.parametrize("width", [96, 120, 144, 167])
def test_an_anti_billow_tube_inside_each_jamb(width):
    sheet = door(width)

    assert cut(sheet, "anti_billow_tube").count == 2
    assert count(sheet, "tie_rod", "header") == 2
    assert not any(line.part == "inner_stud" for line in sheet.cuts)


def test_the_tubes_hole_is_3_from_the_top_at_the_height_of_the_headers():
    sheet = door()
    hole = inches(row(sheet, "header", "hole_height").first)

    # The tube stands 24 in the ground; the threshold lies 1 in above grade.
    assert inches(cut(sheet, "anti_billow_tube").length) - 24 - 1 - hole == pytest.approx(3)
    figures = next(step for step in sheet.steps if step.step == "billow_tubes").figures.lengths
    assert [inches(figures[name]) for name in ("hole", "stand_off", "inset")] == pytest.approx([3, 2.5, 3])


@pytest.mark.parametrize("width", WIDTHS)
def test_four_washers_and_five_nuts_on_every_rod(width):
    # Inside a washer and a nut; outside a washer, two nuts, a washer, the tube, a washer, two nuts.
    sheet = door(width)
    rods = count(sheet, "tie_rod", "header")

    assert count(sheet, "washer", "tie_rods") == 4 * rods
    assert count(sheet, "nut", "tie_rods") == 5 * rods
    assert rods == cut(sheet, "anti_billow_tube").count


def test_a_rod_of_12_reaches_through_the_usual_header():
    # 3/8 in rod, 3 in of header (two 2-by members), nuts of 21/64 in (ASME B18.2.2, from memory).
    assert check(door(), "rod_reach").reason == "rod_reaches"


def test_behind_the_tube_one_nut_will_do():
    short = replace(make_design(), rod=replace(make_design().rod, length=7 * INCH))

    assert check(door(design=short), "rod_reach").verdict == Verdict.WARN


@pytest.mark.parametrize(("width", "more"), [(167, 0), (168, 1), (192, 2), (216, 2), (240, 2), (264, 3)])
def test_wide_doors_have_more_tubes_and_studs(width, more):
    sheet = door(width)
    studs = [line.count for line in sheet.cuts if line.part == "inner_stud"]

    assert cut(sheet, "anti_billow_tube").count == 2 + more
    assert studs == ([more] if more else [])
    assert (check(sheet, "wide_door") is not None) is bool(more)
    assert inches(row(sheet, "header", "header_hole").spacing) <= 7 * FEET or not more


@pytest.mark.parametrize("kind", [DoorKind.MID_BAR, DoorKind.BOTTOM_BAR])
def test_two_people_lift_the_bar_and_more_a_wide_one(kind):
    def people(width):
        steps = door(width, kind=kind).steps
        return next(step for step in steps if step.step.startswith("clamp_")).figures.numbers["people"]

    assert people(144) == 2
    assert people(192) == 3


@pytest.mark.parametrize("name", ["free_end", "drive_end", "sill_bar_end", "film_side", "film_extra", "clamp_spacing"])
def test_a_farm_changes_its_rules(name):
    usual, changed = door(), size(
        make_opening(rough_width=144 * INCH, rough_height=96 * INCH, offset=60 * INCH, wall=MACHINE_SHED),
        replace(Rules(), **{name: getattr(Rules(), name) + 1 * INCH}),
    )  # fmt: skip

    assert (usual.cuts, usual.rows) != (changed.cuts, changed.rows)
