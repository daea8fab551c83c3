"""Units by their last part, and the limits beyond which a figure cannot be true."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, TypeGuard

from maintenance.weather.reasons import Notes

FASTEST: Final = 120.0  # m/s; the strongest gust on record outside a tornado is 113 m/s, WMO archive of extremes
COLDEST, HOTTEST = 170.0, 340.0  # K; records are 184 K and 330 K, WMO archive of extremes
WETTEST: Final = 2.0  # m in a spell; the record of a day is 1.8 m, WMO archive of extremes
DEEPEST: Final = 5.0  # m of new snow in a spell


@dataclass(frozen=True, slots=True)
class Scale:
    """How a figure becomes SI: times ``factor``, after ``shift``."""

    factor: float = 1.0
    shift: float = 0.0

    def __call__(self, value: float) -> float:
        return (value + self.shift) * self.factor


_SPEEDS: Final = {
    1.0: ("ms", "ms1", "mps", "msec"),
    1000 / 3600: ("kmh", "kmh1", "kph"),
    1609.344 / 3600: ("mph", "mih", "mih1", "milesperhour"),  # international mile, exact
    1852 / 3600: ("kn", "kt", "kts", "knot", "knots", "nudo", "nudos"),  # international knot, exact
}
_DEPTHS: Final = {
    0.001: ("mm", "millimetre", "millimeter", "kgm2"),  # a kilogram of water on a square metre stands 1 mm high
    0.01: ("cm", "centimetre", "centimeter"),
    0.0254: ("in", "inch", "inches", "pulg", "pulgadas"),
    1.0: ("m", "metre", "meter"),
}
SPEED: Final = {name: Scale(factor) for factor, names in _SPEEDS.items() for name in names}
DEPTH: Final = {name: Scale(factor) for factor, names in _DEPTHS.items() for name in names}
ANGLE: Final = {name: Scale() for name in ("degreeangle", "degree", "degrees", "deg", "°", "grados")}
TEMPERATURE: Final = (
    {name: Scale(shift=273.15) for name in ("degc", "c", "°c", "celsius")}
    | {name: Scale(5 / 9, shift=459.67) for name in ("degf", "f", "°f", "fahrenheit")}
    | {name: Scale() for name in ("k", "kelvin")}
)
UNITS: Final[Mapping[str, Mapping[str, Scale]]] = MappingProxyType(
    {
        "wind": SPEED, "gust": SPEED, "upper_gust": SPEED, "bearing_deg": ANGLE, "temperature": TEMPERATURE,
        "rain": DEPTH, "snow": DEPTH,
    }
)  # fmt: skip
LIMITS: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {
        "wind": (0.0, FASTEST), "gust": (0.0, FASTEST), "upper_gust": (0.0, FASTEST), "bearing_deg": (0.0, 360.0),
        "temperature": (COLDEST, HOTTEST), "rain": (0.0, WETTEST), "snow": (0.0, DEEPEST),
    }
)  # fmt: skip
DRESS: Final = str.maketrans("", "", " _-/.()^·⁻")


def scale_of(figure: str, unit: object) -> Scale | None:
    """Return how a unit such as ``wmoUnit:km_h-1``, ``km/h`` or ``mph`` becomes SI, or None if it is not known."""
    if not isinstance(unit, str) or len(unit) > 100:
        return None
    return UNITS[figure].get(unit.rpartition(":")[2].lower().translate(DRESS))


def is_number(value: object) -> TypeGuard[float]:
    """Tell whether JSON gave a number; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def is_sane(figure: str, value: float) -> bool:
    """Tell whether a figure in SI is finite and within its limits."""
    least, most = LIMITS[figure]
    return math.isfinite(value) and least <= value <= most


def sane(figure: str, value: object, scale: Scale, notes: Notes, when: object) -> float | None:
    """Return a figure in SI; None, with a note, for one that is no number or cannot be true."""
    if value is None:
        return None
    if not is_number(value):
        notes.add("not_a_number", when, figure)
        return None
    found = scale(float(value))
    if not is_sane(figure, found):
        notes.add("absurd", when, figure)
        return None
    return found
