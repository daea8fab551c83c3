"""What holds for every arch and every tunnel, whatever its size."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.geometry import (
    Profile,
    Shape,
    angle_between,
    clear_height,
    end_wall_area,
    footprint,
    half_width_at,
    opening_on_plan,
    outline,
    wall_bearing,
)

shares = st.floats(0, 1)
bearings = st.floats(-720, 720)
sides_of_the_middle = st.sampled_from(["left", "right"])


@st.composite
def arches(draw):
    """Round and gothic arches from a cold frame to a hall."""
    shape = draw(st.sampled_from([Shape.ROUND, Shape.GOTHIC]))
    width, side = draw(st.floats(0.5, 50)), draw(st.floats(0, 6))
    steepest = 0.5 if shape == Shape.ROUND else 2.0
    return Profile(shape, width, side + width * draw(st.floats(0.02, steepest)), side)


@st.composite
def measured(draw):
    """Outlines of three to eight points whose middle is the highest."""
    half = draw(st.floats(0.5, 20))
    steps = draw(st.lists(st.floats(0.1, 1), min_size=1, max_size=3))
    out = half * np.cumsum(steps) / np.sum(steps)
    heights = st.floats(0, 4)
    left = [(float(half - distance), draw(heights)) for distance in out[::-1]]
    right = [(float(half + distance), draw(heights)) for distance in out]
    return Profile(Shape.MEASURED, 2 * half, 5.0, 0.0, (*left, (half, 5.0), *right))


profiles = st.one_of(arches(), measured())


@given(arches(), shares)
def test_an_arch_is_the_same_on_both_sides(profile, share):
    x = share * profile.width

    assert clear_height(profile, x) == pytest.approx(clear_height(profile, profile.width - x), rel=1e-9, abs=1e-9)


@given(arches(), shares, shares)
def test_an_arch_falls_from_the_middle_to_the_sides(profile, one, other):
    near, far = sorted([one, other])
    half = profile.width / 2

    heights = clear_height(profile, [half + near * half, half + far * half])

    assert profile.ridge * (1 + 1e-12) >= heights[0] >= heights[1] - 1e-9
    assert heights[1] >= profile.side


@given(profiles, shares, st.floats(0.1, 10))
def test_a_wall_twice_as_large_is_the_same_wall(profile, share, scale):
    points = tuple((x * scale, y * scale) for x, y in profile.points)
    large = Profile(profile.shape, profile.width * scale, profile.ridge * scale, profile.side * scale, points)
    x = share * profile.width * (1 - 1e-9)

    assert clear_height(large, x * scale) == pytest.approx(clear_height(profile, x) * scale, rel=1e-6, abs=1e-6)
    assert end_wall_area(large) == pytest.approx(end_wall_area(profile) * scale**2, rel=1e-9)


@given(profiles, st.floats(0.001, 0.999), sides_of_the_middle)
def test_the_frame_is_as_high_as_asked_where_the_reach_ends(profile, share, side):
    y = share * profile.ridge
    reach = half_width_at(profile, y, side)
    x = profile.width / 2 + (reach if side == "right" else -reach)
    inside = x + (-1e-9 if side == "right" else 1e-9) * profile.width

    if reach < profile.width / 2:
        assert clear_height(profile, x) == pytest.approx(y, rel=1e-6)
    else:
        assert clear_height(profile, inside) >= y * (1 - 1e-3)


@given(profiles, shares, shares, sides_of_the_middle)
def test_the_reach_is_clear_all_the_way(profile, share, part, side):
    y = share * profile.ridge
    reach = part * half_width_at(profile, y, side) * (1 - 1e-9)

    x = profile.width / 2 + (reach if side == "right" else -reach)

    assert clear_height(profile, x) >= y * (1 - 1e-6)


@given(profiles)
def test_the_area_fits_in_its_rectangle(profile):
    assert profile.width * profile.side < end_wall_area(profile) < profile.width * profile.ridge


@given(profiles)
def test_an_outline_encloses_the_area(profile):
    x, y = outline(profile, 2001).T

    # Shoelace formula; the outline runs clockwise from the left corner.
    assert np.sum(y * np.roll(x, -1) - x * np.roll(y, -1)) / 2 == pytest.approx(end_wall_area(profile), rel=1e-4)


@given(st.floats(-500, 500), st.floats(-500, 500), st.floats(1, 50), st.floats(1, 300), bearings)
def test_corners_are_a_rectangle_round_the_middle(x, y, width, length, bearing):
    a_left, a_right, b_right, b_left = corners = footprint(x, y, width, length, bearing)

    assert corners.mean(axis=0) == pytest.approx([x, y], abs=1e-9)
    assert np.hypot(*(a_right - a_left)) == pytest.approx(width)
    assert np.hypot(*(b_right - a_right)) == pytest.approx(length)
    assert b_left - a_left == pytest.approx(b_right - a_right, abs=1e-9)
    assert np.dot(a_right - a_left, b_right - a_right) == pytest.approx(0, abs=1e-6)


@given(bearings, st.sampled_from(["A", "B"]), shares, st.floats(0.01, 1))
def test_an_opening_lies_on_its_wall_with_the_tunnel_behind(bearing, end, offset_share, width_share):
    corners = footprint(3, 4, 6, 20, bearing)
    width = 6 * width_share
    left, right = opening_on_plan(corners, end, offset_share * (6 - width), width)
    facing = np.deg2rad(wall_bearing(bearing, end))
    outward, rightward = [np.sin(facing), np.cos(facing)], [-np.cos(facing), np.sin(facing)]

    # Seen from outside the right jamb is on the viewer's right, who looks against the way the wall faces.
    assert np.dot(right - left, rightward) == pytest.approx(width)
    assert np.dot(left - [3, 4], outward) == pytest.approx(10)
    assert np.dot(right - [3, 4], outward) == pytest.approx(10)


@given(bearings, bearings, st.integers(-3, 3))
def test_angles_do_not_depend_on_order_or_turns(first, second, turns):
    angle = angle_between(first, second)

    assert 0 <= angle <= 180
    assert angle == pytest.approx(angle_between(second, first), abs=1e-9)
    assert angle == pytest.approx(angle_between(first + 360 * turns, second), abs=1e-9)


@given(bearings)
def test_the_ends_face_away_from_each_other(bearing):
    assert 0 <= wall_bearing(bearing, "A") < 360
    assert angle_between(wall_bearing(bearing, "A"), wall_bearing(bearing, "B")) == pytest.approx(180)
