"""Units of the core's numbers, and the error of a number no door can have."""

from __future__ import annotations

import math
import operator
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Literal, TypeAlias, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

INCH = 0.0254  # m, exact, international inch of 1959
FOOT = 12 * INCH  # m, exact
POUND_FORCE = 4.4482216152605  # N, exact: 0.45359237 kg x 9.80665 m/s²
SAME = 1e-9  # m; binary noise between two lengths that are equal on the tape

Floats: TypeAlias = NDArray[np.float64]
Relation: TypeAlias = Literal["above", "at least", "below", "at most", "finite", "exactly"]


def number(value: float | None) -> Floats:
    """Return one number where the formulas take arrays; a measurement not taken is NaN."""
    return cast("Floats", np.float64(np.nan if value is None else value))


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit an edge writes a quantity in, and how many of it make one SI unit."""

    suffix: str
    per_si: float


Length = Annotated[float, Unit("mm", 1000.0)]
Angle = Annotated[float, Unit("deg", 180.0 / math.pi)]


class SizingError(ValueError):
    """An input no door can have.

    Attributes
    ----------
    field : str
        Path of the input, such as ``design.turning_tube.wall``.
    value : float
        What was given. [m for lengths]
    relation : str
        How the value had to stand to the limit, such as ``at most``; ``finite`` has no limit.
    limit : float or None
        The limit it breaks. [m for lengths]
    index : int or None
        Which of several openings, counted from 0; None for a single one.
    """

    def __init__(
        self, field: str, value: float, relation: Relation, limit: float | None = None, index: int | None = None
    ) -> None:
        bound = "" if limit is None else f" {limit:g}"
        place = "" if index is None else f" (opening {index})"
        super().__init__(f"{field}{place} is {value:g}: must be {relation}{bound}")
        self.field = field
        self.value = value
        self.relation = relation
        self.limit = limit
        self.index = index


BROKEN: dict[Relation, Callable[..., Any]] = {
    "finite": lambda value, _: ~np.isfinite(value),
    "above": operator.le,
    "at least": operator.lt,
    "below": operator.ge,
    "at most": operator.gt,
}  # a comparison with NaN is false, so a measurement not taken passes


def require(field: str, value: ArrayLike, relation: Relation, limit: ArrayLike | None = None) -> None:
    """Raise a SizingError for the first value that does not stand in ``relation`` to ``limit``.

    Parameters
    ----------
    field : str
        Path of the input.
    value, limit : array_like, shape (...)
        Compared element by element; a pair with a NaN in either, a measurement not taken, passes
        unless the relation is ``finite``.
    relation : str
        ``above``, ``at least``, ``below``, ``at most`` or ``finite``.

    Raises
    ------
    SizingError
        Naming field, value and limit.
    """
    if isinstance(value, float) and (limit is None or isinstance(limit, int | float)):
        if BROKEN[relation](value, np.nan if limit is None else limit):  # one number needs no arrays
            raise SizingError(field, value, relation, None if limit is None else float(limit))
        return
    values = np.asarray(value, dtype=np.float64)
    limits = np.asarray(np.nan if limit is None else limit, dtype=np.float64)
    broken = BROKEN[relation](values, limits)
    if not np.any(broken):
        return
    values, limits, broken = np.broadcast_arrays(values, limits, broken)
    first = int(np.argmax(broken))
    bound = None if limit is None else float(limits.flat[first])
    raise SizingError(field, float(values.flat[first]), relation, bound, first if values.ndim else None)
