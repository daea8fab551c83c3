"""What a size or position may be, and the error that says so."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.lengths import gettext_noop

Floats = NDArray[np.float64]

MAX_SIZE: Final = 10_000.0  # m; beyond it a size is a typing slip
SLACK: Final = 1e-9  # relative; forgives what floats add to a size that just fits

MESSAGES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "greater_than": gettext_noop("%(field)s is %(value)s but must be greater than %(limit)s."),
        "at_least": gettext_noop("%(field)s is %(value)s but must be at least %(limit)s."),
        "at_most": gettext_noop("%(field)s is %(value)s but must be at most %(limit)s."),
        "finite": gettext_noop("%(field)s is %(value)s but must be a finite number."),
        "one_of": gettext_noop("%(field)s is %(value)s but must be one of %(limit)s."),
        "odd": gettext_noop("%(field)s is %(value)s but must be an odd number of at least %(limit)s."),
        "below_ridge": gettext_noop("%(field)s is %(value)s but must be less than the ridge, %(limit)s."),
        "round_rise": gettext_noop(
            "%(field)s is %(value)s but must be at most %(limit)s: a round arch rises no more than half its width."
        ),
        "under_frame": gettext_noop(
            "%(field)s is %(value)s but must be from 0 to %(limit)s, the height of the frame over the middle."
        ),
        "in_wall": gettext_noop(
            "%(field)s is %(value)s but must be from 0 to %(limit)s for the opening to fit in the wall."
        ),
        "rising": gettext_noop(
            "%(field)s: x is %(value)s but must be greater than %(limit)s, where the point before stands."
        ),
        "starts": gettext_noop("%(field)s: the first x is %(value)s but must be %(limit)s."),
        "ends": gettext_noop("%(field)s: the last x is %(value)s but must be the width, %(limit)s."),
        "peaks": gettext_noop("%(field)s: the highest y is %(value)s but must be the ridge, %(limit)s."),
    }
)


class GeometryError(ValueError):
    """A size or position outside its limit; says which limit.

    Attributes
    ----------
    field : str
        Name of the value.
    value, limit : object
        The value refused and the limit it missed, in SI units.
    code : str
        Key into ``MESSAGES``.
    template : str
        English sentence with ``%(name)s`` places, to be translated where it is shown.
    params : dict
        What fills the places: field, value and limit.
    """

    def __init__(self, field: str, value: object, code: str, limit: object) -> None:
        super().__init__(field, value, code, limit)
        self.field, self.value, self.code, self.limit = field, value, code, limit
        self.template = MESSAGES[code]
        self.params: dict[str, object] = {"field": field, "value": value, "limit": limit}

    def __str__(self) -> str:
        return self.template % self.params


def floats(*values: ArrayLike) -> tuple[Floats, ...]:
    """Return each value as an array of floats."""
    return tuple(np.asarray(value, dtype=np.float64) for value in values)


def require(holds: ArrayLike, field: str, values: ArrayLike, code: str, limit: ArrayLike) -> None:
    """Raise for the first value whose condition does not hold."""
    if np.all(holds):
        return
    held, tried, limits = np.broadcast_arrays(holds, values, limit)
    first = np.unravel_index(np.argmin(held), held.shape)
    raise GeometryError(field, tried[first].item(), code, limits[first].item())


def check_finite(field: str, values: ArrayLike) -> None:
    """Raise unless every value is a finite number."""
    require(np.isfinite(values), field, values, "finite", "finite")


def check_size(field: str, values: ArrayLike) -> None:
    """Raise unless every value is above 0 and at most 10 km. [m]"""
    require(np.greater(values, 0), field, values, "greater_than", 0)
    require(np.less_equal(values, MAX_SIZE), field, values, "at_most", MAX_SIZE)


def check_choice(field: str, value: object, choices: tuple[object, ...]) -> None:
    """Raise unless the value is one of the choices."""
    if value not in choices:
        raise GeometryError(field, value, "one_of", ", ".join(map(str, choices)))
