"""A rule of the calendar as text: the value of an RRULE."""

from __future__ import annotations

import re
from datetime import date

from maintenance.recurrence.calendar_rule import CalendarRule, Frequency, Weekday, WeekdayOf

CODES = {weekday.name[:2]: weekday for weekday in Weekday}
PARTS = ("FREQ", "INTERVAL", "BYMONTH", "BYMONTHDAY", "BYDAY", "WKST")
NUMBER = re.compile(r"[+-]?\d{1,4}", re.ASCII)
WEEKDAY = re.compile(rf"([+-]?\d{{1,2}})?({'|'.join(CODES)})", re.ASCII)


def write_rrule(rule: CalendarRule) -> str:
    """Return a rule as the value of an RRULE; its DTSTART is the rule's start."""
    code = {weekday: code for code, weekday in CODES.items()}
    weekdays = [f"{each.nth or ''}{code[each.weekday]}" for each in rule.by_weekday]
    lists = {"BYMONTH": rule.by_month, "BYMONTHDAY": rule.by_month_day, "BYDAY": weekdays}
    named = [f"{name}={','.join(map(str, values))}" for name, values in lists.items() if values]
    head = [f"FREQ={rule.frequency.upper()}", f"INTERVAL={rule.interval}"]
    return ";".join([*head, *named, f"WKST={code[rule.week_start]}"])


def read_rrule(text: str, start: date) -> CalendarRule:
    """Return the rule that the value of an RRULE says.

    Parameters
    ----------
    text : str
        Such as ``FREQ=MONTHLY;BYDAY=1MO``; case does not matter.
    start : date
        Its DTSTART.

    Raises
    ------
    ValueError
        If it is no such rule, or has a part that `CalendarRule` leaves out.

    References
    ----------
    RFC 5545, 3.3.10.
    """
    parts = _parts(text)
    if "FREQ" not in parts:
        raise ValueError("a calendar rule needs FREQ, such as FREQ=MONTHLY")
    if parts["FREQ"].lower() not in set(Frequency):
        raise ValueError(f"FREQ must be DAILY, WEEKLY, MONTHLY or YEARLY, not {parts['FREQ']}")
    week_start = parts.get("WKST", "MO")
    if week_start not in CODES:
        raise ValueError(f"WKST must be one of {', '.join(CODES)}, not {week_start}")
    return CalendarRule(
        Frequency(parts["FREQ"].lower()),
        start,
        interval=_number("INTERVAL", parts.get("INTERVAL", "1")),
        by_month=tuple(_number("BYMONTH", word) for word in _words(parts, "BYMONTH")),
        by_month_day=tuple(_number("BYMONTHDAY", word) for word in _words(parts, "BYMONTHDAY")),
        by_weekday=tuple(_weekday(word) for word in _words(parts, "BYDAY")),
        week_start=CODES[week_start],
    )


def _parts(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for part in text.strip().upper().removeprefix("RRULE:").split(";"):
        name, equals, value = part.partition("=")
        if not equals or not value:
            raise ValueError(f"a calendar rule is made of parts such as FREQ=MONTHLY, not {part!r}")
        if name not in PARTS:
            raise ValueError(f"{name} is not known here; a calendar rule is made of {', '.join(PARTS)}")
        if name in found:
            raise ValueError(f"{name} is there twice; put all its values into one, with commas")
        found[name] = value
    return found


def _words(parts: dict[str, str], name: str) -> list[str]:
    return parts[name].split(",") if name in parts else []


def _number(name: str, word: str) -> int:
    if not NUMBER.fullmatch(word):
        raise ValueError(f"{name} takes whole numbers, not {word!r}")
    return int(word)


def _weekday(word: str) -> WeekdayOf:
    match = WEEKDAY.fullmatch(word)
    if not match or (match[1] and int(match[1]) == 0):
        raise ValueError(f"BYDAY takes days such as MO, 1MO for the first or -1MO for the last, not {word!r}")
    return WeekdayOf(CODES[match[2]], int(match[1] or 0))
