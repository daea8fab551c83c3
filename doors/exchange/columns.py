"""The columns that tables of tunnels, openings, parts and materials have in files, the same out as in."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any, Final

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import override

from doors.exchange.spreadsheets import Cell
from farm.formfields import KnownField, LengthsField, ProfileField, exact_inches, written, written_bearing
from farm.lengths import MM_PER_INCH

UNIT_OF_HEADER: Final = {
    "mm": "mm", "millimetres": "mm", "millimeters": "mm", "cm": "cm", "m": "m", "metres": "m", "meters": "m",
    "in": "in", "inch": "in", "inches": "in", "ft": "ft", "feet": "ft", "foot": "ft",
}  # fmt: skip
BARE_NUMBER: Final = re.compile(r"[-+]?[\d\s.,/]+", re.ASCII)
YES: Final = frozenset({"yes", "y", "true", "1", "x", "sí", "si"})
NO: Final = frozenset({"no", "n", "false", "0"})


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its header, where its value comes from, and an example for the template.

    ``name`` is the form field and model attribute; ``read`` replaces the attribute where the value lies elsewhere.
    """

    key: str
    name: str = ""
    example: str = ""
    is_length: bool = False
    is_needed: bool = False
    is_computed: bool = False
    aliases: tuple[str, ...] = ()
    read: Callable[[Any], Any] | None = None

    def value(self, row: Any) -> Any:
        """Return what a row holds in this column."""
        return self.read(row) if self.read else getattr(row, self.name)


@dataclass(frozen=True, slots=True)
class Header:
    """A column of a file: which of ours it is, and the unit its header gives bare numbers."""

    column: Column
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Headers:
    """The columns of a file by position, and those that are not ours."""

    by_position: Mapping[int, Header] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    twice: tuple[str, ...] = ()


def header_text(column: Column, units: str) -> str:
    """Return a column's header; a length's ends in the unit its numbers are in."""
    return f"{column.key}_{'in' if units == 'us' else 'mm'}" if column.is_length else column.key


def read_headers(cells: Iterable[str], columns: Iterable[Column]) -> Headers:
    """Match a file's first row to our columns; capitals, blanks and units in the headers do not matter."""
    names = {name: column for column in columns for name in (column.key, *column.aliases)}
    found: dict[int, Header] = {}
    unknown, twice = [], []
    for position, cell in enumerate(cells):
        header = _matched(cell, names)
        if header is None:
            unknown += [cell.strip()] if cell.strip() else []
        elif any(header.column is other.column for other in found.values()):
            twice.append(header.column.key)
        else:
            found[position] = header
    have = {header.column.key for header in found.values()}
    missing = [column.key for column in names.values() if column.is_needed and column.key not in have]
    return Headers(found, tuple(unknown), tuple(dict.fromkeys(missing)), tuple(twice))


def _matched(cell: str, names: Mapping[str, Column]) -> Header | None:
    key = re.sub(r"[^\w]+", "_", cell.strip().casefold()).strip("_")
    if key in names:
        return Header(names[key])
    stem, _underscore, unit = key.rpartition("_")
    if stem in names and names[stem].is_length and unit in UNIT_OF_HEADER:
        return Header(names[stem], UNIT_OF_HEADER[unit])
    return None


def cell_value(header: Header, text: str, form_field: forms.Field) -> Any:
    """Return what a cell's text means, or raise a ValidationError that says what to write."""
    text = text.strip()
    if header.unit and BARE_NUMBER.fullmatch(text):
        text = f"{text} {header.unit}"
    if isinstance(form_field, KnownField) and text:
        text = _yes_or_no(text)
    elif isinstance(form_field, forms.ChoiceField) and text:
        text = _choice(text, form_field)
    elif isinstance(form_field, ProfileField):
        text = text.replace("|", "\n")
    elif isinstance(form_field, forms.DateField) and text and not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
        raise ValidationError(_("“%(text)s” is not a date. Write it as 2024-05-01."), params={"text": text})
    return form_field.clean(text)


def _yes_or_no(text: str) -> str:
    if text.casefold() in YES | NO:
        return "yes" if text.casefold() in YES else "no"
    raise ValidationError(_("“%(text)s” is neither yes nor no. Write yes, no or nothing."), params={"text": text})


def _choice(text: str, form_field: forms.ChoiceField) -> str:
    words = _words_of(form_field)
    if text.casefold() in words:
        return words[text.casefold()]
    listed = "; ".join(str(label) for value, label in _flat(form_field) if value not in ("", None))
    raise ValidationError(
        _("“%(text)s” is not one of the choices. Write one of: %(choices)s."), params={"text": text, "choices": listed}
    )


def _flat(form_field: forms.ChoiceField) -> list[tuple[Any, Any]]:
    choices: Any = form_field.choices
    return list(choices)


@lru_cache(maxsize=64)
def _words_of(form_field: forms.ChoiceField) -> dict[str, str]:
    """Return every way to write a choice: its key, and its label in each language."""
    words: dict[str, str] = {}
    for language, _name in settings.LANGUAGES:
        with override(language):
            words |= {str(label).casefold(): str(value) for value, label in _flat(form_field)}
    return words | {str(value).casefold(): str(value) for value, _label in _flat(form_field)}


def export_cell(column: Column, row: Any, form_field: forms.Field | None, units: str) -> Cell:
    """Return what a file holds for a row: numbers stay numbers, and everything reads back as it was."""
    value = column.value(row)
    if value is None or value == "":
        return None
    if column.is_length and isinstance(value, Decimal):
        return _length_cell(value, units, is_computed=column.is_computed)
    if isinstance(form_field, KnownField):
        return "yes" if value else "no"
    if isinstance(form_field, forms.ChoiceField):
        return str(dict(_flat(form_field)).get(value, value))
    if isinstance(form_field, LengthsField | ProfileField):
        return _lengths_cell(value, units)
    if column.key == "direction":
        return written_bearing(value)
    return value if isinstance(value, str | int | Decimal | date) else str(value)


def _length_cell(value: Decimal, units: str, *, is_computed: bool) -> Cell:
    if units != "us":
        return round(value, 1) if is_computed else value
    if is_computed:
        return round(Decimal(float(Fraction(value) / MM_PER_INCH)), 4)
    inches = exact_inches(value)
    return written(value, units) if inches is None else inches


def _lengths_cell(value: list[Any], units: str) -> str:
    if value and isinstance(value[0], list):
        return " | ".join("; ".join(written(part, units) for part in point) for point in value)
    return "; ".join(written(part, units) for part in value)
