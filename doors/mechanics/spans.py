"""Coefficients of continuous beams over equal spans, so that a million bars need no equations solved."""

from __future__ import annotations

from functools import cache

import numpy as np

from doors.mechanics.beam import LineLoad, Support, bend
from doors.sizing.quantity import Floats

MOST_SPANS = 12  # -; from six spans on the figures no longer change in the third place


@cache
def _table() -> Floats:
    """Return one row for each count of spans of 1 m under 1 N/m: worst moment, end reaction, largest reaction."""
    beams = (
        bend(float(spans), 1.0, tuple(Support(float(place)) for place in range(spans + 1)),
             line_loads=(LineLoad(0.0, float(spans), 1.0),))
        for spans in range(1, MOST_SPANS + 1)
    )  # fmt: skip
    return np.array([(beam.worst_moment, beam.reactions[0], beam.reactions.max()) for beam in beams])


def uniform(spans: Floats) -> tuple[Floats, Floats, Floats]:
    """Return moment, end reaction and largest reaction of a uniform load on equal spans.

    Parameters
    ----------
    spans : ndarray of float, shape (...)
        How many spans; more than 12 count as 12, NaN stays NaN. [-]

    Returns
    -------
    tuple of ndarray, shape (...)
        Largest moment over w L², end reaction and largest reaction over w L. [-]
    """
    spans = np.asarray(spans, dtype=np.float64)
    known = np.isfinite(spans)
    index = np.clip(np.where(known, spans, 1).astype(np.intp), 1, MOST_SPANS) - 1
    chosen = np.where(known[..., None], _table()[index], np.nan)
    return np.asarray(chosen[..., 0]), np.asarray(chosen[..., 1]), np.asarray(chosen[..., 2])
