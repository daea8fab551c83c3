"""Form fields of a routine: speeds and temperatures in the reader's unit, lists as lines, parts with how many."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext

from farm.formfields import plain

HUNDREDTH: Final = Decimal("0.01")  # what the columns keep
MPH: Final = Decimal("0.44704")  # m/s, exact
FREEZING: Final = Decimal("273.15")  # K


class UnitField(forms.DecimalField):
    """A quantity typed in the reader's unit; cleans to the SI unit, to a hundredth.

    It is shown with as few decimals as read back to what is kept: 45 mph comes back as 45, not as 45.01.
    """

    units = "us"

    def clean(self, value: Any) -> Any:
        number = super().clean(value)
        return None if number is None else self._kept(number)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, Decimal):
            return value
        exact = self.from_si(value)
        rounded = (exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP) for places in range(3))
        return next((plain(each) for each in rounded if self._kept(each) == value), plain(round(exact, 4)))

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.clean(data) != initial)
        except ValidationError:
            return True

    def _kept(self, number: Decimal) -> Decimal:
        return self.to_si(number).quantize(HUNDREDTH, ROUND_HALF_UP)

    def to_si(self, number: Decimal) -> Decimal:
        """Return what was typed in the SI unit."""
        raise NotImplementedError

    def from_si(self, value: Decimal) -> Decimal:
        """Return what is kept in the reader's unit."""
        raise NotImplementedError


class SpeedField(UnitField):
    """A gust in miles per hour or metres per second."""

    def to_si(self, number: Decimal) -> Decimal:
        return number * MPH if self.units == "us" else number

    def from_si(self, value: Decimal) -> Decimal:
        return value / MPH if self.units == "us" else value


class WarmthField(UnitField):
    """A temperature in degrees Fahrenheit or Celsius; cleans to kelvin."""

    def to_si(self, number: Decimal) -> Decimal:
        return FREEZING + ((number - 32) * 5 / 9 if self.units == "us" else number)

    def from_si(self, value: Decimal) -> Decimal:
        celsius = value - FREEZING
        return celsius * 9 / 5 + 32 if self.units == "us" else celsius


class LinesField(forms.CharField):
    """A list, an item a line."""

    widget = forms.Textarea(attrs={"rows": 5})

    def to_python(self, value: Any) -> Any:
        return [line.strip() for line in (super().to_python(value) or "").splitlines() if line.strip()]

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(map(str, value)) if isinstance(value, list) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool(self.to_python(data) != (initial or []))


class PartsField(LinesField):
    """Parts a job takes, such as “SCREW-SD; 4”: a material's code or kind and how many, a part a line."""

    def to_python(self, value: Any) -> Any:
        return [self._part(number, line) for number, line in enumerate(super().to_python(value), 1)]

    def _part(self, number: int, line: str) -> dict[str, Any]:
        material, _semicolon, count = (piece.strip() for piece in line.partition(";"))
        try:
            quantity = Decimal((count or "1").replace(",", "."))
            if not material or not quantity.is_finite() or not 0 < quantity < 10**6:
                raise ValueError
        except (ValueError, ArithmeticError) as error:
            text = gettext("Line %(number)s: “%(line)s” is not a part. Write its code and how many, such as CLAMP; 4.")
            raise ValidationError(text, params={"number": number, "line": line}) from error
        whole = quantity == quantity.to_integral_value()
        return {"material": material, "quantity": int(quantity) if whole else float(quantity)}

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, list):
            return value
        return "\n".join(f"{part['material']}; {part['quantity']}" for part in value)

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return super().has_changed(initial, data)
        except ValidationError:
            return True
