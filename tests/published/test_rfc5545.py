"""Days of rules against the examples of RFC 5545, 3.8.5.3, as printed there; read in a public copy of the section.

What is not printed there says where it comes from.
"""

from datetime import date, timedelta

import pytest

from maintenance.recurrence import CalendarRule, Frequency, Weekday, WeekdayOf, occurrences, read_rrule, write_rrule

DAILY, WEEKLY, MONTHLY, YEARLY = Frequency
MONDAY, TUESDAY, WEDNESDAY, THURSDAY, FRIDAY, SATURDAY, SUNDAY = Weekday
MO, TU, WE, TH, FR, SA, SU = (WeekdayOf(day) for day in Weekday)

# rule, first days of it as "year month.day,day month.day"
EXAMPLES = [
    (CalendarRule(DAILY, date(1997, 9, 2)), "1997 9.2,3,4,5,6,7,8,9,10,11"),
    (CalendarRule(DAILY, date(1997, 9, 2), interval=10), "1997 9.2,12,22 10.2,12"),
    (CalendarRule(WEEKLY, date(1997, 9, 2)), "1997 9.2,9,16,23,30 10.7,14,21,28 11.4"),
    (
        CalendarRule(WEEKLY, date(1997, 9, 2), interval=2, week_start=SUNDAY),
        "1997 9.2,16,30 10.14,28 11.11,25 12.9,23 1998 1.6,20 2.3,17",
    ),
    (
        CalendarRule(WEEKLY, date(1997, 9, 2), by_weekday=(TU, TH), week_start=SUNDAY),
        "1997 9.2,4,9,11,16,18,23,25,30 10.2",
    ),
    (
        CalendarRule(WEEKLY, date(1997, 9, 1), interval=2, by_weekday=(MO, WE, FR), week_start=SUNDAY),
        "1997 9.1,3,5,15,17,19,29 10.1,3,13,15,17,27,29,31 11.10,12,14,24,26,28 12.8,10,12,22",
    ),
    (
        CalendarRule(WEEKLY, date(1997, 9, 2), interval=2, by_weekday=(TU, TH), week_start=SUNDAY),
        "1997 9.2,4,16,18,30 10.2,14,16",
    ),
    (
        CalendarRule(MONTHLY, date(1997, 9, 5), by_weekday=(WeekdayOf(FRIDAY, 1),)),
        "1997 9.5 10.3 11.7 12.5 1998 1.2 2.6 3.6 4.3 5.1 6.5",
    ),
    (
        CalendarRule(MONTHLY, date(1997, 9, 7), interval=2, by_weekday=(WeekdayOf(SUNDAY, 1), WeekdayOf(SUNDAY, -1))),
        "1997 9.7,28 11.2,30 1998 1.4,25 3.1,29 5.3,31",
    ),
    (
        CalendarRule(MONTHLY, date(1997, 9, 22), by_weekday=(WeekdayOf(MONDAY, -2),)),
        "1997 9.22 10.20 11.17 12.22 1998 1.19 2.16",
    ),
    (CalendarRule(MONTHLY, date(1997, 9, 28), by_month_day=(-3,)), "1997 9.28 10.29 11.28 12.29 1998 1.29 2.26"),
    (CalendarRule(MONTHLY, date(1997, 9, 2), by_month_day=(2, 15)), "1997 9.2,15 10.2,15 11.2,15 12.2,15 1998 1.2,15"),
    (
        CalendarRule(MONTHLY, date(1997, 9, 30), by_month_day=(1, -1)),
        "1997 9.30 10.1,31 11.1,30 12.1,31 1998 1.1,31 2.1",
    ),
    (
        CalendarRule(MONTHLY, date(1997, 9, 10), interval=18, by_month_day=(10, 11, 12, 13, 14, 15)),
        "1997 9.10,11,12,13,14,15 1999 3.10,11,12,13",
    ),
    (
        CalendarRule(MONTHLY, date(1997, 9, 2), interval=2, by_weekday=(TU,)),
        "1997 9.2,9,16,23,30 11.4,11,18,25 1998 1.6,13,20,27 3.3,10,17,24,31",
    ),
    (
        CalendarRule(YEARLY, date(1997, 6, 10), by_month=(6, 7)),
        "1997 6.10 7.10 1998 6.10 7.10 1999 6.10 7.10 2000 6.10 7.10 2001 6.10 7.10",
    ),
    (
        CalendarRule(YEARLY, date(1997, 3, 10), interval=2, by_month=(1, 2, 3)),
        "1997 3.10 1999 1.10 2.10 3.10 2001 1.10 2.10 3.10 2003 1.10 2.10 3.10",
    ),
    (
        CalendarRule(YEARLY, date(1997, 3, 13), by_month=(3,), by_weekday=(TH,)),
        "1997 3.13,20,27 1998 3.5,12,19,26 1999 3.4,11,18,25",
    ),
    (
        CalendarRule(YEARLY, date(1997, 6, 5), by_month=(6, 7, 8), by_weekday=(TH,)),
        "1997 6.5,12,19,26 7.3,10,17,24,31 8.7,14,21,28 1998 6.4,11,18,25 7.2,9,16,23,30 8.6,13,20,27 "
        "1999 6.3,10,17,24 7.1,8,15,22,29 8.5,12,19,26",
    ),
    (
        CalendarRule(MONTHLY, date(1997, 9, 2), by_month_day=(13,), by_weekday=(FR,)),  # the RFC leaves out the start
        "1998 2.13 3.13 11.13 1999 8.13 2000 10.13",
    ),
    (
        CalendarRule(MONTHLY, date(1997, 9, 13), by_month_day=(7, 8, 9, 10, 11, 12, 13), by_weekday=(SA,)),
        "1997 9.13 10.11 11.8 12.13 1998 1.10 2.7 3.7 4.11 5.9 6.13",
    ),
    (
        CalendarRule(
            YEARLY, date(1996, 11, 5), interval=4, by_month=(11,), by_month_day=(2, 3, 4, 5, 6, 7, 8), by_weekday=(TU,)
        ),
        "1996 11.5 2000 11.7 2004 11.2",
    ),
    (CalendarRule(WEEKLY, date(1997, 8, 5), interval=2, by_weekday=(TU, SU)), "1997 8.5,10,19,24"),
    (
        CalendarRule(WEEKLY, date(1997, 8, 5), interval=2, by_weekday=(TU, SU), week_start=SUNDAY),
        "1997 8.5,17,19,31",
    ),
    (CalendarRule(MONTHLY, date(2007, 1, 15), by_month_day=(15, 30)), "2007 1.15,30 2.15 3.15,30"),  # no 30 February
    # The two below: what "ignored" comes to, worked by hand; python-dateutil 2.9 says the same.
    (CalendarRule(MONTHLY, date(2024, 1, 31)), "2024 1.31 3.31 5.31 7.31 8.31 10.31 12.31"),
    (CalendarRule(YEARLY, date(1896, 2, 29)), "1896 2.29 1904 2.29 1908 2.29"),  # 1900 was no leap year
]


def days(printed):
    """Read days printed as "1997 9.2,12 10.2"."""
    found = []
    for word in printed.split():
        if "." not in word:
            year = int(word)
            continue
        month, numbers = word.split(".")
        found += [date(year, int(month), int(day)) for day in numbers.split(",")]
    return found


@pytest.mark.parametrize(("rule", "printed"), EXAMPLES, ids=[write_rrule(rule) for rule, _ in EXAMPLES])
def test_examples(rule, printed):
    expected = days(printed)

    assert occurrences(rule, rule.start - timedelta(days=1), expected[-1]) == expected


@pytest.mark.parametrize(
    "rule",
    [
        CalendarRule(DAILY, date(1998, 1, 1), by_month=(1,)),
        CalendarRule(YEARLY, date(1998, 1, 1), by_month=(1,), by_weekday=(SU, MO, TU, WE, TH, FR, SA)),
    ],
)
def test_every_day_in_january_for_three_years(rule):
    expected = [date(year, 1, day) for year in (1998, 1999, 2000) for day in range(1, 32)]

    assert occurrences(rule, date(1997, 12, 31), date(2000, 12, 31)) == expected


def test_every_other_day():
    rule = CalendarRule(DAILY, date(1997, 9, 2), interval=2)
    printed = "1997 9.2,4,6,8,10,12,14,16,18,20,22,24,26,28,30 10.2,4,6,8,10,12,14,16,18,20,22,24,26,28,30 11.1,3,5,7"

    assert occurrences(rule, date(1997, 9, 1), date(1997, 11, 8)) == days(printed)


def test_as_the_rfc_writes_it():
    rule = CalendarRule(MONTHLY, date(1997, 9, 7), interval=2, by_weekday=(WeekdayOf(SUNDAY, 1), WeekdayOf(SUNDAY, -1)))

    assert write_rrule(rule) == "FREQ=MONTHLY;INTERVAL=2;BYDAY=1SU,-1SU;WKST=MO"


@pytest.mark.parametrize(
    ("printed", "rule"),
    [
        ("FREQ=DAILY;INTERVAL=2", CalendarRule(DAILY, date(1997, 9, 2), interval=2)),
        (
            "FREQ=WEEKLY;INTERVAL=2;WKST=SU;BYDAY=TU,TH",
            CalendarRule(WEEKLY, date(1997, 9, 2), interval=2, by_weekday=(TU, TH), week_start=SUNDAY),
        ),
        ("FREQ=MONTHLY;BYDAY=1FR", CalendarRule(MONTHLY, date(1997, 9, 2), by_weekday=(WeekdayOf(FRIDAY, 1),))),
        ("FREQ=MONTHLY;BYDAY=-2MO", CalendarRule(MONTHLY, date(1997, 9, 2), by_weekday=(WeekdayOf(MONDAY, -2),))),
        ("FREQ=MONTHLY;BYMONTHDAY=1,-1", CalendarRule(MONTHLY, date(1997, 9, 2), by_month_day=(1, -1))),
        ("FREQ=YEARLY;BYMONTH=6,7", CalendarRule(YEARLY, date(1997, 9, 2), by_month=(6, 7))),
    ],
)
def test_reading_rules_as_they_are_printed(printed, rule):
    assert read_rrule(printed, date(1997, 9, 2)) == rule
