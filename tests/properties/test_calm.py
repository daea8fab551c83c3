"""Calm windows beside a watch that looks every minute, and what must not change them."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import groupby

from hypothesis import given
from hypothesis import strategies as st

from maintenance.calm import Needs, Spell, calm_windows, hold_ups

BEGIN = datetime(2026, 3, 29, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
LENGTH = 60  # minutes


def at(minute):
    return BEGIN + minute * MINUTE


def maybe(values):
    return st.one_of(st.none(), values)


speeds = st.sampled_from([0.0, 1.0, 2.0, 3.0])
waters = st.sampled_from([0.0, 0.0, 0.25])
temperatures = st.sampled_from([270.0, 275.0, 280.0, 285.0])
pairs = st.lists(st.integers(0, LENGTH), min_size=2, max_size=2, unique=True).map(sorted)
times = st.lists(pairs.map(lambda pair: (at(pair[0]), at(pair[1]))), max_size=4)


def spell_of(pair, wind, gust, rain, temperature):
    return Spell(start=at(pair[0]), end=at(pair[1]), wind=wind, gust=gust, rain=rain, temperature=temperature)


spells = st.lists(
    st.builds(spell_of, pairs, maybe(speeds), maybe(speeds), maybe(waters), maybe(temperatures)), max_size=6
)
rows = st.lists(
    st.tuples(st.integers(1, 20), speeds, speeds, waters, temperatures), min_size=1, max_size=6
)  # one after the other
needs = st.builds(
    Needs,
    most_wind=maybe(speeds),
    most_gust=maybe(speeds),
    is_dry=st.booleans(),
    least_temperature=maybe(st.sampled_from([270.0, 275.0])),
    most_temperature=maybe(st.sampled_from([280.0, 285.0])),
    needs_daylight=st.booleans(),
    least_length=st.integers(0, 15).map(lambda minutes: minutes * MINUTE),
)
shifts = maybe(times)


def in_a_row(rows):
    found, minute = [], 0
    for length, *figures in rows:
        found.append(spell_of((minute, minute + length), *figures))
        minute += length
    return found


def covers(time, minute):
    return time[0] <= at(minute) < time[1]


def reasons(spells, needs, minute):
    """What a person who looks at every spell of this minute has against it."""
    found = set()
    here = [spell for spell in spells if covers((spell.start, spell.end), minute)]
    if not here:
        found.add("unknown")
    for spell in here:
        for most, figure, reason in (
            (needs.most_wind, spell.wind, "wind"),
            (needs.most_gust, spell.gust, "wind"),
            (0.0 if needs.is_dry else None, spell.rain, "rain"),
            (needs.most_temperature, spell.temperature, "heat"),
        ):
            if most is not None and (figure is None or figure > most):
                found.add("unknown" if figure is None else reason)
        if needs.least_temperature is not None and (
            spell.temperature is None or spell.temperature < needs.least_temperature
        ):
            found.add("unknown" if spell.temperature is None else "cold")
    return found


def is_working(needs, daylight, shifts, minute):
    on_shift = shifts is None or any(covers(time, minute) for time in shifts)
    return on_shift and (not needs.needs_daylight or any(covers(time, minute) for time in daylight))


def by_the_minute(spells, needs, daylight, shifts):
    minutes = range(LENGTH)
    runs = groupby(
        minutes, lambda minute: is_working(needs, daylight, shifts, minute) and not reasons(spells, needs, minute)
    )
    calm = [list(run) for is_calm, run in runs if is_calm]
    return [(at(run[0]), at(run[-1] + 1)) for run in calm if len(run) * MINUTE >= needs.least_length]


def start_and_end(windows):
    return [(window.start, window.end) for window in windows]


def covered(windows):
    return sum((window.end - window.start for window in windows), timedelta(0))


@given(spells, needs, times, shifts)
def test_as_somebody_who_looks_every_minute(spells, needs, daylight, shifts):
    found = calm_windows(spells, needs, daylight=daylight, shifts=shifts)

    assert start_and_end(found) == by_the_minute(spells, needs, daylight, shifts)


@given(spells, needs, times, shifts)
def test_a_window_tells_the_worst_of_what_is_in_it(spells, needs, daylight, shifts):
    for window in calm_windows(spells, needs, daylight=daylight, shifts=shifts):
        minutes = range((window.start - BEGIN) // MINUTE, (window.end - BEGIN) // MINUTE)
        inside = [spell for spell in spells if any(covers((spell.start, spell.end), minute) for minute in minutes)]
        gusts = [spell.gust for spell in inside]
        lowest = [spell.temperature for spell in inside]

        assert window.most_gust == (None if None in gusts else max(gusts))
        assert window.least_temperature == (None if None in lowest else min(lowest))


@given(spells, needs, times, shifts)
def test_the_hours_go_where_somebody_who_looks_every_minute_sees_them_go(spells, needs, daylight, shifts):
    lost = hold_ups(spells, needs, daylight=daylight, shifts=shifts)
    first = min((spell.start for spell in spells), default=BEGIN)
    last = max((spell.end for spell in spells), default=BEGIN)
    span = range((first - BEGIN) // MINUTE, (last - BEGIN) // MINUTE)
    working = [minute for minute in span if is_working(needs, daylight, shifts, minute)]
    seen = [reasons(spells, needs, minute) for minute in working]

    assert lost.span == len(span) * MINUTE
    assert lost.working == len(working) * MINUTE
    for reason in ("wind", "rain", "cold", "heat", "unknown"):
        assert getattr(lost, reason) == sum(reason in each for each in seen) * MINUTE
    assert lost.calm + lost.too_short == sum(not each for each in seen) * MINUTE
    assert lost.calm == covered(calm_windows(spells, needs, daylight=daylight, shifts=shifts))
    assert lost.off_shift + lost.dark + lost.working == lost.span
    assert lost.dark == timedelta(0) or needs.needs_daylight


@given(spells, needs, times, shifts, st.data())
def test_tighter_needs_never_give_more_time(spells, needs, daylight, shifts, data):
    def tighter(most):
        return data.draw(speeds) if most is None else data.draw(st.sampled_from([most, most / 2, 0.0]))

    tight = replace(
        needs,
        most_wind=tighter(needs.most_wind),
        most_gust=tighter(needs.most_gust),
        is_dry=True,
        least_temperature=(needs.least_temperature or 265.0) + data.draw(st.sampled_from([0.0, 5.0])),
        needs_daylight=True,
        least_length=needs.least_length + data.draw(st.integers(0, 5)) * MINUTE,
    )
    loose = calm_windows(spells, needs, daylight=daylight, shifts=shifts)
    found = calm_windows(spells, tight, daylight=daylight, shifts=shifts)

    assert all(any(one.start <= each.start and each.end <= one.end for one in loose) for each in found)


@given(rows, needs, times, shifts)
def test_a_spell_in_two_equal_halves_changes_nothing(rows, needs, daylight, shifts):
    whole = in_a_row(rows)
    halves = []
    for spell in whole:
        middle = spell.start + (spell.end - spell.start) / 2
        halves += [replace(spell, end=middle, rain=spell.rain / 2), replace(spell, start=middle, rain=spell.rain / 2)]

    for ask in (calm_windows, hold_ups):
        asked = partial(ask, needs=needs, daylight=daylight, shifts=shifts)
        assert asked(halves) == asked(whole)


@given(spells, needs, times, shifts, st.randoms())
def test_the_order_of_spells_and_shifts_does_not_matter(spells, needs, daylight, shifts, random):
    shuffled, light = spells[:], daylight[:]
    random.shuffle(shuffled)
    random.shuffle(light)

    for ask in (calm_windows, hold_ups):
        assert ask(shuffled, needs, daylight=light, shifts=shifts) == ask(
            spells, needs, daylight=daylight, shifts=shifts
        )
