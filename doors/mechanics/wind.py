"""Where the wind's push goes on a hung film door, and the pressure at which each part has given all it has.

The load runs from the film to the bars and the header, and from there, pressed inward, to the jamb studs, or,
sucked outward, to the anti-billow tubes, their tie rods and the soil. Every link takes a share in proportion to the
pressure, so one pressure per link says all; the weakest link and the gust follow from it. Planning estimates that
rank doors and order work: no substitute for a structural design.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from doors.mechanics.membrane import arc
from doors.mechanics.spans import uniform
from doors.sizing.quantity import Floats


class State(StrEnum):
    """How far a door is secured, least first."""

    OPEN = "open"
    PART_OPEN = "part_open"
    CLOSED = "closed"
    WIRED = "wired"
    TIED = "tied"


class Direction(StrEnum):
    """Which way the wind loads a link."""

    INWARD = "inward"
    OUTWARD = "outward"
    BOTH = "both"


ROLL_DRAG = 1.2  # -; long circular cylinder across the wind, EN 1991-1-4:2005, 7.9, subcritical (from memory)
SUDDEN = 2.0  # -; a load let go at once does twice the work of one laid on slowly (energy balance)
SWING = np.tan(np.radians(30.0))  # -; a free bar that swings further flails; our own planning limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """One hung door, or many as arrays of one shape; NaN where unknown. Capacities are at yield or rupture."""

    width: Floats  # m
    height: Floats  # m
    threshold: Floats  # m above grade
    stud_face: Floats  # m
    stud_height: Floats  # m, grade to the frame or header that holds its top
    inner: Floats  # studs, and as many anti-billow tubes, between the jambs
    billow_spacing: Floats  # m
    hole_height: Floats  # m above grade
    bar_moment: Floats  # N m
    sill_moment: Floats  # N m
    billow_moment: Floats  # N m
    stud_moment: Floats  # N m, bent through the wall
    stud_moment_sideways: Floats  # N m, bent along the wall
    header_moment: Floats  # N m, bent through the wall
    header_moment_down: Floats  # N m, bent downward
    rod_pull: Floats  # N, rod or washer in the header
    soil_leans: Floats  # N at grade on one anti-billow tube that makes it lean
    soil_push: Floats  # N at grade that uproots it
    film_pull: Floats  # N/m that the film carries
    belly: Floats  # -, belly over span
    screw_spacing: Floats  # m, channel screws
    wood_screw: Floats  # N pulled out of header or jamb
    tube_screw: Floats  # N, channel screw in the sill bar
    clamp_spacing: Floats  # m
    clamp: Floats  # N one clamp with its screw holds
    lower_weight: Floats  # N, what hangs free at the film's lower edge
    roll_diameter: Floats  # m
    hold_down_spacing: Floats  # m; NaN where there are none
    hold_down: Floats  # N one hold-down takes


@dataclass(frozen=True, slots=True)
class Link:
    """One part of the load path: what it can take, and what a net pressure of 1 Pa asks of it.

    Attributes
    ----------
    name : str
        Key of the link.
    direction : Direction
        Which way the wind loads it.
    capacity, effect : ndarray
        Capacity [N m, N, N/m or -], and effect in the same unit per pascal.
    terms : mapping of str to ndarray
        What the effect was worked out from, for the calculation sheet. [SI]
    breaks : bool
        False where the door only begins to flap.
    """

    name: str
    direction: Direction
    capacity: Floats
    effect: Floats
    terms: Mapping[str, Floats]
    breaks: bool = True

    @property
    def pressure(self) -> Floats:
        """Net pressure that uses the link up; infinite where no pressure loads it. [Pa]"""
        with np.errstate(divide="ignore"):
            limit = np.divide(self.capacity, self.effect)
        return np.asarray(np.where(self.effect > 0, limit, np.where(np.isnan(self.effect), np.nan, np.inf)))


def links(built: Built, state: State, *, winds_at_mid_height: bool) -> tuple[Link, ...]:
    """Return the links of a door in one closing state.

    Parameters
    ----------
    built : Built
        The door or doors. [SI]
    state : State
        How far it is secured.
    winds_at_mid_height : bool
        True for the mid-height bar, False for the bottom bar.

    Returns
    -------
    tuple of Link
        Pressures have the inputs' shape; NaN where an input is unknown. [Pa]
    """
    if state == State.OPEN:
        return (_rolled_up(built),)
    if state == State.PART_OPEN:
        return _part_open(built)
    return _closed(built, state, mid=winds_at_mid_height)


def film_pull_per_pressure(span: Floats, belly: Floats) -> Floats:
    """Return a strip's membrane pull over the pressure: the radius of its belly, an arc. [m]"""
    return arc(span, belly * span).radius


def share_down(height_span: Floats, width: Floats) -> Floats:
    r"""Return the share of the pressure that a film held on all four edges carries up and down. [-]

    Notes
    -----
    Crossing strips with one belly and one stiffness: the strain of each goes with :math:`(s/L)^2` and its
    share with pull over span squared, so shares stand as :math:`L^{-4}` (Grashof and Rankine, as for slabs).
    """
    return np.asarray(width**4 / (width**4 + height_span**4))


def governing(parts: tuple[Link, ...], direction: Direction, *, breaking: bool) -> tuple[Floats, Floats]:
    """Return the least pressure of a direction and which link gives first.

    Parameters
    ----------
    parts : tuple of Link
        From `links`.
    direction : Direction
        Inward or outward; links loaded both ways always count.
    breaking : bool
        True for links that break, False for those that flap.

    Returns
    -------
    tuple of ndarray
        Pressure [Pa], infinite where no link counts, and index into ``parts``, -1 where none does. A link of
        unknown capacity makes the answer NaN: a door cannot be called sound on what nobody measured.
    """
    chosen = [
        index for index, part in enumerate(parts) if part.breaks == breaking and part.direction in (direction, "both")
    ]
    if not chosen:
        shape = np.shape(parts[0].pressure)
        return np.full(shape, np.inf), np.full(shape, -1.0)
    pressures = np.stack(np.broadcast_arrays(*(parts[index].pressure for index in chosen)))
    least = np.argmin(np.where(np.isnan(pressures), -np.inf, pressures), axis=0)
    value = np.take_along_axis(pressures, least[None], axis=0)[0]
    return np.asarray(value), np.asarray(chosen, dtype=np.float64)[least]


def _rolled_up(built: Built) -> Link:
    terms = {"drag": np.asarray(ROLL_DRAG), "film": built.roll_diameter, "span": built.width}
    effect = ROLL_DRAG * built.roll_diameter * built.width**2 / 8
    return Link("bar_in_drag", Direction.BOTH, built.bar_moment, effect, terms)


def _part_open(built: Built) -> tuple[Link, ...]:
    """The film hangs half way, free at its lower edge, and the bar is struck by gusts it cannot lean on."""
    film = built.height / 4
    terms = {"film": film, "span": built.width}
    swing = built.width * film / SWING
    struck = SUDDEN * film * built.width**2 / 8
    return (
        Link("bar_swings", Direction.BOTH, built.lower_weight, swing, terms, breaks=False),
        Link("bar_struck", Direction.BOTH, built.bar_moment, struck, {**terms, "sudden": np.asarray(SUDDEN)}),
    )


def _closed(built: Built, state: State, *, mid: bool) -> tuple[Link, ...]:
    strip = built.height / 2 if mid else built.height
    down = share_down(strip, built.width) if state != State.CLOSED else np.ones_like(built.width)
    edge = down * strip / 2  # height of film that leans on the header or on the lower bar
    bar = down * strip if mid else edge  # height of film that leans on the turning bar
    radius = film_pull_per_pressure(strip, built.belly)
    pull = radius * down
    return (
        *_inward(built, bar, edge, mid=mid),
        *_outward(built, state, bar, edge, mid=mid),
        Link("film", Direction.BOTH, built.film_pull, pull, {"radius": radius, "share": down}),
        *_held_edges(built, pull, edge, mid=mid),
        *(_side_wires(built, down) if state != State.CLOSED else ()),
        *_lower_edge(built, state, pull),
    )


def _inward(built: Built, bar: Floats, edge: Floats, *, mid: bool) -> list[Link]:
    """Film presses the bars against the jamb studs and the inner studs."""
    span = (built.width + built.stud_face) / (built.inner + 1)
    moment, _, largest = uniform(built.inner + 1)
    parts = [_bent_bar("bar_inward", Direction.INWARD, built.bar_moment, moment, bar, span)]
    if mid:
        parts.append(_bent_bar("sill_bar_inward", Direction.INWARD, built.sill_moment, moment, edge, span))
    at = built.threshold + (built.height / 2 if mid else 0.0)
    force = largest * bar * span  # on the stud that carries most, per pressure
    parts.append(_post("stud_inward", Direction.INWARD, built.stud_moment, force, at, built.stud_height))
    return parts


def _outward(built: Built, state: State, bar: Floats, edge: Floats, *, mid: bool) -> list[Link]:
    """Film pulls the bars against the anti-billow tubes, which lean on rods above and on the soil below."""
    span = built.billow_spacing
    moment, _, largest = uniform(built.inner + 1)
    lower_held = state == State.TIED
    parts = [_bent_bar("bar_outward", Direction.OUTWARD, built.bar_moment, moment, bar, span)]
    if mid:
        lower = np.fmin(span, built.hold_down_spacing) if lower_held else span
        parts.append(_bent_bar("sill_bar_outward", Direction.OUTWARD, built.sill_moment, moment, edge, lower))
    at = built.threshold + (built.height / 2 if mid else 0.0)
    force = largest * bar * span
    top = force * at / built.hole_height
    lower_force = largest * edge * span if mid and not lower_held else np.zeros_like(force)
    foot = force - top + lower_force
    feet = {"force": force, "top": top, "lower": lower_force}
    parts += [
        _post("billow_tube", Direction.OUTWARD, built.billow_moment, force, at, built.hole_height),
        Link("tie_rod", Direction.OUTWARD, built.rod_pull, top,
             {"force": force, "at": at, "height": built.hole_height}),
        Link("tube_in_soil", Direction.OUTWARD, built.soil_push, foot, feet),
        Link("tube_leans", Direction.OUTWARD, built.soil_leans, foot, feet, breaks=False),
        _header(built, edge, top),
    ]  # fmt: skip
    if lower_held:
        leans = edge if mid else bar
        parts.append(
            Link("hold_down_sideways", Direction.OUTWARD, built.hold_down, leans * built.hold_down_spacing,
                 {"film": leans, "spacing": built.hold_down_spacing})
        )  # fmt: skip
    return parts


def _bent_bar(name: str, direction: Direction, capacity: Floats, moment: Floats, film: Floats, span: Floats) -> Link:
    terms = {"coefficient": moment, "film": film, "span": span}
    return Link(name, direction, capacity, np.asarray(moment * film * span**2), terms)


def _post(name: str, direction: Direction, capacity: Floats, force: Floats, at: Floats, height: Floats) -> Link:
    """Return a post held at grade and at its top, pushed by one force between them."""
    terms = {"force": force, "at": at, "height": height}
    return Link(name, direction, capacity, np.asarray(force * at * (height - at) / height), terms)


def _header(built: Built, edge: Floats, rod: Floats) -> Link:
    """Return the header, bent outward by the film and the inner rods and down by the film.

    Equal rods at equal spaces: with n of them the moment is P L (n+1)/8 for odd n, P L n (n+2) / (8 (n+1))
    for even n. Both bendings add up at one corner of the header, so their shares of its strength do.
    """
    n = built.inner
    rods = rod * built.width / 8 * np.where(n % 2 == 1, n + 1, n * (n + 2) / (n + 1))
    outward = edge * built.width**2 / 8 + rods
    down = film_pull_per_pressure(2 * edge, built.belly) * built.width**2 / 8
    effect = outward / built.header_moment + down / built.header_moment_down
    terms = {"film": edge, "span": built.width, "rod": rod, "outward": outward, "down": down,
             "outward_capacity": built.header_moment, "down_capacity": built.header_moment_down}  # fmt: skip
    return Link("header_outward", Direction.OUTWARD, np.ones_like(effect), np.asarray(effect), terms)


def _held_edges(built: Built, pull: Floats, edge: Floats, *, mid: bool) -> list[Link]:
    """What holds the film to the header and to the bars."""
    screws, clamps = built.screw_spacing, built.clamp_spacing
    parts = [
        Link("header_screws", Direction.OUTWARD, built.wood_screw, edge * screws, {"film": edge, "spacing": screws}),
        Link("bar_clamps", Direction.BOTH, built.clamp, pull * clamps, {"pull": pull, "spacing": clamps}),
    ]
    if mid:
        parts.append(
            Link("sill_screws", Direction.BOTH, built.tube_screw, pull * screws, {"pull": pull, "spacing": screws})
        )
    return parts


def _side_wires(built: Built, down: Floats) -> list[Link]:
    """What the film asks of the jambs once spring wire locks its sides."""
    across = 1 - down
    radius = film_pull_per_pressure(built.width, built.belly)
    out = across * built.width / 2 * built.screw_spacing
    sideways = across * radius * built.height**2 / 8
    terms = {"share": across, "span": built.width}
    return [
        Link("jamb_screws", Direction.OUTWARD, built.wood_screw, out, {**terms, "spacing": built.screw_spacing}),
        Link("jamb_pulled_in", Direction.BOTH, built.stud_moment_sideways, sideways,
             {**terms, "radius": radius, "height": built.height}),
    ]  # fmt: skip


def _lower_edge(built: Built, state: State, pull: Floats) -> list[Link]:
    """What keeps the film's lower edge down: weight alone, the locked sides, or hold-downs."""
    lift = pull / np.sqrt(1 + (4 * built.belly) ** 2)  # upward part of the film's pull per width, per pressure
    terms = {"lift": lift, "width": built.width}
    if state == State.CLOSED:
        effect = lift * built.width
        return [Link("lower_bar_lifts", Direction.BOTH, built.lower_weight, effect, terms, breaks=False)]
    if state == State.WIRED:
        # Held at both jambs, the bar bows up between them; the film slackens as it does, so nothing breaks yet.
        bowed = lift * built.width**2 / 8
        return [Link("lower_bar_bows", Direction.BOTH, built.sill_moment, bowed, terms, breaks=False)]
    spacing = built.hold_down_spacing
    moment, _, largest = uniform(np.maximum(np.ceil(built.width / spacing), 1))
    held = {"lift": lift, "spacing": spacing}
    return [
        Link("lower_bar_bends_up", Direction.BOTH, built.sill_moment, moment * lift * spacing**2,
             {**held, "coefficient": moment}),
        Link("hold_down_up", Direction.BOTH, built.hold_down, largest * lift * spacing,
             {**held, "coefficient": largest}),
    ]  # fmt: skip
