"""The backward clock: by when everything must be done, and when at the latest to begin.

People look at a storm's peak. What counts is the last moment at which work is still possible before it: the gust at
which nobody handles film any more, darkness, the end of the shift, rain on film that has to be taped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from maintenance.storm.events import UNKNOWN, Event, EventRules, find_events, unknown_from
from maintenance.storm.levels import Wind
from maintenance.storm.quantity import (
    HOUR,
    KELVIN,
    Duration,
    Fact,
    Interval,
    Temperature,
    check_moment,
    check_number,
)
from maintenance.storm.spells import Spell, without_holes
from maintenance.storm.work_time import (
    Shift,
    Stop,
    Stretch,
    capacity,
    check_reserve,
    in_pairs,
    latest_start,
    stretches,
    what_stops,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockRules:
    """How a farm counts backwards; common practice, no source."""

    reserve: float = 1.2  # -, times the minutes planned
    drying: Duration = 2 * HOUR  # after rain, until tape sticks
    tape_least: Temperature = KELVIN  # at and below it film is iced and no tape sticks
    act_on_upper: bool = False  # by the gust it may come to, where the source gives one
    events: EventRules = field(default_factory=EventRules)

    def __post_init__(self) -> None:
        check_reserve(self.reserve)
        check_number("clock.reserve", self.reserve)
        check_number("clock.drying", self.drying, least=0.0)
        check_number("clock.tape_least", self.tape_least, least=0.0)


@dataclass(frozen=True, slots=True)
class Load:
    """Work still open. [person-seconds]

    Attributes
    ----------
    total : float
        All of it; a job for two counts twice.
    dry : float
        The part that needs dry film.
    paired : float
        The part for two people at once.
    """

    total: float
    dry: float = 0.0
    paired: float = 0.0

    def __post_init__(self) -> None:
        check_number("load.total", self.total, least=0.0)
        check_number("load.dry", self.dry, least=0.0, most=self.total)
        check_number("load.paired", self.paired, least=0.0, most=self.total)


@dataclass(frozen=True, slots=True)
class Clock:
    """The backward clock before one storm.

    Attributes
    ----------
    event : Event or None
        The first storm to come; None where the forecast has none up to ``unknown_from``.
    deadline, dry_deadline : datetime or None
        Last moment of any work, and of work on dry film, before the onset; None where there is no such time.
    decides : tuple of str
        What stops work at the deadline: ``gust``, ``gust_unknown``, ``daylight``, ``shift``.
    bounds : tuple of Fact
        The onset, the end of daylight, of the shift, the first rain or ice: each with its moment.
    latest_start : datetime or None
        Past which the work no longer fits; None where it never did.
    bound_by : str
        Which part of the work sets the start: ``total``, ``dry`` or ``paired``.
    margin : timedelta or None
        From now to the latest start; below zero it has passed.
    capacity : float
        Work that fits from now on, the reserve taken out. [person-seconds]
    missing : float
        Work that does not. [person-seconds]
    unknown_from : datetime
        First moment whose gust is not known; no calm is promised from there.
    facts : tuple of Fact
        What else to tell.
    """

    event: Event | None
    deadline: datetime | None
    dry_deadline: datetime | None
    decides: tuple[str, ...]
    bounds: tuple[Fact, ...]
    latest_start: datetime | None
    bound_by: str
    margin: timedelta | None
    capacity: float
    missing: float
    unknown_from: datetime
    facts: tuple[Fact, ...]

    @property
    def is_too_late(self) -> bool:
        """Whether some of the work no longer fits."""
        return self.missing > 0


@dataclass(frozen=True, slots=True)
class Clocks:
    """The clock by the expected gust, and by the gust it may come to where the source gives one."""

    expected: Clock
    upper: Clock | None
    act_on_upper: bool

    @property
    def acted_on(self) -> Clock:
        """The clock the farm goes by."""
        return self.upper if self.act_on_upper and self.upper is not None else self.expected


def read_clocks(
    spells: Sequence[Spell],
    *,
    now: datetime,
    load: Load,
    shifts: Sequence[Shift],
    daylight: Sequence[Interval],
    rules: ClockRules | None = None,
    wind: Wind | None = None,
) -> Clocks:
    """Return deadline and latest start before the first storm of a forecast.

    Parameters
    ----------
    spells : sequence of Spell
        The forecast; what ended by ``now`` is left out.
    now : datetime
        [UTC]
    load : Load
        The open work.
    shifts : sequence of Shift
        When how many people work, a shift for each day; those begun before ``now`` whole.
    daylight : sequence of Interval
        When there is light to work by: civil dawn to civil dusk, one for each day.
    rules : ClockRules, optional
        The farm's.
    wind : Wind, optional
        How the source's gusts become gusts at the farm; its ``upper`` is not looked at.

    Returns
    -------
    Clocks
        A gust that is not known stops work, as one over the limit would.
    """
    farm, here = rules or ClockRules(), wind or Wind()
    check_moment("now", now)
    coming = tuple(spell for spell in without_holes(spells) if spell.end > now)
    both = [
        _clock(coming, now, load, shifts, daylight, farm, replace(here, upper=upper))
        for upper in (False, True)
        if not upper or any(spell.upper_gust is not None for spell in coming)
    ]
    return Clocks(both[0], both[1] if len(both) > 1 else None, farm.act_on_upper)


def _clock(
    spells: tuple[Spell, ...],
    now: datetime,
    load: Load,
    shifts: Sequence[Shift],
    daylight: Sequence[Interval],
    rules: ClockRules,
    wind: Wind,
) -> Clock:
    edge = unknown_from(spells, now, wind)
    event = next(iter(find_events(spells, rules.events, wind)), None)
    if event is None:
        return Clock(None, None, None, (), (), None, "total", None, 0.0, 0.0, edge, ())
    windy, wet = _windy(spells, now, rules, wind), _wet(spells, rules)
    time = stretches(shifts, daylight, windy, event.onset)
    dry = stretches(shifts, daylight, (*windy, *wet), event.onset)
    parts = {"total": (load.total, time), "dry": (load.dry, dry), "paired": (load.paired, in_pairs(time))}
    starts = {name: latest_start(held, work * rules.reserve) for name, (work, held) in parts.items() if work}
    missing = {name: max(0.0, work - capacity(held, now) / rules.reserve) for name, (work, held) in parts.items()}
    begin, bound_by = _earliest(starts, missing, time)
    deadline = time[-1].end if time else None
    return Clock(
        event=event,
        deadline=deadline,
        dry_deadline=dry[-1].end if dry else None,
        decides=_decides(deadline, event, shifts, daylight, windy),
        bounds=_bounds(event, shifts, daylight, wet if load.dry else ()),
        latest_start=begin,
        bound_by=bound_by,
        margin=None if begin is None else begin - now,
        capacity=capacity(time, now) / rules.reserve,
        missing=max(missing.values()),
        unknown_from=edge,
        facts=_facts(spells, event, load, time),
    )


def _windy(spells: tuple[Spell, ...], now: datetime, rules: ClockRules, wind: Wind) -> tuple[Stop, ...]:
    """Return when the gust stops work or is not known, from now to the end of the forecast."""
    early = (Stop(now, spells[0].start, UNKNOWN),) if spells[0].start > now else ()
    limit = rules.events.limit
    return early + tuple(
        Stop(spell.start, spell.end, UNKNOWN if wind.gust(spell) is None else "gust")
        for spell in spells
        if wind.reaches(spell, limit) is not False
    )


def _wet(spells: tuple[Spell, ...], rules: ClockRules) -> tuple[Stop, ...]:
    """Return when film is wet or iced."""
    dries = timedelta(seconds=rules.drying)
    rain = tuple(Stop(spell.start, spell.end + dries, "rain") for spell in spells if spell.rain or spell.snow)
    ice = tuple(
        Stop(spell.start, spell.end, "ice")
        for spell in spells
        if spell.temperature is not None and spell.temperature <= rules.tape_least
    )
    return rain + ice


def _earliest(
    starts: dict[str, datetime | None], missing: dict[str, float], time: Sequence[Stretch]
) -> tuple[datetime | None, str]:
    """Return the start that leaves time for each part of the work, and the part that sets it."""
    impossible = [name for name, start in starts.items() if start is None]
    if impossible:
        return None, max(impossible, key=lambda name: missing[name])
    known = {name: start for name, start in starts.items() if start is not None}
    if not known:
        return (time[-1].end if time else None), "total"
    name = min(known, key=lambda part: known[part])
    return known[name], name


def _decides(
    deadline: datetime | None,
    event: Event,
    shifts: Sequence[Shift],
    daylight: Sequence[Interval],
    windy: Sequence[Stop],
) -> tuple[str, ...]:
    if deadline is None:
        return ("no_work_time",)
    return (event.cause.key,) if deadline == event.onset else what_stops(deadline, shifts, daylight, windy)


def _bounds(
    event: Event, shifts: Sequence[Shift], daylight: Sequence[Interval], wet: Sequence[Stop]
) -> tuple[Fact, ...]:
    ends = (
        ("daylight", [light.end for light in daylight if light.start < event.onset]),
        ("shift", [shift.end for shift in shifts if shift.start < event.onset]),
    )
    last = tuple(Fact(key, at=max(moments)) for key, moments in ends if moments)
    before = sorted((stop for stop in wet if stop.start < event.onset), key=lambda stop: stop.start)
    return (event.cause, *last, *(Fact(stop.key, at=stop.start) for stop in before[:1]))


def _facts(spells: Sequence[Spell], event: Event, load: Load, time: Sequence[Stretch]) -> tuple[Fact, ...]:
    facts = []
    if load.dry:
        facts += [Fact("rain_unknown", at=one.start) for one in spells if one.rain is None][:1]
    if load.paired and not in_pairs(time):
        facts.append(Fact("nobody_to_pair_with", load.paired))
    if event.cause.key == UNKNOWN:
        facts.append(event.cause)
    return tuple(facts)
