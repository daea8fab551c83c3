"""Days and months by number, up to the end of the calendar."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, datetime

LAST_YEAR = date.max.year
LAST_DAY = date.max.toordinal()


def days_from(first: int, length: int) -> list[date] | None:
    """Return the days of a stretch that the calendar has; None when all of them lie behind its end.

    Parameters
    ----------
    first : int
        The first day, where 1 is 1 January of the year 1. [days]
    length : int
        How many. [days]
    """
    if first > LAST_DAY:
        return None
    return [date.fromordinal(day) for day in range(max(1, first), min(first + length, LAST_DAY + 1))]


def month_after(day: date, months: int) -> tuple[int, int]:
    """Return the year and the month, 1 to 12, that lie some months after a day's."""
    year, month = divmod(12 * day.year + day.month - 1 + months, 12)
    return year, month + 1


def length_of_month(year: int, month: int) -> int:
    """Return how many days a month has."""
    return monthrange(year, month)[1]


def require_whole(name: str, value: object, least: int, most: int) -> None:
    """Raise ValueError unless a value is a whole number between two others."""
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
        raise ValueError(f"{name} must be a whole number from {least} to {most}, not {value!r}")


def require_day(name: str, value: object) -> None:
    """Raise ValueError unless a value is a day without a time: which day an instant is depends on the place."""
    if not isinstance(value, date) or isinstance(value, datetime):
        raise ValueError(f"{name} must be a day without a time, not {value!r}")
