"""Windows in which work can be done, and what stands in the way of one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from maintenance.calm.needs import Needs, Spell, is_cold, is_hot, is_unknown, is_wet, is_windy
from maintenance.calm.times import EVER, Interval, common, in_utc, joined, rest, total


@dataclass(frozen=True, slots=True)
class Window:
    """An unbroken time in which the work can be done.

    Attributes
    ----------
    start, end : datetime
        From, up to but excluding. [UTC]
    most_gust : float or None
        The strongest gust forecast in it; None where any part of it has none forecast. [m/s]
    least_temperature : float or None
        The lowest forecast in it, likewise. [K]
    """

    start: datetime
    end: datetime
    most_gust: float | None
    least_temperature: float | None


@dataclass(frozen=True, slots=True)
class HoldUps:
    """Where the hours of a forecast go.

    Attributes
    ----------
    span : timedelta
        From its first spell to the end of its last: ``off_shift``, ``dark`` and ``working`` add up to it.
    off_shift : timedelta
        Nobody works then.
    dark : timedelta
        On shift, but without the daylight that is needed.
    working : timedelta
        The rest. The weather is counted in these hours only: wind at night keeps nobody from work.
    wind, rain, cold, heat : timedelta
        Working hours with too much of it. An hour of wind and rain counts in both.
    unknown : timedelta
        Working hours of which the forecast does not say what is needed, or says nothing at all.
    too_short : timedelta
        Working hours that would do, in pieces shorter than the work.
    calm : timedelta
        Working hours in windows.
    """

    span: timedelta
    off_shift: timedelta
    dark: timedelta
    working: timedelta
    wind: timedelta
    rain: timedelta
    cold: timedelta
    heat: timedelta
    unknown: timedelta
    too_short: timedelta
    calm: timedelta


def calm_windows(
    spells: Sequence[Spell], needs: Needs, *, daylight: Iterable[Interval], shifts: Iterable[Interval] | None
) -> list[Window]:
    """Return the times in which work can be done.

    Parameters
    ----------
    spells : sequence of Spell
        The forecast, in any order. Where spells overlap, each of them must do.
    needs : Needs
        What the work asks for.
    daylight : iterable of (datetime, datetime)
        Half-open times from first to last light; read where ``needs.needs_daylight``.
    shifts : iterable of (datetime, datetime) or None
        Half-open times at which people work; None for any time.

    Returns
    -------
    list of Window
        In order, each as long as it can be and at least ``needs.least_length``. What the forecast leaves open, in a
        spell or between two, is not calm.

    Raises
    ------
    ValueError
        If a time has no zone or an end is not after its start.
    """
    working = common(_shifts(shifts), _light(needs, daylight))
    return [_window(each, spells) for each in _long_enough(_calm(spells, needs, working), needs)]


def hold_ups(
    spells: Sequence[Spell], needs: Needs, *, daylight: Iterable[Interval], shifts: Iterable[Interval] | None
) -> HoldUps:
    """Return how much of a forecast each reason takes away from the work.

    Parameters
    ----------
    spells, needs, daylight, shifts
        As `calm_windows` takes them.

    Returns
    -------
    HoldUps
        All zero where there is no forecast.

    Raises
    ------
    ValueError
        If a time has no zone or an end is not after its start.
    """
    covered = _covered(spells)
    span = [(covered[0][0], covered[-1][1])] if covered else []
    on_shift = common(span, _shifts(shifts))
    working = common(on_shift, _light(needs, daylight))
    calm = _calm(spells, needs, working)

    def lost(is_so: Callable[[Spell, Needs], bool]) -> timedelta:
        return total(common(working, _covered(spell for spell in spells if is_so(spell, needs))))

    unknown = joined([*rest(covered), *_covered(spell for spell in spells if is_unknown(spell, needs))])
    fitting = total(_long_enough(calm, needs))
    return HoldUps(
        span=total(span),
        off_shift=total(span) - total(on_shift),
        dark=total(on_shift) - total(working),
        working=total(working),
        wind=lost(is_windy),
        rain=lost(is_wet),
        cold=lost(is_cold),
        heat=lost(is_hot),
        unknown=total(common(working, unknown)),
        too_short=total(calm) - fitting,
        calm=fitting,
    )


def _calm(spells: Sequence[Spell], needs: Needs, working: list[Interval]) -> list[Interval]:
    in_the_way = (is_windy, is_wet, is_cold, is_hot, is_unknown)
    bad = _covered(spell for spell in spells if any(is_so(spell, needs) for is_so in in_the_way))
    return common(common(_covered(spells), rest(bad)), working)


def _long_enough(times: list[Interval], needs: Needs) -> list[Interval]:
    return [(start, end) for start, end in times if end - start >= needs.least_length]


def _window(time: Interval, spells: Sequence[Spell]) -> Window:
    start, end = time
    inside = [spell for spell in spells if spell.start < end and spell.end > start]
    gusts = [spell.gust for spell in inside if spell.gust is not None]
    temperatures = [spell.temperature for spell in inside if spell.temperature is not None]
    return Window(
        start,
        end,
        most_gust=max(gusts) if len(gusts) == len(inside) else None,
        least_temperature=min(temperatures) if len(temperatures) == len(inside) else None,
    )


def _shifts(shifts: Iterable[Interval] | None) -> list[Interval]:
    return [EVER] if shifts is None else joined(map(in_utc, shifts))


def _light(needs: Needs, daylight: Iterable[Interval]) -> list[Interval]:
    return joined(map(in_utc, daylight)) if needs.needs_daylight else [EVER]


def _covered(spells: Iterable[Spell]) -> list[Interval]:
    return joined(in_utc((spell.start, spell.end)) for spell in spells)
