"""Work that follows the seasons, and work that follows the last time it was done."""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass
from datetime import date
from enum import StrEnum

from maintenance.recurrence.days import (
    LAST_YEAR,
    days_from,
    length_of_month,
    month_after,
    require_day,
    require_whole,
)

LONGEST_SEASON = 92  # days, of a meteorological quarter
LONGEST_MONTH = 31  # days


class Season(StrEnum):
    """A meteorological quarter of the year.

    Notes
    -----
    In the north spring begins on 1 March, summer on 1 June, autumn on 1 September and winter on 1 December; in the
    south half a year later. A season belongs to the year in which it begins, so the north's winter of 2026 and the
    south's summer of 2026 both last until the end of February 2027.
    """

    SPRING = "spring"
    SUMMER = "summer"
    AUTUMN = "autumn"
    WINTER = "winter"

    def begins_on(self, year: int, *, is_southern: bool = False) -> date:
        """Return the first day of the season of a year."""
        quarter = list(Season).index(self) + (2 if is_southern else 0)
        return date(year, 3 + 3 * (quarter % 4), 1)


@dataclass(frozen=True, slots=True)
class SeasonRule:
    """Due around the first day of a season, every so many years.

    Attributes
    ----------
    season : Season
        The season it goes by.
    offset_days : int
        Days after the season's first day, negative for days before it; at most a season either way. [days]
    every_years : int
        1 for each year. [years]
    from_year : int
        The year of the first season that counts. With an offset the day itself may lie in a neighbouring year.
    is_southern : bool
        True south of the equator.

    Raises
    ------
    ValueError
        If a number is not whole or out of its range.
    """

    season: Season
    offset_days: int = 0
    every_years: int = 1
    _: KW_ONLY
    from_year: int
    is_southern: bool = False

    def __post_init__(self) -> None:
        require_whole("offset_days", self.offset_days, -LONGEST_SEASON, LONGEST_SEASON)
        require_whole("every_years", self.every_years, 1, LAST_YEAR)
        require_whole("from_year", self.from_year, 1, LAST_YEAR)

    def turn_by(self, day: date) -> int:
        """Return a turn, counted from 0, before which nothing is due later than a day."""
        return max(0, (day.year - 1 - self.from_year) // self.every_years)

    def days_of(self, turn: int) -> list[date] | None:
        """Return what is due in a turn; None when the calendar has ended."""
        year = self.from_year + turn * self.every_years
        if year > LAST_YEAR:
            return None
        return days_from(self.season.begins_on(year, is_southern=self.is_southern).toordinal() + self.offset_days, 1)


@dataclass(frozen=True, slots=True)
class IntervalRule:
    """Due again and again some time after the day on which the work was last done.

    Attributes
    ----------
    done_on : date
        The day to count from; not itself due.
    days, weeks, months, years : int
        How long, added up.

    Raises
    ------
    ValueError
        If a number is not whole or out of its range, or all are 0.

    Notes
    -----
    Months and years keep the day of the month, or take the last day of a month that is shorter. Each is counted
    from ``done_on``, so nothing drifts: after 31 January come 28 February and 31 March.
    """

    done_on: date
    _: KW_ONLY
    days: int = 0
    weeks: int = 0
    months: int = 0
    years: int = 0

    def __post_init__(self) -> None:
        require_day("done_on", self.done_on)
        for name in ("days", "weeks", "months", "years"):
            require_whole(name, getattr(self, name), 0, LAST_YEAR)
        if not self._whole_days and not self._whole_months:
            raise ValueError("an interval needs at least one day, week, month or year")

    def turn_by(self, day: date) -> int:
        """Return a turn, counted from 0, before which nothing is due later than a day."""
        longest = self._whole_days + LONGEST_MONTH * self._whole_months
        return max(0, (day - self.done_on).days // longest)

    def days_of(self, turn: int) -> list[date] | None:
        """Return what is due in a turn; None when the calendar has ended."""
        times = turn + 1
        year, month = month_after(self.done_on, times * self._whole_months)
        if year > LAST_YEAR:
            return None
        kept = date(year, month, min(self.done_on.day, length_of_month(year, month)))
        return days_from(kept.toordinal() + times * self._whole_days, 1)

    @property
    def _whole_days(self) -> int:
        return self.days + 7 * self.weeks

    @property
    def _whole_months(self) -> int:
        return self.months + 12 * self.years
