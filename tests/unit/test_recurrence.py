"""Rules at their limits: leap days, the ends of the calendar, and what is no rule."""

import time
from datetime import date, datetime, timedelta

import pytest

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
)

SPRING = SeasonRule(Season.SPRING, from_year=2026)
SECOND_MONDAY = WeekdayOf(Weekday.MONDAY, 2)
NOON = datetime(2026, 5, 1, 12)


@pytest.mark.parametrize(
    ("season", "north", "south"),
    [
        (Season.SPRING, date(2026, 3, 1), date(2026, 9, 1)),
        (Season.SUMMER, date(2026, 6, 1), date(2026, 12, 1)),
        (Season.AUTUMN, date(2026, 9, 1), date(2026, 3, 1)),
        (Season.WINTER, date(2026, 12, 1), date(2026, 6, 1)),
    ],
)
def test_first_days_of_the_seasons(season, north, south):
    assert season.begins_on(2026) == north
    assert season.begins_on(2026, is_southern=True) == south


def test_before_the_season_every_other_year():
    """Three weeks before winter, which is 10 November: 30 November is 1 day before, 10 November 21."""
    rule = SeasonRule(Season.WINTER, -21, 2, from_year=2026)

    assert occurrences(rule, date(2020, 1, 1), date(2031, 1, 1)) == [
        date(2026, 11, 10),
        date(2028, 11, 10),
        date(2030, 11, 10),
    ]


def test_an_offset_may_lead_into_another_year():
    assert next_after(SeasonRule(Season.WINTER, 92, from_year=2026), date(2026, 1, 1)) == date(2027, 3, 3)
    assert next_after(SeasonRule(Season.SPRING, -92, from_year=2026), date(2020, 1, 1)) == date(2025, 11, 29)


def test_nothing_is_due_before_the_first_year():
    assert occurrences(SPRING, date(2000, 1, 1), date(2026, 3, 1)) == [date(2026, 3, 1)]


@pytest.mark.parametrize(
    ("rule", "days"),
    [
        (IntervalRule(date(2023, 1, 31), months=1), [date(2023, 2, 28), date(2023, 3, 31), date(2023, 4, 30)]),
        (IntervalRule(date(2024, 1, 31), months=1), [date(2024, 2, 29), date(2024, 3, 31), date(2024, 4, 30)]),
        (IntervalRule(date(2024, 2, 29), years=1), [date(2025, 2, 28), date(2026, 2, 28), date(2027, 2, 28)]),
        (IntervalRule(date(2024, 2, 29), years=4), [date(2028, 2, 29), date(2032, 2, 29), date(2036, 2, 29)]),
        (IntervalRule(date(2024, 2, 29), days=1), [date(2024, 3, 1), date(2024, 3, 2), date(2024, 3, 3)]),
        (IntervalRule(date(2026, 12, 30), weeks=1), [date(2027, 1, 6), date(2027, 1, 13), date(2027, 1, 20)]),
        (IntervalRule(date(2026, 1, 31), months=1, days=1), [date(2026, 3, 1), date(2026, 4, 2), date(2026, 5, 3)]),
    ],
)
def test_intervals(rule, days):
    assert occurrences(rule, rule.done_on, days[-1]) == days


def test_a_leap_day_of_the_calendar_waits_for_a_leap_year():
    rule = CalendarRule(Frequency.YEARLY, date(2096, 2, 29))

    assert next_after(rule, date(2096, 2, 29)) == date(2104, 2, 29)


def test_a_start_that_does_not_fit_is_not_due():
    rule = CalendarRule(Frequency.WEEKLY, date(2026, 11, 25), by_weekday=(WeekdayOf(Weekday.MONDAY),))

    assert next_after(rule, date(2026, 1, 1)) == date(2026, 11, 30)


def test_each_monday_or_the_first_friday():
    """November 2026 began on a Sunday: Mondays 2, 9, 16, 23, 30, first Friday the 6th."""
    rule = CalendarRule(
        Frequency.MONTHLY,
        date(2026, 11, 1),
        by_weekday=(WeekdayOf(Weekday.MONDAY), WeekdayOf(Weekday.FRIDAY, 1), WeekdayOf(Weekday.MONDAY, 1)),
    )

    due = occurrences(rule, date(2026, 10, 31), date(2026, 11, 30))

    assert [day.day for day in due] == [2, 6, 9, 16, 23, 30]


def test_a_part_said_twice_is_due_once():
    rule = CalendarRule(Frequency.YEARLY, date(2026, 1, 1), by_month=(5, 3, 5), by_month_day=(31, -1, 1, 1))

    assert occurrences(rule, date(2026, 1, 1), date(2026, 12, 31)) == [
        date(2026, 3, 1),
        date(2026, 3, 31),
        date(2026, 5, 1),
        date(2026, 5, 31),
    ]


def test_after_is_left_out_and_through_is_in():
    assert occurrences(SPRING, date(2026, 3, 1), date(2027, 3, 1)) == [date(2027, 3, 1)]
    assert occurrences(SPRING, date(2026, 3, 1), date(2026, 3, 1)) == []
    assert occurrences(SPRING, date(2027, 3, 1), date(2026, 3, 1)) == []


@pytest.mark.parametrize(
    "rule",
    [
        SeasonRule(Season.WINTER, 92, from_year=9999),
        SeasonRule(Season.SPRING, every_years=9999, from_year=2026),
        IntervalRule(date(9999, 12, 1), days=31),
        IntervalRule(date(9999, 12, 1), months=1),
        IntervalRule(date(2026, 1, 1), days=9999, weeks=9999, months=9999, years=9999),
        CalendarRule(Frequency.DAILY, date.max),
        CalendarRule(Frequency.WEEKLY, date.max),
        CalendarRule(Frequency.MONTHLY, date.max),
        CalendarRule(Frequency.YEARLY, date.max),
    ],
)
def test_the_calendar_ends_quietly(rule):
    assert next_after(rule, date.max) is None
    assert next_after(rule, date.max - timedelta(days=1)) in (None, date.max)
    assert due_through(rule, date.max, date.max) == ([date.max], None)
    assert due_through(rule, None, date.max) == ([], None)


@pytest.mark.parametrize(
    ("rule", "first"),
    [
        (SeasonRule(Season.SPRING, -92, from_year=1), date(2, 11, 29) - timedelta(days=365)),
        (CalendarRule(Frequency.WEEKLY, date.min, week_start=Weekday.SUNDAY, interval=2), date(1, 1, 15)),
        (CalendarRule(Frequency.MONTHLY, date.min), date(1, 2, 1)),
    ],
)
def test_the_calendar_begins_quietly(rule, first):
    """1 January of the year 1 was a Monday; 92 days before 1 March of that year there is no day."""
    assert next_after(rule, date.min) == first


@pytest.mark.parametrize(
    "rule",
    [
        CalendarRule(Frequency.YEARLY, date(2026, 1, 1), by_month=(2,), by_month_day=(30,)),
        CalendarRule(Frequency.MONTHLY, date(2026, 1, 1), interval=12, by_month=(2,)),
        CalendarRule(Frequency.MONTHLY, date(2026, 1, 1), by_month_day=(1,), by_weekday=(SECOND_MONDAY,)),
    ],
)  # fmt: skip
def test_what_no_day_fits_is_never_due(rule):
    assert next_after(rule, date(2026, 1, 1)) is None


def test_a_hundred_years_take_no_time():
    """Each of them by the day; a night's run has many plans."""
    rule = CalendarRule(Frequency.DAILY, date(2000, 1, 1))
    begun = time.process_time()

    assert len(occurrences(rule, date(1999, 12, 31), date(2099, 12, 31))) == 36525
    assert next_after(rule, date(9999, 12, 30)) == date.max
    assert time.process_time() - begun < 5


def test_a_run_opens_what_people_were_told():
    """Put off by hand to 5 May, then by the rule again."""
    assert due_through(SPRING, date(2026, 5, 5), date(2027, 3, 2)) == (
        [date(2026, 5, 5), date(2027, 3, 1)],
        date(2028, 3, 1),
    )


def test_a_run_on_the_day_before_opens_nothing():
    assert due_through(SPRING, date(2026, 3, 1), date(2026, 2, 28)) == ([], date(2026, 3, 1))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: SeasonRule(Season.SPRING, 93, from_year=2026), "offset_days"),
        (lambda: SeasonRule(Season.SPRING, -93, from_year=2026), "offset_days"),
        (lambda: SeasonRule(Season.SPRING, every_years=0, from_year=2026), "every_years"),
        (lambda: SeasonRule(Season.SPRING, every_years=10000, from_year=2026), "every_years"),
        (lambda: SeasonRule(Season.SPRING, from_year=0), "from_year"),
        (lambda: SeasonRule(Season.SPRING, from_year=10000), "from_year"),
        (lambda: SeasonRule(Season.SPRING, every_years=1.5, from_year=2026), "every_years must be a whole number"),
        (lambda: SeasonRule(Season.SPRING, every_years=True, from_year=2026), "every_years must be a whole number"),
        (lambda: IntervalRule(date(2026, 1, 1)), "at least one day"),
        (lambda: IntervalRule(date(2026, 1, 1), days=-1), "days"),
        (lambda: IntervalRule(date(2026, 1, 1), years=10000), "years"),
        (lambda: IntervalRule(NOON, days=1), "done_on must be a day without a time"),
        (lambda: IntervalRule("2026-01-01", days=1), "done_on must be a day"),
        (lambda: CalendarRule(Frequency.DAILY, NOON), "start must be a day"),
        (lambda: CalendarRule(Frequency.DAILY, date(2026, 1, 1), interval=0), "interval"),
        (lambda: CalendarRule(Frequency.DAILY, date(2026, 1, 1), by_month=(13,)), "by_month"),
        (lambda: CalendarRule(Frequency.MONTHLY, date(2026, 1, 1), by_month_day=(0,)), "by_month_day"),
        (lambda: CalendarRule(Frequency.MONTHLY, date(2026, 1, 1), by_month_day=(-32,)), "by_month_day"),
        (lambda: CalendarRule(Frequency.DAILY, date(2026, 1, 1), by_month_day=(1,)), "days of the month"),
        (lambda: CalendarRule(Frequency.WEEKLY, date(2026, 1, 1), by_month_day=(1,)), "days of the month"),
        (lambda: CalendarRule(Frequency.DAILY, date(2026, 1, 1), by_weekday=(WeekdayOf(Weekday.MONDAY),)), "weekdays"),
        (lambda: CalendarRule(Frequency.WEEKLY, date(2026, 1, 1), by_weekday=(WeekdayOf(Weekday.MONDAY, 1),)), "n-th"),
        (lambda: CalendarRule(Frequency.YEARLY, date(2026, 1, 1), by_weekday=(WeekdayOf(Weekday.MONDAY),)), "months"),
        (lambda: WeekdayOf(Weekday.MONDAY, 6), "nth"),
        (lambda: occurrences(SPRING, NOON, date(2026, 5, 2)), "after must be a day"),
        (lambda: occurrences(SPRING, date(2026, 5, 2), NOON), "through must be a day"),
        (lambda: next_after(SPRING, NOON), "after must be a day"),
        (lambda: due_through(SPRING, date(2026, 3, 1), NOON), "on must be a day"),
        (lambda: due_through(SPRING, NOON, date(2026, 5, 2)), "next_due_on must be a day"),
    ],
)
def test_what_is_no_rule(make, words):
    with pytest.raises(ValueError, match=words):
        make()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "made of parts such as FREQ=MONTHLY"),
        ("FREQ", "made of parts"),
        ("FREQ=DAILY;", "made of parts"),
        ("INTERVAL=2", "needs FREQ"),
        ("FREQ=HOURLY", "DAILY, WEEKLY, MONTHLY or YEARLY, not HOURLY"),
        ("FREQ=DAILY;COUNT=3", "COUNT is not known here"),
        ("FREQ=MONTHLY;BYDAY=MO;BYDAY=TU", "BYDAY is there twice"),
        ("FREQ=DAILY;INTERVAL=two", "INTERVAL takes whole numbers, not 'TWO'"),
        ("FREQ=DAILY;INTERVAL=1.5", "INTERVAL takes whole numbers"),
        ("FREQ=DAILY;INTERVAL=0", "interval must be a whole number from 1"),
        ("FREQ=MONTHLY;BYMONTHDAY=1,,2", "BYMONTHDAY takes whole numbers, not ''"),
        ("FREQ=MONTHLY;BYMONTHDAY=٣", "BYMONTHDAY takes whole numbers"),
        ("FREQ=YEARLY;BYMONTH=13", "by_month must be a whole number from 1 to 12"),
        ("FREQ=WEEKLY;BYDAY=MON", "BYDAY takes days such as MO"),
        ("FREQ=MONTHLY;BYDAY=0MO", "BYDAY takes days such as MO"),
        ("FREQ=YEARLY;BYDAY=20MO", "nth must be a whole number from -5 to 5"),
        ("FREQ=WEEKLY;WKST=XX", "WKST must be one of MO, TU"),
    ],
)
def test_what_is_no_printed_rule(text, words):
    with pytest.raises(ValueError, match=words):
        read_rrule(text, date(2026, 1, 1))


def test_a_rule_in_small_letters_with_signs():
    rule = read_rrule(" RRULE:freq=monthly;byday=+1mo,-1fr ", date(2026, 1, 1))

    assert rule.by_weekday == (WeekdayOf(Weekday.MONDAY, 1), WeekdayOf(Weekday.FRIDAY, -1))
