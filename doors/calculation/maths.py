"""Quantities and formulas as the calculation sheet prints them: symbols with real indices, both systems of units."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Literal, cast

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from farm.units import METRIC, US, Kind, measure_in, significant

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text

Measure = Kind | Literal["number", "degrees", "years", "count"]
FIGURES: Final = 4  # significant figures of every result; the core itself rounds nothing
_RAISED: Final = re.compile(r"(\^|_)(?:\{([^{}]*)\}|(\w))")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A symbol with its value in the SI unit of its kind; NaN where it is not known."""

    symbol: str
    value: float
    kind: Measure = "number"

    @property
    def maths(self) -> SafeString:
        """The symbol with its index set low."""
        return maths(self.symbol)

    @property
    def si(self) -> str:
        """The value in SI units."""
        return shown(self.value, self.kind, METRIC)

    @property
    def us(self) -> str:
        """The value in customary units; empty where it has none of its own."""
        return shown(self.value, self.kind, US) if _has_units(self.kind, self.value) else ""


@dataclass(frozen=True, slots=True)
class Line:
    """One quantity of the sheet: what it is, how it follows, from what, and by whom."""

    key: str
    name: Text
    result: Quantity
    formula: str = ""
    inputs: tuple[Quantity, ...] = ()
    source: Text = ""
    more: tuple[Quantity, ...] = ()  # further results that follow from this one by the group's own formulas
    note: Text = ""
    is_first: bool = False  # the link that gives first

    @property
    def maths(self) -> SafeString:
        """The formula, or nothing where the quantity is given."""
        return maths(self.formula)


@dataclass(frozen=True, slots=True)
class Group:
    """Lines under one heading."""

    key: str
    heading: Text
    lines: list[Line] = field(default_factory=list)
    note: Text = ""
    formulas: tuple[str, ...] = ()

    @property
    def maths(self) -> list[SafeString]:
        """The formulas that hold for every line of the group."""
        return [maths(formula) for formula in self.formulas]


def maths(text: str) -> SafeString:
    """Return a formula as HTML: ``M_{R}`` and ``D^4`` get real indices, everything else is escaped."""
    escaped = str(escape(text))
    spread = _RAISED.sub(_index, escaped)
    return mark_safe(spread)  # noqa: S308 - escaped above; only sub and sup are added


def shown(value: float, kind: Measure, units: str) -> str:
    """Return a value with its unit to four figures."""
    if math.isnan(value):
        return gettext("not known")
    if kind in ("number", "count"):
        return significant(value, FIGURES)
    if kind == "degrees":
        return f"{significant(math.degrees(value), FIGURES)}°"
    if kind == "years":
        return gettext("%(years)s years") % {"years": significant(value, 3)}
    number, unit = measure_in(cast("Kind", kind), value, units)
    return f"{significant(number, FIGURES)} {unit}"


def _has_units(kind: Measure, value: float) -> bool:
    return kind not in ("number", "count", "degrees", "years") and not math.isnan(value)


def _index(found: re.Match[str]) -> str:
    tag = "sup" if found[1] == "^" else "sub"
    return f"<{tag}>{found[2] or found[3]}</{tag}>"
