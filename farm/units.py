"""Quantities in the reader's units and language: the value, and the other unit beside it.

Everything comes in base SI units. A missing value, ``None`` or the empty string a
template makes of a broken chain, prints as an en dash.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import Final, Literal

import pint
from django.utils import formats
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext

from farm.lengths import MM_PER_FOOT, MM_PER_METRE, format_feet_inches, format_millimetres

Missing = None | Literal[""]
Kind = Literal["mass", "speed", "force", "area"]

MISSING: Final = "–"
SHORT_BELOW: Final = float(3 * MM_PER_FOOT / MM_PER_METRE)  # m; shorter prints in inches where asked
US, METRIC = "us", "metric"

# SI unit, then for each system the unit pint converts to and the label printed.
_MEASURES: Final = {
    "mass": ("kilogram", {US: ("pound", "lb"), METRIC: ("kilogram", "kg")}),
    "speed": ("metre / second", {US: ("mile / hour", "mph"), METRIC: ("metre / second", "m/s")}),
    "force": ("newton", {US: ("force_pound", "lbf"), METRIC: ("newton", "N")}),
    "area": ("metre ** 2", {US: ("foot ** 2", "ft²"), METRIC: ("metre ** 2", "m²")}),
}


def format_length(metres: float | Decimal | Missing, units: str, *, short: bool = False) -> str:
    """Return a length as plain text in one unit system.

    Parameters
    ----------
    metres : float, Decimal or None
        Length. [m]
    units : {"us", "metric"}
        Feet, inches and sixteenths, or millimetres.
    short : bool, default False
        Print lengths below 3 ft in inches only.
    """
    if metres is None or metres == "":
        return MISSING
    if _system(units) == US:
        return format_feet_inches(float(metres), inches_below=SHORT_BELOW if short else 0.0)
    return _localised(format_millimetres(float(metres)))


def format_measure(kind: Kind, value: float | Decimal | Missing, units: str) -> str:
    """Return a mass [kg], speed [m/s], force [N] or area [m²] as plain text, to three figures."""
    if value is None or value == "":
        return MISSING
    source, targets = _MEASURES[kind]
    target, label = targets[_system(units)]
    return f"{_three_figures(float(value) * _factor(source, target))} {label}"


def length_html(metres: float | Decimal | Missing, units: str, *, short: bool = False) -> SafeString:
    """Return a length as a span in the reader's units, the other unit in its tooltip."""
    return _span(format_length(metres, units, short=short), format_length(metres, _other(units), short=short))


def length_both_html(metres: float | Decimal | Missing, units: str) -> SafeString:
    """Return a length as a span in the reader's units with the other in brackets, for print."""
    value, other = format_length(metres, units), format_length(metres, _other(units))
    return _span(value if value == MISSING else f"{value} ({other})", "")


def measure_html(kind: Kind, value: float | Decimal | Missing, units: str) -> SafeString:
    """Return ``format_measure`` as a span with the other unit in its tooltip."""
    return _span(format_measure(kind, value, units), format_measure(kind, value, _other(units)))


def _system(units: str) -> str:
    return METRIC if units == METRIC else US


def _other(units: str) -> str:
    return US if units == METRIC else METRIC


def _span(value: str, other: str) -> SafeString:
    if value == MISSING:
        label = gettext("not measured")
        return format_html('<span class="q" role="img" aria-label="{0}" title="{0}">{1}</span>', label, value)
    if not other:
        return format_html('<span class="q">{}</span>', value)
    return format_html('<span class="q" title="{}">{}</span>', other, value)


def _three_figures(value: float) -> str:
    """Round to three figures and at most two decimals, halves away from zero; drop trailing noughts."""
    decimals = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    rounded = Decimal(repr(value)).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)
    return _localised(f"{rounded.normalize() + 0:f}")


def _localised(text: str) -> str:
    return text.replace(".", formats.get_format("DECIMAL_SEPARATOR"))


@cache
def _factor(source: str, target: str) -> float:
    return float(pint.application_registry.Quantity(1.0, source).to(target).magnitude)
