"""The columns of a forecast typed in by the farm: what a header such as ``gust mph`` or ``temp F`` means."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from maintenance.weather.figures import Scale, scale_of
from maintenance.weather.reasons import ForecastError

MOST_COLUMNS: Final = 30
NAMES: Final = {
    "time": ("time", "start", "hour", "when", "hora", "fecha"),
    "gust": ("gust", "gusts", "rafaga", "rafagas", "racha", "rachas"),
    "upper_gust": ("upper gust", "gust upper", "rafaga maxima", "racha maxima"),
    "wind": ("mean", "wind", "mean wind", "wind speed", "viento", "viento medio"),
    "bearing_deg": ("direction", "bearing", "wind direction", "from", "direccion"),
    "temperature": ("temperature", "temp", "air", "temperatura"),
    "rain": ("rain", "precipitation", "lluvia"),
    "snow": ("snow", "nieve"),
}
EXAMPLES: Final = {
    "gust": "gust mph", "upper_gust": "upper gust mph", "wind": "mean mph", "temperature": "temp F", "rain": "rain in",
    "snow": "snow in",
}  # fmt: skip
FIGURE_OF: Final = {name: figure for figure, names in NAMES.items() for name in names}
WORD: Final = re.compile(r"[\s_()\[\],]+")


@dataclass(frozen=True, slots=True)
class Column:
    """Which figure a column gives, and how it becomes SI."""

    figure: str
    scale: Scale = Scale()


def columns_of(headers: Iterable[str]) -> list[Column]:
    """Return what the headers mean, in their order.

    Raises
    ------
    ForecastError
        If a header is unknown, lacks its unit or comes twice; if there is no time, or neither gust nor mean.
    """
    columns = [_column(header) for header in headers]
    figures = [column.figure for column in columns]
    for figure in figures:
        if figures.count(figure) > 1:
            raise ForecastError("column_twice", figure=figure)
    if "time" not in figures:
        raise ForecastError("no_time")
    if not {"gust", "wind"} & set(figures):
        raise ForecastError("no_gust_column")
    return columns


def _column(header: str) -> Column:
    words = [word for word in WORD.split(_plain(header)) if word]
    for cut in range(min(len(words), 3), 0, -1):  # the longest name that fits; what is left is the unit
        figure = FIGURE_OF.get(" ".join(words[:cut]))
        if figure == "time" and cut == len(words):
            return Column(figure)
        if figure is not None and figure != "time":
            return Column(figure, _scale(figure, "".join(words[cut:]), header))
    raise ForecastError("unknown_column", name=header)


def _scale(figure: str, unit: str, header: str) -> Scale:
    if figure == "bearing_deg" and not unit:
        return Scale()
    scale = scale_of(figure, unit)
    if scale is None:
        raise ForecastError("column_unit", name=header, example=EXAMPLES.get(figure, "direction deg"))
    return scale


def _plain(header: str) -> str:
    """Return a header in small letters without accents; the degree sign stays."""
    apart = unicodedata.normalize("NFD", header.strip().lower())
    return "".join(mark for mark in apart if not unicodedata.combining(mark))
