"""What a forecast means for a farm: its storm, levels, deadline and work. Nothing is written here."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Final

from doors.mechanics.wind_data import FASTEST_GUST
from doors.models import Component
from farm.models import Farm
from maintenance.blow.conditions import Standings
from maintenance.blow.rules import FarmRules
from maintenance.messages.quiet import moment
from maintenance.models import Forecast, StormPerson, WeatherSource, WorkHours
from maintenance.skies.latest import Sky, daylight_of, hours_of, shifts_of
from maintenance.storm.condition import Posture, offset_of
from maintenance.storm.deadline import Clock, Clocks, Load, read_clocks
from maintenance.storm.events import Event, EventRules, find_events
from maintenance.storm.levels import LevelReading, Wind, read_level
from maintenance.storm.order import facing, in_order_of_work
from maintenance.storm.quantity import KNOT, Interval
from maintenance.storm.snow import SnowReading, read_snow
from maintenance.storm.spells import Spell
from maintenance.storm.work import Task, TaskKind, load_of, tasks_of, what_fits
from maintenance.storm.work_time import Shift
from maintenance.weather import Spell as Reported

CLOSE_UP: Final = 2  # the level from which a tunnel is closed, and a wind is a storm
LOOKS_AHEAD: Final = 12  # days of light and shifts, past the end of any forecast
QUARTER: Final = 15  # minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """A storm as the forecast has it.

    Attributes
    ----------
    standings, levels : sequence
        The tunnels and their levels, in the same order.
    tasks : tuple of Task
        All the work, done or not, in its order.
    unfit : frozenset of str
        Keys of open work that no longer fits.
    start_by : datetime or None
        Latest start, down to a quarter of an hour by the farm's clock.
    """

    sky: Sky
    rules: FarmRules
    event: Event
    standings: Sequence[Standings]
    levels: Sequence[LevelReading]
    clocks: Clocks
    tasks: tuple[Task, ...]
    load: Load
    unfit: frozenset[str]
    people: int
    start_by: datetime | None
    snow: SnowReading
    spells: tuple[Spell, ...]
    daylight: tuple[Interval, ...]
    is_light_known: bool

    @property
    def level(self) -> int:
        """The highest level of any tunnel."""
        return max((one.level or 0 for one in self.levels), default=0)

    @property
    def clock(self) -> Clock:
        """The clock the farm goes by."""
        return self.clocks.acted_on


def key_of(task: Task) -> str:
    """Return the key of a task, the same in every assessment."""
    name = {TaskKind.WALK_ROUND: "walk", TaskKind.INFLATION: "inflation", TaskKind.SHADE: "shade"}.get(task.kind)
    return f"{name}-{task.structure}" if name else task.place


def look_ahead(
    *,
    farm: Farm,
    now: datetime,
    sky: Sky,
    source: WeatherSource,
    rules: FarmRules,
    stands: Sequence[Standings],
    people: Sequence[StormPerson],
    ended: Collection[str],
) -> Outlook | None:
    """Return the first storm of a forecast with everything it asks for; None where there is none.

    Parameters
    ----------
    people : sequence of StormPerson
        Who works; nobody at all still has a deadline.
    ended : collection of str
        Keys of work that is done or cannot be done.
    """
    now = now.astimezone(UTC)
    spells = tuple(_spell(one) for one in sky.spells if one.end > now)
    wind = wind_of(source, sky.forecast)
    clock_rules = replace(rules.clock, act_on_upper=rules.clock.act_on_upper or source.acts_on_upper)
    events = _event_rules(spells, rules, stands, wind if not clock_rules.act_on_upper else replace(wind, upper=True))
    if not stands or events is None:
        return None
    clock_rules = replace(clock_rules, events=events)
    start = now.astimezone(farm.zone).date() - timedelta(days=1)
    daylight = tuple(Interval(*one) for one in daylight_of(farm=farm, start=start, days=LOOKS_AHEAD))
    hours = hours_of(farm)
    known_light = bool(daylight)
    if not known_light:
        daylight = (Interval(now - timedelta(days=2), now + timedelta(days=LOOKS_AHEAD)),)
    all_tasks = tasks_of((one.work for one in stands), rules.times)
    still_open = [task for task in all_tasks if key_of(task) not in ended]
    shifts = shifts_for(farm=farm, people=people, start_on=now, hours=hours)
    load = load_of(still_open)
    given = {"now": now, "daylight": daylight, "rules": clock_rules, "wind": wind}
    if shifts:
        clocks = read_clocks(spells, load=load, shifts=shifts, **given)  # type: ignore[arg-type]
    else:  # nobody is here: there is a deadline all the same, and nothing gets done
        alone = [Shift(begins, ends) for begins, ends in shifts_of(farm=farm, start=start, days=LOOKS_AHEAD)]
        clocks = _nobody(read_clocks(spells, load=Load(0.0), shifts=alone, **given), load)  # type: ignore[arg-type]
    clock = clocks.acted_on
    if clock.event is None:
        return None
    event = clock.event
    used = replace(wind, upper=clocks.acted_on is clocks.upper)
    stretch = tuple(spell for spell in spells if spell.start < event.end)
    levels = [
        read_level(stretch, one.condition, rules.levels, replace(used, factor=used.factor * one.factor))
        for one in stands
    ]
    if max((one.level or 0 for one in levels), default=0) < CLOSE_UP:
        return None
    ordered = _in_order(all_tasks, event, rules, stands)
    fits = {key_of(one) for one in what_fits([t for t in ordered if key_of(t) not in ended], clock.capacity)}
    return Outlook(
        sky=sky,
        rules=rules,
        event=event,
        standings=stands,
        levels=levels,
        clocks=clocks,
        tasks=ordered,
        load=load,
        unfit=frozenset(key_of(task) for task in still_open) - fits,
        people=sum(one.is_here for one in people),
        start_by=quarter_before(clock.latest_start, farm),
        snow=read_snow(spells, rules.snow),
        spells=spells,
        daylight=daylight,
        is_light_known=known_light,
    )


def wind_of(source: WeatherSource, forecast: Forecast) -> Wind:
    """Return how the source's gusts become gusts on the farm; the US weather service's are whole knots."""
    whole_knots = source.kind == WeatherSource.Kind.NWS and forecast.cell_id is not None
    return Wind(factor=float(source.gust_factor), step=KNOT if whole_knots else 0.0)


def shifts_for(
    *, farm: Farm, people: Sequence[StormPerson], start_on: datetime, hours: WorkHours | None = None
) -> list[Shift]:
    """Return when each person who is here works, day by day."""
    start = start_on.astimezone(farm.zone).date() - timedelta(days=1)
    found = []
    days = shifts_of(farm=farm, start=start, days=LOOKS_AHEAD, hours=hours)
    for person in people:
        if not person.is_here:
            continue
        for begins, ends in days:
            last = ends
            if person.works_until is not None:
                last = min(ends, moment(begins.astimezone(farm.zone).date(), person.works_until, farm.zone, last=True))
            if begins < last:
                found.append(Shift(begins, last, 1))
    return found


def quarter_before(at: datetime | None, farm: Farm) -> datetime | None:
    """Return a moment down to the quarter of an hour by the farm's clock."""
    if at is None:
        return None
    local = at.astimezone(farm.zone)
    late = timedelta(minutes=local.minute % QUARTER, seconds=local.second, microseconds=local.microsecond)
    return at - late


def _event_rules(
    spells: Sequence[Spell], rules: FarmRules, stands: Sequence[Standings], wind: Wind
) -> EventRules | None:
    """Return what makes a storm here, so that the first one found is the first in which anything must be closed.

    That is the farm's rule; less where only a weak tunnel has to be closed, or has to be closed in a wind of its own
    days before; more where the tunnels stand so sheltered that the farm's rule would stop at a wind that closes none.
    """
    usual, least = rules.events, min((_closes_from(one, rules) for one in stands), default=FASTEST_GUST)
    if least > usual.trigger:
        higher = replace(usual, trigger=min(least, FASTEST_GUST), handling=usual.limit)
        return higher if find_events(spells, higher, wind) else None
    lowered = replace(usual, trigger=max(0.0, least))
    weak, strong = find_events(spells, lowered, wind), find_events(spells, usual, wind)
    if strong and strong[0].onset < weak[0].end:
        return usual
    return lowered if weak else None


def _closes_from(one: Standings, rules: FarmRules) -> float:
    """Return the gust on the farm at which a tunnel has to be closed. [m/s]"""
    levels = rules.levels.close_up + offset_of(one.condition, rules.offset).change
    limit = one.condition.limit
    if limit is not None and one.condition.posture != Posture.FILM_OFF:
        levels = min(levels, limit)
    return levels / one.factor


def _spell(one: Reported) -> Spell:
    return Spell(
        one.start, one.end, wind=one.wind, gust=one.gust, upper_gust=one.upper_gust, bearing_deg=one.bearing_deg,
        temperature=one.temperature, rain=one.rain, snow=one.snow, thunder=one.thunder,
    )  # fmt: skip


def _nobody(clocks: Clocks, load: Load) -> Clocks:
    def idle(clock: Clock) -> Clock:
        return replace(clock, latest_start=None, margin=None, capacity=0.0, missing=load.total)

    return replace(clocks, expected=idle(clocks.expected), upper=clocks.upper and idle(clocks.upper))


def _in_order(tasks: Sequence[Task], event: Event, rules: FarmRules, stands: Sequence[Standings]) -> tuple[Task, ...]:
    """Return tasks in their order; a roof is pressed on whichever way the wind blows."""
    roofs = {
        f"repair-{repair.pk}" for one in stands for repair in one.repairs if repair.part == Component.Kind.ROOF_FILM
    }
    turned = [
        replace(task, faces_wind=True) if task.place in roofs else task for task in facing(tasks, event, rules.order)
    ]
    return in_order_of_work(turned, rules.order, peak_bearing=event.peak_bearing)
