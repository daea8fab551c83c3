"""What is not given is named with what it blocks; exactly that is left out, and nothing is guessed.

From a complete opening each optional input is taken away in turn. What is then gone from the sheet must be what the
sheet says is blocked, no more and no less.
"""

from dataclasses import fields, replace

import pytest

from doors.sizing import INCH, DoorKind, Neighbour, Opening, Side, SideOperator, Verdict, blocks_cutting, size
from doors.sizing.opening import FILM_ROLLS
from farm.geometry import Shape
from tests.openings import film, make_opening, make_wall, tube

POINTS = tuple((x * INCH, y * INCH) for x, y in ((0, 60), (60, 150), (180, 174), (300, 150), (360, 60)))
CHECKS = {
    "arch": "arch_check",
    "bar_joint": "bar_joint_check",
    "drive_strip": "drive_strip",
    "film_below": "film_below_check",
    "film_roll": "film_roll_check",
    "jambs": "jambs_check",
    "machine": "machine_check",
    "neighbours": "neighbours_check",
    "rod_reach": "rod_check",
    "side_operator": "side_operator_check",
    "side_room": "side_room_check",
}
PARTS = {"turning_bar", "sill_bar", "guide_post", "anti_billow_tube", "film_panel", "header_channel", "leaf_film"}


def given_on(sheet) -> set[str]:
    """Return what a sheet gives, in the words of what a missing input may block."""
    parts = {line.part: line for line in sheet.cuts}
    items = {line.item for line in sheet.hardware}
    given = PARTS & parts.keys()
    given |= {key for name, key in CHECKS.items() for check in sheet.checks
              if check.check == name and check.verdict != Verdict.BLOCKED}  # fmt: skip
    for part in ("channel", "wire"):
        if all(line.pieces for name, line in parts.items() if name.endswith(f"_{part}")):
            given.add(f"{part}_pieces")
    if "clamp" in items:
        given.add("clamps")
    if "tie_rod" in items:
        given.add("tie_rods")
    if {"gearbox_left", "gearbox_right"} & items:
        given.add("gearbox")
    if any(row.mark == "hole_height" for row in sheet.rows):
        given.add("header_holes")
    if sheet.clear_width is not None and sheet.clear_height is not None:
        given.add("clear_opening")
    if sheet.roll is not None:
        given.add("roll")
    if sheet.roll is None or sheet.roll.crank_turns_to_open is not None:
        given.add("crank_turns")  # without a roll there is nothing to multiply
    return given


def without(opening: Opening, path: str) -> Opening:
    """Return the opening with one input taken away."""
    first, _, rest = path.partition(".")
    if not rest:
        empty: object = () if isinstance(getattr(opening, first), tuple) else None
        return replace(opening, **{first: empty})
    return replace(opening, **{first: without(getattr(opening, first), rest)})


def complete(kind: DoorKind, **changes) -> Opening:
    """Return an opening of which everything is known, with a low neighbour and an operator at the drive's corner."""
    width = 36 * INCH if kind == DoorKind.PERSON else 120 * INCH
    wall = make_wall(side_operators=(SideOperator(corner=Side.RIGHT, travel_top=30 * INCH),))
    low = Neighbour(left=260 * INCH, width=40 * INCH, head=30 * INCH, code="T1-V")
    return make_opening(**({"kind": kind, "wall": wall, "neighbours": (low,), "rough_width": width} | changes))


OPTIONAL = [
    "offset",
    "threshold",
    "header_depth",
    "wall.width",
    "wall.shape",
    "wall.ridge",
    "wall.side",
    "wall.stud_face",
    "wall.header_thickness",
    "design.drive_side",
    "design.turning_tube",
    "design.turning_tube.stock_length",
    "design.sill_tube",
    "design.post_tube",
    "design.anti_billow_tube",
    "design.film",
    "design.film.roll_widths",
    "design.channel",
    "design.channel.stock_length",
    "design.wire",
    "design.wire.stock_length",
    "design.rod",
    "design.gear_ratio",
    "machine",
]
MATTERS_NOT = {  # to doors that roll; the other kinds hang on their opening, wall, film and machine only
    DoorKind.MID_BAR: set(),
    DoorKind.BOTTOM_BAR: {"design.sill_tube"},
}
LEAF_INPUTS = {"offset", "threshold", "wall.width", "wall.shape", "wall.ridge", "wall.side", "wall.stud_face",
               "design.film", "machine"}  # fmt: skip
NO_FILM = {DoorKind.COIL, DoorKind.LIFT_OUT}
NOT_NEEDED = {(DoorKind.PERSON, "machine"), (DoorKind.LIFT_OUT, "design.film")}  # people pass; a panel may be rigid


def matters(kind: DoorKind, path: str) -> bool:
    if kind in FILM_ROLLS:
        return path not in MATTERS_NOT[kind]
    if path == "machine":
        return kind != DoorKind.PERSON
    return path in LEAF_INPUTS and not (path == "design.film" and kind in NO_FILM)


@pytest.mark.parametrize("kind", list(DoorKind))
def test_nothing_is_missing_from_a_complete_opening(kind):
    assert size(complete(kind)).missing == ()


def test_every_optional_input_is_taken_away_below():
    """A new optional input must be added to the list above."""
    opening = complete(DoorKind.MID_BAR)
    optional = [
        field.name for field in fields(Opening) if field.name in ("offset", "threshold", "header_depth", "machine")
    ]
    optional += [
        f"wall.{field.name}" for field in fields(opening.wall) if field.name not in ("points", "side_operators")
    ]
    optional += [f"design.{field.name}" for field in fields(opening.design)]

    of_materials = {f"design.{name}.stock_length" for name in ("turning_tube", "channel", "wire")}
    assert set(optional) | of_materials | {"design.film.roll_widths"} == set(OPTIONAL)


@pytest.mark.parametrize("path", OPTIONAL)
@pytest.mark.parametrize("kind", list(DoorKind))
def test_what_is_gone_is_what_is_named(kind, path):
    whole, partial = size(complete(kind)), size(without(complete(kind), path))

    gone = given_on(whole) - given_on(partial)
    named = {key for gap in partial.missing for key in gap.blocks}

    assert [gap.field for gap in partial.missing] == ([path] if matters(kind, path) else [])
    assert named == (gone if (kind, path) not in NOT_NEEDED else set())
    assert given_on(partial) <= given_on(whole)


def test_a_measured_wall_lacks_its_profile():
    wall = make_wall(shape=Shape.MEASURED, points=POINTS)
    whole = size(complete(DoorKind.MID_BAR, wall=wall))
    partial = size(complete(DoorKind.MID_BAR, wall=replace(wall, points=())))

    assert [gap.field for gap in partial.missing] == ["wall.points"]
    assert set(partial.missing[0].blocks) == given_on(whole) - given_on(partial)


def test_an_operator_of_unknown_travel():
    unknown = (SideOperator(corner=Side.RIGHT), SideOperator(corner=Side.LEFT))
    partial = size(complete(DoorKind.MID_BAR, wall=make_wall(side_operators=unknown)))

    assert [(gap.field, gap.blocks) for gap in partial.missing] == [
        ("wall.side_operators.travel_top", ("side_operator_check",))
    ]


def test_an_operator_elsewhere_does_not_matter():
    elsewhere = (SideOperator(corner=Side.LEFT),)

    assert size(complete(DoorKind.MID_BAR, wall=make_wall(side_operators=elsewhere))).missing == ()


def test_the_threshold_matters_not_to_a_free_corner():
    partial = size(make_opening(threshold=None))

    assert [(gap.field, gap.blocks) for gap in partial.missing] == [
        ("threshold", ("guide_post", "anti_billow_tube", "drive_strip", "arch_check"))
    ]


def test_sliding_panels_want_to_know_their_room():
    partial = size(complete(DoorKind.SLIDING_PAIR, offset=None))

    assert set(partial.missing[0].blocks) == {"jambs_check", "arch_check", "side_room_check", "neighbours_check"}


@pytest.mark.parametrize(
    ("path", "blocks"),
    [
        *((path, True) for path in ("offset", "wall.width", "header_depth", "design.drive_side", "design.film")),
        *((path, True) for path in ("design.turning_tube", "design.sill_tube", "design.post_tube", "wall.stud_face")),
        *((path, False) for path in ("machine", "design.gear_ratio", "design.rod", "wall.header_thickness")),
        *((path, False) for path in ("design.channel.stock_length", "design.turning_tube.stock_length")),
    ],
)
def test_a_sheet_without_its_cut_list_is_not_ready(path, blocks):
    sheet = size(without(complete(DoorKind.MID_BAR), path))

    assert blocks_cutting(sheet.missing) is blocks
    assert (sheet.verdict == Verdict.BLOCKED) is blocks


def test_no_widths_of_the_film_is_no_width():
    assert [gap.field for gap in size(make_opening(design={"film": film()})).missing] == ["design.film.roll_widths"]


def test_stock_of_tubes_in_one_piece_may_be_unknown():
    assert size(make_opening(design={"post_tube": tube(1.66, stock=None)})).missing == ()


@pytest.mark.parametrize("kind", list(DoorKind))
def test_a_name_and_two_sizes_are_enough_to_begin(kind):
    sheet = size(Opening(kind=kind, rough_width=1.5, rough_height=2.5))

    assert sheet.missing
    assert sheet.diagonal == pytest.approx((1.5**2 + 2.5**2) ** 0.5)
