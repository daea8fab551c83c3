"""How a plan recurs by itself, as the short text its row keeps: nothing else has to be looked up to advance it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final
from urllib.parse import parse_qsl, urlencode

from maintenance.recurrence import Rule, Season, SeasonRule, next_after, read_rrule

EPOCH: Final = date(2001, 1, 1)  # a Monday: where weeks and months of calendar rules are counted from


@dataclass(frozen=True, slots=True)
class Cadence:
    """A rule that recurs without anybody's doing, and how many days each job may take."""

    rule: Rule
    window_days: int

    def window(self, due_on: date) -> date:
        """Return the last day of a job that is due on a day."""
        return due_on + timedelta(days=self.window_days)

    def after(self, day: date) -> date | None:
        """Return the next day on which it is due."""
        return next_after(self.rule, day)

    def first(self, on: date) -> date | None:
        """Return the due day whose window holds a day; where there is none, the next one."""
        return next_after(self.rule, on - timedelta(days=self.window_days + 1))


def season_text(
    season: str, *, offset_days: int, every_years: int, from_year: int, is_southern: bool, window_days: int
) -> str:
    """Return the text of a cadence by seasons."""
    given = {"season": season, "offset": offset_days, "every": every_years, "from": from_year}
    return urlencode({**given, "south": int(is_southern), "window": window_days})


def calendar_text(rule: str, *, window_days: int) -> str:
    """Return the text of a cadence by the calendar."""
    return urlencode({"rule": rule, "window": window_days})


def read(text: str) -> Cadence:
    """Return the cadence that a plan keeps.

    Raises
    ------
    ValueError
        If the text is none of ours.
    """
    given = dict(parse_qsl(text, strict_parsing=True))
    window_days = int(given["window"])
    if "rule" in given:
        return Cadence(read_rrule(given["rule"], EPOCH), window_days)
    rule = SeasonRule(
        Season(given["season"]),
        offset_days=int(given["offset"]),
        every_years=int(given["every"]),
        from_year=int(given["from"]),
        is_southern=given["south"] == "1",
    )
    return Cadence(rule, window_days)
