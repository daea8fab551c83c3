"""The whole reading of one door in the wind: every link in every closing state, and what would raise the limit."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from doors.mechanics.post import Soil
from doors.mechanics.strength import Hanging, Stand, Strengths, built_of, coefficients, limit_gust, stands
from doors.mechanics.wind import Link, State, links
from doors.mechanics.wind_data import Enclosure
from doors.sizing.figures import Given, work_out
from doors.sizing.frame import frame_of
from doors.sizing.opening import Design, DoorKind, Opening, Tube
from doors.sizing.quantity import FOOT, INCH, Length, number
from doors.sizing.rules import Rules
from doors.sizing.size import given_of

WORTHWHILE = 1.03  # -; advice that raises the limit by less is not given
MOST_INNER = 4  # -; inner supports tried
HOLD_DOWN_SPACINGS = (4 * FOOT, 3 * FOOT)  # m; common practice, no source
DEEPER = (36 * INCH, 48 * INCH)  # m


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What the wind reading needs beside the opening and its design."""

    stud_depth: Length | None = None
    soil: Soil | None = None
    hold_down_spacing: Length | None = None
    film_left: float = 1.0
    enclosure: Enclosure = Enclosure.ENCLOSED


@dataclass(frozen=True, slots=True, kw_only=True)
class StateReading:
    """One closing state: its links and the gusts at the door that use up the weakest. [m/s]"""

    state: State
    links: tuple[Link, ...]
    stand: Stand
    inward_gust: float
    outward_gust: float
    flap_gust: float

    @property
    def limit(self) -> float:
        """Gust at which the first link gives, whichever way. [m/s]"""
        return min(self.inward_gust, self.outward_gust)

    @property
    def governing(self) -> Link:
        """The link that gives first."""
        index = self.stand.inward_link if self.inward_gust <= self.outward_gust else self.stand.outward_link
        return self.links[int(index)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """A change that raises the limit of the most secured state, found by reading the changed door again."""

    change: str
    count: int
    size: Length | None
    name: str
    before: float  # m/s
    after: float  # m/s
    tube_length: Length
    rods: int


def read_wind(opening: Opening, site: Site, strengths: Strengths, rules: Rules) -> tuple[StateReading, ...]:
    """Return what a film door stands in each closing state, wind from its worst direction.

    Parameters
    ----------
    opening : Opening
        A film roll-up door. [m]
    site : Site
        Soil, hold-downs, film's strength left. [SI]
    strengths : Strengths
        The farm's planning values. [SI]
    rules : Rules
        The farm's sizing rules.

    Returns
    -------
    tuple of StateReading
        One for each state, least secured first; gusts are NaN where a part of the load path is not known.

    Raises
    ------
    SizingError
        For sizes no door can have.
    """
    given = given_of(opening, frame_of(opening.wall))
    return _read(opening, given, site, strengths, rules)


def advise(
    opening: Opening, site: Site, strengths: Strengths, rules: Rules, *, stock: tuple[Tube, ...] = ()
) -> tuple[Advice, ...]:
    """Return changes that raise the limit gust of the door when shut and held, best first.

    Parameters
    ----------
    opening, site, strengths, rules
        As `read_wind`.
    stock : tuple of Tube
        Tubes the farm has or buys, tried in place of those chosen. [m]

    Returns
    -------
    tuple of Advice
        Each by itself; empty where the limit is not known.
    """
    before = _shut(opening, site, strengths, rules)
    if not np.isfinite(before):
        return ()
    found = []
    for change, trial, try_site, try_rules, tube, rods in _trials(opening, site, rules, stock):
        after = _shut(trial, try_site, strengths, try_rules)
        if after > before * WORTHWHILE:
            found.append(dataclasses.replace(change, before=before, after=after, tube_length=tube, rods=rods))
    return tuple(sorted(found, key=lambda advice: (-advice.after, advice.tube_length, advice.count)))


def _shut(opening: Opening, site: Site, strengths: Strengths, rules: Rules) -> float:
    """Return the limit gust of the most secured state the door can be brought into. [m/s]"""
    readings = read_wind(opening, site, strengths, rules)
    last = State.TIED if site.hold_down_spacing is not None else State.WIRED
    return next(reading.limit for reading in readings if reading.state == last)


def _read(opening: Opening, given: Given, site: Site, strengths: Strengths, rules: Rules) -> tuple[StateReading, ...]:
    mid = opening.kind == DoorKind.MID_BAR
    figures = work_out(given, rules, winds_at_mid_height=mid)
    built = built_of(given, figures, _hanging(opening, site), strengths, rules, winds_at_mid_height=mid)
    worst = coefficients(opening.rough_width * opening.rough_height, np.nan, site.enclosure)
    readings = []
    for state in State:
        if state == State.TIED and site.hold_down_spacing is None:
            continue
        parts = links(built, state, winds_at_mid_height=mid)
        stand = stands(parts)
        readings.append(
            StateReading(
                state=state,
                links=parts,
                stand=stand,
                inward_gust=float(limit_gust(stand.inward, worst.inward)),
                outward_gust=float(limit_gust(stand.outward, worst.outward)),
                flap_gust=float(limit_gust(stand.flaps, np.maximum(worst.inward, worst.outward))),
            )
        )
    return tuple(readings)


def _hanging(opening: Opening, site: Site) -> Hanging:
    design = opening.design
    return Hanging(
        turning_wall=number(design.turning_tube.wall if design.turning_tube else None),
        sill_wall=number(design.sill_tube.wall if design.sill_tube else None),
        billow_wall=number(design.anti_billow_tube.wall if design.anti_billow_tube else None),
        rod_diameter=number(design.rod.diameter if design.rod else None),
        stud_depth=number(site.stud_depth),
        soil=site.soil,
        hold_down_spacing=number(site.hold_down_spacing),
        film_left=number(site.film_left),
    )


Trial = tuple[Advice, Opening, Site, Rules, float, int]


def _trials(opening: Opening, site: Site, rules: Rules, stock: tuple[Tube, ...]) -> Iterator[Trial]:
    """Yield the changed doors worth reading, with the tube and rods each takes."""
    yield from _more_supports(opening, site, rules)
    yield from _other_tubes(opening, site, rules, stock)
    for spacing in HOLD_DOWN_SPACINGS:
        if site.hold_down_spacing is None or spacing < site.hold_down_spacing:
            count = int(np.ceil(opening.rough_width / spacing)) + 1
            held = dataclasses.replace(site, hold_down_spacing=spacing)
            yield _advice("hold_downs", count=count, size=spacing), opening, held, rules, 0.0, 0
    for depth in DEEPER:
        if depth > rules.post_embedment:
            deeper = dataclasses.replace(rules, post_embedment=depth)
            tubes = _inner(opening, rules) + 2
            extra = tubes * (depth - rules.post_embedment)
            yield _advice("deeper_tubes", count=tubes, size=depth), opening, site, deeper, extra, 0


def _more_supports(opening: Opening, site: Site, rules: Rules) -> Iterator[Trial]:
    have = _inner(opening, rules)
    length = (opening.threshold or 0.0) + opening.rough_height + (opening.header_depth or 0.0) / 2
    each = rules.post_embedment + length + rules.tube_hole_from_top
    for inner in range(have + 1, MOST_INNER + 1):
        closer = dataclasses.replace(rules, wide_from=0.0, support_spacing=opening.rough_width / (inner + 1))
        added = inner - have
        yield _advice("inner_supports", count=added), opening, site, closer, added * each, added


def _other_tubes(opening: Opening, site: Site, rules: Rules, stock: tuple[Tube, ...]) -> Iterator[Trial]:
    design = opening.design
    for part in ("turning_tube", "sill_tube", "anti_billow_tube"):
        now: Tube | None = getattr(design, part)
        if now is None:
            continue
        for tube in stock:
            if tube.diameter > now.diameter:
                changed = dataclasses.replace(opening, design=_with_tube(design, part, tube))
                yield _advice(f"larger_{part}", name=tube.name, size=tube.diameter), changed, site, rules, 0.0, 0


def _with_tube(design: Design, part: str, tube: Tube) -> Design:
    swapped: dict[str, Any] = {part: tube}
    return dataclasses.replace(design, **swapped)


def _inner(opening: Opening, rules: Rules) -> int:
    if opening.rough_width < rules.wide_from:
        return 0
    return int(np.ceil(opening.rough_width / rules.support_spacing - 1e-9)) - 1


def _advice(change: str, *, count: int = 1, size: float | None = None, name: str = "") -> Advice:
    return Advice(change=change, count=count, size=size, name=name, before=0.0, after=0.0, tube_length=0.0, rods=0)
