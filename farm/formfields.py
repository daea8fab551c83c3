"""Form fields that read lengths and bearings as people write them, and show them again without loss."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final, Literal

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm.geometry import compass_point
from farm.lengths import MM_PER_INCH, LengthError, format_feet_inches, parse_length

Least = Literal["any", "zero", "above zero"]
Bare = Literal["in", "mm"]

STORED: Final = Decimal("0.000001")  # mm, what the columns keep
METRES_PER_FOOT: Final = Decimal("0.3048")  # exact
POINTS: Final = tuple(compass_point(22.5 * number, points=16) for number in range(16))
SPANISH_POINTS: Final = str.maketrans("O", "W")  # oeste


def bare_unit(units: str) -> Bare:
    """Return the unit of a number written without one, on a farm of these units."""
    return "in" if units == "us" else "mm"


def plain(number: Decimal) -> str:
    """Return a decimal without exponent and without zeros that say nothing."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def written(value_mm: Decimal | float | int, units: str) -> str:
    """Return a stored length exactly, in the reader's units where these can say it, else in millimetres."""
    value = Decimal(str(value_mm))
    inches = Fraction(value) / MM_PER_INCH
    if units == "us" and (inches * 64).denominator == 1:
        return format_feet_inches(float(value) / 1000, denominator=64)
    if units == "us" and (decimal := exact_inches(value)) is not None:
        return f'{decimal}"'
    return f"{plain(value)} mm"


def exact_inches(value_mm: Decimal) -> Decimal | None:
    """Return a length in inches with at most six decimals, or None where that would lose something."""
    inches = Fraction(value_mm) / MM_PER_INCH
    if (inches * 10**6).denominator != 1:
        return None
    return Decimal(plain(Decimal(inches.numerator) / Decimal(inches.denominator)))


def read_length(text: str, bare: Bare) -> Decimal:
    """Return the exact millimetres of a written length, or say in a sentence what to write instead."""
    try:
        exact = parse_length(text, bare=bare)
    except LengthError as error:
        raise ValidationError(gettext(error.template), code=error.code, params=error.params) from error
    value = (Decimal(exact.numerator) / Decimal(exact.denominator)).quantize(STORED)
    if Fraction(value) != exact:
        raise ValidationError(
            gettext("“%(text)s” cannot be kept exactly. Write it to 1/64 in, or in mm with up to six decimals."),
            code="inexact",
            params={"text": text},
        )
    return value


class LengthField(forms.CharField):
    """A length; cleans to exact millimetres, or None where nothing was written."""

    widget = forms.TextInput(attrs={"class": "length", "autocomplete": "off", "spellcheck": "false"})

    def __init__(self, *, units: str = "us", least: Least = "above zero", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.units = units
        self.least = least

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        length = read_length(text, bare_unit(self.units))
        if (self.least == "above zero" and length <= 0) or (self.least == "zero" and length < 0):
            raise ValidationError(self._too_small(), code="too_small", params={"label": self.label, "text": text})
        return length

    def _too_small(self) -> str:
        if self.least == "zero":
            return gettext("“%(text)s” is below 0. Write 0 or more.")
        return gettext("“%(text)s” is not above 0. Write the measured length.")

    def prepare_value(self, value: Any) -> Any:
        return written(value, self.units) if isinstance(value, Decimal | float | int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != initial)
        except ValidationError:
            return True


class LengthsField(forms.CharField):
    """Several lengths with semicolons between them; cleans to a list of millimetres for a JSON column."""

    def __init__(self, *, units: str = "us", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.units = units

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value) or ""
        parts = [part for part in re.split(r"[;\n]", text) if part.strip()]
        lengths = [read_length(part, bare_unit(self.units)) for part in parts]
        if any(length <= 0 for length in lengths):
            raise ValidationError(gettext("Each width must be above 0."), code="too_small")
        return [as_json(length) for length in lengths]

    def prepare_value(self, value: Any) -> Any:
        return "; ".join(written(part, self.units) for part in value) if isinstance(value, list) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return _list_changed(self, initial, data)


class ProfileField(forms.CharField):
    """A measured outline, a point a line; cleans to pairs of millimetres for a JSON column."""

    widget = forms.Textarea(attrs={"rows": 6, "spellcheck": "false"})

    def __init__(self, *, units: str = "us", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.units = units

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value) or ""
        return [self._point(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]

    def _point(self, number: int, line: str) -> list[float]:
        parts = line.split(";")
        if len(parts) != 2:
            raise ValidationError(
                gettext("Line %(number)s: “%(line)s” is not a point. Write distance; height, such as 3'; 8' 2\"."),
                code="not_a_point",
                params={"number": number, "line": line.strip()},
            )
        try:
            return [as_json(read_length(part, bare_unit(self.units))) for part in parts]
        except ValidationError as error:
            message = gettext("Line %(number)s: %(problem)s")
            params = {"number": number, "problem": " ".join(error.messages)}
            raise ValidationError(message, code="not_a_point", params=params) from error

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, list):
            return value
        return "\n".join("; ".join(written(part, self.units) for part in point) for point in value)

    def has_changed(self, initial: Any, data: Any) -> bool:
        return _list_changed(self, initial, data)


class BearingField(forms.CharField):
    """A direction in degrees or as a compass point; cleans to degrees from north, 0 to below 360."""

    widget = forms.TextInput(attrs={"class": "bearing", "autocomplete": "off", "spellcheck": "false"})

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        point = text.upper().translate(SPANISH_POINTS)
        if point in POINTS:
            return Decimal(POINTS.index(point)) * Decimal("22.5")
        return self._degrees(text)

    def _degrees(self, text: str) -> Decimal:
        number = re.sub(r"\s*(°|º|deg(rees)?|grados?)\s*$", "", text, flags=re.IGNORECASE).replace(",", ".")
        degrees = Decimal(number) if re.fullmatch(r"\d+(\.\d+)?", number, re.ASCII) else None
        if degrees is None or degrees > 360 or degrees != round(degrees, 2):
            raise ValidationError(
                gettext("“%(text)s” is not a direction. Write a compass point such as WNW, or degrees from 0 to 360."),
                code="not_a_bearing",
                params={"text": text},
            )
        return degrees % 360

    def prepare_value(self, value: Any) -> Any:
        return written_bearing(value) if isinstance(value, Decimal | float | int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != initial)
        except ValidationError:
            return True


class ElevationField(forms.CharField):
    """A height above the sea; cleans to metres with one decimal, which is all that is kept."""

    def __init__(self, *, units: str = "us", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.units = units

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        if not re.search(r"[^\d\s.,+-]", text):
            text = f"{text} {'ft' if self.units == 'us' else 'm'}"
        return round(read_length(text, "mm") / 1000, 1)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, Decimal | float | int):
            return value
        metres = Decimal(str(value))
        return f"{plain(self._feet(metres))} ft" if self.units == "us" else f"{plain(metres)} m"

    def _feet(self, metres: Decimal) -> Decimal:
        """Return feet that are read back as the same metres: whole ones, or with the one decimal that tells."""
        whole = round(metres / METRES_PER_FOOT)
        return Decimal(whole) if round(whole * METRES_PER_FOOT, 1) == metres else round(metres / METRES_PER_FOOT, 1)

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != initial)
        except ValidationError:
            return True


class KnownField(forms.TypedChoiceField):
    """Yes, no, or not known yet; cleans to True, False or None."""

    def __init__(self, **kwargs: Any) -> None:
        answers = [("", _("not known")), ("yes", _("yes")), ("no", _("no"))]
        super().__init__(choices=answers, coerce={"yes": True, "no": False}.get, empty_value=None, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return {True: "yes", False: "no", None: ""}.get(value, value)


def day_field(label: Any, help_text: Any = "") -> forms.DateField:
    """Return a field for a day, with the browser's calendar."""
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, help_text=help_text, widget=widget)


def passed(day: date, latest: date | None) -> date:
    """Return a day, or refuse one later than ``latest``."""
    if latest is not None and day > latest:
        text = gettext("%(day)s has not come yet. Write today or an earlier day.")
        raise ValidationError(text, params={"day": day.isoformat()})
    return day


def written_bearing(degrees: Decimal | float | int) -> str:
    """Return a bearing as its compass point where it is one of the sixteen, else in degrees."""
    value = Decimal(str(degrees))
    if value % Decimal("22.5") == 0:
        return POINTS[int(value / Decimal("22.5")) % 16]
    return f"{plain(value)}°"


def as_json(value_mm: Decimal) -> float:
    """Return millimetres as the number a JSON column keeps; up to 15 digits come back as they went in."""
    return float(value_mm)


def set_units(fields: Iterable[forms.Field], units: str) -> None:
    """Tell every length field of a form which units its reader writes in."""
    for field in fields:
        if isinstance(field, LengthField | LengthsField | ProfileField | ElevationField):
            field.units = units


def _list_changed(field: LengthsField | ProfileField, initial: Any, data: Any) -> bool:
    try:
        return bool(field.to_python(data) != (initial or []))
    except ValidationError:
        return True
