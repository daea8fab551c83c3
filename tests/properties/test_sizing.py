"""What holds for every film door, whatever its sizes."""

from dataclasses import fields, replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from doors.sizing import (
    INCH,
    ArchFrame,
    DoorKind,
    Opening,
    Rules,
    Side,
    given_of,
    size,
    work_out,
)
from doors.sizing.layout import spread
from tests.openings import inches, make_design, make_opening, make_wall, tube

RULES = Rules()
widths = st.floats(60, 264)
heights = st.floats(60, 144)
lefts = st.floats(4, 96)
kinds = st.sampled_from([DoorKind.MID_BAR, DoorKind.BOTTOM_BAR])
sides = st.sampled_from(list(Side))


def door(width, height=96.0, left=24.0, *, wall_width=408.0, **changes) -> Opening:
    wall = make_wall(width=wall_width * INCH, ridge=192 * INCH, side=72 * INCH)
    return make_opening(
        **{"rough_width": width * INCH, "rough_height": height * INCH, "offset": left * INCH, "wall": wall} | changes
    )


def lengths_of(sheet):
    return {line.part: line.length for line in sheet.cuts}


def counts_of(sheet):
    made = {(line.item, line.place): line.count for line in sheet.hardware}
    return (
        made | {(row.part, row.mark): row.count for row in sheet.rows} | {line.part: line.count for line in sheet.cuts}
    )


@given(width=widths, more=st.floats(0.01, 40), height=heights, left=lefts, kind=kinds, side=sides)
def test_nothing_gets_shorter_or_fewer_as_an_opening_gets_wider(width, more, height, left, kind, side):
    design = make_design(drive_side=side)
    small, large = (size(door(made, height, left, kind=kind, design=design)) for made in (width, width + more))

    longer = lengths_of(large)
    for part, length in lengths_of(small).items():
        if part not in ("turning_bar", "drive_strip"):  # its far end stands at the wall's corner
            assert longer[part] >= length - 1e-12
    for part in ("sill_bar", "header_channel"):
        if part in longer:
            assert longer[part] > lengths_of(small)[part]
    if side == Side.LEFT:
        assert longer["turning_bar"] > lengths_of(small)["turning_bar"]
    assert large.panel.width > small.panel.width
    fewer = counts_of(small)
    for key, count in counts_of(large).items():
        if "strip" not in str(key) and "joint" not in str(key):
            assert count >= fewer.get(key, 0)


@given(width=widths, height=heights, left=lefts, kind=kinds, side=sides)
def test_marks_keep_their_spacing_and_their_ends(width, height, left, kind, side):
    sheet = size(door(width, height, left, kind=kind, design=make_design(drive_side=side)))
    stud = 3.5 + 2
    ends = {
        ("turning_bar", "clamp"): (-stud, width + stud, 15),
        ("sill_bar", "clamp"): (-stud, width + stud, 15),
        ("sill_channel", "channel_screw"): (-12, width + 12, 12),
        ("header_channel", "channel_screw"): (-2.5, width + 2.5, 12),
        ("jamb_channel", "channel_screw"): (1, height - 1, 12),
        ("header", "header_hole"): (3, width - 3, 168 if width < 168 else 84),
    }

    for row in sheet.rows:
        if (row.part, row.mark) in ends:
            first, last, limit = ends[row.part, row.mark]
            assert (inches(row.first), inches(row.last)) == pytest.approx((first, last))
            assert inches(row.spacing) <= limit * (1 + 1e-9)
            assert row.first + (row.count - 1) * row.spacing == pytest.approx(row.last)
            # One mark fewer would leave them too far apart.
            if row.count > 2 and row.mark != "header_hole":
                assert (last - first) / (row.count - 2) > limit * (1 - 1e-6)


@given(first=st.floats(-10, 10), reach=st.floats(0, 100), limit=st.floats(0.05, 5))
def test_spaces_are_equal_no_wider_than_the_limit_and_fewest(first, reach, limit):
    marks = spread(first, first + reach, limit)

    assert marks.spacing <= limit * (1 + 1e-8)
    assert marks.first + (marks.count - 1) * marks.spacing == pytest.approx(float(marks.last), abs=1e-9)
    assert marks.count == 2 or reach / (marks.count - 2) > limit * (1 - 1e-8)


@given(width=widths, height=heights, left=lefts, kind=kinds, side=sides, stock=st.floats(100, 300))
def test_a_mirrored_wall_gives_the_mirror_image(width, height, left, kind, side, stock):
    assume(left + width + 4 < 408)
    other = Side.LEFT if side == Side.RIGHT else Side.RIGHT
    here, there = (
        size(
            door(
                width,
                height,
                place,
                kind=kind,
                design=make_design(drive_side=drive, turning_tube=tube(1.66, stock=stock)),
            )
        )
        for place, drive in ((left, side), (408 - left - width, other))
    )

    assert here.turning_bar == pytest.approx(there.turning_bar)
    assert (here.panel, here.clear_width, here.verdict) == (there.panel, there.clear_width, there.verdict)
    assert lengths_of(here) == pytest.approx(lengths_of(there))
    assert [check.reason for check in here.checks] == [check.reason for check in there.checks]
    assert here.roll == there.roll
    mirrored = {(row.part, row.mark): row for row in there.rows}
    for row in here.rows:
        if row.axis == "along":
            image = mirrored[row.part, row.mark]
            assert (inches(row.first), inches(row.last)) == pytest.approx(
                (width - inches(image.last), width - inches(image.first)), abs=1e-6
            )
    bar, image = ({line.part: line for line in sheet.cuts}["turning_bar"] for sheet in (here, there))
    assert bar.pieces == pytest.approx(image.pieces[::-1])


@given(width=widths, height=heights, factor=st.floats(0.5, 2))
def test_twice_the_rules_and_sizes_make_twice_the_door(width, height, factor):
    """No length hides in the core: scale everything, and the sheet scales with it."""

    def scaled(value):
        return None if value is None else value * factor

    def figures(by):
        opening = door(width, height)
        numbers = given_of(opening, None)
        names = [field.name for field in fields(numbers) if field.name not in ("drives_right", "gear_ratio", "frame",
                                                                             "roll_widths")]  # fmt: skip
        numbers = replace(numbers, **{name: getattr(numbers, name) * by for name in names},
                          roll_widths=tuple(roll * by for roll in numbers.roll_widths))  # fmt: skip
        frame = ArchFrame(1, 408 * INCH * by, 192 * INCH * by, 72 * INCH * by)
        rules = {field.name: getattr(RULES, field.name) * (1 if field.name == "tail_wraps" else by)
                 for field in fields(RULES)}  # fmt: skip
        return work_out(replace(numbers, frame=frame), Rules(**rules), winds_at_mid_height=True)

    one, many = figures(1.0), figures(factor)

    def same(small, large, by):
        assert float(large) == pytest.approx(float(small) * by, nan_ok=True)

    for span in ("turning_bar", "sill_bar", "header_channel"):
        same(getattr(one, span).start, getattr(many, span).start, factor)
        same(getattr(one, span).length, getattr(many, span).length, factor)
    for marks in ("clamps", "supports", "header_screws", "jamb_screws", "sill_screws"):
        same(getattr(one, marks).count, getattr(many, marks).count, 1)
        same(getattr(one, marks).spacing, getattr(many, marks).spacing, factor)
    for length in (
        "turning_joint", "roll_width", "header_hole_height", "billow_length", "post_length", "strip_length",
        "drive_overhang", "rod_needed", "clear_width", "head_needed", "arch_left", "arch_right",
    ):  # fmt: skip
        same(getattr(one, length), getattr(many, length), factor)
    for number in ("turns_to_rest", "turns_to_open"):
        same(getattr(one.winding, number), getattr(many.winding, number), 1)
    for length in ("diameter_open", "clear_height", "film_wound"):
        same(getattr(one.winding, length), getattr(many.winding, length), factor)
    same(one.post_lean, many.post_lean, 1)
