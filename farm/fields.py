"""Column types of the register: lengths in millimetres and compass bearings in degrees."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.db import models


class MillimetreField(models.DecimalField):  # type: ignore[type-arg]  # not generic at run time
    """A length in millimetres, kept to a millionth so that 1/64 in (0.396875 mm) is exact."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs["max_digits"] = 14
        kwargs["decimal_places"] = 6
        super().__init__(*args, **kwargs)


class BearingField(models.DecimalField):  # type: ignore[type-arg]  # not generic at run time
    """A compass bearing in degrees clockwise from north, 0 up to but excluding 360."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs["max_digits"] = 5
        kwargs["decimal_places"] = 2
        super().__init__(*args, **kwargs)


def metres(value_mm: Decimal | float | None) -> float | None:
    """Return a column in millimetres as metres for the core, or None where nothing was measured."""
    return None if value_mm is None else float(value_mm) / 1000
