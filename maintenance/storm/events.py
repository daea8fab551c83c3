"""Storms in a forecast: stretches too windy to work in, their onset, peak and end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from maintenance.storm.levels import Wind
from maintenance.storm.quantity import HOUR, MPH, Duration, Fact, Speed, check_moment, check_number, check_speed
from maintenance.storm.spells import Spell, without_holes

UNKNOWN: Final = "gust_unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class EventRules:
    """What makes a storm; common practice, no source, unless a line says otherwise."""

    handling: Speed = 30 * MPH  # work stops, OSHA note in 29 CFR 1910.269(x): high wind when handling material
    trigger: Speed = 35 * MPH  # a storm reaches it; the least gust for which any structure has to be closed
    lull: Duration = 24 * HOUR  # a shorter pause belongs to the storm: nobody plans work into it

    def __post_init__(self) -> None:
        check_speed("events.handling", self.handling)
        check_speed("events.trigger", self.trigger)
        check_number("events.lull", self.lull, least=0.0)

    @property
    def limit(self) -> float:
        """Gust by which the work must be done: people stop, or a structure must be closed. [m/s]"""
        return min(self.handling, self.trigger)


@dataclass(frozen=True, slots=True)
class Event:
    """One storm.

    Attributes
    ----------
    onset : datetime
        First moment at which work stops before the peak, with no long pause after it.
    cause : Fact
        ``gust``, or ``gust_unknown`` where a gap in the forecast comes first.
    peak_at : datetime
        Start of the first spell with the highest gust.
    peak : float
        Highest gust. [m/s]
    peak_bearing : float or None
        Where the wind comes from at the peak. [degrees]
    end : datetime
        From then on the gust is known to be below the limit, or not known any more.
    spells : tuple of Spell
        From onset to end.
    """

    onset: datetime
    cause: Fact
    peak_at: datetime
    peak: float
    peak_bearing: float | None
    end: datetime
    spells: tuple[Spell, ...]


def find_events(
    spells: Sequence[Spell], rules: EventRules | None = None, wind: Wind | None = None
) -> tuple[Event, ...]:
    """Return the storms of a forecast, the first to come first.

    Parameters
    ----------
    spells : sequence of Spell
        The forecast from now on.
    rules : EventRules, optional
        The farm's.
    wind : Wind, optional
        How the source's gusts become gusts at the farm.

    Returns
    -------
    tuple of Event
        Stretches at or over the limit, or not known, with pauses shorter than the lull; only those that reach the
        trigger in a spell that is known.
    """
    farm, here = rules or EventRules(), wind or Wind()
    known = without_holes(spells)
    return tuple(
        _event(known, run, farm, here)
        for run in _runs(known, farm, here)
        if any(here.reaches(spell, farm.trigger) for spell in run)
    )


def unknown_from(spells: Sequence[Spell], now: datetime, wind: Wind | None = None) -> datetime:
    """Return the first moment from ``now`` on whose gust is not known: a gap, or the end of the forecast."""
    check_moment("now", now)
    here, reached = wind or Wind(), now
    for spell in without_holes(spells):
        if spell.end <= now:
            continue
        if spell.start > reached or here.gust(spell) is None:
            break
        reached = spell.end
    return reached


def _runs(spells: Sequence[Spell], rules: EventRules, wind: Wind) -> list[list[Spell]]:
    """Return the spells not known to be below the limit, parted where the pause is a lull or longer."""
    runs: list[list[Spell]] = []
    for spell in spells:
        if wind.reaches(spell, rules.limit) is False:
            continue
        if runs and spell.start - runs[-1][-1].end < timedelta(seconds=rules.lull):
            runs[-1].append(spell)
        else:
            runs.append([spell])
    return runs


def _event(spells: Sequence[Spell], run: Sequence[Spell], rules: EventRules, wind: Wind) -> Event:
    over = [(gust, spell) for spell in run if (gust := wind.gust(spell)) is not None]
    peak, top = max(over, key=lambda pair: pair[0])  # the first of equals
    onset, end = run[0].start, over[-1][1].end
    first = wind.gust(run[0])
    cause = Fact(UNKNOWN, at=onset) if first is None else Fact("gust", first, rules.limit, onset)
    within = tuple(spell for spell in spells if onset <= spell.start < end)
    return Event(onset, cause, top.start, peak, top.bearing_deg, end, within)
