"""Rules of thumb for the bar of a film roll-up door in wind: common practice, no source, worked from q = 0.00256 V².

They are arithmetic on the same simple model (force q A, half of a 10 ft film on the bar, M = w L²/8, 50 ksi,
T = q L²/8s), so that they check the links' formulas and units, not nature.
"""

import numpy as np
import pytest

from doors.mechanics.built import State
from doors.mechanics.fastener import KSI
from doors.mechanics.panel import panel
from doors.mechanics.pressure import gust_pressure
from doors.mechanics.strength import TUBE_YIELD, Coefficients, limit_gust
from doors.mechanics.tube import section
from doors.mechanics.wind import links
from doors.sizing.quantity import FOOT, INCH, POUND_FORCE
from tests.hung_doors import make_built

MPH = 0.44704  # m/s, exact
PSF = POUND_FORCE / FOOT**2

# gust [mph]; q [psf]; force [lbf] on shut doors of 8 x 8, 12 x 10, 16 x 10, 20 x 10 and 22 x 10 ft
FACES = [
    (35, 3.1, (201, 376, 502, 627, 690)),
    (46, 5.4, (347, 650, 867, 1083, 1192)),
    (58, 8.6, (551, 1033, 1378, 1722, 1895)),
    (70, 12.5, (803, 1505, 2007, 2509, 2760)),
]


@pytest.mark.parametrize(("gust", "pressure", "forces"), FACES)
def test_force_on_a_shut_door(gust, pressure, forces):
    q = float(gust_pressure(gust * MPH))
    areas = np.array([8 * 8, 12 * 10, 16 * 10, 20 * 10, 22 * 10]) * FOOT**2

    assert q / PSF == pytest.approx(pressure, abs=0.06)
    assert q * areas / POUND_FORCE == pytest.approx(forces, rel=3e-3)  # 0.613 for 0.00256, and whole pounds


# bar [in], wall 0.065 in; whole feet of width at which it reaches 50 ksi at 35, 46 and 58 mph
WIDTHS = [(1.315, (13, 10, 8)), (1.660, (16, 12, 10)), (1.900, (19, 14, 11)), (2.375, (24, 18, 14))]


def bar_of(outer, widths, **changes):
    """Return the link of a bottom bar, held at its ends, that takes half of a 10 ft film."""
    moment = 50 * KSI * float(section(outer * INCH, 0.065 * INCH).modulus)
    built = make_built(width=widths, height=10 * FOOT, stud_face=0.0, bar_moment=moment, **changes)
    return next(one for one in links(built, State.CLOSED, winds_at_mid_height=False) if one.name == "bar_inward")


@pytest.mark.parametrize(("outer", "widths"), WIDTHS)
def test_width_at_which_a_bar_held_at_its_ends_yields(outer, widths):
    """Our own limit passes the gust between half a foot less and half a foot more."""
    at = np.array(widths)
    wider, narrower = (bar_of(outer, (at + step) * FOOT).pressure for step in (0.6, -0.6))
    q = gust_pressure(np.array([35, 46, 58]) * MPH)

    assert (wider < q).all()
    assert (narrower > q).all()
    assert pytest.approx(50 * KSI, rel=1e-3) == TUBE_YIELD


def test_limit_gust_is_the_velocity_pressure_turned_round():
    limit = limit_gust(bar_of(1.66, 12 * FOOT).pressure, Coefficients(np.asarray(1.0), np.asarray(1.0)).inward)

    assert gust_pressure(limit) == pytest.approx(bar_of(1.66, 12 * FOOT).pressure)
    assert limit / MPH == pytest.approx(46, abs=2)


def test_hold_downs_every_four_feet():
    """Half of a 10 ft film at 46 mph over 4 ft: 5.4 psf x 5 ft x 16 ft²/8 = 54 lb-ft: about 5 ksi in 1.66 x 0.065 in.

    Ours is a continuous bar (0.1 for 1/8), pulled up as well as out (13 ft of film for 5), with a third of the
    pressure on the jambs: 0.1 x 0.675 x 13 x 16 for 5 x 16/8: 1.4 times as much.
    """
    modulus = float(section(1.66 * INCH, 0.065 * INCH).modulus)
    q = float(gust_pressure(46 * MPH))
    built = make_built(width=12 * FOOT, height=10 * FOOT, hold_down_spacing=4 * FOOT)
    tied = next(one for one in links(built, State.TIED, winds_at_mid_height=False) if one.name == "bar_outward")
    simple = q * 5 * FOOT * (4 * FOOT) ** 2 / 8 / modulus

    assert simple / KSI == pytest.approx(5, rel=0.06)
    assert q * tied.effect / modulus / simple == pytest.approx(0.1 * 0.6747 * 13 * 16 / 10, rel=1e-3)


# span, belly [ft]; pull at 46 mph [lb/ft]
@pytest.mark.parametrize(("span", "belly", "pull"), [(10, 1.0, 68), (12, 1.0, 98), (12, 0.5, 195)])
def test_membrane_pull(span, belly, pull):
    """q L²/8s, the parabola's; an arc's tension is a little more, its pull along the wall a little less."""
    q = float(gust_pressure(46 * MPH))
    film = panel(np.asarray(span * FOOT), np.asarray(1.0), np.asarray(belly / span), sides_held=False)
    per_foot = q * FOOT / POUND_FORCE

    assert film.along * per_foot < pull + 0.5 < film.tension * per_foot + 0.5
    assert film.tension * per_foot == pytest.approx(pull, rel=0.05)
    assert film.along * per_foot == pytest.approx(pull, rel=0.05)
