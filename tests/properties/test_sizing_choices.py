"""What the core chooses, against a search that tries everything; arrays against one opening at a time."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from doors.sizing import (
    INCH,
    ArchFrame,
    DoorKind,
    Given,
    Machine,
    Rules,
    Side,
    SizingError,
    Verdict,
    frame_of,
    given_of,
    size,
    work_out,
)
from doors.sizing.figures import PATHS, choose_roll
from doors.sizing.layout import FilmPanel, Marks, Span, joint, spread
from doors.sizing.quantity import SAME
from doors.sizing.roll import Winding
from farm.geometry import Shape
from tests.openings import FEET, film, make_design, make_opening, make_wall, tube

RULES = Rules()
FINE = 0.01  # in; step of the search


def clear_places(length, free, drive, stock, gap, stub):
    """Return the drive's pieces, longest first, clear of the clamps and with a rest neither too long nor too short."""
    marks = spread(drive, length - free, 15.0)
    clamps = float(marks.first) + float(marks.spacing) * np.arange(int(marks.count))
    longest, shortest = min(stock, length - stub), max(length - stock, stub)
    pieces = np.arange(longest, shortest, -FINE)
    distance = np.abs(pieces[:, None] - clamps[None, :]).min(axis=1)
    return pieces[distance >= gap]


@given(
    length=st.floats(60, 400),
    free=st.floats(1, 30),
    drive=st.floats(1, 150),
    stock=st.floats(60, 300),
    gap=st.floats(0, 8),
    stub=st.floats(0, 40),
    right=st.booleans(),
)
@settings(max_examples=300, deadline=None)
def test_the_joint_is_the_best_clear_place(length, free, drive, stock, gap, stub, right):
    assume(length - free - drive > 5)
    rules = Rules(clamp_joint_gap=gap * INCH, joint_piece=stub * INCH)
    first = free if right else drive  # in from the bar's left end
    marks = spread(first * INCH, (length - free - drive + first) * INCH, 15 * INCH)

    made = (
        float(joint(Span(np.asarray(0.0), np.asarray(length * INCH)), marks, stock * INCH, float(right), rules)) / INCH
    )
    piece = length - made if right else made  # at the drive
    places = clear_places(length, free, drive, stock, gap, stub)

    if length <= stock + SAME / INCH:
        assert np.isnan(made)
    elif places.size:
        assert places[0] - 1e-6 <= piece <= places[0] + FINE
    elif not np.isnan(made):
        assert piece <= stock + 1e-6  # a place narrower than the search's steps
        assert length - piece <= stock + 1e-6
    if not np.isnan(made):
        clamps = float(marks.first) + float(marks.spacing) * np.arange(int(marks.count))
        assert np.abs(clamps / INCH - made).min() >= gap - 1e-6
        assert min(piece, length - piece) >= stub - 1e-6
        assert max(piece, length - piece) <= stock + 1e-6


@given(
    width=st.floats(50, 400),
    height=st.floats(50, 400),
    rolls=st.lists(st.floats(10, 500), max_size=6),
)
def test_the_roll_wastes_least_of_all(width, height, rolls):
    chosen, down = choose_roll(FilmPanel(np.asarray(width), np.asarray(height), np.asarray(0.0)), tuple(rolls))
    areas = [roll * height for roll in rolls if roll >= width] + [roll * width for roll in rolls if roll >= height]

    if areas:
        assert float(chosen) * (height if down else width) == pytest.approx(min(areas))
        assert float(chosen) >= (width if down else height)
    else:
        assert np.isnan(chosen)


shapes = st.sampled_from([Shape.ROUND, Shape.GOTHIC])


@st.composite
def tight_openings(draw):
    """Openings that are often too high or too wide for their frame."""
    wall_width = draw(st.floats(240, 480))
    side = draw(st.floats(30, 90))
    wall = make_wall(
        width=wall_width * INCH,
        shape=draw(shapes),
        side=side * INCH,
        ridge=(side + draw(st.floats(0.3, 0.98)) * wall_width / 2) * INCH,
    )
    width = draw(st.floats(0.3, 0.95)) * wall_width
    kind = draw(st.sampled_from(list(DoorKind)))
    machine = Machine(width=draw(st.floats(24, 100)) * INCH, height=draw(st.floats(40, 110)) * INCH)
    return make_opening(
        kind=kind,
        rough_width=width * INCH,
        rough_height=draw(st.floats(70, 180)) * INCH,
        offset=draw(st.floats(0, 1)) * (wall_width - width) * INCH,
        wall=wall,
        machine=machine,
        design=make_design(
            drive_side=draw(st.sampled_from(list(Side))), film=film(*(feet * FEET for feet in (24, 48)))
        ),
    )


def failing(sheet):
    return {check.check for check in sheet.checks if check.verdict == Verdict.FAIL}


@given(opening=tight_openings())
@settings(max_examples=300, deadline=None)
def test_sizes_that_fit_do_fit_when_sized_again(opening):
    sheet = size(opening)
    helped = {"arch", "width", "machine", "jambs", "leaf", "side_room"}

    for offer in sheet.sizes_that_fit:
        assert offer.rough_width <= opening.rough_width + 1e-12
        assert offer.rough_height <= opening.rough_height + 1e-12
        middle = opening.offset + opening.rough_width / 2
        again = size(
            replace(
                opening,
                rough_width=offer.rough_width,
                rough_height=offer.rough_height,
                offset=middle - offer.rough_width / 2,
            )
        )
        assert failing(again) <= failing(sheet) - helped
        assert again.sizes_that_fit == ()
    if sheet.sizes_that_fit:
        assert failing(sheet) & {"arch", "width"}


@given(opening=tight_openings())
@settings(max_examples=100, deadline=None)
def test_the_next_step_up_does_not_fit(opening):
    """What is offered as wide as asked could not be a step of 6 in higher; what is offered as high, none wider."""
    sheet = size(opening)

    for offer in sheet.sizes_that_fit:
        width, height = offer.rough_width, offer.rough_height
        if height < opening.rough_height - 1e-9:
            height += 6 * INCH
        else:
            width += 6 * INCH
        middle = opening.offset + opening.rough_width / 2
        if width <= opening.rough_width and height <= opening.rough_height:
            bigger = replace(opening, rough_width=width, rough_height=height, offset=middle - width / 2)
            assert failing(size(bigger)) & {"arch", "width"}


NAMES = [field.name for field in fields(Given) if field.name not in ("roll_widths", "frame")]
optional = [name for name in NAMES if name not in ("rough_width", "rough_height")]


@st.composite
def arrays(draw):
    """Draw some openings of one wall, each with measurements that may be missing."""
    count = draw(st.integers(1, 4))
    openings = [
        make_opening(
            rough_width=draw(st.floats(60, 264)) * INCH,
            rough_height=draw(st.floats(60, 140)) * INCH,
            offset=draw(st.floats(0, 90)) * INCH,
            wall={"width": 408 * INCH, "ridge": 192 * INCH, "side": 72 * INCH},
            design={"drive_side": draw(st.sampled_from(list(Side))),
                    "turning_tube": tube(draw(st.sampled_from([1.315, 1.66, 1.9])), stock=draw(st.floats(120, 300)))},
        )
        for _ in range(count)
    ]  # fmt: skip
    rows = []
    for opening in openings:
        row = given_of(opening, None)
        gone = draw(st.lists(st.sampled_from(optional), max_size=3))
        rows.append(replace(row, **{name: np.float64(np.nan) for name in gone}))
    return rows


def at(value, index):
    """Return one element of a figure."""
    if isinstance(value, Span | Marks | FilmPanel | Winding):
        return [at(getattr(value, field.name), index) for field in fields(value)]
    value = np.asarray(value)
    return float(value if value.ndim == 0 else value[index])


@given(rows=arrays(), mid=st.booleans(), shape=st.sampled_from([None, Shape.ROUND, Shape.GOTHIC, Shape.MEASURED]))
@settings(deadline=None)
def test_an_array_equals_its_openings_one_by_one(rows, mid, shape):
    points = tuple((x * INCH, y * INCH) for x, y in ((0, 72), (204, 192), (408, 60)))
    frame = None
    if shape is not None:
        frame = frame_of(make_wall(shape=shape, width=408 * INCH, ridge=192 * INCH, side=72 * INCH, points=points))
    many = {name: np.array([getattr(row, name) for row in rows]) for name in NAMES}

    together = work_out(Given(**many, roll_widths=rows[0].roll_widths, frame=frame), RULES, winds_at_mid_height=mid)

    for index, row in enumerate(rows):
        alone = work_out(replace(row, frame=frame), RULES, winds_at_mid_height=mid)
        for field in fields(together):
            one, all_ = getattr(alone, field.name), getattr(together, field.name)
            assert at(all_, index) == pytest.approx(at(one, 0), nan_ok=True, rel=1e-12), field.name


def test_each_opening_of_an_array_may_have_its_own_arch():
    walls = [make_wall(shape=shape) for shape in (Shape.ROUND, Shape.GOTHIC)]
    walls[0] = replace(walls[0], side=24 * INCH)
    rows = [given_of(make_opening(wall=wall), frame_of(wall)) for wall in walls]
    frame = ArchFrame(
        [row.frame.shape_code for row in rows],
        [row.frame.width for row in rows],
        [row.frame.ridge for row in rows],
        [row.frame.side for row in rows],
    )
    many = {name: np.array([getattr(row, name) for row in rows]) for name in NAMES}

    together = work_out(Given(**many, frame=frame), RULES, winds_at_mid_height=True)

    alone = [work_out(row, RULES, winds_at_mid_height=True) for row in rows]
    assert list(together.arch_left) == pytest.approx([float(one.arch_left) for one in alone])
    assert list(together.post_length) == pytest.approx([float(one.post_length) for one in alone])


@given(
    index=st.integers(0, 3),
    name=st.sampled_from([name for name in NAMES if name != "drives_right"]),
    value=st.sampled_from([-1.0, np.inf, 1e9]),
)
def test_an_array_names_the_opening_it_refuses(index, name, value):
    row = given_of(make_opening(), None)
    many = {field: np.full(4, getattr(row, field)) for field in NAMES}
    many[name][index] = value

    with pytest.raises(SizingError) as caught:
        work_out(Given(**many), RULES, winds_at_mid_height=True)

    assert caught.value.index == index
    assert caught.value.field == PATHS[name]
