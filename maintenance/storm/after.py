"""After a storm: where to look first, whether the warnings were right, and when closed tunnels must be opened."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta

from maintenance.storm.events import Event
from maintenance.storm.quantity import (
    HOUR,
    Duration,
    Fact,
    Interval,
    StormError,
    check_number,
    check_speed,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Suffered:
    """What one structure or door went through. [m/s]

    Attributes
    ----------
    gust : float or None
        Measured or seen at it, or forecast for it where nobody looked.
    limit : float or None
        That it stood before the storm.
    was_open : bool
        Found open, or not known to have been shut.
    was_damaged : bool
        An open critical defect went into the storm.
    """

    place: str
    gust: float | None = None
    limit: float | None = None
    was_open: bool = False
    was_damaged: bool = False

    def __post_init__(self) -> None:
        check_speed("suffered.gust", self.gust)
        check_speed("suffered.limit", self.limit)


@dataclass(frozen=True, slots=True)
class Inspection:
    """One place to look at; ``ratio`` is gust over limit, None where one is not known. [-]"""

    place: str
    ratio: float | None
    reasons: tuple[Fact, ...]


def inspections(suffered: Iterable[Suffered]) -> tuple[Inspection, ...]:
    """Return where to look, most urgent first; every place is looked at.

    Notes
    -----
    First what was open or damaged, then by gust over limit. An unknown ratio counts as 1: as one that may have come
    to its limit, after all that are known to have passed it. Load grows with the square of the ratio.
    """
    return tuple(_inspection(one) for one in sorted(suffered, key=_urgency))


def _ratio(one: Suffered) -> float | None:
    if one.gust is None or one.limit is None:
        return None
    return one.gust / one.limit if one.limit else math.inf


def _urgency(one: Suffered) -> tuple[bool, float]:
    ratio = _ratio(one)
    return not (one.was_open or one.was_damaged), -(1.0 if ratio is None else ratio)


def _inspection(one: Suffered) -> Inspection:
    ratio = _ratio(one)
    reasons = [Fact(key) for key, is_so in (("was_open", one.was_open), ("was_damaged", one.was_damaged)) if is_so]
    if ratio is None:
        reasons.append(Fact("limit_unknown" if one.limit is None else "gust_unknown", one.gust, one.limit))
    elif ratio >= 1:
        reasons.append(Fact("over_limit", one.gust, one.limit))
    return Inspection(one.place, ratio, tuple(reasons))


# Warnings ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Warned:
    """A level warned of, 0 for none, and the one reached; None where nobody knows."""

    warned: int
    reached: int | None

    def __post_init__(self) -> None:
        check_number("warned", self.warned, least=0)
        check_number("reached", self.reached, least=0)


@dataclass(frozen=True, slots=True)
class Alarms:
    """How warnings did: right, false, storms that came unwarned or stronger, and not known."""

    hits: int
    false: int
    missed: int
    unknown: int

    @property
    def false_share(self) -> float | None:
        """Part of the warnings judged that were false; None before the first."""
        judged = self.hits + self.false
        return self.false / judged if judged else None


def count_alarms(records: Iterable[Warned], *, least: int = 1) -> Alarms:
    """Return how often a warning's level was reached.

    Parameters
    ----------
    records : iterable of Warned
        One for each structure and storm.
    least : int, default 1
        Weaker levels are no warning, and no storm.

    Notes
    -----
    A warning is a hit when its level was reached, false when it was not, and a miss when a higher one was.
    """
    if least < 1:
        raise StormError("least", least, "at_least", 1)
    kinds = [_judged(one, least) for one in records]
    return Alarms(*(kinds.count(kind) for kind in ("hit", "false", "missed", "unknown")))


def _judged(one: Warned, least: int) -> str:
    if one.reached is None:
        return "unknown" if one.warned >= least else "none"
    if one.reached > one.warned and one.reached >= least:
        return "missed"
    if one.warned < least:
        return "none"
    return "hit" if one.reached >= one.warned else "false"


# Opening again -------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class ReopenRules:
    """When closed tunnels are opened; common practice, no source."""

    calm: Duration = 1 * HOUR  # after the last gust over the limit
    latest: Duration = 24 * HOUR  # after the storm at the latest: damp and heat bring disease

    def __post_init__(self) -> None:
        check_number("reopen.calm", self.calm, least=0.0)
        check_number("reopen.latest", self.latest, least=0.0)


def reopen(event: Event, daylight: Sequence[Interval], rules: ReopenRules | None = None) -> tuple[Fact, ...]:
    """Return the reminder to open closed tunnels again: from when it is safe, and by when it is due.

    Parameters
    ----------
    event : Event
        The storm; its end is the last known gust over the limit.
    daylight : sequence of Interval
        When there is light to work by.
    rules : ReopenRules, optional
        The farm's.

    Returns
    -------
    tuple of Fact
        ``closed_tunnel_heats`` with the first light after the calm, and ``open_by``. Nearly 90 °F were read in an
        unvented tunnel on a freezing bright day (University of Missouri Extension).
    """
    farm = rules or ReopenRules()
    calm = event.end + timedelta(seconds=farm.calm)
    lit = [max(calm, light.start) for light in daylight if light.end > calm]
    first = min(lit, default=calm)
    return Fact("closed_tunnel_heats", at=first), Fact(
        "open_by", at=max(first, event.end + timedelta(seconds=farm.latest))
    )
