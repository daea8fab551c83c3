"""Quantities inside the words of a routine, printed in the reader's units.

A text says ``{gust:13.4}``; the reader sees ``30 mph`` or ``13.4 m/s``. Numbers are in base SI units.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from farm.units import format_gust, format_length, format_measure

PRINTERS: Final[dict[str, Callable[[float, str], str]]] = {
    "gust": format_gust,
    "length": lambda metres, units: format_length(metres, units, short=True),
    "small": lambda metres, units: format_measure("small_length", metres, units),
    "span": lambda metres, units: format_measure("span", metres, units),
}
PLACE: Final = re.compile(r"\{([a-z]+):(\d+(?:\.\d+)?)\}")


def fill(text: str, units: str) -> str:
    """Return a routine's text with its quantities in one unit system.

    Parameters
    ----------
    text : str
        With places such as ``{gust:2.2352}`` [m/s], ``{length:0.6096}``, ``{small:0.0127}`` or ``{span:4.2672}`` [m].
    units : {"us", "metric"}
        The reader's system.

    Notes
    -----
    Farms edit these texts, so braces that are no such place stay as they were typed.
    """
    return PLACE.sub(lambda found: _printed(found, units), text)


def _printed(found: re.Match[str], units: str) -> str:
    printer = PRINTERS.get(found[1])
    return printer(float(found[2]), units) if printer else found[0]
