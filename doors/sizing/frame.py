"""The tunnel's frame over an end wall, as the sizing asks for it: height at a place, place at a height."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike

from doors.sizing.opening import Wall
from doors.sizing.quantity import Floats, Relation, SizingError
from farm.geometry import (
    SHAPE_CODES,
    GeometryError,
    Profile,
    Shape,
    arch_half_width,
    arch_height,
    check_arches,
    clear_height,
    half_width_at,
)


class Frame(Protocol):
    """What the sizing asks of a frame."""

    def height_at(self, place: Floats) -> Floats:
        """Return the frame's height above grade at a distance from the wall's left corner. [m]"""

    def inset_at(self, height: Floats, drives_right: Floats) -> Floats:
        """Return how far the frame has come in from the drive's corner at a height. [m]"""


@dataclass(frozen=True, slots=True)
class ArchFrame:
    """Round or gothic arches, one or many: codes of `farm.geometry`, sizes in metres.

    Raises
    ------
    GeometryError
        If the sizes given cannot make that shape.
    """

    shape_code: ArrayLike
    width: ArrayLike
    ridge: ArrayLike
    side: ArrayLike

    def __post_init__(self) -> None:
        check_arches(self.shape_code, self.width, self.ridge, self.side)

    def height_at(self, place: Floats) -> Floats:
        """Return the arch's height above grade. [m]"""
        return arch_height(self.shape_code, self.width, self.ridge, self.side, place, is_checked=True)

    def inset_at(self, height: Floats, drives_right: Floats) -> Floats:
        """Return how far the arch has come in; it is the same on both sides. [m]"""
        reach = arch_half_width(self.shape_code, self.width, self.ridge, self.side, height)
        return np.asarray(np.asarray(self.width) / 2 - reach + 0 * drives_right)


@dataclass(frozen=True, slots=True)
class MeasuredFrame:
    """One measured outline."""

    profile: Profile

    def height_at(self, place: Floats) -> Floats:
        """Return the outline's height above grade. [m]"""
        return clear_height(self.profile, place)

    def inset_at(self, height: Floats, drives_right: Floats) -> Floats:
        """Return how far the outline has come in on the drive's side. [m]"""
        height, drives_right = np.broadcast_arrays(height, drives_right)
        one_by_one = [self._inset(*pair) for pair in zip(height.flat, drives_right.flat, strict=True)]
        return np.array(one_by_one, dtype=np.float64).reshape(height.shape)

    def _inset(self, height: float, drives_right: float) -> float:
        if not (np.isfinite(height) and np.isfinite(drives_right)):
            return np.nan
        side: Literal["left", "right"] = "right" if drives_right > 0.5 else "left"
        top = float(self.height_at(np.asarray(self.profile.width / 2)))
        return self.profile.width / 2 - half_width_at(self.profile, min(float(height), top), side)


RELATIONS: dict[str, Relation] = {
    "greater_than": "above",
    "at_least": "at least",
    "at_most": "at most",
    "below_ridge": "below",
    "round_rise": "at most",
    "rising": "above",
    "starts": "exactly",
    "ends": "exactly",
    "peaks": "exactly",
}  # how `farm.geometry` names its limits


def frame_of(wall: Wall) -> Frame | None:
    """Return the frame over a wall, or None where its shape was not measured in full.

    Raises
    ------
    SizingError
        If the sizes given cannot make that shape.
    """
    if wall.shape is None or wall.width is None:
        return None
    try:
        if wall.shape == Shape.MEASURED:
            if not wall.points:
                return None
            ridge = max(height for _, height in wall.points)
            return MeasuredFrame(Profile(wall.shape, wall.width, ridge, 0.0, wall.points))
        if wall.ridge is None or wall.side is None:
            return None
        return ArchFrame(SHAPE_CODES[wall.shape], wall.width, wall.ridge, wall.side)
    except GeometryError as error:
        raise _refusal(error, wall) from error


def _refusal(error: GeometryError, wall: Wall) -> SizingError:
    """Return the refusal of a shape; a measured outline's ridge is its highest point, not an input of its own."""
    limit = float(error.limit) if isinstance(error.limit, int | float) else None
    counts = error.field == "points" and isinstance(error.value, int)
    field = "points" if wall.shape == Shape.MEASURED and error.field == "ridge" else error.field
    path = "wall.points.count" if counts else f"wall.{field}"
    return SizingError(path, float(str(error.value)), RELATIONS.get(error.code, "finite"), limit)
