"""The form of the farm's own sizing rules: an empty field means common practice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors import sizing
from doors.words.rules import RULE_GROUPS
from farm.formfields import LengthField, plain, written

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text

PRACTICE = sizing.Rules()
PLAIN_NUMBERS = frozenset({"tail_wraps"})  # every other rule is a length
RANGES = {rule.name: (rule.metadata.get("low"), rule.metadata.get("high")) for rule in fields(sizing.Rules)}


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One rule ready to print: the farm's field beside common practice."""

    field: BoundField
    practice: str
    usual: str
    is_own: bool


class RulesForm(forms.Form):
    """The rules a farm keeps otherwise than common practice."""

    beyond = forms.BooleanField(
        label=_("Keep figures outside what is usual"),
        required=False,
        help_text=_("Tick it when this farm has its reasons."),
    )

    def __init__(self, *args: Any, rules: sizing.Rules, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.units = units
        for group in RULE_GROUPS:
            for name, label in group.rules.items():
                self.fields[name] = _field(name, label, units)
                value = getattr(rules, name)
                if value != getattr(PRACTICE, name):
                    self.initial[name] = _stored(name, value)
        self.order_fields([name for group in RULE_GROUPS for name in group.rules])

    def groups(self) -> Iterator[tuple[Text, list[RuleRow]]]:
        """Yield headings with their rules, for the template."""
        for group in RULE_GROUPS:
            yield group.heading, [self._row(name) for name in group.rules]

    def _row(self, name: str) -> RuleRow:
        return RuleRow(
            self[name],
            _shown(name, getattr(PRACTICE, name), self.units),
            _usual(name, self.units),
            name in self.initial,
        )

    def clean(self) -> dict[str, Any]:
        super().clean()
        for group in RULE_GROUPS:
            for name in group.rules:
                self._check_range(name)
        if not self.errors:
            try:
                self.rules()
            except sizing.SizingError as error:
                self._refuse(error)
        return self.cleaned_data

    def rules(self) -> sizing.Rules:
        """Return the rules as they were filled in."""
        own = {name: self.cleaned_data.get(name) for group in RULE_GROUPS for name in group.rules}
        return sizing.Rules(**{name: _si(name, value) for name, value in own.items() if value is not None})

    def _check_range(self, name: str) -> None:
        value = self.cleaned_data.get(name)
        low, high = RANGES[name]
        if value is None or self.cleaned_data.get("beyond"):
            return
        if (low is not None and _si(name, value) < low - 1e-9) or (high is not None and _si(name, value) > high + 1e-9):
            text = gettext("Usual is %(usual)s. Write a figure within that, or tick “%(beyond)s” below.")
            params = {"usual": _usual(name, self.units), "beyond": self.fields["beyond"].label}
            self.add_error(name, ValidationError(text, params=params))

    def _refuse(self, error: sizing.SizingError) -> None:
        name = error.field.removeprefix("rules.")
        relation = {"below": gettext("below"), "at least": gettext("at least"), "at most": gettext("at most")}
        params = {
            "value": _shown(name, error.value, self.units),
            "relation": relation.get(error.relation, error.relation),
            "limit": "" if error.limit is None else _shown(name, error.limit, self.units),
        }
        text = gettext("%(value)s cannot be: it must be %(relation)s %(limit)s.")
        self.add_error(name if name in self.fields else None, ValidationError(text, params=params))


def _field(name: str, label: Text, units: str) -> forms.Field:
    if name in PLAIN_NUMBERS:
        return forms.DecimalField(label=label, required=False, min_value=0, max_digits=6, decimal_places=3)
    return LengthField(label=label, required=False, least="zero", units=units)


def _stored(name: str, value: float) -> Decimal:
    """Return a rule as its field holds it: millimetres, or a plain number."""
    return Decimal(str(value)) if name in PLAIN_NUMBERS else round(Decimal(str(value)) * 1000, 6)


def _si(name: str, value: Decimal) -> float:
    return float(value) if name in PLAIN_NUMBERS else float(value) / 1000


def _shown(name: str, value: float, units: str) -> str:
    return plain(_stored(name, value)) if name in PLAIN_NUMBERS else written(_stored(name, value), units)


def _usual(name: str, units: str) -> str:
    low, high = (None if limit is None else _shown(name, limit, units) for limit in RANGES[name])
    if low is not None and high is not None:
        return gettext("%(low)s to %(high)s") % {"low": low, "high": high}
    if low is not None:
        return gettext("at least %(low)s") % {"low": low}
    return gettext("at most %(high)s") % {"high": high} if high is not None else ""
