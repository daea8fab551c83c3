"""How deep posts would stand by the code, and how the film slackens and tightens with the weather."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from django.utils.translation import gettext_lazy as _

from doors.calculation.frame import Frame
from doors.calculation.maths import Group, Line, Quantity
from doors.mechanics.film import FILM_EXPANSION, FILM_MODULUS, held_tension, slack_after
from doors.mechanics.post import BEARING, ISOLATED_POLE, needed_depth
from doors.mechanics.pressure import gust_pressure
from doors.mechanics.wind import ROLL_DRAG
from doors.sizing import Tube
from doors.wind.cranking import CrankReading
from doors.words.strengths import PRACTICE

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text

if TYPE_CHECKING:
    pass

FREEZING: Final = 273.15  # K
HUNG_AT, WARM, COLD = 15.0, 45.0, -15.0  # °C, of the film: when hung, in summer sun, on a winter night; common practice
FREE: Final = _("IBC 2021, 1807.3.2.1, post free at grade; pressure doubled by 1806.3.4")
HELD: Final = _("IBC 2021, 1807.3.2.2, post held at grade by a rigid floor; pressure doubled by 1806.3.4")


def embedment_group(frame: Frame, crank: CrankReading) -> Group:
    """Return the depth the code asks of the anti-billow tubes and of the guide post at the gust looked at."""
    door = frame.reading.door
    name = _("Depth in the ground by the code")
    if door.soil is None:
        return Group("depths", name, [], _("The farm's soil is needed."))
    lateral = BEARING[door.soil].lateral
    rows = [*_tube_rows(frame, lateral), *_guide_rows(frame, crank, lateral)]
    return Group(
        "depths", name, rows,
        _("Allowable pressures of the code, which carry its safety; the limits above ask what uproots the foot."),
    )  # fmt: skip


def _tube_rows(frame: Frame, lateral: float) -> list[Line]:
    foot = frame.reading.secured.find("tube_in_soil")
    tube = frame.reading.door.opening.design.anti_billow_tube
    if foot is None or tube is None or not math.isfinite(foot.utilisation):
        return []
    push = foot.utilisation * float(foot.link.capacity)
    return [_depth("embedment-tube", _("anti-billow tube, rod at its top"), "d_{a}", push, 0.0, tube, lateral)]


def _guide_rows(frame: Frame, crank: CrankReading, lateral: float) -> list[Line]:
    """Return the guide post's depths: it keeps the bar's free end from swinging, and takes half of that end's drag."""
    reading = frame.reading
    door, post = reading.door, reading.door.opening.design.post_tube
    bar, opening = door.opening.design.turning_tube, door.opening
    if post is None or bar is None or crank.overhang is None or opening.threshold is None:
        return []
    height = opening.threshold + (opening.rough_height / 2 if door.is_mid_bar else bar.diameter / 2)
    q = float(gust_pressure(reading.gust))
    drag = ROLL_DRAG * q * bar.diameter * crank.overhang / 2
    given = (
        Quantity("c_{d}", ROLL_DRAG), Quantity("q", q, "pressure"), Quantity("D_{b}", bar.diameter, "small_length"),
        Quantity("ℓ", crank.overhang, "span"),
    )  # fmt: skip
    return [
        Line("guide-load", _("wind on half of the bar's length beyond its last clamp, on the guide post"),
             Quantity("P_{g}", drag, "force"), "P_{g} = c_{d} q D_{b} ℓ/2", given,
             _("the other half hangs on the clamps; common practice, no source")),
        _depth("embedment-guide", _("guide post, free at grade"), "d_{g}", drag, height, post, lateral),
        _depth("embedment-guide-held", _("guide post, held at grade by concrete"), "d_{gc}", drag, height, post,
               lateral, is_held=True),
    ]  # fmt: skip


def _depth(
    key: str,
    name: Text,
    symbol: str,
    load: float,
    height: float,
    post: Tube,
    lateral: float,
    *,
    is_held: bool = False,
) -> Line:
    depth = float(needed_depth(load, height, post.diameter, lateral, constrained=is_held, factor=ISOLATED_POLE))
    formula = (
        f"{symbol} = √(4.25 P h/(S_{{3}} D)),  S_{{3}} = 2 s_{{1}} {symbol}"
        if is_held
        else f"{symbol} = A/2 (1 + √(1 + 4.36 h/A)),  A = 2.34 P/(S_{{1}} D),  S_{{1}} = 2 s_{{1}} {symbol}/3"
    )
    given = (
        Quantity("P", load, "force"), Quantity("h", height, "span"), Quantity("D", post.diameter, "small_length"),
        Quantity("s_{1}", lateral, "soil_growth"),
    )  # fmt: skip
    return Line(key, name, Quantity(symbol, depth, "span"), formula, given, HELD if is_held else FREE)


def weather_group(frame: Frame) -> Group:
    """Return how loose film hung in mild weather hangs in the heat, and how tight it pulls in frost."""
    film = frame.reading.door.opening.design.film
    name = _("Film through the year")
    if film is None:
        return Group("weather", name, [], _("The film is not chosen."))
    at = HUNG_AT + FREEZING
    loose, tight = (float(slack_after(other + FREEZING, at)) for other in (WARM, COLD))
    pull = float(held_tension(tight, film.thickness))
    alpha = Quantity("α", FILM_EXPANSION)
    return Group("weather", name, [
        Line("weather-slack", _("slack of film hung at 15 °C once it is 45 °C warm, of its length"),
             Quantity("k_{w}", loose),
             "k_{w} = α · 30 K", (alpha,), _("linear expansion of polyethylene, from memory; frame left out")),
        Line("weather-height", _("the same over one panel"), Quantity("Δh", loose * frame.strip, "small_length"),
             "Δh = k_{w} h_{f}", (Quantity("h_{f}", frame.strip, "span"),)),
        Line("weather-pull", _("pull of the same film at −15 °C, held at both edges"),
             Quantity("T_{c}", pull, "line_load"),
             "T_{c} = E_{f} t_{f} [1/(1 − α · 30 K) − 1]",
             (Quantity("E_{f}", FILM_MODULUS, "stress"), Quantity("t_{f}", film.thickness, "small_length"), alpha),
             PRACTICE),
    ], _("Pull loosens screws in winter, slack lets film flog in summer: tighten in both."))  # fmt: skip
