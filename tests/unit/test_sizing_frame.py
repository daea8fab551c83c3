"""The tunnel's frame over an end wall: arches and measured outlines, one or many."""

import numpy as np
import pytest

from doors.sizing import ArchFrame, MeasuredFrame, SizingError, Wall, frame_of
from farm.geometry import GOTHIC_CODE, ROUND_CODE, Profile, Shape

GABLE = Profile(Shape.MEASURED, 10.0, 4.0, 0.0, ((0.0, 2.0), (4.0, 4.0), (10.0, 1.0)))


def test_no_frame_over_a_wall_not_measured():
    whole = {"width": 10.0, "shape": Shape.ROUND, "ridge": 4.0, "side": 1.0}

    assert frame_of(Wall(**whole)) == ArchFrame(ROUND_CODE, 10.0, 4.0, 1.0)
    for name in whole:
        assert frame_of(Wall(**(whole | {name: None}))) is None
    assert frame_of(Wall(width=10.0, shape=Shape.MEASURED)) is None


def test_a_measured_wall_has_the_ridge_of_its_points():
    wall = Wall(width=10.0, shape=Shape.MEASURED, points=GABLE.points)

    assert frame_of(wall) == MeasuredFrame(GABLE)


def test_a_nan_outline_is_refused():
    with pytest.raises(SizingError, match=r"wall\.width is nan"):
        frame_of(Wall(width=float("nan"), shape=Shape.ROUND, ridge=4.0, side=1.0))


def test_a_gothic_arch_comes_in_alike_on_both_sides():
    # Half way up its rise, 2 + 2 of 2 + 4: 10 (1/2)^(1/1.7) / 2 from the middle.
    frame = ArchFrame(GOTHIC_CODE, 10.0, 6.0, 2.0)
    inset = 5 - 5 * 0.5 ** (1 / 1.7)

    assert frame.inset_at(np.float64(4.0), np.float64(1.0)) == pytest.approx(inset)
    assert frame.inset_at(np.float64(4.0), np.float64(0.0)) == pytest.approx(inset)
    assert np.isnan(frame.inset_at(np.float64(4.0), np.float64(np.nan)))


def test_a_measured_outline_comes_in_on_the_drives_side():
    # At 3 m the left slope, 2 in 4, stands at x = 2; the right one, 3 in 6, at x = 6.
    frame = MeasuredFrame(GABLE)

    made = frame.inset_at(np.array([3.0, 3.0, 1.0, np.nan, 3.0]), np.array([0.0, 1.0, 0.0, 0.0, np.nan]))

    assert made == pytest.approx([2.0, 4.0, 0.0, np.nan, np.nan], nan_ok=True)


def test_above_a_measured_outline_the_post_leans_to_its_middle():
    # The outline is 3.5 m high in the middle, 5 m from the corner; where it was last as high on the right is x = 5.
    assert MeasuredFrame(GABLE).inset_at(np.float64(9.0), np.float64(1.0)) == pytest.approx(5.0)


def test_the_height_of_a_measured_outline():
    assert MeasuredFrame(GABLE).height_at(np.array([-1.0, 0.0, 2.0, 7.0, 10.0])) == pytest.approx([0, 2, 3, 2.5, 1])
