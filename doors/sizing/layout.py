"""Where everything sits on a film roll-up door: bars, marks, channel, holes, tubes, film panel.

Lines across the wall run from the left edge of the rough opening, rightwards, seen from outside; heights run
from the threshold, upwards. Every function takes scalars or arrays of one shape and returns the same shape;
a measurement not taken is NaN and what hangs on it comes back NaN.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from doors.sizing.quantity import SAME, Floats
from doors.sizing.rules import Rules

FLOAT_SLACK = 1e-9  # -; 120 in of bar at 15 in is eight spaces, though 3.048 / 0.381 is a hair more in binary


@dataclass(frozen=True, slots=True)
class Span:
    """A straight part: where it starts on its line, and its length. [m]"""

    start: Floats
    length: Floats

    @property
    def end(self) -> Floats:
        """Where it ends. [m]"""
        return np.asarray(self.start + self.length)


@dataclass(frozen=True, slots=True)
class Marks:
    """Equal marks along a line: first and last position [m], how many, and the space between two [m]."""

    first: Floats
    last: Floats
    count: Floats
    spacing: Floats


@dataclass(frozen=True, slots=True)
class FilmPanel:
    """The sheet to cut, and what hangs below the threshold before the first trim. [m]"""

    width: Floats
    height: Floats
    below_hanging: Floats


def spread(first: ArrayLike, last: ArrayLike, limit: float) -> Marks:
    """Return the fewest equal spaces no wider than ``limit`` that honour both end marks.

    Parameters
    ----------
    first, last : array_like, shape (...)
        End marks, ``last`` not before ``first``. [m]
    limit : float
        Widest space allowed. [m]

    Returns
    -------
    Marks
        Each field of shape (...).
    """
    first, last = np.asarray(first, dtype=np.float64), np.asarray(last, dtype=np.float64)
    reach = last - first
    spaces = np.maximum(np.ceil(reach / limit * (1 - FLOAT_SLACK)), 1)
    return Marks(np.asarray(first), np.asarray(last), np.asarray(spaces + 1), np.asarray(reach / spaces))


def turning_bar(
    rough_width: ArrayLike, offset: ArrayLike, wall_width: ArrayLike, drives_right: ArrayLike, rules: Rules
) -> Span:
    """Return the turning bar: past the opening at its free end, past the structure's side at the drive.

    Parameters
    ----------
    rough_width, offset, wall_width : array_like, shape (...)
        Rough width, the opening's offset from the wall's left corner, the wall's width. [m]
    drives_right : array_like of float, shape (...)
        1 where the drive stands on the right seen from outside, 0 on the left, NaN where not chosen.
    rules : Rules
        The farm's rules.

    Returns
    -------
    Span
        Start and length. [m]
    """
    rough_width, offset, wall_width, right = (
        np.asarray(value, dtype=np.float64) for value in (rough_width, offset, wall_width, drives_right)
    )
    to_left = right * rules.free_end + (1 - right) * (offset + rules.drive_end)
    past_right = right * (wall_width - offset - rough_width + rules.drive_end) + (1 - right) * rules.free_end
    return Span(np.asarray(-to_left), np.asarray(to_left + rough_width + past_right))


def sill_bar(rough_width: ArrayLike, stud_face: ArrayLike, rules: Rules) -> Span:
    """Return the bar along the film's lower edge: equally far past both jamb studs. [m]"""
    past = np.asarray(stud_face, dtype=np.float64) + rules.sill_bar_end
    return Span(np.asarray(-past), np.asarray(np.asarray(rough_width, dtype=np.float64) + 2 * past))


def clamps(rough_width: ArrayLike, stud_face: ArrayLike, rules: Rules) -> Marks:
    """Return the clamps of one bar: one outboard of each jamb stud, the rest spread between them. [m]"""
    past = np.asarray(stud_face, dtype=np.float64) + rules.clamp_outboard
    return spread(-past, np.asarray(rough_width, dtype=np.float64) + past, rules.clamp_spacing)


def channel_screws(length: ArrayLike, rules: Rules) -> Marks:
    """Return the screws of a film channel, counted from its end. [m]"""
    length = np.asarray(length, dtype=np.float64)
    inset = np.minimum(rules.channel_screw_inset, length / 2)
    return spread(inset, length - inset, rules.channel_screw_spacing)


def supports(rough_width: ArrayLike, rules: Rules) -> Marks:
    """Return the header holes, and the anti-billow tubes in line with them.

    One inside each jamb; a wide door has more between them, no further apart than the rule allows.
    """
    rough_width = np.asarray(rough_width, dtype=np.float64)
    inner = np.where(
        rough_width >= rules.wide_from * (1 - FLOAT_SLACK),
        np.ceil(rough_width / rules.support_spacing * (1 - FLOAT_SLACK)) - 1,
        0,
    )
    first, last = rules.header_hole_inset, rough_width - rules.header_hole_inset
    return Marks(np.asarray(first + 0 * rough_width), last, inner + 2, (last - first) / (inner + 1))


def film_panel(rough_width: ArrayLike, rough_height: ArrayLike, header_depth: ArrayLike, rules: Rules) -> FilmPanel:
    """Return the film panel with its allowances.

    What is left below the threshold is the extra height less the header it passes and the strip above it.
    """
    width, height = (np.asarray(value, dtype=np.float64) for value in (rough_width, rough_height))
    below = rules.film_extra - np.asarray(header_depth, dtype=np.float64) - rules.film_above_hanging
    return FilmPanel(
        np.asarray(width + 2 * rules.film_side),
        np.asarray(height + rules.film_extra),
        np.asarray(below),
    )


def joint(bar: Span, marks: Marks, stock: ArrayLike, drives_right: ArrayLike, rules: Rules) -> Floats:
    """Return where a bar of two pieces is joined, clear of every clamp.

    Parameters
    ----------
    bar : Span
        The turning bar. [m]
    marks : Marks
        Its clamps. [m]
    stock : array_like, shape (...)
        Length the tube comes in. [m]
    drives_right : array_like of float, shape (...)
        1 for a drive on the right, 0 on the left.
    rules : Rules
        The farm's rules: the gap to a clamp, the shortest piece.

    Returns
    -------
    ndarray, shape (...)
        The joint on the sheet's line; NaN where one piece serves, where two are too short, or where no
        place is clear of the clamps. [m]

    Notes
    -----
    A full stock length at the drive end is preferred, since the crank's twist enters there; it is cut back
    only to the nearest clear place, and so that neither piece is a stub. All is counted from the drive
    towards the free end, so that a drive on the left gives the mirror image of one on the right.
    """
    stock = np.asarray(stock, dtype=np.float64)
    gap, on_right = rules.clamp_joint_gap, np.asarray(drives_right, dtype=np.float64) > 0.5
    drive = np.where(on_right, bar.end, bar.start)
    nearest = np.where(on_right, drive - marks.last, marks.first - drive)
    longest = np.minimum(stock, bar.length - rules.joint_piece)
    shortest = np.maximum(bar.length - stock, rules.joint_piece)
    # The first clamp that stands in the way of the longest piece, or beyond it.
    ahead = np.floor((longest - gap - nearest) / marks.spacing + FLOAT_SLACK) + 1
    clamp = nearest + np.maximum(np.minimum(ahead, marks.count - 1), 0) * marks.spacing
    between = (ahead > 0) & (marks.spacing >= 2 * gap)
    place = np.minimum(longest, np.where(between, clamp, nearest) - gap)
    place = np.where(ahead >= marks.count, longest, place)
    takes_two = (bar.length > stock + SAME) & (place >= shortest - SAME)
    return np.asarray(np.where(takes_two, np.where(on_right, drive - place, drive + place), np.nan))
