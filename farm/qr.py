"""Squares that a phone reads: QR codes of ISO/IEC 18004 as one path of an SVG."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import segno

QUIET: Final = 4  # modules left white on every side, ISO/IEC 18004
REPAIR: Final = "q"  # a quarter of it may be dirt: it hangs where the mud flies


@dataclass(frozen=True, slots=True)
class Square:
    """A square ready for a template; one unit of its drawing is one module.

    Attributes
    ----------
    side
        Modules on a side, the quiet zone included.
    d
        Path data of the dark modules, to be filled.
    text
        What a phone reads in it.
    """

    side: int
    d: str
    text: str


def square_of(text: str) -> Square:
    """Return the smallest square that holds a text and stands a quarter of it hidden."""
    code = segno.make(text, error=REPAIR, micro=False)
    rows = [bytes(row) for row in code.matrix]
    strokes = (
        f"M{start + QUIET} {down + QUIET}h{length}v1h-{length}z"
        for down, row in enumerate(rows)
        for start, length in _runs(row)
    )
    return Square(len(rows) + 2 * QUIET, "".join(strokes), text)


def _runs(row: bytes) -> list[tuple[int, int]]:
    """Return where each run of dark modules begins, and how long it is: fewer seams for a printer to show."""
    runs: list[tuple[int, int]] = []
    for place, is_dark in enumerate(row):
        if not is_dark:
            continue
        if runs and sum(runs[-1]) == place:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        else:
            runs.append((place, 1))
    return runs
