"""The form of the farm's planning values of strength: an empty field means the standard's value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.translation import gettext

from doors.mechanics.strength import Strengths
from doors.mechanics.timber import WOODS
from doors.words.strengths import STRENGTH_GROUPS, StrengthWords
from farm.formfields import LengthField, plain, written
from farm.units import Kind, measure_from, measure_in

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text

STANDARD: Final = Strengths()
KINDS: Final[Mapping[str, Kind]] = {"stress": "stress", "force": "force", "mass": "mass"}
FACTORS: Final[Mapping[str, float]] = {"share": 100.0, "pace": 60.0, "count": 1.0}  # a number is shown times this
UNITS: Final[Mapping[str, str]] = {"share": "%", "pace": "1/min"}
FIGURES: Final = 6  # significant figures a value is shown to


@dataclass(frozen=True, slots=True)
class StrengthRow:
    """One planning value ready to print: the farm's field beside the standard's value and its source."""

    field: BoundField
    standard: str
    unit: str
    source: Text
    is_own: bool


class StrengthsForm(forms.Form):
    """The planning values a farm counts on otherwise than the standards."""

    prefix = "strength"

    def __init__(self, *args: Any, strengths: Strengths, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.strengths_now, self.units = strengths, units
        for name, words in _rows():
            self.fields[name] = _field(words, units)
            value = getattr(strengths, name)
            if value != getattr(STANDARD, name):
                self.initial[name] = _shown(words, value, units)

    def groups(self) -> Iterator[tuple[Text, list[StrengthRow]]]:
        """Yield headings with their values, for the template."""
        for group in STRENGTH_GROUPS:
            yield group.heading, [self._row(name, words) for name, words in group.rows.items()]

    def _row(self, name: str, words: StrengthWords) -> StrengthRow:
        standard = _shown(words, getattr(STANDARD, name), self.units)
        text = written(standard, self.units) if words.measure == "length" else str(standard)
        unit = unit_of(words, self.units)
        return StrengthRow(self[name], f"{text} {unit}".strip(), unit, words.source, name in self.initial)

    def clean(self) -> dict[str, Any]:
        super().clean()
        for name, words in _rows():
            value = self.cleaned_data.get(name)
            if value not in (None, "") and words.measure != "wood":
                self._check_range(name, words, _si(words, value, self.units))
        return self.cleaned_data

    def _check_range(self, name: str, words: StrengthWords, value: float) -> None:
        if value <= 0 or value < words.low * (1 - 1e-6) or (words.high is not None and value > words.high * (1 + 1e-6)):
            low, high = (_text(words, limit, self.units) for limit in (words.low, words.high or 0.0))
            text = gettext("Write a value above %(low)s and up to %(high)s.")
            self.add_error(name, ValidationError(text, params={"low": low, "high": high}))

    def strengths(self) -> Strengths:
        """Return the planning values as they were filled in; one that was left as shown keeps its last digit."""
        values: dict[str, Any] = {}
        for name, words in _rows():
            own = self.cleaned_data.get(name)
            if own in (None, ""):
                continue
            unchanged = name not in self.changed_data and name in self.initial
            values[name] = getattr(self.strengths_now, name) if unchanged else _si(words, own, self.units)
        return Strengths(**values)


def unit_of(words: StrengthWords, units: str) -> str:
    """Return the unit a value is written in; lengths bring their own."""
    if words.measure in KINDS:
        return measure_in(KINDS[words.measure], 1.0, units)[1]
    return UNITS.get(words.measure, "")


def _rows() -> Iterator[tuple[str, StrengthWords]]:
    return ((name, words) for group in STRENGTH_GROUPS for name, words in group.rows.items())


def _field(words: StrengthWords, units: str) -> forms.Field:
    if words.measure == "length":
        return LengthField(label=words.label, required=False, units=units)
    if words.measure == "wood":
        choices = [("", gettext("as the standard value")), *((wood, gettext(wood)) for wood in WOODS)]
        return forms.ChoiceField(label=words.label, required=False, choices=choices)
    unit = unit_of(words, units)
    label = gettext("%(label)s, %(unit)s") % {"label": words.label, "unit": unit} if unit else words.label
    return forms.DecimalField(label=label, required=False, max_digits=12, decimal_places=6)


def _shown(words: StrengthWords, value: Any, units: str) -> Any:
    """Return a value as its field holds it: millimetres, a number in the reader's unit, or a name."""
    if words.measure == "wood":
        return value
    if words.measure == "length":
        return round(Decimal(str(value)) * 1000, 6)
    kind = KINDS.get(words.measure)
    number = value * FACTORS[words.measure] if kind is None else measure_in(kind, value, units)[0]
    return Decimal(plain(Decimal(f"{Decimal(f'{number:.{FIGURES}g}'):f}")))


def _text(words: StrengthWords, value: float, units: str) -> str:
    shown = _shown(words, value, units)
    return written(shown, units) if words.measure == "length" else f"{shown} {unit_of(words, units)}"


def _si(words: StrengthWords, value: Any, units: str) -> Any:
    """Return what a field was cleaned to in its SI unit."""
    if words.measure == "wood":
        return value
    if words.measure == "length":
        return float(value) / 1000
    kind = KINDS.get(words.measure)
    return float(value) / FACTORS[words.measure] if kind is None else measure_from(kind, float(value), units)
