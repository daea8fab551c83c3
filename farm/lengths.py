"""Lengths as people write and read them; the one place they are parsed and printed.

Typed lengths become exact millimetres, so storing them loses nothing. Everything
that calculates uses metres; the printing functions take metres and are the only
place where a length is rounded.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Final, Literal

MM_PER_METRE: Final = 1000  # exact, SI prefix
MM_PER_INCH: Final = Fraction(254, 10)  # exact, international inch of 1959
INCHES_PER_FOOT: Final = 12
MM_PER_FOOT: Final = INCHES_PER_FOOT * MM_PER_INCH
MAX_CHARACTERS: Final = 200
MAX_METRES: Final = 10_000  # longer than any farm lane; beyond it is a typing slip


def gettext_noop(message: str) -> str:
    """Mark a message for the translators' catalogue; whoever shows it translates it."""
    return message


MESSAGES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "empty": gettext_noop("""Write a length, such as 8' 6 1/4" or 2597 mm."""),
        "too_long": gettext_noop("Write the length in at most %(limit)s characters."),
        "unreadable": gettext_noop("""“%(text)s” is not a length. Write it like 8' 6 1/4" or 2597 mm."""),
        "unknown_unit": gettext_noop("The unit “%(unit)s” is not known. Write ft, in, m, cm or mm."),
        "unit_twice": gettext_noop("“%(text)s” gives the same unit twice. Write each unit once."),
        "two_numbers": gettext_noop("""“%(text)s” is two numbers. Write 8' 6" for feet and inches, or 1200."""),
        "mixed_units": gettext_noop("“%(text)s” mixes units. Write feet then inches, or one metric unit."),
        "feet_not_whole": gettext_noop("""“%(text)s” has both part of a foot and inches. Write 8.5 ft or 8' 6"."""),
        "inches_too_many": gettext_noop("“%(text)s” has 12 inches or more after the feet. Write %(suggestion)s if so."),
        "zero_denominator": gettext_noop("“%(text)s” divides by zero. Write a fraction such as 1/4."),
        "improper_fraction": gettext_noop("The fraction in “%(text)s” is one or more. Write it like 6 1/4."),
        "ambiguous_comma": gettext_noop("“%(number)s” reads in two ways. Write %(whole)s or %(decimal)s."),
        "thousands_separator": gettext_noop("Write %(plain)s instead of “%(number)s”."),
        "too_large": gettext_noop("“%(text)s” is longer than %(limit)s m. Check the number and its unit."),
    }
)


class LengthError(ValueError):
    """A text that is not a length; says what to write instead.

    Attributes
    ----------
    code : str
        Key into ``MESSAGES``.
    template : str
        English sentence with ``%(name)s`` places, to be translated where it is shown.
    params : dict
        What fills the places.
    """

    def __init__(self, code: str, params: Mapping[str, object] | None = None) -> None:
        super().__init__(code, params)
        self.code = code
        self.template = MESSAGES[code]
        self.params: dict[str, object] = dict(params or {})

    def __str__(self) -> str:
        return self.template % self.params


def parse_length(text: str, *, bare: Literal["in", "mm"]) -> Fraction:
    """Return the length written in ``text``, exactly.

    Parameters
    ----------
    text : str
        Feet and inches, inches, or one metric unit, with decimals or fractions:
        ``8' 6 1/4"``, ``8 ft 6 1/4 in``, ``102 1/4``, ``2.6 m``, ``2600 mm``.
        English and Spanish unit names; a number after feet is inches.
    bare : {"in", "mm"}
        Unit of a number written without one.

    Returns
    -------
    Fraction
        Length; negative only after a leading minus. [mm]

    Raises
    ------
    LengthError
        If the text is empty, longer than 200 characters, not a length, readable in
        two ways, or longer than 10 km.
    """
    if len(text) > MAX_CHARACTERS:
        raise LengthError("too_long", {"limit": MAX_CHARACTERS})
    shown = " ".join(text.split())
    tidy = _tidied(shown)
    if not tidy:
        raise LengthError("empty")
    negative = tidy.startswith("-")
    size = _combined(_terms(tidy.removeprefix("-").lstrip(), shown), bare, shown)
    if size > MAX_METRES * MM_PER_METRE:
        raise LengthError("too_large", {"text": shown, "limit": MAX_METRES})
    return -size if negative else size


def millimetres(metres: float) -> float:
    """Return ``metres`` in millimetres. [mm]"""
    return metres * MM_PER_METRE


def format_feet_inches(metres: float, *, denominator: int = 16, inches_below: float = 0.0) -> str:
    """Return a length as feet, inches and a reduced fraction, such as ``8' 6 1/4"``.

    Parameters
    ----------
    metres : float
        Length, of either sign. [m]
    denominator : int, default 16
        Rounded to the nearest part of an inch, halves away from zero.
    inches_below : float, default 0
        Lengths that round to less than this are printed in inches only. [m]

    Raises
    ------
    ValueError
        If the length is not finite or the denominator is less than 1.
    """
    parts = _rounded(metres, MM_PER_INCH / _checked(denominator))
    size = abs(parts)
    limit = _picometres(inches_below) / (_PM_PER_MM * MM_PER_INCH / denominator)
    feet, rest = divmod(size, INCHES_PER_FOOT * denominator)
    if not feet or size < limit:
        return f'{_sign(parts)}{_inches(size, denominator)}"'
    whole, part = divmod(rest, denominator)
    fraction = f" {_inches(part, denominator)}" if part else ""
    return f"{_sign(parts)}{feet}' {whole}{fraction}\""


def format_inches(metres: float, *, denominator: int = 16) -> str:
    """Return a length in inches only, such as ``1 3/8"``; rounds like ``format_feet_inches``."""
    parts = _rounded(metres, MM_PER_INCH / _checked(denominator))
    return f'{_sign(parts)}{_inches(abs(parts), denominator)}"'


def format_millimetres(metres: float) -> str:
    """Return a length to the nearest millimetre, or to a tenth below 10 mm.

    Halves go away from zero and a tenth of nought is left out: ``2597 mm``,
    ``9.5 mm``, ``3 mm``. Raises ValueError if the length is not finite.
    """
    tenths = _rounded(metres, Fraction(1, 10))
    if abs(tenths) < 100 and tenths % 10:
        return f"{_sign(tenths)}{abs(tenths) // 10}.{abs(tenths) % 10} mm"
    return f"{_rounded(metres, Fraction(1))} mm"


# Reading -------------------------------------------------------------------------

_UNITS: Final[Mapping[str, tuple[str, Fraction]]] = {
    name: (kind, size)
    for kind, size, names in (
        ("foot", MM_PER_FOOT, "' ft foot feet pie pies"),
        ("inch", MM_PER_INCH, '" in inch inches pulg pulgada pulgadas'),
        ("m", Fraction(1000), "m metre metres meter meters metro metros"),
        ("cm", Fraction(10), "cm centimetre centimetres centimeter centimeters centimetro centimetros"),
        ("mm", Fraction(1), "mm millimetre millimetres millimeter millimeters milimetro milimetros"),
    )
    for name in names.split()
}
_MARKS: Final = str.maketrans(
    {
        **dict.fromkeys("′’‘‛ʹʼ´`", "'"),
        **dict.fromkeys("″”“„‟ʺ˝", '"'),
        **dict.fromkeys("‐‑‒–—−", "-"),
        **dict.fromkeys("⁄∕", "/"),
    }
)
_TERM: Final = re.compile(
    r"""(?: (?:(?P<whole>\d+) (?:\s*-\s*|\s+))? (?P<top>\d+) \s*/\s* (?P<bottom>\d+)
          | (?P<decimal>\d+(?:[.,]\d+)* | [.,]\d+) )
        \s* (?P<unit> ['"] | [^\W\d_]+\.? )? \s*""",
    re.ASCII | re.VERBOSE,
)
_JOINT: Final = re.compile(r"(?:-\s*|,\s+|(?:and|y|con)\s+)(?=[\d.,])")  # between feet and inches
_THOUSANDS: Final = re.compile(r"\d{1,3}([.,])\d{3}(?:\1\d{3})*(?:(?!\1)[.,]\d+)?", re.ASCII)

_Term = tuple[Fraction, str]  # number, kind of unit ("" for none)


def _tidied(text: str) -> str:
    """Return ``text`` in plain characters: one kind of mark, dash and slash, no accents."""
    spelled = "".join(_spelled(character) for character in text.translate(_MARKS))
    return " ".join(spelled.casefold().replace("''", '"').split())


def _spelled(character: str) -> str:
    kind, _, parts = unicodedata.decomposition(character).partition(" ")
    if kind == "<fraction>":
        # The blank keeps 6½ from becoming 61/2.
        return " " + "".join(chr(int(part, 16)) for part in parts.split()).replace("⁄", "/")
    letters = unicodedata.normalize("NFD", character)
    return "".join(part for part in letters if unicodedata.category(part) not in {"Mn", "Cf"})


def _terms(tidy: str, shown: str) -> list[_Term]:
    """Split into numbers with their units; refuse what is left over."""
    terms: list[_Term] = []
    position = 0
    while position < len(tidy) or not terms:
        match = _TERM.match(tidy, position)
        if not match:
            raise LengthError("unreadable", {"text": shown})
        kind = _kind(match["unit"])
        terms.append((_number(match, shown), kind))
        position = match.end()
        if kind == "foot" and (joint := _JOINT.match(tidy, position)):
            position = joint.end()
    return terms


def _kind(unit: str | None) -> str:
    if unit is None:
        return ""
    if unit.removesuffix(".") not in _UNITS:
        raise LengthError("unknown_unit", {"unit": unit})
    return _UNITS[unit.removesuffix(".")][0]


def _number(match: re.Match[str], shown: str) -> Fraction:
    if match["decimal"]:
        return _decimal(match["decimal"], shown)
    top, bottom = int(match["top"]), int(match["bottom"])
    if bottom == 0:
        raise LengthError("zero_denominator", {"text": shown})
    if match["whole"] and top >= bottom:
        raise LengthError("improper_fraction", {"text": shown})
    return int(match["whole"] or 0) + Fraction(top, bottom)


def _decimal(number: str, shown: str) -> Fraction:
    if re.fullmatch(r"\d+,\d{3}", number, re.ASCII):
        whole, decimal = number.replace(",", ""), number.replace(",", ".").rstrip("0").rstrip(".")
        raise LengthError("ambiguous_comma", {"number": number, "whole": whole, "decimal": decimal})
    if number.count(",") + number.count(".") <= 1:
        return Fraction(number.replace(",", "."))
    if grouped := _THOUSANDS.fullmatch(number):
        plain = number.replace(grouped[1], "").replace(",", ".")
        raise LengthError("thousands_separator", {"number": number, "plain": plain})
    raise LengthError("unreadable", {"text": shown})


def _combined(terms: list[_Term], bare: Literal["in", "mm"], shown: str) -> Fraction:
    kinds = [kind for _, kind in terms]
    if len(terms) == 1:
        number, kind = terms[0]
        return number * _UNIT_SIZES[kind or bare]
    if len(terms) == 2 and kinds[0] == "foot" and kinds[1] in {"inch", ""}:
        return _feet_and_inches(terms[0][0], terms[1][0], shown)
    if kinds[0] == "":
        raise LengthError("two_numbers", {"text": shown})
    if len(set(kinds)) < len(kinds):
        raise LengthError("unit_twice", {"text": shown})
    raise LengthError("mixed_units", {"text": shown})


def _feet_and_inches(feet: Fraction, inches: Fraction, shown: str) -> Fraction:
    if feet.denominator != 1:
        raise LengthError("feet_not_whole", {"text": shown})
    total = feet * MM_PER_FOOT + inches * MM_PER_INCH
    if inches >= INCHES_PER_FOOT:
        suggestion = format_feet_inches(float(total / MM_PER_METRE), denominator=64)
        raise LengthError("inches_too_many", {"text": shown, "suggestion": suggestion})
    return total


_UNIT_SIZES: Final[Mapping[str, Fraction]] = {**dict(_UNITS.values()), "in": MM_PER_INCH}

# Printing ------------------------------------------------------------------------

_PM_PER_MM: Final = 10**9


def _picometres(metres: float) -> int:
    """Return whole picometres, which drops the noise floats add and keeps every 1/64 in exact."""
    if not math.isfinite(metres):
        raise ValueError(f"a length must be finite to be printed, not {metres}")
    return round(Fraction(metres) * MM_PER_METRE * _PM_PER_MM)


def _rounded(metres: float, step: Fraction) -> int:
    """Return the nearest number of steps [mm] in ``metres``, halves away from zero."""
    exact = _picometres(metres) / (_PM_PER_MM * step)
    nearest = math.floor(abs(exact) + Fraction(1, 2))
    return nearest if exact >= 0 else -nearest


def _inches(parts: int, denominator: int) -> str:
    whole, rest = divmod(parts, denominator)
    fraction = Fraction(rest, denominator)
    return f"{whole} {fraction}" if whole and rest else str(fraction if rest else whole)


def _sign(parts: int) -> str:
    return "-" if parts < 0 else ""


def _checked(denominator: int) -> int:
    if denominator < 1:
        raise ValueError(f"denominator is {denominator}; it must be at least 1")
    return denominator
