"""Utilisation against gust as a chart: one curve for each closing state, its limit marked."""

from __future__ import annotations

import math
from typing import Final

from django.utils.translation import gettext as _

from doors.wind.reading import FASTEST_SHOWN, SHUT, StateResult, WindReading
from doors.words.wind import gust_text, state_name
from farm.paper import WIDTH, Drawing, Paper, circle, spread
from farm.paper import Path as Stroke
from farm.units import US, format_gust, measure_from, measure_in

LEFT, RIGHT, TOP, BOTTOM = 17.0, 6.0, 17.0, 15.0  # mm around the field
HEIGHT: Final = 68.0  # mm of the field
HIGHEST: Final = 1.5  # -; utilisation at the field's upper edge
POINTS: Final = 41  # of a curve
BALLOON: Final = 3.4  # mm, radius
LABELLED: Final = (0.0, 0.5, 1.0, 1.5)
STEPS: Final = {US: 10.0, "metric": 5.0}  # between grid lines, in the reader's unit


def fastest_shown(reading: WindReading, units: str) -> float:
    """Return the gust at the chart's right end: a step past the strongest shut state and the gust looked at. [m/s]"""
    shut = [state.limit for state in reading.states[1:] if state.limit <= FASTEST_SHOWN]
    step = measure_from("speed", STEPS[US if units == US else "metric"], units)
    return step * math.ceil(max([reading.gust, *shut]) * 1.15 / step)


def chart(reading: WindReading, units: str) -> Drawing:
    """Return the chart; a state without a known limit, or with the door not shut, has no curve."""
    fastest = fastest_shown(reading, units)
    across = WIDTH - LEFT - RIGHT
    # One metre per second is drawn as so many millimetres: the paper's scale is 1:1000 of that.
    paper = Paper(1000 * fastest / across, LEFT, TOP + HEIGHT)
    _grid(paper, fastest, units)
    lettered = zip("abcde", reading.states, strict=False)
    known = [(letter, state) for letter, state in lettered if state.limit > 0 and state.state in SHUT]
    for letter, state in known:
        _curve(paper, state, letter, fastest)
    _gust(paper, reading.gust, units)
    _balloons(paper, [(letter, state) for letter, state in known if state.limit <= fastest])
    said = "; ".join(
        f"{state_name(one.state)} {gust_text(one.limit, units)}" for one in reading.states if one.state in SHUT
    )
    text = _("Share of the weakest part's strength that a gust takes. The whole is taken at: %(limits)s.") % {
        "limits": said
    }
    return paper.finish(_("Utilisation against gust"), text, height=TOP + HEIGHT + BOTTOM, to_scale=False)


def _y(share: float) -> float:
    return TOP + HEIGHT * (1 - share / HIGHEST)


def _grid(paper: Paper, fastest: float, units: str) -> None:
    left, right = paper.x(0), paper.x(fastest)
    for share in LABELLED:
        paper.stroke(((left, _y(share)), (right, _y(share))), "limit" if share == 1.0 else "dimension")
        paper.letter(left - 1.5, _y(share) + 1.6, f"{share * 100:.0f} %", "figure", anchor="end")
    step = STEPS[US if units == US else "metric"]
    end, unit = measure_in("speed", fastest, units)
    every = max(1, math.ceil(end / step / 8))
    for index in range(round(end / step) + 1):
        gust = measure_from("speed", step * index, units)
        x = paper.x(gust)
        labelled = index % every == 0
        paper.stroke(((x, _y(0)), (x, _y(0) + (2.0 if labelled else 1.0))), "dimension")
        if labelled:
            paper.letter(x, _y(0) + 7, f"{step * index:.0f}", "figure")
    paper.stroke(((left, TOP), (left, _y(0))), "dimension")
    paper.letter((left + right) / 2, _y(0) + 13, _("gust at the door, %(unit)s") % {"unit": unit}, "word")


def _curve(paper: Paper, state: StateResult, letter: str, fastest: float) -> None:
    end = min(fastest, state.limit * math.sqrt(HIGHEST))
    gusts = [end * index / (POINTS - 1) for index in range(POINTS)]
    paper.stroke([(paper.x(gust), _y(state.utilisation(gust))) for gust in gusts], f"curve curve-{letter}")
    if state.limit > fastest:  # its limit lies off the field: the letter stands at the curve's end
        _balloon(paper, paper.x(end) - BALLOON - 1, _y(state.utilisation(end)) - BALLOON - 1.5, letter)


def _gust(paper: Paper, gust: float, units: str) -> None:
    x = paper.x(gust)
    paper.stroke(((x, _y(0)), (x, TOP - 1)), "gust-line")
    paper.letter(x, _y(0) - 2, format_gust(gust, units), "figure", anchor="start", turned=True)


def _balloons(paper: Paper, states: list[tuple[str, StateResult]]) -> None:
    """Mark where each state's whole strength is taken, its letter above the field."""
    ordered = sorted(states, key=lambda pair: pair[1].limit)
    at = [paper.x(state.limit) for _letter, state in ordered]
    lowest, highest = LEFT + BALLOON, WIDTH - RIGHT - BALLOON
    moved = [min(max(x, lowest), highest) for x in spread(at, 2 * BALLOON + 1)]
    for (letter, _state), x, place in zip(ordered, at, moved, strict=True):
        y = TOP - 7
        paper.stroke(((x, _y(1.0)), (x, TOP - 1), (place, y + BALLOON)), "dimension")
        size = 1.5
        paper.stroke(
            ((x, _y(1.0) - size), (x + size, _y(1.0)), (x, _y(1.0) + size), (x - size, _y(1.0))), "solid", closed=True
        )
        _balloon(paper, place, y, letter)


def _balloon(paper: Paper, x: float, y: float, letter: str) -> None:
    paper.paths.append(Stroke(circle(x, y, BALLOON), "balloon"))
    paper.letter(x, y, letter, "code central")
