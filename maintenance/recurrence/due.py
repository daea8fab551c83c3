"""From a rule to its days, and the nightly run that opens what is due."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import count, takewhile
from typing import Protocol

from maintenance.recurrence.days import require_day


class Rule(Protocol):
    """What comes round in turns, counted from 0, none of which reaches into the next."""

    def turn_by(self, day: date) -> int:
        """Return a turn before which nothing is due later than a day."""

    def days_of(self, turn: int) -> list[date] | None:
        """Return what is due in a turn, in order; None when the calendar has ended."""


def occurrences(rule: Rule, after: date, through: date) -> list[date]:
    """Return the days on which a rule is due.

    Parameters
    ----------
    rule : Rule
        Of whichever kind.
    after, through : date
        Later than the one, up to and including the other.

    Returns
    -------
    list of date
        In order; empty where ``through`` is not later than ``after``.

    Raises
    ------
    ValueError
        If one of them has a time.
    """
    require_day("through", through)
    return list(takewhile(lambda day: day <= through, _days_after(rule, after)))


def next_after(rule: Rule, day: date) -> date | None:
    """Return the first day later than another on which a rule is due.

    Returns
    -------
    date or None
        None where the calendar ends before it, or where no day at all fits the rule.

    Raises
    ------
    ValueError
        If the day has a time.
    """
    return next(_days_after(rule, day), None)


def due_through(rule: Rule, next_due_on: date | None, on: date) -> tuple[list[date], date | None]:
    """Return what a run must open, and what is due next after it.

    Parameters
    ----------
    rule : Rule
        Of whichever kind.
    next_due_on : date or None
        The first day not opened yet, as the run before left it; None when nothing more is due.
    on : date
        The day of the run; nights between may have been missed.

    Returns
    -------
    list of date
        The days to open, in order: ``next_due_on`` and all the rule's days after it, up to and including ``on``.
    date or None
        The next ``next_due_on``.

    Raises
    ------
    ValueError
        If a day has a time.

    Notes
    -----
    A second run on the same day opens nothing, nor does one on an earlier day, and a run after missed nights opens
    what they would have. ``next_due_on`` is opened even where the rule, since changed, no longer names it: it is
    what people were told.
    """
    require_day("on", on)
    if next_due_on is None:
        return [], None
    require_day("next_due_on", next_due_on)
    if next_due_on > on:
        return [], next_due_on
    return [next_due_on, *occurrences(rule, next_due_on, on)], next_after(rule, on)


def _days_after(rule: Rule, after: date) -> Iterator[date]:
    require_day("after", after)
    turns = (rule.days_of(turn) for turn in count(rule.turn_by(after)))
    for days in iter(turns.__next__, None):
        yield from (day for day in days if day > after)
