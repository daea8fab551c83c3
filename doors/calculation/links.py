"""The links of each closing state on the calculation sheet: effect of 1 Pa, capacity, and what uses it up."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from django.utils.translation import gettext_lazy as _

from doors.calculation.frame import Frame
from doors.calculation.maths import Group, Line, Measure, Quantity
from doors.mechanics.built import Direction
from doors.wind.reading import LinkReading, StateResult, coefficient_of
from doors.words.wind import LINK_NOTES, link_name, state_name
from doors.words.wording import capitalised

POSTS: Final = "T_{t} = (U z_{m} + W z_{s})/H,  E = max[T_{t} (H − z_{m}), (U + W − T_{t}) z_{s}]"
ON_STUD: Final = "inner stud: U = r ℓ_{i} 2 e, W = r ℓ_{i} e, H = H_{o};  jamb: r_{e} for r, H = H_{j}, and f along h"
ON_TUBE: Final = "U = x 2 e, W = x e (0 where hold-downs take it)"
PUSHED: Final = "E = r_{f} z_{s} + r_{f}^2/(2 f),  r_{f} = f h (H − z_{m})/H"
HEADER: Final = "E = M_{o}/M_{Rh} + M_{d}/M_{Rh↓},  M_{o} = e b^2/8 + posts T_{t},  M_{d} = u b^2/8"
BEAM: Final = _("beam over equal spans, factor of the worst moment or reaction by the stiffness method")


@dataclass(frozen=True, slots=True)
class Formula:
    """How a link's effect follows: its kind of effect, the formula, and the symbols of its terms."""

    kind: str  # moment, force, line or share
    text: str
    symbols: Mapping[str, tuple[str, Measure]]
    part: str  # the line of the capacity, and its symbol
    capacity: str
    source: object = ""


def _bent(load: str, span: str, part: str, capacity: str) -> Formula:
    symbols: dict[str, tuple[str, Measure]] = {
        "coefficient": ("k", "number"), "film": (load, "line_rate"), "span": (span, "span"),
        "lift": ("u", "line_rate"), "spacing": ("a_{h}", "span"),
    }  # fmt: skip
    return Formula(
        "moment",
        f"E = k {load} {span}^2,  {load} = 2 e at mid height, e at the lower edge",
        symbols,
        part,
        capacity,
        BEAM,
    )


_ON_POST: Final[Mapping[str, tuple[str, Measure]]] = {
    "upper": ("U", "force_rate"), "lower": ("W", "force_rate"), "top": ("T_{t}", "force_rate"),
    "side": ("f", "line_rate"), "height": ("H", "span"),
}  # fmt: skip
_HEADER: Final[Mapping[str, tuple[str, Measure]]] = {
    "film": ("e", "line_rate"), "span": ("b", "span"), "rod": ("T_{t}", "force_rate"),
    "outward": ("M_{o}", "moment_rate"), "down": ("M_{d}", "moment_rate"),
    "outward_capacity": ("M_{Rh}", "moment"), "down_capacity": ("M_{Rh↓}", "moment"),
}  # fmt: skip
_SIDES: Final[Mapping[str, tuple[str, Measure]]] = {
    "side": ("f", "line_rate"), "pull": ("g", "line_rate"), "height": ("h", "span"),
    "spacing": ("a_{s}", "small_length"),
}  # fmt: skip
_SCREWS: Final[Mapping[str, tuple[str, Measure]]] = {
    "film": ("e", "line_rate"), "pull": ("P", "line_rate"), "spacing": ("a_{s}", "small_length"),
}  # fmt: skip
_HELD: Final[Mapping[str, tuple[str, Measure]]] = {
    "coefficient": ("r", "number"), "lift": ("u", "line_rate"), "pull": ("P", "line_rate"),
    "spacing": ("a_{h}", "span"), "width": ("b", "span"),
}  # fmt: skip
_HALF: Final[Mapping[str, tuple[str, Measure]]] = {
    "film": ("y", "line_rate"), "span": ("b", "span"),
}  # fmt: skip
FORMULAS: Final[Mapping[str, Formula]] = {
    "bar_in_drag": Formula("moment", "E = c_{d} D_{o} b^2/8",
        {"drag": ("c_{d}", "number"), "film": ("D_{o}", "small_length"), "span": ("b", "span")},
        "part-turning", "M_{Rb}", _("drag of a long cylinder, EN 1991-1-4, 7.9, subcritical, from memory")),
    "bar_swings": Formula("force", "E = b y/tan 30°,  y = h/4", _HALF, "part-lower", "G_{l}",
        _("a free bar that swings further flails; our own planning limit")),
    "bar_struck": Formula("moment", "E = 2 y b^2/8,  y = h/4", _HALF, "part-turning", "M_{Rb}",
        _("load let go at once: twice the steady one, by energy")),
    "bar_inward": _bent("w", "ℓ_{i}", "part-turning", "M_{Rb}"),
    "sill_bar_inward": _bent("w", "ℓ_{i}", "part-sill", "M_{Rs}"),
    "bar_outward": _bent("w", "ℓ_{o}", "part-turning", "M_{Rb}"),
    "sill_bar_outward": _bent("w", "ℓ_{o}", "part-sill", "M_{Rs}"),
    "stud_inward": Formula("moment", f"{POSTS};  {ON_STUD}", _ON_POST, "part-stud", "M_{Rp}",
        _("post held at grade and at its top; the worse of inner stud and jamb")),
    "header_inward": Formula("share", HEADER, _HEADER, "part-header", "1", _("both bendings add at one corner")),
    "header_outward": Formula("share", HEADER, _HEADER, "part-header", "1", _("both bendings add at one corner")),
    "billow_tube": Formula("moment", f"{POSTS};  {ON_TUBE}", _ON_POST, "part-billow", "M_{Ra}",
        _("tube held by rod and ground")),
    "tie_rod": Formula("force", "E = T_{t} = (U z_{m} + W z_{s})/H_{o}", _ON_POST, "part-rod", "T_{R}", _("balance")),
    "tube_in_soil": Formula("force", "E = U + W − T_{t}", _ON_POST, "part-soil", "H_{R}", _("balance")),
    "tube_leans": Formula("force", "E = U + W − T_{t}", _ON_POST, "part-leans", "H_{l}", _("balance")),
    "hold_down_sideways": Formula("force", "E = r P a_{h}", _HELD, "part-hold_down", "F_{h}", BEAM),
    "film": Formula("line", "E = T", {"radius": ("T", "line_rate"), "share": ("κ", "number")}, "part-film", "T_{Rf}"),
    "header_screws": Formula("force", "E = e a_{s}", _SCREWS, "part-wood_screw", "W_{R}"),
    "bar_clamps": Formula("force", "E = P a_{c}",
        {"pull": ("P", "line_rate"), "spacing": ("a_{c}", "small_length")}, "part-clamp", "C_{R}"),
    "sill_screws": Formula("force", "E = P a_{s}", _SCREWS, "part-tube_screw", "Q_{R}"),
    "jamb_screws": Formula("force", "E = f a_{s}", _SIDES, "part-wood_screw", "W_{R}"),
    "jamb_outward": Formula("moment", PUSHED, _SIDES, "part-stud", "M_{Rp}", _("even load over the opening's height")),
    "jamb_at_header": Formula("moment", "E = V_{h} H_{o} (H − H_{o})/H,  V_{h} = e b/2 + n T_{t}/2 + T_{t}",
        {"film": ("e", "line_rate"), "rod": ("T_{t}", "force_rate"), "force": ("V_{h}", "force_rate"),
         "hole": ("H_{o}", "span"), "height": ("H", "span")}, "part-stud", "M_{Rp}",
        _("post held at grade and at its top, pulled where the header and its end rod stand on it")),
    "jamb_pulled_in": Formula("moment", PUSHED.replace("f", "g").replace("r_{g}", "r_{f}"), _SIDES,
        "part-stud_sideways", "M_{Rp∥}", _("even load over the opening's height; H at the header")),
    "lower_bar_lifts": Formula("force", "E = u b", _HELD, "part-lower", "G_{l}"),
    "lower_bar_bows": Formula("moment", "E = u b^2/8", _HELD, "part-sill", "M_{Rs}", _("bar held at the jambs only")),
    "lower_bar_bends_up": Formula("moment", "E = k u a_{h}^2", {**_HELD, "coefficient": ("k", "number")}, "part-sill",
        "M_{Rs}", BEAM),
    "hold_down_up": Formula("force", "E = r u a_{h}", _HELD, "part-hold_down", "F_{h}", BEAM),
}  # fmt: skip
LEFT_OUT: Final[Mapping[str, tuple[str, ...]]] = {"tie_rod": ("top",), "bar_struck": ("sudden",)}  # said already
TIED_BAR: Final = "E = √[(w min(k a_{h}^2, k_{o} ℓ_{o}^2))^2 + (k u a_{h}^2)^2]"
EFFECTS: Final[Mapping[str, tuple[Measure, Measure]]] = {  # of an effect per pascal, and of a capacity
    "moment": ("moment_rate", "moment"), "force": ("force_rate", "force"), "line": ("line_rate", "line_load"),
    "share": ("share_rate", "number"),
}  # fmt: skip


def state_group(frame: Frame, state: StateResult) -> Group:
    """Return a closing state's links, weakest first, each with what uses it up."""
    lines = [_line(frame, state, one) for one in state.links]
    return Group(
        f"state-{state.state}",
        state_name(state.state),
        lines,
        _("E is what a net pressure of 1 Pa does to the link, R what it can take."),
        ("p_{R} = R/E", "V_{R} = √(p_{R}/(0.613 c))", "η = c q/p_{R}"),
    )


def _line(frame: Frame, state: StateResult, one: LinkReading) -> Line:
    link, known = one.link, FORMULAS.get(one.link.name)
    kind = known.kind if known else "share"
    rate, capacity = EFFECTS[kind]
    text, symbols = (known.text, known.symbols) if known else ("", {})
    if known and "lift" in link.terms and link.direction == Direction.OUTWARD and known.kind == "moment":
        text = TIED_BAR
    inputs = [
        Quantity(*_named(symbols, term, float(np.asarray(value)))) for term, value in link.terms.items()
        if term not in LEFT_OUT.get(link.name, ())
    ]  # fmt: skip
    part = known.capacity if known else ""
    if part == "M_{Rs}" and not frame.reading.door.is_mid_bar:
        part = "M_{Rb}"  # the turning bar is the lower bar
    coefficient = coefficient_of(link, frame.reading.coefficients)
    which = {Direction.INWARD: "c_{i}", Direction.OUTWARD: "c_{o}"}.get(link.direction, "c = max(c_{i}, c_{o})")
    more = (
        Quantity(f"R = {part}" if part not in ("", "1") else "R", float(link.capacity), capacity),
        Quantity("p_{R}", float(link.pressure), "pressure"),
        Quantity(which, coefficient),
        Quantity("V_{R}", one.gust, "speed"),
        Quantity("η", one.utilisation),
    )
    return Line(
        key=f"{state.state}-{link.name}",
        name=capitalised(link_name(link.name)),
        note=str(LINK_NOTES.get(link.name, "")),
        result=Quantity("E", float(link.effect), rate),
        formula=text,
        inputs=tuple(one for one in inputs if not math.isnan(one.value)),
        source=str(known.source) if known else "",
        more=more,
        is_first=state.gives_first(one),
    )


def _named(symbols: Mapping[str, tuple[str, Measure]], term: str, value: float) -> tuple[str, float, Measure]:
    symbol, kind = symbols.get(term, (term, "number"))
    return symbol, value, kind
