"""Impossible input is refused with its field, its value and its limit; nothing refused gives figures."""

import math
from dataclasses import replace

import pytest

from doors.sizing import (
    INCH,
    Design,
    DoorKind,
    Machine,
    Neighbour,
    Opening,
    Rod,
    Rules,
    Side,
    SideOperator,
    SizingError,
    Tube,
    size,
)
from farm.geometry import Shape
from tests.openings import make_design, make_opening, make_wall, tube

ROD = make_design().rod


def refusal(opening, rules=None):
    with pytest.raises(SizingError) as caught:
        size(opening, rules or Rules())
    return caught.value


def placed(opening: Opening, path: str, value: float) -> Opening:
    """Return the opening with one measurement replaced, by its path."""
    first, _, rest = path.partition(".")
    here = getattr(opening, first)
    if not rest:
        return replace(opening, **{first: value})
    if isinstance(here, tuple):
        return replace(opening, **{first: (placed(here[0], rest, value), *here[1:])})
    return replace(opening, **{first: placed(here, rest, value)})


def complete() -> Opening:
    return make_opening(
        wall=make_wall(side_operators=(SideOperator(corner=Side.LEFT, travel_top=1.0),)),
        neighbours=(Neighbour(left=0.1, width=0.5, head=1.0),),
    )


TUBES = ("turning_tube", "sill_tube", "post_tube", "anti_billow_tube")
ABOVE_ZERO = [
    "rough_width", "rough_height", "header_depth", "wall.width", "wall.ridge", "wall.stud_face",
    "wall.header_thickness", "design.film.thickness", "design.gear_ratio", "design.rod.diameter", "design.rod.length",
    "design.rod.nut_height", "design.rod.washer_thickness", "machine.width", "machine.height", "neighbours.width",
    "neighbours.head",
    *(f"design.{name}.{part}" for name in TUBES for part in ("diameter", "wall")),
]  # fmt: skip
FROM_ZERO = ["offset", "threshold", "wall.side", "wall.side_operators.travel_top", "neighbours.left"]
STOCK = [
    "design.channel.stock_length", "design.wire.stock_length",
    *(f"design.{name}.stock_length" for name in TUBES),
]  # fmt: skip
MOST = {  # m; everything else is at most 60
    "design.film.thickness": 0.005,
    "design.gear_ratio": 1000,
    **{
        path: 0.5 for path in ABOVE_ZERO if path.endswith((".diameter", "_tube.wall", "nut_height", "washer_thickness"))
    },
}
EVERY = [*ABOVE_ZERO, *FROM_ZERO, *STOCK]


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("path", EVERY)
def test_every_measurement_is_a_number(path, value):
    made = refusal(placed(complete(), path, value))

    assert (made.field, made.relation, made.limit) == (path, "finite", None)
    assert made.value == pytest.approx(value, nan_ok=True)


@pytest.mark.parametrize("path", ABOVE_ZERO)
@pytest.mark.parametrize("value", [0.0, -0.001])
def test_sizes_are_above_zero(path, value):
    made = refusal(placed(complete(), path, value))

    assert (made.field, made.value, made.relation, made.limit) == (path, value, "above", 0)


@pytest.mark.parametrize("path", FROM_ZERO)
def test_places_are_not_below_zero(path):
    made = refusal(placed(complete(), path, -0.001))

    assert (made.field, made.value, made.relation, made.limit) == (path, -0.001, "at least", 0)


@pytest.mark.parametrize("path", STOCK)
def test_stock_is_longer_than_a_hand(path):
    made = refusal(placed(complete(), path, 0.0999))

    assert (made.field, made.relation, made.limit) == (path, "at least", 0.1)


@pytest.mark.parametrize("path", EVERY)
def test_nothing_is_longer_than_any_end_wall(path):
    most = MOST.get(path, 60.0)
    made = refusal(placed(complete(), path, most + 0.001))

    assert (made.field, made.relation, made.limit) == (path, "at most", most)


def test_roll_widths_and_points_are_checked_one_by_one():
    widths = refusal(
        make_opening(design=replace(make_design(), film=replace(make_design().film, roll_widths=(5.0, 0.0))))
    )
    points = refusal(make_opening(wall={"width": None, "points": ((0.0, 1.0), (2.0, -1.0))}))
    place = refusal(make_opening(wall={"points": ((0.0, 1.0), (math.nan, 1.0))}))

    assert (widths.field, widths.value) == ("design.film.roll_widths", 0)
    assert (points.field, points.value) == ("wall.points", -1)
    assert (place.field, place.relation) == ("wall.points", "finite")


@pytest.mark.parametrize("name", TUBES)
def test_a_bar_is_thicker_than_two_of_its_walls(name):
    solid = refusal(make_opening(design={name: tube(1.66, wall=0.83)}))
    hollow = make_opening(design={name: tube(1.66, wall=0.82)})

    assert (solid.field, solid.relation) == (f"design.{name}.wall", "below")
    assert (solid.value, solid.limit) == (pytest.approx(0.83 * INCH), pytest.approx(0.83 * INCH))
    assert size(hollow).missing == ()


def test_an_opening_is_no_wider_than_its_wall():
    made = refusal(make_opening(rough_width=361 * INCH, offset=0.0))

    assert (made.field, made.relation) == ("rough_width", "at most")
    assert (made.value / INCH, made.limit / INCH) == (pytest.approx(361), pytest.approx(360))


def test_an_opening_ends_within_its_wall():
    # 144 in of 360: at most 216 in from the left corner.
    made = refusal(make_opening(offset=216.1 * INCH))

    assert (made.field, made.relation, made.limit / INCH) == ("offset", "at most", pytest.approx(216))


@pytest.mark.parametrize("kind", list(DoorKind))
def test_every_kind_refuses_an_opening_wider_than_its_wall(kind):
    assert refusal(make_opening(kind=kind, rough_width=361 * INCH, offset=0.0)).field == "rough_width"


def test_a_wall_may_be_all_opening():
    # Sizes equal on the tape may differ in the last bit: 30 ft and 360 in.
    sheet = size(make_opening(rough_width=30 * 0.3048, offset=0.0, wall={"width": 360 * 0.0254}))

    assert next(check for check in sheet.checks if check.check == "jambs").reason == "stud_outside"


@pytest.mark.parametrize(
    ("wall", "field", "relation"),
    [
        ({"side": 174 * INCH}, "wall.side", "below"),  # not below the ridge
        ({"shape": Shape.ROUND, "ridge": 10.0, "side": 0.0}, "wall.ridge", "at most"),  # higher than half a circle
        ({"shape": Shape.MEASURED, "points": ((0.0, 1.0),)}, "wall.points.count", "at least"),
        ({"shape": Shape.MEASURED, "points": ((0.5, 1.0), (9.144, 1.0))}, "wall.points", "exactly"),
        ({"shape": Shape.MEASURED, "points": ((0.0, 1.0), (9.0, 1.0))}, "wall.points", "exactly"),
        ({"shape": Shape.MEASURED, "points": ((0.0, 1.0), (0.0, 2.0), (9.144, 1.0))}, "wall.points", "above"),
        ({"shape": Shape.MEASURED, "points": ((0.0, 0.0), (9.144, 0.0))}, "wall.points", "above"),
    ],
)
def test_a_wall_has_a_possible_shape(wall, field, relation):
    made = refusal(make_opening(wall=wall))

    assert (made.field, made.relation) == (field, relation)


def test_whole_metres_given_as_integers_are_metres():
    assert size(Opening(kind=DoorKind.COIL, rough_width=3, rough_height=2)).clear_height == 2


@pytest.mark.parametrize(
    ("changes", "field", "relation", "limit"),
    [
        ({"free_end": -0.01}, "rules.free_end", "at least", 0),
        ({"free_end": math.nan}, "rules.free_end", "finite", None),
        ({"free_end": 100.1}, "rules.free_end", "at most", 100),
        ({"tail_wraps": math.inf}, "rules.tail_wraps", "finite", None),
        ({"clamp_spacing": 0.009}, "rules.clamp_spacing", "at least", 0.01),
        ({"support_spacing": 0.0}, "rules.support_spacing", "at least", 0.01),
        ({"channel_screw_spacing": 0.0}, "rules.channel_screw_spacing", "at least", 0.01),
        ({"size_step": 0.0}, "rules.size_step", "at least", 0.01),
        ({"film_door_least": 8.0, "film_door_most": 8.0}, "rules.film_door_least", "below", 8),
    ],
)
def test_rules_have_limits_too(changes, field, relation, limit):
    with pytest.raises(SizingError) as caught:
        Rules(**changes)

    assert (caught.value.field, caught.value.relation, caught.value.limit) == (field, relation, limit)


def test_a_refusal_says_field_value_and_limit():
    assert str(refusal(make_opening(rough_width=-1.0))) == "rough_width is -1: must be above 0"
    assert str(refusal(make_opening(rough_width=math.nan))) == "rough_width is nan: must be finite"


def test_a_refusal_comes_before_any_figure():
    """Each of these would divide by zero or compare with NaN further in."""
    nothing = Tube(diameter=0.0, wall=0.0)
    rod = Rod(diameter=math.nan, length=math.nan, nut_height=math.nan, washer_thickness=math.nan)
    opening = Opening(
        kind=DoorKind.MID_BAR,
        rough_width=1.0,
        rough_height=2.0,
        design=Design(turning_tube=nothing, rod=rod, gear_ratio=0.0),
        machine=Machine(width=math.nan, height=math.nan),
    )

    assert refusal(opening).field == "design.gear_ratio"
