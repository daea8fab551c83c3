"""When work is due: by season, after an interval, or by the calendar; plain local dates and no clock."""

from maintenance.recurrence.calendar_rule import CalendarRule, Frequency, Weekday, WeekdayOf
from maintenance.recurrence.due import Rule, due_through, next_after, occurrences
from maintenance.recurrence.rrule import read_rrule, write_rrule
from maintenance.recurrence.rules import IntervalRule, Season, SeasonRule

__all__ = [
    "CalendarRule",
    "Frequency",
    "IntervalRule",
    "Rule",
    "Season",
    "SeasonRule",
    "Weekday",
    "WeekdayOf",
    "due_through",
    "next_after",
    "occurrences",
    "read_rrule",
    "write_rrule",
]
