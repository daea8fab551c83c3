"""Work on days that the calendar names: each Tuesday, the first Monday, the last day of the month."""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass
from datetime import date
from enum import IntEnum, StrEnum

from maintenance.recurrence.days import (
    LAST_YEAR,
    days_from,
    length_of_month,
    month_after,
    require_day,
    require_whole,
)

MOST_INTERVAL = 9999  # -, whatever it counts
WHOLE_YEAR = tuple(range(1, 13))


class Frequency(StrEnum):
    """What a rule of the calendar counts in."""

    DAILY = "daily"
    WEEKLY = "weekly"
    MONTHLY = "monthly"
    YEARLY = "yearly"


class Weekday(IntEnum):
    """A day of the week, numbered as `datetime.date.weekday` does."""

    MONDAY = 0
    TUESDAY = 1
    WEDNESDAY = 2
    THURSDAY = 3
    FRIDAY = 4
    SATURDAY = 5
    SUNDAY = 6


@dataclass(frozen=True, slots=True)
class WeekdayOf:
    """A weekday, and which of its month: 1 the first, -1 the last, 0 each of them."""

    weekday: Weekday
    nth: int = 0

    def __post_init__(self) -> None:
        require_whole("nth", self.nth, -5, 5)

    def fits(self, day: date) -> bool:
        """Return whether a day is such a day."""
        if day.weekday() != self.weekday:
            return False
        return self.nth in (0, (day.day + 6) // 7, -((_days_left(day) + 6) // 7))


@dataclass(frozen=True, slots=True)
class CalendarRule:
    """Due on the days that fit a rule of the calendar.

    Attributes
    ----------
    frequency : Frequency
        Whether it comes round by days, weeks, months or years.
    start : date
        The first day that can be due, the one that intervals are counted from, and where weekday, day of the month
        and month come from when the rule names none. It is itself due only where it fits the rule.
    interval : int
        1 for each day, week, month or year, 2 for every other one. [-]
    by_month : tuple of int
        The months, 1 to 12, that it keeps to; none for all, or for the month of ``start`` in a yearly rule that
        names no day of the month either.
    by_month_day : tuple of int
        Days of the month, negative from its end, -1 the last; monthly and yearly.
    by_weekday : tuple of WeekdayOf
        Weekdays; weekly, or monthly and yearly where each may be the n-th of its month. Together with
        ``by_month_day`` both must fit, as Friday the 13th does.
    week_start : Weekday
        What day begins a week; it matters where not every week counts.

    Raises
    ------
    ValueError
        If a number is out of its range, or a part does not go with the frequency.

    Notes
    -----
    A day that does not exist, such as 30 February, is skipped and not moved. A rule that no day fits is no error
    here: nothing is ever due.

    References
    ----------
    RFC 5545, 3.3.10: a part of its recurrence rules, without counts and ends. In a yearly rule a weekday needs
    its months; the 20th Monday of a year is left out.
    """

    frequency: Frequency
    start: date
    _: KW_ONLY
    interval: int = 1
    by_month: tuple[int, ...] = ()
    by_month_day: tuple[int, ...] = ()
    by_weekday: tuple[WeekdayOf, ...] = ()
    week_start: Weekday = Weekday.MONDAY

    def __post_init__(self) -> None:
        require_day("start", self.start)
        require_whole("interval", self.interval, 1, MOST_INTERVAL)
        for month in self.by_month:
            require_whole("by_month", month, 1, 12)
        for day in self.by_month_day:
            require_whole("by_month_day, from the month's end if negative,", abs(day), 1, 31)
        if self.by_month_day and self.frequency in (Frequency.DAILY, Frequency.WEEKLY):
            raise ValueError("days of the month go with a monthly or a yearly rule only")
        if self.by_weekday and self.frequency is Frequency.DAILY:
            raise ValueError("weekdays go with a weekly, a monthly or a yearly rule only")
        if self.frequency is Frequency.WEEKLY and any(each.nth for each in self.by_weekday):
            raise ValueError("the n-th weekday of a month goes with a monthly or a yearly rule only")
        if self.by_weekday and self.frequency is Frequency.YEARLY and not self.by_month:
            raise ValueError("a yearly rule with weekdays must name its months")

    def turn_by(self, day: date) -> int:
        """Return a turn, counted from 0, before which nothing is due later than a day."""
        years, months = day.year - self.start.year, day.month - self.start.month
        passed = {
            Frequency.DAILY: (day - self.start).days,
            Frequency.WEEKLY: (day.toordinal() - self._first_week) // 7,
            Frequency.MONTHLY: 12 * years + months,
            Frequency.YEARLY: years,
        }
        return max(0, passed[self.frequency]) // self.interval

    def days_of(self, turn: int) -> list[date] | None:
        """Return what is due in a turn, in order; None when the calendar has ended."""
        days = self._all_of(turn * self.interval)
        if days is None:
            return None
        months, weekdays = self._months, self._weekdays
        return [
            day
            for day in days
            if day >= self.start and day.month in months and (not weekdays or any(each.fits(day) for each in weekdays))
        ]

    def _all_of(self, step: int) -> list[date] | None:
        """Return the days of a day or a week, or those of a month or a year that have the right number."""
        if self.frequency is Frequency.DAILY:
            return days_from(self.start.toordinal() + step, 1)
        if self.frequency is Frequency.WEEKLY:
            return days_from(self._first_week + 7 * step, 7)
        if self.frequency is Frequency.MONTHLY:
            year, month = month_after(self.start, step)
            months: tuple[int, ...] = (month,)
        else:
            year, months = self.start.year + step, self._months
        if year > LAST_YEAR:
            return None
        return [day for month in sorted(set(months)) for day in _numbered(year, month, self._month_days)]

    @property
    def _months(self) -> tuple[int, ...]:
        only_start = self.frequency is Frequency.YEARLY and not self.by_month_day
        return self.by_month or ((self.start.month,) if only_start else WHOLE_YEAR)

    @property
    def _month_days(self) -> tuple[int, ...]:
        only_start = self.frequency in (Frequency.MONTHLY, Frequency.YEARLY) and not self.by_weekday
        return self.by_month_day or ((self.start.day,) if only_start else ())

    @property
    def _weekdays(self) -> tuple[WeekdayOf, ...]:
        only_start = self.frequency is Frequency.WEEKLY
        return self.by_weekday or ((WeekdayOf(Weekday(self.start.weekday())),) if only_start else ())

    @property
    def _first_week(self) -> int:
        return self.start.toordinal() - (self.start.weekday() - self.week_start) % 7


def _numbered(year: int, month: int, numbers: tuple[int, ...]) -> list[date]:
    """Return the days of a month that have one of some numbers, negative from its end; all where there are none."""
    length = length_of_month(year, month)
    counted = {number if number > 0 else length + 1 + number for number in numbers} or set(range(1, length + 1))
    return [date(year, month, number) for number in sorted(counted) if 1 <= number <= length]


def _days_left(day: date) -> int:
    """Return how many days of its month are left, the day itself included."""
    return length_of_month(day.year, day.month) - day.day + 1
