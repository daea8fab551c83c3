"""A week of forecast as a strip: gusts against the farm's levels, rain, temperature, and where the wind comes from."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from farm.paper import WIDTH, Drawing, Paper
from farm.units import US, format_gust, measure_from, measure_in
from maintenance.skies.page import Pair

LEFT, RIGHT, TOP = 15.0, 3.0, 9.0  # mm around the field
GUSTS, RAIN = 46.0, 13.0  # mm, heights of the two fields
GAP, DIRECTIONS = 8.0, 6.0  # mm
HALF_WORD = 9.0  # mm, half a day's name; closer to the edge it would stand over the unit
STEPS: Final = {US: 20.0, "metric": 10.0}  # between grid lines, in the reader's unit
LEAST_TOP: Final = 18.0  # m/s; calm weeks are not drawn as storms
LEAST_RAIN: Final = 0.005  # m in an hour, the same
EVERY: Final = timedelta(hours=12)  # between arrows
HOUR: Final = 3600.0  # s

Across = Callable[[datetime], float]  # the place of a moment across the paper, mm
Down = Callable[[float], float]  # the place of a gust down the paper, mm
Limits = Sequence[tuple[float, str]]  # m/s, and what it is


def strip(pairs: Sequence[Pair], limits: Limits, *, zone: ZoneInfo, units: str) -> Drawing:
    """Return the strip of some spells, at least one, in order."""
    begins, ends = pairs[0].here.start, pairs[-1].here.end
    top = max([LEAST_TOP, *(pair.here.gust or 0.0 for pair in pairs)]) * 1.1
    # One second is drawn as so many millimetres: the paper's scale is 1:1000 of that.
    paper = Paper(1000 * (ends - begins).total_seconds() / (WIDTH - LEFT - RIGHT), LEFT, TOP + GUSTS)

    def x(moment: datetime) -> float:
        return paper.x((moment - begins).total_seconds())

    def y(gust: float) -> float:
        return TOP + GUSTS * (1 - gust / top)

    _days(paper, begins, ends, zone, x)
    _scale(paper, top, units, y)
    for speed, name in limits:
        if speed <= top:
            paper.stroke(((LEFT, y(speed)), (WIDTH - RIGHT, y(speed))), "gust-line")
            paper.letter(WIDTH - RIGHT - 1, y(speed) - 1, name, "word", anchor="end")
    for run in _runs(pairs):
        paper.stroke([(x(at), y(pair.here.gust or 0.0)) for pair in run for at in (pair.here.start, pair.here.end)],
                     "curve")  # fmt: skip
    _arrows(paper, pairs, x)
    _rain(paper, pairs, x)
    return paper.finish(
        _("The week's wind"), _described(pairs, zone, units), height=TOP + GUSTS + DIRECTIONS + GAP + RAIN + 4,
        to_scale=False,
    )  # fmt: skip


def _days(paper: Paper, begins: datetime, ends: datetime, zone: ZoneInfo, x: Across) -> None:
    bottom = TOP + GUSTS + DIRECTIONS + GAP + RAIN
    day = begins.astimezone(zone).date()
    while (start := datetime(day.year, day.month, day.day, tzinfo=zone)) < ends:
        noon = datetime(day.year, day.month, day.day, 12, tzinfo=zone)
        if start > begins:
            paper.stroke(((x(start), TOP - 6), (x(start), bottom)), "dimension")
        if begins < noon < ends and x(noon) > LEFT + HALF_WORD:
            paper.letter(x(noon), TOP - 3, date_format(noon, "D j"), "figure")
        day += timedelta(days=1)


def _scale(paper: Paper, top: float, units: str, y: Down) -> None:
    step = STEPS[US if units == US else "metric"]
    end, unit = measure_in("speed", top, units)
    for index in range(math.floor(end / step) + 1):
        at = y(measure_from("speed", step * index, units))
        paper.stroke(((LEFT, at), (WIDTH - RIGHT, at)), "dimension" if index else "solid")
        paper.letter(LEFT - 1.5, at + 1.6, f"{step * index:.0f}", "figure", anchor="end")
    paper.letter(LEFT - 1.5, TOP - 3, unit, "word", anchor="end")


def _runs(pairs: Sequence[Pair]) -> list[list[Pair]]:
    """Return the stretches whose gust is known: nothing is drawn across a gap."""
    runs: list[list[Pair]] = [[]]
    for pair in pairs:
        if pair.here.gust is None:
            runs.append([])
        else:
            runs[-1].append(pair)
    return [run for run in runs if run]


def _arrows(paper: Paper, pairs: Sequence[Pair], x: Across) -> None:
    """Draw where the wind blows to, twice a day, below the gusts."""
    drawn: datetime | None = None
    for pair in pairs:
        bearing, at = pair.forecast.bearing_deg, pair.forecast.start
        if bearing is None or (drawn is not None and at - drawn < EVERY):
            continue
        drawn = at
        _arrow(paper, max(x(at), LEFT + 3), TOP + GUSTS + DIRECTIONS, math.radians(bearing))


def _arrow(paper: Paper, x: float, y: float, bearing: float) -> None:
    across, down = -math.sin(bearing), math.cos(bearing)
    tip = (x + 2.6 * across, y + 2.6 * down)
    paper.stroke(((x - 2.6 * across, y - 2.6 * down), tip), "curve")
    barbs = [
        (tip[0] - 1.8 * (across * math.cos(turn) - down * math.sin(turn)),
         tip[1] - 1.8 * (down * math.cos(turn) + across * math.sin(turn)))
        for turn in (-0.5, 0.5)
    ]  # fmt: skip
    paper.stroke((barbs[0], tip, barbs[1]), "curve")


def _rain(paper: Paper, pairs: Sequence[Pair], x: Across) -> None:
    """Draw rain, melted snow included, as bars of an hour's depth."""
    foot = TOP + GUSTS + DIRECTIONS + GAP + RAIN
    rates = [
        (pair, pair.forecast.rain * HOUR / (pair.forecast.end - pair.forecast.start).total_seconds())
        for pair in pairs
        if pair.forecast.rain
    ]
    most = max([LEAST_RAIN, *(rate for _pair, rate in rates)])
    paper.stroke(((LEFT, foot), (WIDTH - RIGHT, foot)), "solid")
    paper.letter(LEFT - 1.5, foot - RAIN / 2, _("rain"), "word", anchor="end")
    for pair, rate in rates:
        left, right, top = x(pair.forecast.start), x(pair.forecast.end), foot - RAIN * rate / most
        paper.stroke(((left, foot), (left, top), (right, top), (right, foot)), "leaf", closed=True)


def _described(pairs: Sequence[Pair], zone: ZoneInfo, units: str) -> str:
    known = [pair for pair in pairs if pair.here.gust is not None]
    if not known:
        return _("No gust is known.")
    worst = max(known, key=lambda pair: pair.here.gust or 0.0)
    when = date_format(worst.here.start.astimezone(zone), "l H:i")
    return _("The highest gust is %(gust)s, %(when)s. The table has every hour.") % {
        "gust": format_gust(worst.here.gust, units), "when": when,
    }  # fmt: skip
