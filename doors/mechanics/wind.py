"""Where the wind's push goes on a hung film door, and the pressure at which each part has given all it has.

The load runs from the film to the bars and the header, and from there, pressed inward, to the studs, or,
sucked outward, to the anti-billow tubes, their tie rods and the soil. Every link takes a share in proportion to the
pressure, so one pressure per link says all; the weakest link and the gust follow from it. Planning estimates that
rank doors and order work: no substitute for a structural design.
"""

from __future__ import annotations

import numpy as np

from doors.mechanics.built import Built, Direction, Link, State, governing
from doors.mechanics.closed import closed_links

__all__ = ["Built", "Direction", "Link", "State", "governing", "links"]

ROLL_DRAG = 1.2  # -; long circular cylinder across the wind, EN 1991-1-4:2005, 7.9, subcritical (from memory)
SUDDEN = 2.0  # -; a load let go at once does twice the work of one laid on slowly (energy balance)
SWING = np.tan(np.radians(30.0))  # -; a free bar that swings further flails; our own planning limit


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
    return closed_links(built, state, mid=winds_at_mid_height)


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
