"""Arches stand as high as their measurements say, and tunnels lie where the plan puts them."""

import math
import pickle

import numpy as np
import pint
import pytest

from farm.geometry import (
    GOTHIC_CODE,
    MAX_SIZE,
    ROUND_CODE,
    SHAPE_CODES,
    GeometryError,
    Profile,
    Shape,
    angle_between,
    arch_half_width,
    arch_height,
    clear_height,
    compass_point,
    end_wall_area,
    footprint,
    half_width_at,
    opening_on_plan,
    outline,
    wall_bearing,
)

FOOT = pint.UnitRegistry().Quantity(1, "foot").to("metre").magnitude

HALF_CIRCLE = Profile(Shape.ROUND, width=6.0, ridge=3.0, side=0.0)
ROUND = Profile(Shape.ROUND, width=8.0, ridge=3.0, side=1.0)  # rise 2, half 4: radius 5 (3-4-5 triangle)
GOTHIC = Profile(Shape.GOTHIC, width=10.0, ridge=5.0, side=2.0)
MEASURED = Profile(Shape.MEASURED, 4.0, 3.0, 0.0, ((0, 1), (1, 2.5), (2, 3), (4, 0)))


def close(values):
    return pytest.approx(values, rel=1e-12, abs=1e-12)


# Heights


@pytest.mark.parametrize(
    ("profile", "x", "y"),
    [
        (HALF_CIRCLE, [0, 3, 6], [0, 3, 0]),
        (HALF_CIRCLE, [1.5], [math.sqrt(3**2 - 1.5**2)]),
        (ROUND, [0, 4, 8], [1, 3, 1]),
        (ROUND, [1, 7], [2, 2]),  # 3 from the middle: the circle is 4 above its centre, at -2
        (GOTHIC, [0, 5, 10], [2, 5, 2]),
        (MEASURED, [0, 0.5, 1, 2, 3, 4], [1, 1.75, 2.5, 3, 1.5, 0]),
    ],
)
def test_the_frame_goes_through_its_points(profile, x, y):
    assert clear_height(profile, x).tolist() == close(y)


@pytest.mark.parametrize("profile", [HALF_CIRCLE, ROUND, GOTHIC, MEASURED])
def test_outside_the_wall_there_is_no_frame(profile):
    assert clear_height(profile, [-0.001, profile.width + 0.001]).tolist() == [0, 0]


@pytest.mark.parametrize("profile", [ROUND, GOTHIC, MEASURED])
def test_heights_take_the_shape_of_the_places_asked(profile):
    places = np.linspace(0, 1, 6).reshape(2, 3)

    assert clear_height(profile, places).shape == (2, 3)
    assert clear_height(profile, 0.5).shape == ()


def test_many_arches_at_once_equal_each_alone():
    profiles = [HALF_CIRCLE, ROUND, GOTHIC]
    codes = [SHAPE_CODES[profile.shape] for profile in profiles]
    sizes = np.array([(profile.width, profile.ridge, profile.side) for profile in profiles]).T

    together = arch_height(codes, *sizes, [[1.0], [2.5]])

    assert together.tolist() == [[float(clear_height(profile, x)) for profile in profiles] for x in (1.0, 2.5)]


def test_a_flat_arch_loses_no_accuracy():
    height = arch_height(ROUND_CODE, 10.0, 2.0 + 1e-9, 2.0, [5.0, 2.5])

    # For a very flat arc the rise falls off as the square of the distance from the middle.
    assert (height - 2.0).tolist() == pytest.approx([1e-9, 0.75e-9], rel=1e-6)


@pytest.mark.parametrize("profile", [ROUND, GOTHIC, MEASURED])
@pytest.mark.parametrize("x", [float("nan"), float("inf")])
def test_a_place_must_be_finite(profile, x):
    with pytest.raises(GeometryError, match=f"x is {x} but must be a finite number"):
        clear_height(profile, [0.0, x])


def test_an_unknown_shape_code_is_refused():
    with pytest.raises(GeometryError, match="shape_code is 2 but must be one of 0 "):
        arch_height([GOTHIC_CODE, 2], 10.0, 3.0, 0.0, 1.0)


def test_the_first_impossible_arch_of_many_is_named():
    with pytest.raises(GeometryError) as refused:
        arch_height(ROUND_CODE, [10.0, 4.0, 2.0], 3.0, 0.5, 1.0)

    assert (refused.value.field, refused.value.value, refused.value.limit) == ("ridge", 3.0, 2.5)


# Half widths


@pytest.mark.parametrize(
    ("profile", "y", "side", "distance"),
    [
        (ROUND, 0, "left", 4),
        (ROUND, 1, "left", 4),
        (ROUND, 2, "right", 3),
        (ROUND, 3, "right", 0),
        (HALF_CIRCLE, 0, "left", 3),
        (HALF_CIRCLE, 1.5, "left", math.sqrt(3**2 - 1.5**2)),
        (GOTHIC, 1.9, "left", 5),
        (GOTHIC, 5, "left", 0),
        (MEASURED, 0, "left", 2),
        (MEASURED, 1, "left", 2),
        (MEASURED, 1.75, "left", 1.5),
        (MEASURED, 2.75, "left", 0.5),
        (MEASURED, 3, "left", 0),
        (MEASURED, 0, "right", 2),
        (MEASURED, 1.5, "right", 1),
        (MEASURED, 3, "right", 0),
    ],
)
def test_the_reach_at_a_height(profile, y, side, distance):
    assert half_width_at(profile, y, side) == close(distance)


def test_the_reach_stops_where_a_measured_frame_first_dips():
    dented = Profile(Shape.MEASURED, 6.0, 3.0, 0.0, ((0, 0), (3, 3), (4, 1), (5, 2), (6, 0)))

    assert half_width_at(dented, 1.5, "right") == close(0.75)


def test_the_reach_of_many_arches_at_once_equals_each_alone():
    profiles = [HALF_CIRCLE, ROUND, GOTHIC]
    codes = [SHAPE_CODES[profile.shape] for profile in profiles]
    sizes = np.array([(profile.width, profile.ridge, profile.side) for profile in profiles]).T

    together = arch_half_width(codes, *sizes, [[0.5], [2.5]])

    assert together.tolist() == [[half_width_at(profile, y, "left") for profile in profiles] for y in (0.5, 2.5)]
    assert arch_half_width(codes, *sizes, 5.1).tolist() == [0, 0, 0]


def test_under_a_flat_top_the_reach_is_the_whole_of_it():
    flat = Profile(Shape.MEASURED, 4.0, 2.0, 0.0, ((0, 0), (1, 2), (3, 2), (4, 0)))

    assert half_width_at(flat, 2.0, "left") == close(1)
    assert half_width_at(flat, 2.0, "right") == close(1)


@pytest.mark.parametrize(("profile", "top"), [(ROUND, 3.0), (GOTHIC, 5.0), (MEASURED, 3.0)])
@pytest.mark.parametrize("y", [-0.001, 6.0, float("nan")])
def test_no_reach_above_the_frame_or_below_grade(profile, top, y):
    with pytest.raises(GeometryError) as refused:
        half_width_at(profile, y, "left")

    assert (refused.value.field, refused.value.limit) == ("y", top)
    assert str(refused.value) == f"y is {y} but must be from 0 to {top}, the height of the frame over the middle."


def test_a_lopsided_frame_limits_the_height_over_its_middle():
    lopsided = Profile(Shape.MEASURED, 4.0, 3.0, 0.0, ((0, 0), (1, 3), (4, 0)))

    with pytest.raises(GeometryError, match=r"from 0 to 2\.0"):
        half_width_at(lopsided, 2.5, "left")


def test_the_reach_goes_left_or_right():
    with pytest.raises(GeometryError, match="side is up but must be one of left, right"):
        half_width_at(ROUND, 1, "up")


# Areas and outlines


@pytest.mark.parametrize(
    ("profile", "area"),
    [
        (HALF_CIRCLE, math.pi * 3**2 / 2),
        # Segment of a circle of radius 5 with its chord 3 from the centre, on a wall 1 m high.
        (ROUND, 8 + 25 * math.acos(3 / 5) - 3 * 4),
        (GOTHIC, 20 + 3 * 10 * 1.7 / 2.7),
        (MEASURED, 1.75 + 2.75 + 3),
    ],
)
def test_the_area_in_closed_form(profile, area):
    assert end_wall_area(profile) == close(area)


@pytest.mark.parametrize("profile", [HALF_CIRCLE, ROUND, GOTHIC, MEASURED])
def test_the_area_is_that_under_the_frame(profile):
    x = np.linspace(0, profile.width, 200_001)

    assert end_wall_area(profile) == pytest.approx(np.trapezoid(clear_height(profile, x), x), rel=1e-7)


def test_an_outline_begins_and_ends_at_grade():
    points = outline(ROUND, 3)

    assert points.tolist() == close(np.array([[0, 0], [0, 1], [4, 3], [8, 1], [8, 0]]))


def test_an_outline_without_sides_repeats_no_point():
    assert outline(HALF_CIRCLE, 3).tolist() == close(np.array([[0, 0], [3, 3], [6, 0]]))


def test_a_measured_outline_keeps_its_own_points():
    assert outline(MEASURED).tolist() == [[0, 0], [0, 1], [1, 2.5], [2, 3], [4, 0]]


def test_an_outline_has_the_points_asked_for_and_the_ridge():
    points = outline(GOTHIC)

    assert points.shape == (49 + 2, 2)
    assert points[25].tolist() == close([5, 5])


@pytest.mark.parametrize("count", [1, 2, 48])
def test_an_outline_without_a_point_at_the_ridge_is_refused(count):
    with pytest.raises(GeometryError, match=f"count is {count} but must be an odd number of at least 3"):
        outline(GOTHIC, count)


# Limits of a profile


@pytest.mark.parametrize(
    ("shape", "sizes", "field", "value", "limit"),
    [
        ("square", (4, 3, 0), "shape", "square", "round, gothic, measured"),
        ("gothic", (0, 3, 0), "width", 0, 0),
        ("gothic", (-4, 3, 0), "width", -4, 0),
        ("gothic", (float("inf"), 3, 0), "width", float("inf"), MAX_SIZE),
        ("gothic", (MAX_SIZE * 1.01, 3, 0), "width", MAX_SIZE * 1.01, MAX_SIZE),
        ("gothic", (4, 0, 0), "ridge", 0, 0),
        ("gothic", (4, MAX_SIZE * 1.01, 0), "ridge", MAX_SIZE * 1.01, MAX_SIZE),
        ("gothic", (4, 3, -0.1), "side", -0.1, 0),
        ("gothic", (4, 3, 3), "side", 3, 3),
        ("round", (4, 3.01, 1), "ridge", 3.01, 3),
        ("measured", (4, 3, 0), "points", 0, 2),
    ],
)
def test_a_profile_beyond_a_limit_is_refused(shape, sizes, field, value, limit):
    with pytest.raises(GeometryError) as refused:
        Profile(shape, *sizes)
    error = refused.value

    assert (error.field, error.value, error.limit) == (field, value, limit)
    assert all(str(part) in str(error) for part in (field, value, limit))


@pytest.mark.parametrize("position", range(3))
def test_a_size_must_be_a_number(position):
    sizes = [4.0, 3.0, 0.0]
    sizes[position] = float("nan")

    with pytest.raises(GeometryError, match="is nan but must be"):
        Profile(Shape.GOTHIC, *sizes)


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        (((0, 3),), "points is 1 but must be at least 2."),
        (((0, 1), (2, float("nan")), (4, 0)), "points is nan but must be a finite number."),
        (((0, 1), (float("inf"), 3), (4, 0)), "points is inf but must be a finite number."),
        (
            ((0, 1), (2, 3), (2, 2), (4, 0)),
            "points: x is 2.0 but must be greater than 2.0, where the point before stands.",
        ),
        (((0, 1), (2, 3), (4, -0.1)), "points is -0.1 but must be at least 0."),
        (((0.01, 1), (2, 3), (4, 0)), "points: the first x is 0.01 but must be 0.0."),
        (((0, 1), (2, 3), (3.9, 0)), "points: the last x is 3.9 but must be the width, 4.0."),
        (((0, 1), (2, 2.9), (4, 0)), "points: the highest y is 2.9 but must be the ridge, 3.0."),
    ],
)
def test_measured_points_must_close(points, sentence):
    with pytest.raises(GeometryError) as refused:
        Profile(Shape.MEASURED, 4.0, 3.0, 0.0, points)

    assert str(refused.value) == sentence


def test_measured_points_may_miss_by_what_a_tape_reads():
    assert Profile(Shape.MEASURED, 4.0, 3.0, 0.0, ((0.0009, 1), (2, 3.0009), (3.9991, 0))).width == 4.0


def test_a_round_arch_of_exactly_half_its_width_stands_in_feet_as_well():
    for quarters in range(4, 200):
        Profile(Shape.ROUND, quarters * FOOT / 2, (4 + quarters / 4) * FOOT, 4 * FOOT)


def test_an_error_can_be_translated_where_it_is_shown():
    with pytest.raises(GeometryError) as refused:
        Profile(Shape.GOTHIC, 4.0, 3.0, 3.5)
    error = refused.value

    assert error.template % {**error.params, "field": "Alero", "limit": "3 m"} == (
        "Alero is 3.5 but must be less than the ridge, 3 m."
    )
    assert str(pickle.loads(pickle.dumps(error))) == str(error)  # noqa: S301 - our own bytes


# The plan


@pytest.mark.parametrize(
    ("bearing", "corners"),
    [
        (0, [[-1, -5], [1, -5], [1, 5], [-1, 5]]),
        (90, [[-5, 1], [-5, -1], [5, -1], [5, 1]]),
        (180, [[1, 5], [-1, 5], [-1, -5], [1, -5]]),
        (270, [[5, -1], [5, 1], [-5, 1], [-5, -1]]),
    ],
)
def test_corners_follow_the_axis(bearing, corners):
    expected = np.add(corners, [100, 200])

    assert footprint(100, 200, 2, 10, bearing) == close(expected)


def test_corners_of_many_tunnels_at_once():
    together = footprint([0, 100], [0, 50], 2, [10, 20], [0, 30])

    assert together.shape == (2, 4, 2)
    assert together[1].tolist() == footprint(100, 50, 2, 20, 30).tolist()


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ((math.nan, 0, 2, 10, 0), "x"),
        ((0, math.inf, 2, 10, 0), "y"),
        ((0, 0, 0, 10, 0), "width"),
        ((0, 0, 2, -1, 0), "length"),
        ((0, 0, 2, 10, math.nan), "axis_bearing"),
    ],
)
def test_a_tunnel_without_a_place_or_size_is_refused(values, field):
    with pytest.raises(GeometryError) as refused:
        footprint(*values)

    assert refused.value.field == field


@pytest.mark.parametrize(
    ("end", "jambs"),
    [
        # Axis to the north. From outside A one looks north: left is west.
        ("A", [[-0.75, -5], [0.25, -5]]),
        # From outside B one looks south: left is east.
        ("B", [[0.75, 5], [-0.25, 5]]),
    ],
)
def test_an_opening_is_measured_from_the_left_seen_from_outside(end, jambs):
    corners = footprint(0, 0, 2, 10, 0)

    assert opening_on_plan(corners, end, 0.25, 1.0) == close(np.array(jambs))


def test_an_opening_may_fill_the_wall():
    corners = footprint(0, 0, 2, 10, 37)

    assert opening_on_plan(corners, "A", 0, 2) == close(corners[:2])


@pytest.mark.parametrize(
    ("end", "offset", "width", "field"),
    [
        ("A", -0.01, 1, "offset"),
        ("A", 1.01, 1, "offset"),
        ("B", math.nan, 1, "offset"),
        ("B", 0, 0, "width"),
        ("B", 0, 2.01, "width"),
        ("C", 0, 1, "end"),
    ],
)
def test_an_opening_must_be_in_a_wall(end, offset, width, field):
    with pytest.raises(GeometryError) as refused:
        opening_on_plan(footprint(0, 0, 2, 10, 0), end, offset, width)

    assert refused.value.field == field


@pytest.mark.parametrize(
    ("axis", "end", "bearing"), [(270, "B", 270), (270, "A", 90), (0, "A", 180), (-90, "B", 270), (-1e-20, "B", 0)]
)
def test_end_b_faces_along_the_axis(axis, end, bearing):
    assert wall_bearing(axis, end) == bearing


def test_a_wall_is_at_end_a_or_b():
    with pytest.raises(GeometryError, match="end is N but must be one of A, B"):
        wall_bearing(0, "N")


@pytest.mark.parametrize(
    ("bearing", "points", "name"),
    [
        (0, 8, "N"),
        (22.4, 8, "N"),
        (22.5, 8, "NE"),
        (180, 8, "S"),
        (337.4, 8, "NW"),
        (337.5, 8, "N"),
        (360, 8, "N"),
        (-45, 8, "NW"),
        (22.5, 16, "NNE"),
        (11.24, 16, "N"),
        (292.5, 16, "WNW"),
        (348.75, 16, "N"),
    ],
)
def test_the_nearest_compass_point(bearing, points, name):
    assert compass_point(bearing, points=points) == name


@pytest.mark.parametrize("points", [8, 16])
def test_the_compass_goes_round_once(points):
    names = [compass_point(step * 360 / points, points=points) for step in range(points)]

    assert len(set(names)) == points
    assert names[:: points // 4] == ["N", "E", "S", "W"]


def test_a_compass_has_eight_or_sixteen_points():
    with pytest.raises(GeometryError, match="points is 4 but must be one of 8, 16"):
        compass_point(0, points=4)


@pytest.mark.parametrize(
    ("first", "second", "angle"), [(350, 10, 20), (10, 350, 20), (0, 180, 180), (270, 270, 0), (-90, 270, 0)]
)
def test_the_smaller_angle_between_two_bearings(first, second, angle):
    assert angle_between(first, second) == angle


def test_angles_of_many_walls_at_once():
    assert angle_between([0, 90, 300], 270).tolist() == [90, 180, 30]


@pytest.mark.parametrize(
    "ask",
    [lambda b: wall_bearing(b, "A"), compass_point, lambda b: angle_between(b, 0), lambda b: angle_between(0, b)],
)
def test_a_bearing_must_be_finite(ask):
    with pytest.raises(GeometryError, match="nan but must be a finite number"):
        ask(math.nan)
