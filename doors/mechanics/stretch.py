"""A stretch of beam between two supports, or beyond the last: what its load does to its ends and inside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from doors.sizing.quantity import Floats

SAME_PLACE = 1e-9  # m; places closer than this are one


@dataclass(frozen=True, slots=True)
class PointLoad:
    """A force at a place [m], downward. [N]"""

    place: float
    force: float


@dataclass(frozen=True, slots=True)
class LineLoad:
    """A load per length from ``start`` to ``end`` [m], downward. [N/m]"""

    start: float
    end: float
    intensity: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the beam with the loads on it.

    A line load is two steps: its intensity begins at one place and the opposite one at another.
    """

    start: float
    end: float
    points: Floats  # m
    forces: Floats  # N
    steps: Floats  # m
    rises: Floats  # N/m

    @property
    def total(self) -> float:
        """All load on it. [N]"""
        return float(np.sum(self.forces) + np.sum(self.rises * (self.end - self.steps)))

    def turning(self, about: float) -> float:
        """Moment of its load about a place, clockwise. [N m]"""
        of_steps = self.rises * (self.end - self.steps) * ((self.end + self.steps) / 2 - about)
        return float(np.sum(self.forces * (self.points - about)) + np.sum(of_steps))


def distinct(places: list[float]) -> list[float]:
    """Return places in order, those that are one only once. [m]"""
    ordered = sorted(places)
    return [place for at, place in enumerate(ordered) if at == 0 or place - ordered[at - 1] > SAME_PLACE]


def stretches(bounds: list[float], points: tuple[PointLoad, ...], lines: tuple[LineLoad, ...]) -> list[Stretch]:
    """Return the stretches between bounds; a load on a bound counts to the one on its right, at the end to the last."""
    found = []
    for start, end, limit in zip(bounds[:-1], bounds[1:], [*bounds[1:-1], np.inf], strict=True):
        here = [load for load in points if start <= load.place < limit]
        parts = [(max(line.start, start), min(line.end, end), line.intensity) for line in lines]
        parts = [part for part in parts if part[0] < part[1]]
        found.append(
            Stretch(
                start=start,
                end=end,
                points=np.array([load.place for load in here]),
                forces=np.array([load.force for load in here]),
                steps=np.array([place for first, second, _ in parts for place in (first, second)]),
                rises=np.array([rise for _, _, intensity in parts for rise in (intensity, -intensity)]),
            )
        )
    return found


def member(stiffness: float, stretch: Stretch) -> Floats:
    """Return the stiffness matrix of a stretch: move down and turn clockwise, left and right. [N/m, N, N m]"""
    span = stretch.end - stretch.start
    a, b, c = 6 * span, 4 * span**2, 2 * span**2
    shape = np.array([[12, a, -12, a], [a, b, -a, c], [-12, -a, 12, -a], [a, c, -a, b]])
    return np.asarray(stiffness / span**3 * shape)


def carried(stretch: Stretch) -> Floats:
    """Return what a stretch's load does to its ends: the load on the cubic shapes of their moves."""
    span = stretch.end - stretch.start
    s, r = (stretch.points - stretch.start) / span, (stretch.steps - stretch.start) / span
    shapes = np.array([1 - 3 * s**2 + 2 * s**3, span * (s - 2 * s**2 + s**3), 3 * s**2 - 2 * s**3,
                       span * (s**3 - s**2)])  # fmt: skip
    # The same shapes, integrated from where the step begins to the far end.
    areas = span * np.array([1 / 2 - r + r**3 - r**4 / 2, span * (1 / 12 - r**2 / 2 + 2 * r**3 / 3 - r**4 / 4),
                             1 / 2 - r**3 + r**4 / 2, span * (-1 / 12 - r**4 / 4 + r**3 / 3)])  # fmt: skip
    return np.asarray(shapes @ stretch.forces + areas @ stretch.rises)


def along_stretch(
    stretch: Stretch,
    stiffness: float,
    left: tuple[float, float, float, float],
    first: float,
    second: float,
    samples: int,
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return places between two loads, deflection, moment and shear there.

    ``left`` is the move, turn, moment and shear at the stretch's left end; from there the moment is integrated twice.
    """
    move, turn, moment, shear = left
    acting, begun = stretch.points <= first + SAME_PLACE, stretch.steps <= first + SAME_PLACE
    forces, rises = stretch.forces[acting], stretch.rises[begun]

    def upward(place: Floats) -> Floats:
        return np.asarray(shear - np.sum(forces) - (place[:, None] - stretch.steps[begun]) @ rises)

    places = np.linspace(first, second, samples + 2)
    from_left, from_right = upward(places[[0, -1]])
    if from_left * from_right < 0:  # the moment's peak
        peak = first + (second - first) * from_left / (from_left - from_right)
        places = np.sort(np.append(places, peak))
    along, by_force, by_step = (places - stretch.start, places[:, None] - stretch.points[acting],
                                places[:, None] - stretch.steps[begun])  # fmt: skip
    bending = moment + shear * along - by_force @ forces - by_step**2 @ rises / 2
    bow = moment * along**2 / 2 + shear * along**3 / 6 - by_force**3 @ forces / 6 - by_step**4 @ rises / 24
    return places, move + turn * along - bow / stiffness, bending, upward(places)
