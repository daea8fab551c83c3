"""Tables of a storm's record, for paper and for files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name in files, its heading on paper, and how its cells print."""

    name: str
    label: str | Promise
    kind: str = "text"  # text, time, day, gust, length, money, number or sum


@dataclass(frozen=True, slots=True)
class Table:
    """A part of the record; ``key`` is its file's name."""

    key: str
    title: str | Promise
    columns: Sequence[Column]
    rows: Sequence[Sequence[Any]]

    @property
    def shown(self) -> list[Column]:
        """The columns that hold anything: paper is narrow."""
        return [self.columns[place] for place in self._filled]

    @property
    def cells(self) -> Iterator[list[tuple[str, Any]]]:
        """Rows of (kind, value) of those columns, for the page."""
        for row in self.rows:
            yield [(self.columns[place].kind, row[place]) for place in self._filled]

    @property
    def _filled(self) -> list[int]:
        return [
            place
            for place, _column in enumerate(self.columns)
            if any(row[place] not in (None, "") for row in self.rows)
        ]
