"""The gust at a structure from the gust forecast, and the way the wind stands to its walls.

Planning estimates to order work by, no design.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from statistics import median

from doors.mechanics.pressure import gust_at_door
from doors.mechanics.wind_data import Exposure
from farm.geometry.siteplan import angle_between
from maintenance.storm.quantity import MPH, Speed, check_moment, check_number, check_speed

# Three points of the 16-point compass either side of head on. A wall takes its full push up to 60 degrees and still
# 85 % of it here (`doors.mechanics.pressure`); a forecast names the wind to a point, so the limit lies on one.
WINDWARD_WITHIN = 67.5  # degrees, inclusive; our own planning rule
SAME_ANGLE = 1e-9  # degrees; what floats add to a bearing
LARGEST_FACTOR = 2.0  # -, as `gust_at_door` takes


class Place(StrEnum):
    """What a source's gust holds for."""

    SITE = "site"  # the farm as it lies
    STANDARD = "standard"  # 10 m up in open country, as weather offices forecast


class Shelter(StrEnum):
    """What stands upwind of a structure."""

    OPEN = "open"
    HALF = "half"
    SHELTERED = "sheltered"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelterFactors:
    """Gust behind a windbreak over the gust in the open; common practice, no source.

    Little is taken off, because a windbreak covers some directions only and the wind of a front turns.
    """

    open: float = 1.0  # -
    half: float = 0.95  # -
    sheltered: float = 0.85  # -

    def __post_init__(self) -> None:
        for shelter in Shelter:
            check_number(f"shelter.{shelter}", getattr(self, shelter.value), above=0.0, most=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a structure stands in the wind.

    Attributes
    ----------
    place : Place
        What the source's gust holds for; the height and exposure count only for a standard value.
    height : float
        Of the ridge above ground. [m]
    learnt : float
        Gust seen over gust forecast, from `learn_factor`. [-]
    """

    place: Place = Place.STANDARD
    height: float = 4.0  # m, common practice, no source
    exposure: Exposure = Exposure.C
    shelter: Shelter = Shelter.OPEN
    learnt: float = 1.0


@dataclass(frozen=True, slots=True)
class LocalFactor:
    """Gust at a structure over the gust forecast, and what it is the product of. [-]"""

    profile: float
    shelter: float
    learnt: float

    @property
    def total(self) -> float:
        return self.profile * self.shelter * self.learnt


def local_factor(standing: Standing, factors: ShelterFactors | None = None) -> LocalFactor:
    r"""Return the gust at a structure over the gust forecast.

    Raises
    ------
    ValueError
        If the height is outside the tables, or the learnt factor not above 0 and at most 2.

    Notes
    -----
    :math:`\sqrt{K_z / K_{10,C}}` for a standard value, 1 for a value of the site; times shelter, times what was
    learnt. No credit for lying low among trees: see `doors.mechanics.pressure.gust_at_door`.

    References
    ----------
    ASCE 7-22, Table 26.10-1.
    """
    check_number("standing.learnt", standing.learnt, above=0.0, most=LARGEST_FACTOR)
    profile = 1.0
    if standing.place == Place.STANDARD:
        profile = float(gust_at_door(1.0, standing.height, standing.exposure))
    return LocalFactor(profile, getattr(factors or ShelterFactors(), standing.shelter.value), standing.learnt)


# Walls ---------------------------------------------------------------------------


def off_head_on(wall_bearing: float | None, wind_bearing: float | None) -> float | None:
    """Return the angle between the way a wall faces and where the wind comes from; None where not known. [degrees]"""
    if wall_bearing is None or wind_bearing is None:
        return None
    return float(angle_between(wall_bearing, wind_bearing))


def is_windward(wall_bearing: float | None, wind_bearing: float | None, *, within: float = WINDWARD_WITHIN) -> bool:
    """Return whether the wind presses on a wall; one whose bearing or wind is not known counts as pressed.

    Parameters
    ----------
    wall_bearing, wind_bearing : float or None
        The way the wall faces, and where the wind comes from. [degrees clockwise from north]
    within : float
        Largest angle between the two. [degrees]
    """
    off = off_head_on(wall_bearing, wind_bearing)
    return off is None or off <= within + SAME_ANGLE


def head_on_part(gust: float, wall_bearing: float | None, wind_bearing: float | None) -> float:
    """Return the part of a gust that blows straight at a wall: none from behind, all of it where not known. [m/s]"""
    off = off_head_on(wall_bearing, wind_bearing)
    return gust if off is None else gust * max(0.0, math.cos(math.radians(off)))


# Learning ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Observation:
    """A gust the crew saw or measured at a structure, and the one that had been forecast. [m/s]"""

    at: datetime
    forecast: float
    seen: float

    def __post_init__(self) -> None:
        check_moment("observation.at", self.at)
        check_speed("observation.forecast", self.forecast)
        check_speed("observation.seen", self.seen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Learning:
    """How fast a structure's factor follows what was seen; common practice, no source.

    A factor below 1 makes a farm slower, so it may fall less far than rise.
    """

    least_gust: Speed = 20 * MPH  # weaker winds say nothing of a storm
    prior: float = 5.0  # -, observations that the start at 1.0 weighs
    least: float = 0.85  # -
    most: float = 1.5  # -

    def __post_init__(self) -> None:
        check_speed("learning.least_gust", self.least_gust)
        check_number("learning.least_gust", self.least_gust, above=0.0)
        check_number("learning.prior", self.prior, least=0.0)
        check_number("learning.least", self.least, above=0.0, most=1.0)
        check_number("learning.most", self.most, least=1.0, most=LARGEST_FACTOR)


@dataclass(frozen=True, slots=True)
class Learnt:
    """A structure's factor and how it came about.

    Attributes
    ----------
    factor : float
        To use. [-]
    median : float or None
        Of seen over forecast; None before the first observation. [-]
    count : int
        Observations that counted.
    weight : float
        Of the median against the start at 1.0, 0 to 1. [-]
    is_bounded : bool
        Whether the farm's least or most held the factor.
    """

    factor: float
    median: float | None
    count: int
    weight: float
    is_bounded: bool


def learn_factor(
    observations: Sequence[Observation], *, reset_at: datetime | None = None, learning: Learning | None = None
) -> Learnt:
    r"""Return the factor that observations speak for.

    Parameters
    ----------
    observations : sequence of Observation
        In any order.
    reset_at : datetime, optional
        Older observations no longer count: the structure moved, or the windbreak fell.
    learning : Learning, optional
        The farm's bounds.

    Returns
    -------
    Learnt
        1.0 without observations.

    Notes
    -----
    :math:`m^{n/(n+k)}` with the median :math:`m` of :math:`n` ratios and the prior :math:`k`: one wild reading
    moves it little, and a farm that saw half of what was forecast counts as much as one that saw double.
    """
    rules = learning or Learning()
    if reset_at is not None:
        check_moment("reset_at", reset_at)
    ratios = [
        one.seen / one.forecast
        for one in observations
        if one.forecast >= rules.least_gust and (reset_at is None or one.at >= reset_at)
    ]
    if not ratios:
        return Learnt(1.0, None, 0, 0.0, is_bounded=False)
    middle, weight = median(ratios), len(ratios) / (len(ratios) + rules.prior)
    free = middle**weight
    factor = min(max(free, rules.least), rules.most)
    return Learnt(factor, middle, len(ratios), weight, is_bounded=factor != free)
