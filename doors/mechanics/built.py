"""A hung door as the wind meets it, and the links of the load path through it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

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


@dataclass(frozen=True, slots=True, eq=False)
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
    pressure : ndarray
        Net pressure that uses the link up; infinite where no pressure loads it, NaN where unknown. [Pa]
    """

    name: str
    direction: Direction
    capacity: Floats
    effect: Floats
    terms: Mapping[str, Floats]
    breaks: bool = True
    pressure: Floats = field(init=False)

    def __post_init__(self) -> None:
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            limit = np.divide(self.capacity, self.effect)
        object.__setattr__(self, "pressure", np.asarray(np.where(self.effect == 0, np.inf, limit)))


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
        index
        for index, part in enumerate(parts)
        if part.breaks == breaking and part.direction in (direction, Direction.BOTH)
    ]
    if not chosen:
        shape = np.shape(parts[0].pressure)
        return np.full(shape, np.inf), np.full(shape, -1.0)
    pressures = np.stack(np.broadcast_arrays(*(parts[index].pressure for index in chosen)))
    least = np.argmin(np.where(np.isnan(pressures), -np.inf, pressures), axis=0)
    value = np.take_along_axis(pressures, least[None], axis=0)[0]
    return np.asarray(value), np.asarray(chosen, dtype=np.float64)[least]
