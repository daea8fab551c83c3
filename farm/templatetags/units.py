"""Template tags and filters for quantities; ``units`` in the context is the reader's system.

``{% length value_m %}`` prints the reader's unit with the other in the tooltip. Values
come in base SI units, or in millimetres where the name says so.
"""

from __future__ import annotations

from decimal import Decimal

from django import template
from django.template import Context
from django.utils.safestring import SafeString

from farm.fields import metres
from farm.units import (
    METRIC,
    US,
    Missing,
    format_length,
    gust_html,
    length_both_html,
    length_html,
    measure_html,
)

__all__ = ["format_length", "register"]

Number = float | Decimal | Missing

register = template.Library()


@register.simple_tag(takes_context=True)
def length(context: Context, value_m: Number, *, short: bool = False) -> SafeString:
    """Print a length [m]; ``short=True`` prints less than 3 ft in inches."""
    return length_html(value_m, _units(context), short=short)


@register.simple_tag(takes_context=True)
def length_mm(context: Context, value_mm: Number, *, short: bool = False) -> SafeString:
    """Print a length stored in millimetres."""
    return length_html(_metres(value_mm), _units(context), short=short)


@register.simple_tag(takes_context=True)
def length_both(context: Context, value_m: Number) -> SafeString:
    """Print a length [m] in both units, for paper."""
    return length_both_html(value_m, _units(context))


@register.simple_tag(takes_context=True)
def length_both_mm(context: Context, value_mm: Number) -> SafeString:
    """Print a length stored in millimetres in both units, for paper."""
    return length_both_html(_metres(value_mm), _units(context))


@register.simple_tag(takes_context=True)
def mass(context: Context, value_kg: Number) -> SafeString:
    """Print a mass [kg]."""
    return measure_html("mass", value_kg, _units(context))


@register.simple_tag(takes_context=True)
def speed(context: Context, value_m_s: Number) -> SafeString:
    """Print a speed [m/s]."""
    return measure_html("speed", value_m_s, _units(context))


@register.simple_tag(takes_context=True)
def gust(context: Context, value_m_s: Number) -> SafeString:
    """Print a gust [m/s] as exactly as a planning estimate deserves."""
    return gust_html(value_m_s, _units(context))


@register.simple_tag(takes_context=True)
def force(context: Context, value_n: Number) -> SafeString:
    """Print a force [N]."""
    return measure_html("force", value_n, _units(context))


@register.simple_tag(takes_context=True)
def area(context: Context, value_m2: Number) -> SafeString:
    """Print an area [m²]."""
    return measure_html("area", value_m2, _units(context))


@register.filter
def feet_inches(value_m: Number) -> str:
    """Return a length [m] as plain text in feet, inches and sixteenths."""
    return format_length(value_m, US)


@register.filter
def mm(value_m: Number) -> str:
    """Return a length [m] as plain text in millimetres."""
    return format_length(value_m, METRIC)


def _metres(value_mm: Number) -> float | None:
    return metres(None if value_mm == "" else value_mm)


def _units(context: Context) -> str:
    return str(context.get("units") or US)
