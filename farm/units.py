"""Quantities in the reader's units and language: the value, and the other unit beside it.

Everything comes in base SI units. A missing value, ``None`` or the empty string a
template makes of a broken chain, prints as an en dash.
"""

from __future__ import annotations

import math
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import cache
from typing import Final, Literal

import pint
from django.utils import formats
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext

from farm.lengths import MM_PER_FOOT, MM_PER_METRE, format_feet_inches, format_millimetres

Missing = None | Literal[""]
Kind = Literal[
    "mass", "speed", "force", "area", "pressure", "stress", "moment", "line_load", "modulus", "second_moment",
    "stiffness", "soil_growth", "unit_weight", "small_length", "energy", "span", "density", "moment_rate",
    "force_rate", "line_rate", "share_rate",
]  # fmt: skip

MISSING: Final = "–"
SHORT_BELOW: Final = float(3 * MM_PER_FOOT / MM_PER_METRE)  # m; shorter prints in inches where asked
US, METRIC = "us", "metric"

# SI unit, then for each system the unit pint converts to and the label printed.
_MEASURES: Final = {
    "mass": ("kilogram", {US: ("pound", "lb"), METRIC: ("kilogram", "kg")}),
    "speed": ("metre / second", {US: ("mile / hour", "mph"), METRIC: ("metre / second", "m/s")}),
    "force": ("newton", {US: ("force_pound", "lbf"), METRIC: ("newton", "N")}),
    "area": ("metre ** 2", {US: ("foot ** 2", "ft²"), METRIC: ("metre ** 2", "m²")}),
    "pressure": ("pascal", {US: ("force_pound / foot ** 2", "psf"), METRIC: ("pascal", "Pa")}),
    "stress": ("pascal", {US: ("force_pound / inch ** 2", "psi"), METRIC: ("megapascal", "MPa")}),
    "moment": ("newton * metre", {US: ("force_pound * foot", "lbf ft"), METRIC: ("newton * metre", "N m")}),
    "line_load": ("newton / metre", {US: ("force_pound / foot", "lbf/ft"), METRIC: ("newton / metre", "N/m")}),
    "modulus": ("metre ** 3", {US: ("inch ** 3", "in³"), METRIC: ("millimetre ** 3", "mm³")}),
    "second_moment": ("metre ** 4", {US: ("inch ** 4", "in⁴"), METRIC: ("millimetre ** 4", "mm⁴")}),
    "stiffness": ("newton * metre ** 2", {US: ("force_pound * foot ** 2", "lbf ft²"),
                                          METRIC: ("newton * metre ** 2", "N m²")}),
    "soil_growth": ("pascal / metre", {US: ("force_pound / foot ** 3", "psf/ft"),
                                       METRIC: ("kilopascal / metre", "kPa/m")}),
    "unit_weight": ("newton / metre ** 3", {US: ("force_pound / foot ** 3", "lbf/ft³"),
                                            METRIC: ("kilonewton / metre ** 3", "kN/m³")}),
    "small_length": ("metre", {US: ("inch", "in"), METRIC: ("millimetre", "mm")}),
    "span": ("metre", {US: ("foot", "ft"), METRIC: ("metre", "m")}),
    "density": ("kilogram / metre ** 3", {US: ("pound / foot ** 3", "lb/ft³"),
                                          METRIC: ("kilogram / metre ** 3", "kg/m³")}),
    # What a pressure of one pascal, or of one pound on the square foot, does to a part.
    "moment_rate": ("metre ** 3", {US: ("foot ** 3", "lbf ft per psf"), METRIC: ("metre ** 3", "N m per Pa")}),
    "force_rate": ("metre ** 2", {US: ("foot ** 2", "lbf per psf"), METRIC: ("metre ** 2", "N per Pa")}),
    "line_rate": ("metre", {US: ("foot", "lbf/ft per psf"), METRIC: ("metre", "N/m per Pa")}),
    "share_rate": ("1 / pascal", {US: ("foot ** 2 / force_pound", "per psf"), METRIC: ("1 / pascal", "per Pa")}),
    "energy": ("joule", {US: ("force_pound * foot", "ft lbf"), METRIC: ("joule", "J")}),
}  # fmt: skip


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
    """Return a quantity in its SI unit as plain text in one system's unit, to three figures."""
    if value is None or value == "":
        return MISSING
    source, targets = _MEASURES[kind]
    target, label = targets[_system(units)]
    return f"{_three_figures(float(value) * _factor(source, target))} {label}"


def format_gust(metres_per_second: float | Decimal | Missing, units: str, *, is_limit: bool = False) -> str:
    """Return a gust as a planning estimate deserves: whole miles per hour, or metres per second to a tenth.

    A gust that something stands is never rounded up: ``is_limit`` rounds it down.
    """
    if metres_per_second is None or metres_per_second == "" or not math.isfinite(metres_per_second):
        return MISSING
    value, label = measure_in("speed", float(metres_per_second), units)
    places = 0 if _system(units) == US else 1
    rounding = ROUND_FLOOR if is_limit else ROUND_HALF_UP
    rounded = Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), rounding)
    return f"{_localised(str(rounded))} {label}"


def measure_in(kind: Kind, value: float, units: str) -> tuple[float, str]:
    """Return a quantity in its SI unit as a number in the reader's unit, and the unit."""
    source, targets = _MEASURES[kind]
    target, label = targets[_system(units)]
    return value * _factor(source, target), label


def measure_from(kind: Kind, value: float, units: str) -> float:
    """Return a number in the reader's unit as the quantity in its SI unit."""
    return value / measure_in(kind, 1.0, units)[0]


def gust_html(metres_per_second: float | Decimal | Missing, units: str) -> SafeString:
    """Return ``format_gust`` as a span with the other unit in its tooltip."""
    return _span(format_gust(metres_per_second, units), format_gust(metres_per_second, _other(units)))


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


def significant(value: float, figures: int = 4) -> str:
    """Return a number to so many significant figures, without exponent and trailing noughts."""
    if not math.isfinite(value):
        return MISSING if math.isnan(value) else "∞"
    place = math.floor(math.log10(abs(value))) - figures + 1 if value else 0
    rounded = Decimal(repr(value)).quantize(Decimal(1).scaleb(place), ROUND_HALF_UP)
    return _localised(f"{rounded.normalize() + 0:f}")


def _localised(text: str) -> str:
    return text.replace(".", formats.get_format("DECIMAL_SEPARATOR"))


@cache
def _factor(source: str, target: str) -> float:
    return float(pint.application_registry.Quantity(1.0, source).to(target).magnitude)
