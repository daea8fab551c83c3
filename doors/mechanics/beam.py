"""A straight beam on any supports by the stiffness method: deflection, moment, shear and reactions.

Deflections and loads point down, reactions up; moments that sag are positive. Bernoulli beams of one stiffness:
shear deformation is left out, which for tubes 30 diameters long or more changes a sag by less than 1 %.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from doors.sizing.quantity import Floats, SizingError, require

SAME_PLACE = 1e-9  # m; nodes closer than this are one
SINGULAR = 1e-14  # -; least ratio of pivots of a beam that stands


@dataclass(frozen=True, slots=True)
class Support:
    """Holds the beam at ``place`` [m]: stiff, or by springs [N/m], and also against turning if ``is_fixed``."""

    place: float
    stiffness: float = np.inf
    is_fixed: bool = False


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
class Bent:
    """A loaded beam, sampled along its length.

    Attributes
    ----------
    places : ndarray, shape (n,)
        Nodes, points between them, and every place where the shear changes sign. [m]
    deflection, moment, shear : ndarray, shape (n,)
        Down [m]; sagging positive [N m]; upward to the left of a cut, just right of the place [N].
    reactions : ndarray, shape (supports,)
        Upward, in the order of the supports given. [N]
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
        """Largest deflection, up or down. [m]"""
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
        At least two, or one that is fixed.
    point_loads, line_loads : tuple
        Loads on the beam.
    samples : int, default 8
        Points between two nodes at which results are given besides the nodes.

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
    Two-node elements with cubic shape functions between all supports and load edges; loads enter as fixed-end
    forces, and the element's own sag under them is added back, so that no mesh is needed.

    References
    ----------
    Gere and Weaver, Analysis of Framed Structures: member stiffness and fixed-end actions (from memory).
    """
    _check(length, stiffness, supports, point_loads, line_loads)
    nodes = _nodes(length, supports, point_loads, line_loads)
    loads = _line_intensities(nodes, line_loads)
    matrix, forces = _assemble(nodes, stiffness, loads)
    for load in point_loads:
        forces[2 * _index(nodes, load.place)] += load.force
    moves = _solve(matrix, forces, nodes, supports)
    pulls = matrix @ moves - forces  # what the supports add; downward and anticlockwise positive
    reactions = np.array([-pulls[2 * _index(nodes, support.place)] for support in supports])
    fixing = np.array(
        [pulls[2 * _index(nodes, support.place) + 1] if support.is_fixed else 0.0 for support in supports]
    )
    return _sample(nodes, stiffness, loads, moves, samples, reactions, fixing)


def _check(
    length: float,
    stiffness: float,
    supports: tuple[Support, ...],
    point_loads: tuple[PointLoad, ...],
    line_loads: tuple[LineLoad, ...],
) -> None:
    require("length", length, "finite")
    require("length", length, "above", 0.0)
    require("stiffness", stiffness, "finite")
    require("stiffness", stiffness, "above", 0.0)
    places = [support.place for support in supports] + [load.place for load in point_loads]
    for line in line_loads:
        require("line_load.end", line.end, "above", line.start)
        require("line_load.intensity", line.intensity, "finite")
        places += [line.start, line.end]
    for place in places:
        require("place", place, "finite")
        require("place", place, "at least", 0.0)
        require("place", place, "at most", length * (1 + SAME_PLACE))
    for load in point_loads:
        require("point_load.force", load.force, "finite")
    for support in supports:
        require("support.stiffness", support.stiffness, "above", 0.0)


def _nodes(
    length: float,
    supports: tuple[Support, ...],
    point_loads: tuple[PointLoad, ...],
    line_loads: tuple[LineLoad, ...],
) -> Floats:
    places = [0.0, length, *(support.place for support in supports), *(load.place for load in point_loads)]
    for line in line_loads:
        places += [line.start, line.end]
    ordered = np.sort(np.minimum(np.asarray(places, dtype=np.float64), length))
    return np.asarray(ordered[np.concatenate([[True], np.diff(ordered) > SAME_PLACE])])


def _index(nodes: Floats, place: float) -> int:
    return int(np.argmin(np.abs(nodes - place)))


def _line_intensities(nodes: Floats, line_loads: tuple[LineLoad, ...]) -> Floats:
    middles = (nodes[:-1] + nodes[1:]) / 2
    return np.asarray(
        sum(
            (np.where((middles > line.start) & (middles < line.end), line.intensity, 0.0) for line in line_loads),
            np.zeros_like(middles),
        )
    )


def _assemble(nodes: Floats, stiffness: float, loads: Floats) -> tuple[Floats, Floats]:
    """Return the stiffness matrix and the loads at the nodes; each node moves down and turns."""
    count = 2 * len(nodes)
    matrix, forces = np.zeros((count, count)), np.zeros(count)
    for element, span in enumerate(np.diff(nodes)):
        at = slice(2 * element, 2 * element + 4)
        matrix[at, at] += stiffness / span**3 * _shape(span)
        load = loads[element]
        forces[at] += load * np.array([span / 2, span**2 / 12, span / 2, -(span**2) / 12])
    return matrix, forces


def _shape(span: float) -> Floats:
    a, b, c = 6 * span, 4 * span**2, 2 * span**2
    return np.array([[12, a, -12, a], [a, b, -a, c], [-12, -a, 12, -a], [a, c, -a, b]])


def _solve(matrix: Floats, forces: Floats, nodes: Floats, supports: tuple[Support, ...]) -> Floats:
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
    free = np.array([index for index in range(len(forces)) if index not in held])
    part = sprung[np.ix_(free, free)]
    scale = np.sqrt(np.abs(np.diag(part)))
    scaled = part / scale[:, None] / scale[None, :]
    if len(free) and np.linalg.cond(scaled) > 1 / SINGULAR:
        raise SizingError("supports", float(len(supports)), "above", 1.0)
    moves = np.zeros(len(forces))
    moves[free] = np.linalg.solve(scaled, forces[free] / scale) / scale
    return moves


def _sample(
    nodes: Floats, stiffness: float, loads: Floats, moves: Floats, samples: int, reactions: Floats, fixing: Floats
) -> Bent:
    places, sags, moments, shears = [], [], [], []
    for element, span in enumerate(np.diff(nodes)):
        load = loads[element]
        v1, t1, v2, t2 = moves[2 * element : 2 * element + 4]
        # M(x) = M1 + V1 x - q x²/2 with the end actions of the cubic and of the fixed-end load.
        first = stiffness / span**2 * (6 * (v1 - v2) + span * (4 * t1 + 2 * t2)) - load * span**2 / 12
        shear = stiffness / span**3 * -(12 * (v1 - v2) + 6 * span * (t1 + t2)) + load * span / 2
        along = np.linspace(0, span, samples + 2)
        turn = shear / load if load else np.inf
        if 0 < turn < span:
            along = np.sort(np.append(along, turn))
        share = along / span
        cubic = (
            v1 * (1 - 3 * share**2 + 2 * share**3)
            + t1 * span * (share - 2 * share**2 + share**3)
            + v2 * (3 * share**2 - 2 * share**3)
            + t2 * span * (share**3 - share**2)
        )
        places.append(nodes[element] + along)
        sags.append(cubic + load * along**2 * (span - along) ** 2 / (24 * stiffness))
        moments.append(first + shear * along - load * along**2 / 2)
        shears.append(shear - load * along)
    return Bent(
        places=np.concatenate(places),
        deflection=np.concatenate(sags),
        moment=np.concatenate(moments),
        shear=np.concatenate(shears),
        reactions=reactions,
        fixing_moments=fixing,
    )
