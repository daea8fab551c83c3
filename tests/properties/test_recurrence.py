"""Due days beside other people's calendars, and nights that are missed, repeated or out of order."""

from contextlib import suppress
from datetime import date, datetime, timedelta
from itertools import count, takewhile

from dateutil.relativedelta import relativedelta
from dateutil.rrule import rrulestr
from hypothesis import example, given
from hypothesis import strategies as st
from icalendar.prop import vRecur

from maintenance.recurrence import (
    CalendarRule,
    Frequency,
    IntervalRule,
    Season,
    SeasonRule,
    Weekday,
    WeekdayOf,
    due_through,
    next_after,
    occurrences,
    read_rrule,
    write_rrule,
)

DAY = timedelta(days=1)
NORTH = {Season.SPRING: 3, Season.SUMMER: 6, Season.AUTUMN: 9, Season.WINTER: 12}
SOUTH = {Season.SPRING: 9, Season.SUMMER: 12, Season.AUTUMN: 3, Season.WINTER: 6}
SUNDAY_AND_MONDAY = (WeekdayOf(Weekday.SUNDAY), WeekdayOf(Weekday.MONDAY))
BY_DAY_OF_MONTH = (Frequency.MONTHLY, Frequency.YEARLY)


def many(values, size=3):
    return st.lists(values, max_size=size, unique=True).map(tuple)


month_days = st.one_of(st.integers(1, 31), st.integers(-31, -1))

ordinals = st.one_of(st.integers(1, 5), st.integers(-5, -1))


@st.composite
def calendar_rules(draw, starts, intervals):
    frequency = draw(st.sampled_from(Frequency))
    by_month = draw(many(st.integers(1, 12), 5))
    by_month_day = draw(many(month_days)) if frequency in BY_DAY_OF_MONTH else ()
    # Not "each Monday and the first Friday": the other program takes days that are both, the RFC those that are one.
    nth = draw(st.sampled_from([st.just(0), *[ordinals] * (frequency in BY_DAY_OF_MONTH)]))
    weekdays = frequency in (Frequency.WEEKLY, Frequency.MONTHLY) or (frequency is Frequency.YEARLY and by_month)
    return CalendarRule(
        frequency,
        draw(starts),
        interval=draw(intervals),
        by_month=by_month,
        by_month_day=by_month_day,
        by_weekday=draw(many(st.builds(WeekdayOf, st.sampled_from(Weekday), nth))) if weekdays else (),
        week_start=draw(st.sampled_from(Weekday)),
    )


starts = st.dates(date(1890, 1, 1), date(2110, 12, 31))
season_rules = st.builds(
    SeasonRule,
    st.sampled_from(Season),
    st.integers(-92, 92),
    st.integers(1, 12),
    from_year=st.integers(1890, 2110),
    is_southern=st.booleans(),
)
lengths = st.fixed_dictionaries(
    {
        "days": st.integers(0, 40),
        "weeks": st.integers(0, 5),
        "months": st.integers(0, 30),
        "years": st.integers(0, 5),
    }
).filter(lambda length: any(length.values()))
interval_rules = st.builds(lambda day, length: IntervalRule(day, **length), starts, lengths)


def by_seasons(rule, after, through):
    months = SOUTH if rule.is_southern else NORTH
    years = range(rule.from_year, through.year + 2, rule.every_years)
    days = (date(year, months[rule.season], 1) + timedelta(days=rule.offset_days) for year in years)
    return [day for day in days if after < day <= through]


def by_relative_deltas(rule, after, through):
    def nth(times):
        return rule.done_on + relativedelta(
            years=times * rule.years, months=times * rule.months, weeks=times * rule.weeks, days=times * rule.days
        )

    days = takewhile(lambda day: day <= through, (nth(times) for times in count(1)))
    return [day for day in days if day > after]


# The calendar ends soon after these, so the other program is soon done even with a rule that no day fits.
@given(calendar_rules(st.dates(date(9965, 1, 1), date.max), st.integers(1, 50)))
@example(CalendarRule(Frequency.WEEKLY, date.max, interval=3))
@example(CalendarRule(Frequency.MONTHLY, date(9990, 1, 31), by_month=(2,)))
@example(CalendarRule(Frequency.YEARLY, date(9965, 1, 31), by_month_day=(29, -29), by_month=(2,)))
def test_as_an_icalendar_reader_expands_the_printed_rule(rule):
    """To the last day of the year 9999."""
    printed = vRecur.from_ical(write_rrule(rule)).to_ical().decode()
    expanded = []
    with suppress(ValueError):  # the other program counts on into the year 10000
        for moment in rrulestr(printed, dtstart=datetime.combine(rule.start, datetime.min.time())):
            expanded.append(moment.date())

    assert occurrences(rule, rule.start - DAY, date.max) == expanded


@given(
    starts,
    st.sampled_from([
        {"frequency": Frequency.DAILY, "interval": 3},
        {"frequency": Frequency.WEEKLY, "interval": 2, "by_weekday": SUNDAY_AND_MONDAY},
        {"frequency": Frequency.MONTHLY, "by_month_day": (31,)},
        {"frequency": Frequency.MONTHLY, "interval": 5, "by_weekday": (WeekdayOf(Weekday.MONDAY, 1),)},
        {"frequency": Frequency.YEARLY, "by_month": (2,), "by_month_day": (-1,)},
    ]),
    st.sampled_from(Weekday),
)  # fmt: skip
def test_over_the_years_of_a_farm(start, parts, week_start):
    rule = CalendarRule(start=start, week_start=week_start, **parts)
    midnight = datetime.combine(start, datetime.min.time())
    expanded = rrulestr(write_rrule(rule), dtstart=midnight).between(
        midnight, midnight + timedelta(days=5000), inc=True
    )

    assert occurrences(rule, start - DAY, start + timedelta(days=5000)) == [moment.date() for moment in expanded]


@given(season_rules, starts, st.integers(0, 12000))
def test_seasons_of_both_halves_of_the_earth(rule, after, length):
    through = after + timedelta(days=length)

    assert occurrences(rule, after, through) == by_seasons(rule, after, through)


@given(season_rules)
def test_the_south_is_half_a_year_on(rule):
    """Its spring is the north's autumn, and so round the year."""
    other = {
        Season.SPRING: Season.AUTUMN,
        Season.SUMMER: Season.WINTER,
        Season.AUTUMN: Season.SPRING,
        Season.WINTER: Season.SUMMER,
    }
    north = SeasonRule(rule.season, rule.offset_days, from_year=rule.from_year)
    south = SeasonRule(other[rule.season], rule.offset_days, from_year=rule.from_year, is_southern=True)

    assert next_after(north, date(rule.from_year - 1, 6, 30)) == next_after(south, date(rule.from_year - 1, 6, 30))


@given(interval_rules, st.integers(-400, 12000), st.integers(0, 12000))
@example(IntervalRule(date(2024, 2, 29), years=1), 0, 4000)
@example(IntervalRule(date(2023, 1, 31), months=1), 0, 4000)
def test_intervals_keep_the_day_of_the_month(rule, passed, length):
    after = rule.done_on + timedelta(days=passed)
    through = after + timedelta(days=length)

    assert occurrences(rule, after, through) == by_relative_deltas(rule, after, through)


@given(calendar_rules(starts, st.integers(1, 9999)))
def test_a_printed_rule_reads_as_it_was(rule):
    assert read_rrule(write_rrule(rule), rule.start) == rule


pieces = [
    "FREQ",
    "BYDAY",
    "WKST",
    "COUNT",
    "=",
    "=DAILY",
    "=MONTHLY",
    ";",
    ",",
    "-",
    "+",
    "1",
    "0",
    "99",
    "MO",
    "١",
    "²",
]


@given(st.lists(st.sampled_from([*pieces, " ", "\n", "\x00"]), max_size=9).map("".join))
@example("FREQ=MONTHLY;BYDAY=1MO")
def test_any_text_is_a_rule_or_refused_in_words(text):
    with suppress(ValueError):  # and nothing else
        assert isinstance(read_rrule(text, date(2026, 1, 1)), CalendarRule)


nights = st.lists(st.integers(0, 3000), min_size=1, max_size=25)


def run(rule, first_due_on, days):
    """Open what each run says, one after the other, each from where the last one left off."""
    opened, next_due_on = [], first_due_on
    for day in days:
        due, next_due_on = due_through(rule, next_due_on, day)
        opened += due
    return opened, next_due_on


@given(st.one_of(season_rules, interval_rules), starts, nights, st.randoms())
def test_nights_missed_repeated_and_shuffled_lose_and_double_nothing(rule, begun, gaps, random):
    days = [begun + timedelta(days=gap) for gap in [*gaps, *gaps[::2]]]
    random.shuffle(days)
    expected_by = by_seasons if isinstance(rule, SeasonRule) else by_relative_deltas

    opened, next_due_on = run(rule, next_after(rule, begun), days)

    expected = expected_by(rule, begun, max(days) + timedelta(days=90000))
    assert opened == [day for day in expected if day <= max(days)]
    assert next_due_on == next((day for day in expected if day > max(days)), None)


@given(calendar_rules(starts, st.integers(1, 4)), nights)
def test_calendar_rules_catch_up_like_one_run_each_night(rule, gaps):
    begun = rule.start
    every = [begun + timedelta(days=gap) for gap in range(max(gaps) + 1)]
    first = next_after(rule, begun)

    assert run(rule, first, [begun + timedelta(days=gap) for gap in gaps]) == run(rule, first, every)


@given(st.one_of(season_rules, interval_rules, calendar_rules(starts, st.integers(1, 9))), starts)
def test_stepping_from_one_to_the_next_meets_them_all(rule, after):
    stepped, day = [], next_after(rule, after)
    while day is not None and len(stepped) < 12:
        stepped.append(day)
        day = next_after(rule, day)

    assert stepped == occurrences(rule, after, stepped[-1] if stepped else date.max)
