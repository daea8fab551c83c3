"""What the core is told of an opening: its wall, its door's design, what must pass through. Metres."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from doors.sizing.quantity import Angle, Length
from farm.geometry import Shape


class DoorKind(StrEnum):
    """The kinds of door the core can size."""

    MID_BAR = "mid_bar"
    BOTTOM_BAR = "bottom_bar"
    PERSON = "person"
    HINGED_PAIR = "hinged_pair"
    SLIDING_PAIR = "sliding_pair"
    COIL = "coil"
    LIFT_OUT = "lift_out"


FILM_ROLLS = frozenset({DoorKind.MID_BAR, DoorKind.BOTTOM_BAR})


class Side(StrEnum):
    """Left or right, seen from outside."""

    LEFT = "left"
    RIGHT = "right"


class Exit(StrEnum):
    """Where the tunnel's side-hinged person door stands, beside the opening itself."""

    THIS_WALL = "this_wall"
    OTHER_WALL = "other_wall"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """A round tube as it is bought."""

    diameter: Length
    wall: Length
    stock_length: Length | None = None
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Film channel or spring wire as it is bought: cut from lengths."""

    stock_length: Length | None = None
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """A film as it is bought: thickness and the widths its rolls come in."""

    thickness: Length
    roll_widths: tuple[Length, ...] = ()
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rod:
    """A threaded tie rod with its nuts and washers."""

    diameter: Length
    length: Length
    nut_height: Length
    washer_thickness: Length
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """What must pass through the opening."""

    width: Length
    height: Length
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SideOperator:
    """The hand operator of a roll-up side that stands at one corner of this end wall."""

    corner: Side
    travel_top: Length | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """Another opening in the same wall; ``head`` is the height of its top above grade."""

    left: Length
    width: Length
    head: Length
    code: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """An end wall seen from outside, left corner first."""

    width: Length | None = None
    shape: Shape | None = None
    ridge: Length | None = None
    side: Length | None = None
    points: tuple[tuple[Length, Length], ...] = ()
    stud_face: Length | None = None
    header_thickness: Length | None = None
    side_operators: tuple[SideOperator, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What was found on site, and where the opening stands; ``storm_angle`` lies between wall and storm wind."""

    diagonal_1: Length | None = None
    diagonal_2: Length | None = None
    exit: Exit | None = None
    storm_angle: Angle | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """The choices made for a door; whatever is not chosen is reported as missing."""

    drive_side: Side | None = None
    turning_tube: Tube | None = None
    sill_tube: Tube | None = None
    post_tube: Tube | None = None
    anti_billow_tube: Tube | None = None
    film: Film | None = None
    channel: Stock | None = None
    wire: Stock | None = None
    rod: Rod | None = None
    gear_ratio: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A rough opening; ``offset`` runs from the wall's left corner to its left edge, seen from outside."""

    kind: DoorKind
    rough_width: Length
    rough_height: Length
    offset: Length | None = None
    threshold: Length | None = None
    header_depth: Length | None = None
    wall: Wall = field(default_factory=Wall)
    design: Design = field(default_factory=Design)
    machine: Machine | None = None
    neighbours: tuple[Neighbour, ...] = ()
    site: Site = field(default_factory=Site)
    code: str = ""
