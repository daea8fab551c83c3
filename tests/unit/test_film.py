"""Limits of film and of the shapes it hangs in."""

import numpy as np
import pytest

from doors.mechanics.film import (
    COLDEST,
    HOTTEST,
    TIGHTEST,
    YEAR,
    areal_mass,
    held_tension,
    slack_after,
    strength_left,
    strip,
    strip_pressure,
)
from doors.mechanics.membrane import LOOSEST, arc, arc_of_slack, arc_tension, catenary, parabola
from doors.sizing.quantity import SizingError

SIX_MIL = 152.4e-6


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: arc(0.0, 0.1), "span"),
        (lambda: arc(1.0, 0.0), "sag"),
        (lambda: arc(1.0, 0.51), "sag"),
        (lambda: arc_tension(-1.0, 1.0, 0.1), "pressure"),
        (lambda: arc_of_slack(0.0, 0.1), "span"),
        (lambda: arc_of_slack(1.0, 0.0), "slack"),
        (lambda: arc_of_slack(1.0, LOOSEST + 1e-9), "slack"),
        (lambda: parabola(-1.0, 1.0, 0.1), "load"),
        (lambda: parabola(1.0, 0.0, 0.1), "span"),
        (lambda: parabola(1.0, 1.0, 0.0), "sag"),
        (lambda: catenary(1.0, 1.0, 1.01), "sag"),
        (lambda: strip(0.0, 1.0, SIX_MIL), "pressure"),
        (lambda: strip(1.0, 0.0, SIX_MIL), "span"),
        (lambda: strip(1.0, 1.0, 0.0), "thickness"),
        (lambda: strip(1.0, 1.0, SIX_MIL, modulus=0.0), "modulus"),
        (lambda: strip(1.0, 1.0, SIX_MIL, slack=TIGHTEST - 1e-9), "slack"),
        (lambda: strip(1.0, 1.0, SIX_MIL, slack=LOOSEST), "slack"),
        (lambda: strip_pressure(0.0, 1.0, SIX_MIL), "tension"),
        (lambda: strip_pressure(1.0, 0.0, SIX_MIL), "span"),
        (lambda: strip_pressure(1.0, 1.0, 0.0), "thickness"),
        (lambda: strip_pressure(1.0, 1.0, SIX_MIL, modulus=0.0), "modulus"),
        (lambda: strip_pressure(1.0, 1.0, SIX_MIL, slack=TIGHTEST - 1e-9), "slack"),
        (lambda: strip_pressure(1.0, 1.0, SIX_MIL, slack=LOOSEST), "slack"),
        (lambda: slack_after(COLDEST - 0.1, 293.15), "temperature"),
        (lambda: slack_after(HOTTEST + 0.1, 293.15), "temperature"),
        (lambda: slack_after(293.15, COLDEST - 0.1), "hung_at"),
        (lambda: slack_after(293.15, HOTTEST + 0.1), "hung_at"),
        (lambda: slack_after(293.15, 283.15, expansion=-1e-6), "expansion"),
        (lambda: held_tension(0.0, 0.0), "thickness"),
        (lambda: held_tension(0.0, SIX_MIL, modulus=0.0), "modulus"),
        (lambda: held_tension(TIGHTEST - 1e-9, SIX_MIL), "slack"),
        (lambda: strength_left(-1.0, YEAR), "age"),
        (lambda: strength_left(1.0, 0.0), "rated_life"),
        (lambda: strength_left(1.0, YEAR, dose=-1.0, rated_dose=1.0), "dose"),
        (lambda: strength_left(1.0, YEAR, dose=1.0, rated_dose=0.0), "rated_dose"),
        (lambda: areal_mass(0.0), "thickness"),
        (lambda: areal_mass(SIX_MIL, density=0.0), "density"),
    ],
)
def test_what_no_film_can_be(call, field):
    with pytest.raises(SizingError) as raised:
        call()

    assert raised.value.field == field


def test_pressure_beyond_half_a_circle():
    # Half a circle is the deepest: p = 2 E t (pi/2 - 1)/L.
    most = 2 * 200e6 * SIX_MIL * (np.pi / 2 - 1) / 3.0

    deepest = strip(most, 3.0, SIX_MIL)

    assert deepest.sag == pytest.approx(1.5, rel=1e-12)
    assert deepest.pull == pytest.approx(0, abs=1e-6)
    with pytest.raises(SizingError) as raised:
        strip([1.0, most * 1.001], 3.0, SIX_MIL)
    assert (raised.value.field, raised.value.index) == ("pressure", 1)


def test_film_already_that_tight_needs_no_wind():
    # Hung 1 % short: 200 MPa x 0.1524 mm x 0.01/0.99 = 307.9 N/m before any wind.
    assert strip_pressure(300.0, 3.0, SIX_MIL, slack=-0.01) == 0
    assert strip_pressure(308.0, 3.0, SIX_MIL, slack=-0.01) > 0


def test_slack_film_does_not_pull_without_wind():
    assert list(held_tension([0.0, 0.01], SIX_MIL)) == [0.0, 0.0]


def test_strength_ends_at_nothing():
    assert list(strength_left(np.array([0.0, 2.0, 4.0, 8.0, 20.0]) * YEAR, 4 * YEAR)) == [1.0, 0.75, 0.5, 0.0, 0.0]


def test_the_worse_of_age_and_dose_counts():
    assert strength_left(YEAR, 4 * YEAR, dose=3.0, rated_dose=4.0) == 0.625
    assert strength_left(3 * YEAR, 4 * YEAR, dose=1.0, rated_dose=4.0) == 0.625


def test_what_is_not_known_is_left_out():
    assert strength_left(YEAR, 4 * YEAR) == 0.875
    assert strength_left(np.nan, np.nan, dose=1.0, rated_dose=4.0) == 0.875
    assert np.isnan(strength_left(np.nan, 4 * YEAR))
    assert np.isnan(strip(100.0, 3.0, np.nan).tension)
    assert np.isnan(strip_pressure(100.0, 3.0, np.nan))
    assert np.isnan(arc(3.0, np.nan).radius)


def test_results_have_the_shape_of_the_inputs():
    film = strip(np.full((2, 3), 100.0), 3.0, SIX_MIL)

    assert {np.shape(getattr(film, name)) for name in film.__dataclass_fields__} == {(2, 3)}
    assert {np.shape(getattr(arc([1.0, 2.0], 0.1), name)) for name in ("radius", "length", "strain", "slope")} == {(2,)}
