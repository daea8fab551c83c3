"""From a sized door to what it stands: capacities of its parts, and the gust that uses up the weakest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike

from doors.mechanics.built import Built, Direction, Link, governing
from doors.mechanics.fastener import PSI, screw_pull_out, screw_shear
from doors.mechanics.film import FILM_YIELD, areal_mass
from doors.mechanics.post import BEARING, ISOLATED_POLE, Soil, lateral_load
from doors.mechanics.pressure import net_pressures
from doors.mechanics.rod import rod_strength, thread
from doors.mechanics.timber import WOODS, size_factor, washer_bearing, wood_screw_withdrawal
from doors.mechanics.tube import STANDARD_GRAVITY, TUBE_YIELD, section
from doors.mechanics.uproot import uproot
from doors.mechanics.wind_data import VELOCITY_CONSTANT
from doors.sizing.figures import NOT_MEASURED, Figures, Given
from doors.sizing.quantity import INCH, Floats, Length, Unit, number
from doors.sizing.rules import Rules

Stress = Annotated[float, Unit("mpa", 1e-6)]
Force = Annotated[float, Unit("n", 1.0)]
Mass = Annotated[float, Unit("kg", 1.0)]

# Format conversion factors that lead from a reference design value to the nominal resistance of NDS 2018,
# Tables 4.3.1 and 11.3.1, from memory: what wood really bears, the usual safety taken out.
NOMINAL_CONNECTION = 3.32  # -
NOMINAL_BEARING = 1.67  # -
WOOD_BENDING = 2.54 * 875 * PSI  # Pa: K_F x F_b of No. 2 spruce-pine-fir, NDS, from memory; size factor apart
WASHER_OF_ROD = 1.9  # -, least outer diameter of a plain washer over its rod's, ASME B18.22.1, from memory
CHANNEL_MASS = 0.35  # kg/m, aluminium film channel; common practice, no source
CLAMP_MASS = 0.03  # kg; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Strengths:
    """Planning values of a farm's materials and hardware; all of them are the farm's to change."""

    tube_yield: Stress = TUBE_YIELD
    wood_bending: Stress = WOOD_BENDING
    wood: str = "spruce-pine-fir"
    header_plies: float = 2.0  # -, boards nailed face to face into the header; common practice, no source
    wood_screw: Length = 0.216 * INCH  # No. 12
    wood_penetration: Length = 1.0 * INCH
    sheet_screw: Length = 0.216 * INCH  # No. 12
    channel_thickness: Length = 0.050 * INCH  # common practice, no source
    washer: Length = 1.0 * INCH  # 3/8 in flat washer, SAE: 13/16 in; USS: 1 in, from memory
    rod_pitch: Length = INCH / 16  # 3/8-16 UNC
    film_yield: Stress = FILM_YIELD
    belly: float = 0.10  # -, belly over span; common practice, no source
    hold_down: Force = 1330.0  # N, 300 lbf hook or strap; common practice, no source
    gearbox_mass: Mass = 2.5  # common practice, no source
    handle_radius: Length = 7.0 * INCH  # common practice, no source
    efficiency: float = 0.4  # -, worm drive; common practice, no source
    turns_per_second: float = 25 / 60  # 1/s, easy cranking; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanging:
    """What the strength of a door needs beyond its sizes; NaN where unknown, arrays where there are many."""

    turning_wall: Floats = NOT_MEASURED  # m, wall of the tube
    sill_wall: Floats = NOT_MEASURED  # m
    billow_wall: Floats = NOT_MEASURED  # m
    rod_diameter: Floats = NOT_MEASURED  # m
    stud_depth: Floats = NOT_MEASURED  # m, through the wall
    soil: Soil | None = None
    hold_down_spacing: Floats = NOT_MEASURED  # m
    film_left: Floats = number(1.0)  # -, share of its strength the film still has


def built_of(
    given: Given, figures: Figures, hanging: Hanging, strengths: Strengths, rules: Rules, *, winds_at_mid_height: bool
) -> Built:
    """Return a door as the load path takes it.

    Parameters
    ----------
    given, figures : Given, Figures
        Sizes of one door, or of many as arrays. [m]
    hanging : Hanging
        Walls, soil, hold-downs, film's strength left. [SI]
    strengths : Strengths
        The farm's planning values. [SI]
    rules : Rules
        The farm's sizing rules.
    winds_at_mid_height : bool
        True for the mid-height bar.

    Returns
    -------
    Built
        Capacities at first yield of steel and film, at the nominal resistance of wood and screws, and where a
        post is uprooted. [SI]
    """
    bar = _tube_moment(given.turning_diameter, hanging.turning_wall, strengths)
    sill = _tube_moment(given.sill_diameter, hanging.sill_wall, strengths) if winds_at_mid_height else bar
    lower_wall = hanging.sill_wall if winds_at_mid_height else hanging.turning_wall
    face, depth = given.stud_face, hanging.stud_depth
    thick, deep = given.header_thickness, given.header_depth
    stud, header = (
        strengths.wood_bending * size_factor(np.maximum(*sides)) for sides in ((face, depth), (thick, deep))
    )
    leans, uprooted = _soil(given, hanging, rules)
    return Built(
        width=given.rough_width,
        height=given.rough_height,
        threshold=given.threshold,
        stud_face=face,
        stud_height=_stud_height(given, figures),
        inner=np.asarray(figures.supports.count - 2),
        billow_spacing=figures.supports.spacing,
        hole_height=np.asarray(given.threshold + figures.header_hole_height),
        bar_moment=bar,
        sill_moment=sill,
        billow_moment=_tube_moment(given.billow_diameter, hanging.billow_wall, strengths),
        stud_moment=np.asarray(stud * face * depth**2 / 6),
        stud_moment_sideways=np.asarray(stud * depth * face**2 / 6),
        header_moment=np.asarray(header * deep * thick**2 / 6 / strengths.header_plies),
        header_moment_down=np.asarray(header * thick * deep**2 / 6),
        rod_pull=_rod_pull(hanging, strengths),
        soil_leans=leans,
        soil_push=uprooted,
        film_pull=np.asarray(given.film_thickness * strengths.film_yield * hanging.film_left),
        belly=np.asarray(strengths.belly + 0 * given.rough_width),
        screw_spacing=np.asarray(rules.channel_screw_spacing),
        wood_screw=_wood_screw(strengths),
        tube_screw=screw_shear(strengths.sheet_screw, strengths.channel_thickness, lower_wall),
        clamp_spacing=figures.clamps.spacing,
        clamp=screw_pull_out(strengths.sheet_screw, hanging.turning_wall),
        lower_weight=lower_weight(given, figures, hanging, winds_at_mid_height=winds_at_mid_height),
        roll_diameter=figures.winding.diameter_open,
        hold_down_spacing=hanging.hold_down_spacing,
        hold_down=np.asarray(strengths.hold_down),
    )  # fmt: skip


def lower_weight(given: Given, figures: Figures, hanging: Hanging, *, winds_at_mid_height: bool) -> Floats:
    """Return what hangs at the film's lower edge: the lower bar, clamps, channel, half the film. [N]"""
    if winds_at_mid_height:
        diameter, wall, length = given.sill_diameter, hanging.sill_wall, figures.sill_bar.length
        channel, film_height = CHANNEL_MASS * figures.sill_bar.length, given.rough_height / 2
    else:
        diameter, wall, length = given.turning_diameter, hanging.turning_wall, figures.turning_bar.length
        channel, film_height = np.zeros_like(figures.turning_bar.length), given.rough_height
    tube = section(diameter, wall).weight * length
    fixings = (channel + CLAMP_MASS * figures.clamps.count) * STANDARD_GRAVITY
    film = _film_weight(given) * figures.panel.width * film_height / 2
    return np.asarray(tube + fixings + film)


@dataclass(frozen=True, slots=True)
class Stand:
    """What a door stands in one closing state; arrays of the doors' shape."""

    inward: Floats  # Pa, net pressure that breaks it inward
    outward: Floats  # Pa
    flaps: Floats  # Pa, net pressure either way at which it begins to flap; infinite where it does not
    inward_link: Floats  # index into the links; -1 where the less secured state's weakest link decides
    outward_link: Floats


def stands(parts: tuple[Link, ...]) -> Stand:
    """Return the pressures that use up the weakest links of one closing state. [Pa]"""
    inward, inward_link = governing(parts, Direction.INWARD, breaking=True)
    outward, outward_link = governing(parts, Direction.OUTWARD, breaking=True)
    flaps, _ = governing(parts, Direction.OUTWARD, breaking=False)
    return Stand(inward, outward, flaps, inward_link, outward_link)


def at_least(stand: Stand, before: Stand) -> Stand:
    """Return what a door stands whose extra fastenings, once they have given, leave it as less secured as before.

    Parameters
    ----------
    stand, before : Stand
        First links that give in a state, and what the door stands in the state before it. [Pa]

    Returns
    -------
    Stand
        Never below ``before``: hold-downs torn out leave a wired door, wires let go a closed one. A door that was
        not to be worked out before is taken as it is. [Pa]
    """
    inward, outward = before.inward > stand.inward, before.outward > stand.outward
    return Stand(
        inward=np.where(inward, before.inward, stand.inward),
        outward=np.where(outward, before.outward, stand.outward),
        flaps=stand.flaps,
        inward_link=np.where(inward, -1.0, stand.inward_link),
        outward_link=np.where(outward, -1.0, stand.outward_link),
    )


@dataclass(frozen=True, slots=True)
class Coefficients:
    """Net pressure over velocity pressure, for wind from one direction against a wall. [-]"""

    inward: Floats
    outward: Floats


def coefficients(area: ArrayLike, angle: ArrayLike, enclosure: ArrayLike) -> Coefficients:
    """Return what a velocity pressure of 1 Pa at the door comes to, in and out.

    Parameters
    ----------
    area : array_like, shape (...)
        Effective wind area, the opening's. [m²]
    angle : array_like, shape (...)
        Between the way the wall faces and where the wind comes from; NaN for the worst direction. [degrees]
    enclosure : array_like of str, shape (...)
        How open the house is besides.
    """
    return Coefficients(*net_pressures(1.0, angle, area, enclosure))


def limit_gust(pressure: Floats, coefficient: Floats) -> Floats:
    r"""Return the gust at the door that brings a net pressure; infinite where the coefficient is 0. [m/s]

    Notes
    -----
    :math:`V = \sqrt{p / (0.613\, c)}`.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        squared = np.divide(pressure, VELOCITY_CONSTANT * np.asarray(coefficient))
    return np.asarray(np.where(np.asarray(coefficient) == 0, np.inf, np.sqrt(squared)))


def _tube_moment(diameter: Floats, wall: Floats, strengths: Strengths) -> Floats:
    return np.asarray(strengths.tube_yield * section(diameter, wall).modulus)


def _stud_height(given: Given, figures: Figures) -> Floats:
    """Return where a jamb stud is held at its top: at the frame over it, or else at the header's upper edge."""
    header = given.threshold + given.rough_height + given.header_depth
    frame = np.minimum(figures.arch_left, figures.arch_right)
    return np.asarray(np.where(np.isnan(frame), header, np.maximum(frame, header)))


def _rod_pull(hanging: Hanging, strengths: Strengths) -> Floats:
    """Return the lesser of the rod's yield and what its washer can press into the header. [N]"""
    diameter = hanging.rod_diameter
    rod = rod_strength(thread(diameter, strengths.rod_pitch)).at_yield
    bearing = WOODS[strengths.wood].bearing * NOMINAL_BEARING
    washer = washer_bearing(np.maximum(strengths.washer, WASHER_OF_ROD * diameter), diameter + INCH / 16, bearing)
    return np.asarray(np.minimum(rod, washer))


def _soil(given: Given, hanging: Hanging, rules: Rules) -> tuple[Floats, Floats]:
    """Return the push at grade that makes an anti-billow tube lean half an inch, and the one that uproots it. [N]"""
    if hanging.soil is None:
        unknown = np.full(np.shape(given.billow_diameter), np.nan)
        return unknown, unknown
    soil, depth = hanging.soil, rules.post_embedment
    lateral = BEARING[soil].lateral
    leans = lateral_load(depth, 0.0, given.billow_diameter, lateral, factor=ISOLATED_POLE)
    return leans, uproot(depth, 0.0, given.billow_diameter, soil)


def _wood_screw(strengths: Strengths) -> Floats:
    gravity = WOODS[strengths.wood].gravity
    reference = wood_screw_withdrawal(strengths.wood_screw, strengths.wood_penetration, gravity)
    return np.asarray(NOMINAL_CONNECTION * reference)


def _film_weight(given: Given) -> Floats:
    return np.asarray(areal_mass(given.film_thickness) * STANDARD_GRAVITY)
