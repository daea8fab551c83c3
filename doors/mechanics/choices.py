"""Names where the formulas take arrays: one name for all values, or one for each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Indices: TypeAlias = NDArray[np.intp]


def index_of(field: str, given: ArrayLike, names: Iterable[object]) -> Indices:
    """Return the place of each given name among ``names``.

    Parameters
    ----------
    field : str
        What the names are, for the message.
    given : array_like of str or int, shape (...)
        One name, or one for each value.
    names : iterable
        The names there are, in the order of the tables.

    Returns
    -------
    ndarray of int, shape (...)

    Raises
    ------
    ValueError
        Naming the first that is not among them.
    """
    values = np.asarray(given).astype(np.str_)
    known = np.array([str(name) for name in names])
    matches = values[..., np.newaxis] == known
    strange = ~matches.any(axis=-1)
    if strange.any():
        raise ValueError(f"{field} is {str(values[strange][0])!r}: must be one of {', '.join(known)}")
    return np.asarray(matches.argmax(axis=-1))
