"""Marks and film as an installer reads them: every place of a row, and the film at each stage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from doors.sizing import Panel, Row, Sheet
from doors.words.wording import mark_name, part_name

SHORT: Final = 3  # marks


@dataclass(frozen=True, slots=True)
class Place:
    """One mark: its place from the sheet's datum, and what a tape hooked on the part's end reads, if known. [m]"""

    number: int
    datum: float
    tape: float | None

    @property
    def distance(self) -> float:
        """Distance from the datum without its direction. [m]"""
        return abs(self.datum)

    @property
    def is_before(self) -> bool:
        """Whether the mark lies left of the datum, or below it."""
        return self.datum < -1e-9


@dataclass(frozen=True, slots=True)
class MarkRow:
    """A row of equal marks on one part, with every place spelled out."""

    part: str
    mark: str
    is_upright: bool
    count: int
    spacing: float
    places: tuple[Place, ...]

    @property
    def is_short(self) -> bool:
        """Whether two such rows share a line of the page."""
        return self.count <= SHORT

    @property
    def begins_at_datum(self) -> bool:
        """Whether the part begins at the datum, so that both readings are one."""
        return all(place.tape is not None and abs(place.datum - place.tape) < 1e-9 for place in self.places)


@dataclass(frozen=True, slots=True)
class Stage:
    """What is left of the film above the header and below the threshold at one stage. [m]"""

    name: str | Promise
    above: float
    below: float | None


def mark_rows(sheet: Sheet) -> list[MarkRow]:
    """Return the marking and drilling schedule of a sheet, row by row."""
    return [_marked(row) for row in sheet.rows]


def film_stages(panel: Panel) -> tuple[Stage, ...]:
    """Return how much film stays above and below, from hanging it to the last cut."""
    return (
        Stage(_("while hanging"), panel.above_hanging, panel.below_hanging),
        Stage(_("after the first trim"), panel.above_hanging, panel.below_first_trim),
        Stage(_("after the test roll"), panel.above_trimmed, panel.below_final),
    )


def _marked(row: Row) -> MarkRow:
    start = row.part_start
    places = (row.first + row.spacing * index for index in range(row.count))
    return MarkRow(
        part=part_name(row.part),
        mark=mark_name(row.mark),
        is_upright=row.axis == "up",
        count=row.count,
        spacing=row.spacing,
        places=tuple(
            Place(index, place, None if start is None else place - start) for index, place in enumerate(places, start=1)
        ),
    )
