"""Measured sun from a table: a day and its radiation in each row, the unit in the header."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Final

from django.utils.translation import gettext as _

from doors.exchange.spreadsheets import Grid, unguarded

HIGHEST: Final = Decimal(50)  # MJ/m² a day; no place outside the air gets more
MJ_PER: Final = {  # what a day's figure in a unit is in MJ/m²
    "mj/m2": Decimal(1),
    "kwh/m2": Decimal("3.6"),
    "w/m2": Decimal("0.0864"),  # the mean of a day of 86 400 s
}
DAY_NAMES: Final = ("date", "day", "fecha", "día", "dia")
KEPT: Final = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Problem:
    """A cell that cannot be read, and what to write in its place."""

    row: int
    value: str
    text: str


@dataclass(frozen=True, slots=True)
class SunTable:
    """The days of a table in MJ/m², and what is wrong with it."""

    days: dict[date, Decimal]
    problems: tuple[Problem, ...] = ()
    unit: str = ""


def read_sun(grid: Grid, *, today: date) -> SunTable:
    """Return the days a table holds; each row that cannot be read is named, with what to write."""
    columns = _columns(grid[0] if grid else [])
    if isinstance(columns, str):
        return SunTable({}, (Problem(1, "; ".join(grid[0] if grid else []), columns),))
    day_at, sun_at, unit = columns
    days: dict[date, Decimal] = {}
    problems: list[Problem] = []
    for number, row in enumerate(grid[1:], 2):
        if not any(cell.strip() for cell in row):
            continue
        written_day, written_sun = _cell(row, day_at), _cell(row, sun_at)
        on = _day(written_day, days, today)
        sun = _sun(written_sun, unit)
        problems += [
            Problem(number, cell, found)
            for cell, found in ((written_day, on), (written_sun, sun))
            if isinstance(found, str)
        ]
        if isinstance(on, date) and isinstance(sun, Decimal):
            days[on] = sun
    if not days and not problems:
        problems.append(Problem(2, "", _("The table has no rows. Write a day and its radiation in each.")))
    return SunTable(days, tuple(problems), unit)


def _columns(header: Sequence[str]) -> tuple[int, int, str] | str:
    """Return where the day and the radiation stand and its unit, or a sentence on what is missing."""
    plain = [cell.casefold().replace("²", "2").replace("^2", "2").strip() for cell in header]
    cells = [re.sub(r"\s*/\s*", "/", cell) for cell in plain]
    days = [at for at, cell in enumerate(cells) if cell in DAY_NAMES]
    suns = [(at, unit) for at, cell in enumerate(cells) if at not in days and (unit := _unit(cell))]
    if not days:
        return _("No column is called date. Call the column with the days “date”.")
    if not suns:
        return _("No column names its unit. Write MJ/m2, kWh/m2 or W/m2 into the header of the radiation.")
    if len(days) > 1 or len(suns) > 1:
        return _("Two columns hold days or radiation. Leave one of each.")
    return days[0], *suns[0]


def _unit(cell: str) -> str:
    return next((unit for unit in MJ_PER if re.search(rf"(?<![a-z]){unit}(?!\w)", cell)), "")


def _cell(row: Sequence[str], at: int) -> str:
    return unguarded(row[at]).strip() if at < len(row) else ""


def _day(text: str, known: dict[date, Decimal], today: date) -> date | str:
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
            raise ValueError
        on = date.fromisoformat(text)
    except ValueError:
        return _("Not a day. Write it as 2024-05-01.")
    if on > today:
        return _("This day has not come yet.")
    if on in known:
        return _("This day stands in the table twice. Delete one of the rows.")
    return on


def _sun(text: str, unit: str) -> Decimal | str:
    try:
        value = Decimal(text.replace(",", "."))
        if not value.is_finite():
            raise InvalidOperation
    except InvalidOperation:
        return _("Not a number. Write the day's radiation, or delete the row.")
    converted = value * MJ_PER[unit]
    if not 0 <= converted <= HIGHEST:
        return _("A day gets 0 to 50 MJ/m² (13.9 kWh/m², a mean of 579 W/m²). Look at the unit in the header.")
    return converted.quantize(KEPT)
