"""The links of a shut door: film to bars and header, and on to studs, tubes, rods, soil and hold-downs.

Every effect is per pascal of net pressure. Studs and anti-billow tubes stand in pairs, as many of each in between.
"""

from __future__ import annotations

import numpy as np

from doors.mechanics.built import Built, Direction, Link, State
from doors.mechanics.panel import Panel, panel
from doors.mechanics.spans import uniform
from doors.sizing.quantity import Floats


def closed_links(built: Built, state: State, *, mid: bool) -> tuple[Link, ...]:
    """Return the links of a door that is down: loose at its sides, wired, or wired and tied to the ground.

    Parameters
    ----------
    built : Built
        The door or doors. [SI]
    state : State
        CLOSED, WIRED or TIED.
    mid : bool
        True where the turning bar crosses the film at mid height and a sill bar hangs at its lower edge; False
        where the turning bar is itself at the lower edge.

    Returns
    -------
    tuple of Link
    """
    film = panel(built.height / 2 if mid else built.height, built.width, built.belly, sides_held=state != State.CLOSED)
    return (
        *_inward(built, film, mid=mid),
        *_outward(built, film, mid=mid, tied=state == State.TIED),
        Link("film", Direction.BOTH, built.film_pull, film.tension, {"radius": film.tension, "share": film.down}),
        *_held_edges(built, film, mid=mid),
        *(_side_wires(built, film) if state != State.CLOSED else ()),
        *_lower_edge(built, state, film),
    )


def _inward(built: Built, film: Panel, *, mid: bool) -> list[Link]:
    """Film presses the bars against the jamb studs and the inner studs, and those against the header."""
    span = (built.width + built.stud_face) / (built.inner + 1)
    moment, end, largest = uniform(built.inner + 1)
    upper, lower = _on_bars(film, mid=mid)
    inner_top, inner_bent = _post(built, largest * span * upper, largest * span * lower, built.hole_height)
    _, jamb_bent = _post(built, end * span * upper, end * span * lower, built.stud_height)
    jamb_bent = jamb_bent + _side_on_post(built, film.side, built.stud_height)
    bent = np.where(built.inner > 0, np.maximum(inner_bent, jamb_bent), jamb_bent)
    terms = {"upper": largest * span * upper, "lower": largest * span * lower, "side": film.side,
             "height": built.stud_height}  # fmt: skip
    parts = [_bent_bar("bar_inward", Direction.INWARD, built.bar_moment, moment, upper if mid else lower, span)]
    if mid:
        parts.append(_bent_bar("sill_bar_inward", Direction.INWARD, built.sill_moment, moment, lower, span))
    return [
        *parts,
        Link("stud_inward", Direction.INWARD, built.stud_moment, np.asarray(bent), terms),
        _header("header_inward", Direction.INWARD, built, film, np.where(built.inner > 0, inner_top, 0.0)),
    ]


def _outward(built: Built, film: Panel, *, mid: bool, tied: bool) -> list[Link]:
    """Film pulls the bars against the anti-billow tubes, which lean on rods above and on the soil below.

    Hold-downs, where there are any, take all of the lower bar and leave the tubes only what is above.
    """
    span = built.billow_spacing
    moment, end, largest = uniform(built.inner + 1)
    inset = (built.width - (built.inner + 1) * span) / 2  # the bar reaches past the outer tubes
    reach = np.maximum(largest * span, end * span + inset)  # length of bar that leans on the worst tube
    upper, lower = _on_bars(film, mid=mid)
    at_top, at_bottom = reach * upper, np.zeros_like(reach) if tied else reach * lower
    rod, bent = _post(built, at_top, at_bottom, built.hole_height)
    foot = at_top + at_bottom - rod
    feet = {"upper": at_top, "lower": at_bottom, "top": rod}
    parts = [_bent_bar("bar_outward", Direction.OUTWARD, built.bar_moment, moment, upper, span)] if mid else []
    if tied:
        parts += _tied_sideways(built, film, lower, moment * span**2, mid=mid)
    else:
        name, strength = ("sill_bar_outward", built.sill_moment) if mid else ("bar_outward", built.bar_moment)
        parts.append(_bent_bar(name, Direction.OUTWARD, strength, moment, lower, span))
    return [
        *parts,
        Link("billow_tube", Direction.OUTWARD, built.billow_moment, bent, {**feet, "height": built.hole_height}),
        Link("tie_rod", Direction.OUTWARD, built.rod_pull, rod, {**feet, "height": built.hole_height}),
        Link("tube_in_soil", Direction.OUTWARD, built.soil_push, foot, feet),
        Link("tube_leans", Direction.OUTWARD, built.soil_leans, foot, feet, breaks=False),
        _header("header_outward", Direction.OUTWARD, built, film, rod),
        _jamb_at_header(built, film, rod),
    ]


def _tied_sideways(built: Built, film: Panel, lower: Floats, between_tubes: Floats, *, mid: bool) -> list[Link]:
    """Return the lower bar held by hold-downs, and them, under the film's whole pull: out and up at once."""
    spacing, moment, largest = _hold_downs(built)
    out = lower * np.fmin(moment * spacing**2, between_tubes)
    up = moment * film.along * spacing**2
    terms = {"coefficient": moment, "film": lower, "lift": film.along, "spacing": spacing}
    name, strength = ("sill_bar_outward", built.sill_moment) if mid else ("bar_outward", built.bar_moment)
    return [
        Link(name, Direction.OUTWARD, strength, np.hypot(out, up), terms),
        Link("hold_down_sideways", Direction.OUTWARD, built.hold_down, largest * film.pull * spacing,
             {"coefficient": largest, "pull": film.pull, "spacing": spacing}),
    ]  # fmt: skip


def _on_bars(film: Panel, *, mid: bool) -> tuple[Floats, Floats]:
    """Return the height of film that leans on the bar at mid height, between two panels, and on the lower bar. [m]"""
    return (2 * film.edge if mid else np.zeros_like(film.edge)), film.edge


def _bent_bar(name: str, direction: Direction, capacity: Floats, moment: Floats, film: Floats, span: Floats) -> Link:
    terms = {"coefficient": moment, "film": film, "span": span}
    return Link(name, direction, capacity, np.asarray(moment * film * span**2), terms)


def _post(built: Built, upper: Floats, lower: Floats, height: Floats) -> tuple[Floats, Floats]:
    """Return top reaction and worst moment of a post held at grade and at ``height``, pushed by both bars."""
    at, sill = built.threshold + built.height / 2, built.threshold
    top = (upper * at + lower * sill) / height
    return np.asarray(top), np.maximum(top * (height - at), (upper + lower - top) * sill)


def _side_on_post(built: Built, load: Floats, height: Floats) -> Floats:
    """Return the worst moment of a post with an even load all along the opening's height. [N m]"""
    foot = load * built.height * (height - built.threshold - built.height / 2) / height
    with np.errstate(invalid="ignore"):
        bend = foot * built.threshold + np.divide(foot**2, 2 * load)
    return np.asarray(np.where(load == 0, 0.0, bend))


def _header(name: str, direction: Direction, built: Built, film: Panel, inner: Floats) -> Link:
    """Return the header, bent through the wall by the film and the inner posts' tops, and down by the film.

    Equal posts at equal spaces: with n of them the moment is P L (n+1)/8 for odd n, P L n (n+2) / (8 (n+1))
    for even n. Both bendings add up at one corner of the header, so their shares of its strength do.
    """
    n = built.inner
    posts = inner * built.width / 8 * np.where(n % 2 == 1, n + 1, n * (n + 2) / (n + 1))
    through = film.edge * built.width**2 / 8 + posts
    down = film.along * built.width**2 / 8
    effect = through / built.header_moment + down / built.header_moment_down
    terms = {"film": film.edge, "span": built.width, "rod": inner, "outward": through, "down": down,
             "outward_capacity": built.header_moment, "down_capacity": built.header_moment_down}  # fmt: skip
    return Link(name, direction, np.ones_like(effect), np.asarray(effect), terms)


def _jamb_at_header(built: Built, film: Panel, rod: Floats) -> Link:
    """Return the jamb stud pulled outward where the header ends on it: half of the header's load, and the end rod."""
    force = film.edge * built.width / 2 + built.inner * rod / 2 + rod
    above = np.maximum(built.stud_height - built.hole_height, 0.0)
    terms = {"film": film.edge, "rod": rod, "force": force, "hole": built.hole_height, "height": built.stud_height}
    effect = force * built.hole_height * above / built.stud_height
    return Link("jamb_at_header", Direction.OUTWARD, built.stud_moment, np.asarray(effect), terms)


def _held_edges(built: Built, film: Panel, *, mid: bool) -> list[Link]:
    """What holds the film to the header and to the bars."""
    screws, clamps = built.screw_spacing, built.clamp_spacing
    on_clamp = {"pull": film.pull, "spacing": clamps}
    parts = [
        Link("header_screws", Direction.OUTWARD, built.wood_screw, film.edge * screws,
             {"film": film.edge, "spacing": screws}),
        Link("bar_clamps", Direction.BOTH, built.clamp, film.pull * clamps, on_clamp),
    ]  # fmt: skip
    if mid:
        on_screw = {"pull": film.pull, "spacing": screws}
        parts.append(Link("sill_screws", Direction.BOTH, built.tube_screw, film.pull * screws, on_screw))
    return parts


def _side_wires(built: Built, film: Panel) -> list[Link]:
    """What the film asks of the jambs once spring wire locks its sides."""
    screws, header = built.screw_spacing, built.threshold + built.height
    terms = {"side": film.side, "pull": film.across, "height": built.height}
    return [
        Link("jamb_screws", Direction.OUTWARD, built.wood_screw, film.side * screws, {**terms, "spacing": screws}),
        Link("jamb_outward", Direction.OUTWARD, built.stud_moment,
             _side_on_post(built, film.side, built.stud_height), terms),
        Link("jamb_pulled_in", Direction.BOTH, built.stud_moment_sideways,
             _side_on_post(built, film.across, header), terms),
    ]  # fmt: skip


def _lower_edge(built: Built, state: State, film: Panel) -> list[Link]:
    """What keeps the film's lower edge down: weight alone, the locked sides, or hold-downs."""
    lift = film.along
    terms = {"lift": lift, "width": built.width}
    if state == State.CLOSED:
        effect = lift * built.width
        return [Link("lower_bar_lifts", Direction.BOTH, built.lower_weight, effect, terms, breaks=False)]
    if state == State.WIRED:
        # Held at both jambs, the bar bows up between them; the film slackens as it does, so nothing breaks yet.
        bowed = lift * built.width**2 / 8
        return [Link("lower_bar_bows", Direction.BOTH, built.sill_moment, bowed, terms, breaks=False)]
    spacing, moment, largest = _hold_downs(built)
    held = {"lift": lift, "spacing": spacing}
    return [
        Link("lower_bar_bends_up", Direction.BOTH, built.sill_moment, moment * lift * spacing**2,
             {**held, "coefficient": moment}),
        Link("hold_down_up", Direction.BOTH, built.hold_down, largest * lift * spacing,
             {**held, "coefficient": largest}),
    ]  # fmt: skip


def _hold_downs(built: Built) -> tuple[Floats, Floats, Floats]:
    """Return the distance between hold-downs, one at each jamb, and the coefficients of the bar over them."""
    spacing = np.minimum(built.hold_down_spacing, built.width)
    moment, _, largest = uniform(np.ceil(built.width / spacing * (1 - 1e-9)))
    return spacing, moment, largest
