"""Units of the core's numbers, so that an edge can name a key or print a figure without guessing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

INCH = 0.0254  # m, exact, international inch of 1959
FOOT = 12 * INCH  # m, exact

Floats: TypeAlias = NDArray[np.float64]
Values: TypeAlias = ArrayLike


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit an edge writes a quantity in, and how many of it make one SI unit."""

    suffix: str
    per_si: float


Length = Annotated[float, Unit("mm", 1000.0)]


class SizingError(ValueError):
    """An input no door can have: names the field, its value and the limit it breaks."""

    def __init__(self, field: str, value: object, limit: str) -> None:
        super().__init__(f"{field} is {value}: {limit}")
        self.field = field
        self.value = value
        self.limit = limit
