"""A straight beam on any supports by the stiffness method: deflection, moment, shear and reactions.

Deflections and loads point down, reactions up; moments that sag are positive. Bernoulli beams of one stiffness:
shear deformation is left out, which for tubes 30 diameters long or more changes a sag by less than 1 %.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from doors.mechanics.stretch import (
    SAME_PLACE,
    LineLoad,
    PointLoad,
    Stretch,
    along_stretch,
    carried,
    distinct,
    member,
    stretches,
)
from doors.sizing.quantity import Floats, SizingError, require

__all__ = ["Bent", "LineLoad", "PointLoad", "Support", "bend"]


@dataclass(frozen=True, slots=True)
class Support:
    """Holds the beam at ``place`` [m]: stiff, or by springs [N/m], and also against turning if ``is_fixed``."""

    place: float
    stiffness: float = np.inf
    is_fixed: bool = False


@dataclass(frozen=True, slots=True)
class Bent:
    """A loaded beam, sampled along its length.

    Attributes
    ----------
    places : ndarray, shape (n,)
        Ends, supports, places where a load acts, starts or ends, points between them, and every place where the
        shear changes sign. Where two parts meet the place stands twice: just left and just right of it. [m]
    deflection, moment, shear : ndarray, shape (n,)
        Down [m]; sagging positive [N m]; upward on what lies left of a cut [N].
    reactions : ndarray, shape (supports,)
        Upward, in the order of the supports given; equal supports at one place share what they hold. [N]
    fixing_moments : ndarray, shape (supports,)
        Moment each fixed support puts into the beam, clockwise; 0 where not fixed. [N m]
    """

    places: Floats
    deflection: Floats
    moment: Floats
    shear: Floats
    reactions: Floats
    fixing_moments: Floats

    @property
    def worst_moment(self) -> float:
        """Largest bending moment, whichever way it bends. [N m]"""
        return float(np.max(np.abs(self.moment)))

    @property
    def worst_deflection(self) -> float:
        """Largest deflection of the places listed, up or down. [m]"""
        return float(np.max(np.abs(self.deflection)))


def bend(
    length: float,
    stiffness: float,
    supports: tuple[Support, ...],
    point_loads: tuple[PointLoad, ...] = (),
    line_loads: tuple[LineLoad, ...] = (),
    *,
    samples: int = 8,
) -> Bent:
    """Return how a beam bends.

    Parameters
    ----------
    length : float
        The beam runs from 0 to ``length``. [m]
    stiffness : float
        Bending stiffness E I. [N m²]
    supports : tuple of Support
        At least two places, or one that is fixed.
    point_loads, line_loads : tuple
        Loads on the beam.
    samples : int, default 8
        Points between two supports or loads at which results are given besides those.

    Returns
    -------
    Bent
        Exact at every place listed, for beams of constant stiffness under point and uniform loads.

    Raises
    ------
    SizingError
        If a place lies off the beam, a stiffness is not above zero, or the supports let it move freely.

    Notes
    -----
    Nodes stand at the supports only, where the beam moves and turns; what a stretch carries enters as its
    fixed-end forces, and what lies beyond the outer supports as a force and a moment on them. So two loads next
    to each other make no short, stiff element, which would cost digits. Between nodes the moment is integrated twice.

    References
    ----------
    Gere and Weaver, Analysis of Framed Structures: member stiffness and fixed-end actions (from memory).
    """
    _check(length, stiffness, supports, point_loads, line_loads)
    nodes = distinct([support.place for support in supports])
    parts = stretches([0.0, *nodes, length], point_loads, line_loads)
    matrix, forces = _assemble(nodes, stiffness, parts)
    moves = _solve(matrix, forces, nodes, supports)
    pulls = matrix @ moves - forces  # what the supports add: downward, clockwise
    samplings = list(_sample(nodes, stiffness, parts, moves, samples))
    places, sags, moments, shears = (np.concatenate(column) for column in zip(*samplings, strict=True))
    return Bent(places, sags, moments, shears, *_shared(pulls, moves, nodes, supports))


def _check(
    length: float,
    stiffness: float,
    supports: tuple[Support, ...],
    point_loads: tuple[PointLoad, ...],
    line_loads: tuple[LineLoad, ...],
) -> None:
    for name, value in (("length", length), ("stiffness", stiffness)):
        require(name, value, "finite")
        require(name, value, "above", 0.0)
    places = [support.place for support in supports] + [load.place for load in point_loads]
    for line in line_loads:
        require("line_load.end", line.end, "above", line.start)
        require("line_load.intensity", line.intensity, "finite")
        places += [line.start, line.end]
    for place in places:
        require("place", place, "finite")
        require("place", place, "at least", 0.0)
        require("place", place, "at most", length + SAME_PLACE)
    for load in point_loads:
        require("point_load.force", load.force, "finite")
    for support in supports:
        require("support.stiffness", support.stiffness, "above", 0.0)
    standing = len(distinct([support.place for support in supports]))
    if standing < 2 and not any(support.is_fixed for support in supports):
        raise SizingError("supports", float(standing), "above", 1.0)


def _index(nodes: list[float], place: float) -> int:
    return int(np.argmin(np.abs(np.array(nodes) - place)))


def _assemble(nodes: list[float], stiffness: float, parts: list[Stretch]) -> tuple[Floats, Floats]:
    """Return the stiffness matrix and the loads at the nodes; each node moves down and turns clockwise."""
    count = 2 * len(nodes)
    matrix, forces = np.zeros((count, count)), np.zeros(count)
    for element, part in enumerate(parts[1:-1]):
        at = slice(2 * element, 2 * element + 4)
        matrix[at, at] += member(stiffness, part)
        forces[at] += carried(part)
    for part, node in ((parts[0], 0), (parts[-1], len(nodes) - 1)):
        forces[2 * node : 2 * node + 2] += part.total, part.turning(nodes[node])
    return matrix, forces


def _solve(matrix: Floats, forces: Floats, nodes: list[float], supports: tuple[Support, ...]) -> Floats:
    held: set[int] = set()
    sprung = matrix.copy()
    for support in supports:
        at = 2 * _index(nodes, support.place)
        if np.isinf(support.stiffness):
            held.add(at)
        else:
            sprung[at, at] += support.stiffness
        if support.is_fixed:
            held.add(at + 1)
    free = np.array([index for index in range(len(forces)) if index not in held], dtype=np.intp)
    part = sprung[np.ix_(free, free)]
    scale = np.sqrt(np.diag(part))
    moves = np.zeros(len(forces))
    moves[free] = np.linalg.solve(part / scale[:, None] / scale, forces[free] / scale) / scale
    return moves


def _shared(pulls: Floats, moves: Floats, nodes: list[float], supports: tuple[Support, ...]) -> tuple[Floats, Floats]:
    """Return each support's reaction and fixing moment; at one place stiff ones share and springs then have none."""
    at = [_index(nodes, support.place) for support in supports]
    stiff = [np.isinf(support.stiffness) for support in supports]
    rigid = np.bincount(at, weights=stiff)
    fixed = np.bincount(at, weights=[support.is_fixed for support in supports])
    reactions = [
        -pulls[2 * node] / rigid[node] if is_stiff else support.stiffness * moves[2 * node]
        for node, is_stiff, support in zip(at, stiff, supports, strict=True)
    ]
    moments = [
        pulls[2 * node + 1] / fixed[node] if support.is_fixed else 0.0
        for node, support in zip(at, supports, strict=True)
    ]
    return np.array(reactions), np.array(moments)


def _sample(
    nodes: list[float], stiffness: float, parts: list[Stretch], moves: Floats, samples: int
) -> Iterator[tuple[Floats, Floats, Floats, Floats]]:
    """Yield places, deflection, moment and shear of every part of a stretch between two loads."""
    for number, part in enumerate(parts):
        if part.start >= part.end:
            continue
        ends = distinct([part.start, *part.points, *part.steps, part.end])
        left = _left_end(number, nodes, stiffness, parts, moves)
        for first, second in pairwise(ends):
            yield along_stretch(part, stiffness, left, first, second, samples)


def _left_end(
    number: int, nodes: list[float], stiffness: float, parts: list[Stretch], moves: Floats
) -> tuple[float, float, float, float]:
    """Return move, turn, moment and shear at the left end of a stretch."""
    part = parts[number]
    if number == 0:  # free: no moment, no shear; back from the first support
        move, turn = moves[0], moves[1]
        by_force, by_step = part.end - part.points, part.end - part.steps
        turn -= float(np.sum(part.forces * by_force**2) / 2 + np.sum(part.rises * by_step**3) / 6) / stiffness
        bow = float(np.sum(part.forces * by_force**3) / 6 + np.sum(part.rises * by_step**4) / 24) / stiffness
        return move - turn * (part.end - part.start) - bow, turn, 0.0, 0.0
    at = 2 * (number - 1)
    if number == len(nodes):  # free at its right end: all of its load hangs on its left one
        return moves[at], moves[at + 1], -part.turning(part.start), part.total
    action = member(stiffness, part) @ moves[at : at + 4] - carried(part)
    return moves[at], moves[at + 1], float(action[1]), -float(action[0])
