"""Tables from outside: every row checked and shown first, then imported as a whole or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, Protocol

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from doors.exchange.columns import Column, Header, cell_value, read_headers
from doors.exchange.kinds import Kind
from doors.exchange.spreadsheets import Grid, unguarded
from farm.formfields import BearingField
from farm.models import Farm

Existing = Literal["skip", "update"]


@dataclass(frozen=True, slots=True)
class Problem:
    """A cell that cannot be taken as it is; ``text`` says what to write."""

    column: str
    value: str
    text: str


@dataclass(slots=True)
class Line:
    """One row of the file, below its header."""

    number: int
    cells: dict[str, str]
    values: dict[str, Any] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    existing: Any = None
    is_skipped: bool = False

    shown: list[str] = field(default_factory=list)

    @property
    def is_good(self) -> bool:
        """Whether this row would be imported."""
        return not self.problems and not self.is_skipped

    def refuse(self, column: str, text: str) -> None:
        """Add a problem of one column."""
        self.problems.append(Problem(column, self.cells.get(column, ""), text))


class Register(Protocol):
    """What checks the rows of one kind against the farm, and saves them."""

    def check(self, line: Line) -> None:
        """Add to a row whose cells were read what is wrong with the row as a whole."""

    def save(self, lines: Sequence[Line]) -> list[int]:
        """Save checked rows; return the openings to size again."""


@dataclass(frozen=True, slots=True)
class Preview:
    """A whole file as it would be imported."""

    kind: Kind
    columns: tuple[Column, ...]
    ignored: tuple[str, ...]
    stops: tuple[str, ...]
    lines: tuple[Line, ...]

    @property
    def good(self) -> list[Line]:
        """Rows that would be imported."""
        return [line for line in self.lines if line.is_good]

    @property
    def bad(self) -> list[Line]:
        """Rows with a problem."""
        return [line for line in self.lines if line.problems]

    @property
    def skipped(self) -> list[Line]:
        """Rows that are left out because the register has them already."""
        return [line for line in self.lines if line.is_skipped]

    @property
    def new_count(self) -> int:
        """How many rows would be added."""
        return sum(line.existing is None for line in self.good)

    @property
    def updated_count(self) -> int:
        """How many rows would change what is stored."""
        return sum(line.existing is not None for line in self.good)


class ChangedError(Exception):
    """The file has problems now that it did not have when it was looked at."""


def preview(kind: Kind, farm: Farm, register: Register, grid: Grid, existing: Existing) -> Preview:
    """Return what importing a table would do; changes nothing."""
    computed = {column.key for column in kind.computed}
    header_row = next((number for number, row in enumerate(grid) if any(cell.strip() for cell in row)), None)
    if header_row is None:
        return Preview(kind, (), (), (_("The file is empty. Fill in the template and save it."),), ())
    headers = read_headers(grid[header_row], kind.columns + kind.computed)
    stops = tuple(_stops(headers.missing, headers.twice))
    own = {position: header for position, header in headers.by_position.items() if header.column.key not in computed}
    ignored = (*headers.unknown, *(computed & {header.column.key for header in headers.by_position.values()}))
    columns = tuple(header.column for header in own.values())
    if stops:
        return Preview(kind, columns, tuple(ignored), stops, ())
    fields = kind.fields(farm)
    lines = [
        _read_line(number, row, own, fields, existing, register)
        for number, row in enumerate(grid[header_row + 1 :], header_row + 2)
        if any(cell.strip() for cell in row)
    ]
    if not lines:
        stops = (_("The file has a header but no rows below it."),)
    return Preview(kind, columns, tuple(ignored), stops, tuple(lines))


def import_rows(shown: Preview, *, register: Register, only_good: bool) -> list[int]:
    """Save a preview's rows; return the openings to size again, once the rows are committed.

    Sizing thousands of openings takes seconds, and nobody else could save anything meanwhile: it goes in
    batches of its own.

    Raises
    ------
    ChangedError
        If a row has a problem and the reader did not choose to take the good rows only.
    """
    if shown.stops or (shown.bad and not only_good):
        raise ChangedError
    with transaction.atomic():
        return register.save(shown.good)


def _stops(missing: Sequence[str], twice: Sequence[str]) -> Iterator[str]:
    if missing:
        text = _("The first row must name the columns; these are missing: %(columns)s. Start from the template.")
        yield text % {"columns": ", ".join(missing)}
    if twice:
        text = _("These columns stand in the file twice: %(columns)s. Delete one of each.")
        yield text % {"columns": ", ".join(twice)}


def _shown(column: Column, line: Line, fields: Any) -> str:
    """Return a cell as it was understood: a length in the reader's units, a choice by its name."""
    value = line.values.get(column.name)
    if value is None or value == "" or not (column.is_length or isinstance(fields[column.name], BearingField)):
        return line.cells[column.key]
    return str(fields[column.name].prepare_value(value))


def _read_line(
    number: int, row: Sequence[str], headers: dict[int, Header], fields: Any, existing: Existing, register: Register
) -> Line:
    cells = {
        header.column.key: unguarded(row[position]).strip() if position < len(row) else ""
        for position, header in headers.items()
    }
    line = Line(number, cells)
    for header in headers.values():
        text = cells[header.column.key]
        if text:  # an empty cell leaves what is stored, or the usual value, as it is
            try:
                line.values[header.column.name] = cell_value(header, text, fields[header.column.name])
            except ValidationError as error:
                line.refuse(header.column.key, " ".join(error.messages))
    line.shown = [_shown(header.column, line, fields) for header in headers.values()]
    register.check(line)
    if line.existing is not None and existing == "skip":
        line.is_skipped, line.problems = True, []
    return line
