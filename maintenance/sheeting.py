"""Sheets of film: how large and how heavy they are, the roll they are cut from, and when to change them."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

import numpy as np

from doors.mechanics.film import areal_mass
from farm.geometry import Profile, Shape, end_wall_area, outline
from maintenance.recurrence import Season

EDGE = 0.3048  # m, 1 ft of film beyond the frame at an end, and round an end wall: common practice, no source
FOOT_EDGE = 0.1524  # m, 6 in below the ground line on each side of a roof: common practice, no source
MID_SEASON = timedelta(days=14)  # into the autumn: shade is off, planting not yet on; a grower's habit, published
LEAD_WEEKS = 6  # weeks from order to delivery where the farm's book says nothing: common practice, no source
ARCH_POINTS = 2001  # of a gothic arch; the chords are then short of the curve by less than a millimetre


@dataclass(frozen=True, slots=True)
class Sheet:
    """A rectangle of film, its edges included."""

    width: float  # m
    length: float  # m

    @property
    def area(self) -> float:
        """Its area. [m²]"""
        return self.width * self.length


@dataclass(frozen=True, slots=True)
class Piece:
    """What is cut off a roll for a sheet."""

    roll_width: float  # m
    length: float  # m

    @property
    def area(self) -> float:
        """What is bought. [m²]"""
        return self.roll_width * self.length


@lru_cache(maxsize=256)  # a farm's tunnels share a few frames
def arch_length(profile: Profile) -> float:
    r"""Return the way over a frame from the ground on one side to the ground on the other. [m]

    Notes
    -----
    A round arch is two straight sides and the arc :math:`4 R \arctan(r / h)` over half width :math:`h` and rise
    :math:`r`, with :math:`R = (h^2 + r^2) / 2r`. A gothic or measured outline is the sum of its chords.
    """
    if profile.shape == Shape.ROUND:
        half, rise = profile.width / 2, profile.ridge - profile.side
        radius = (half**2 + rise**2) / (2 * rise)
        return 2 * profile.side + 4 * radius * math.atan(rise / half)
    return float(np.sum(np.hypot(*np.diff(outline(profile, ARCH_POINTS), axis=0).T)))


def roof_sheet(profile: Profile, length: float) -> Sheet:
    """Return one layer over a tunnel, from the ground to the ground, with its edges. [m]"""
    return Sheet(arch_length(profile) + 2 * FOOT_EDGE, length + 2 * EDGE)


def wall_sheet(profile: Profile) -> Sheet:
    """Return the rectangle an end wall's film is cut from, with an edge all round. [m]"""
    return Sheet(profile.width + 2 * EDGE, profile.ridge + 2 * EDGE)


def wall_area(profile: Profile, openings: Iterable[tuple[float, float]]) -> float:
    """Return what of an end wall is film: its area without its openings, given by width and height. [m²]"""
    return max(end_wall_area(profile) - sum(width * height for width, height in openings), 0.0)


def cut_from(sheet: Sheet, roll_widths: Collection[float]) -> Piece | None:
    """Return the smallest piece of a roll that a sheet can be cut from, whichever way it is turned.

    Parameters
    ----------
    sheet : Sheet
        What is needed. [m]
    roll_widths : collection of float
        The widths the film is sold in; empty where they are not known. [m]

    Returns
    -------
    Piece or None
        The sheet itself where no width is known; None where every roll is too narrow. Of pieces with the same area
        the one off the wider roll, which is the shorter.
    """
    if not roll_widths:
        return Piece(sheet.width, sheet.length)
    turned = ((sheet.width, sheet.length), (sheet.length, sheet.width))
    pieces = [Piece(roll, along) for roll in roll_widths for across, along in turned if across <= roll]
    return min(pieces, key=lambda piece: (piece.area, piece.length), default=None)


def sheet_mass(sheet: Sheet | Piece, thickness: float) -> float:
    """Return the weight of one layer of polyethylene of a thickness [m], as it comes off the roll. [kg]"""
    return float(areal_mass(thickness)) * sheet.area


def autumn_day(year: int, *, is_southern: bool) -> date:
    """Return the day of a year around which film is changed: mid September in the north, mid March in the south."""
    return Season.AUTUMN.begins_on(year, is_southern=is_southern) + MID_SEASON


def replacement_day(early: date, late: date, on: date, *, is_southern: bool) -> date | None:
    """Return the autumn day on which a sheet is best replaced, or None when it should be now.

    Parameters
    ----------
    early, late : date
        When its life is expected to end, and when at the latest.
    on : date
        The day of planning.
    is_southern : bool
        True south of the equator.

    Returns
    -------
    date or None
        The last autumn on or before the expected end. Where that one has passed, the next autumn if it still comes
        by the latest end; else None.
    """
    last = _last_autumn(early, is_southern=is_southern)
    if last >= on:
        return last
    following = _next_autumn(on, is_southern=is_southern)
    return following if following <= late else None


def order_day(replace_on: date, lead_weeks: int | None) -> date:
    """Return the last day on which film can be ordered so that it lies ready; unknown weeks are `LEAD_WEEKS`."""
    return replace_on - timedelta(weeks=LEAD_WEEKS if lead_weeks is None else lead_weeks)


def year_of_plan(day: date, on: date) -> int:
    """Return in which twelve months from a day another one lies, counted from 0; days before it are in the first."""
    whole = day.year - on.year - ((day.month, day.day) < (on.month, on.day))
    return max(whole, 0)


def _last_autumn(day: date, *, is_southern: bool) -> date:
    this = autumn_day(day.year, is_southern=is_southern)
    return this if this <= day else autumn_day(day.year - 1, is_southern=is_southern)


def _next_autumn(day: date, *, is_southern: bool) -> date:
    this = autumn_day(day.year, is_southern=is_southern)
    return this if this >= day else autumn_day(day.year + 1, is_southern=is_southern)
