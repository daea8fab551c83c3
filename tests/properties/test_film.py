"""What holds for every strip of film."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from doors.mechanics.film import held_tension, slack_after, strength_left, strip, strip_pressure
from doors.mechanics.membrane import LOOSEST, arc, arc_of_slack, arc_tension, catenary, parabola

spans = st.floats(0.05, 20)
bellies = st.floats(1e-6, 0.5)  # of the span
pressures = st.floats(1e-3, 2000)
thicknesses = st.floats(50e-6, 1e-3)
moduli = st.floats(100e6, 500e6)
slacks = st.floats(-0.05, 0.5)
temperatures = st.floats(234, 343)


def held(pressure, span, thickness, modulus, slack):
    """Keep strips that stay above half a circle."""
    assume(pressure < 0.99 * 2 * modulus * thickness / span * (np.pi / 2 / (1 + slack) - 1))
    return strip(pressure, span, thickness, modulus=modulus, slack=slack)


@given(pressures, spans, thicknesses, moduli, slacks)
def test_stretch_balances_the_wind(pressure, span, thickness, modulus, slack):
    film = held(pressure, span, thickness, modulus, slack)

    # Et (arc/L0 - 1) = T: lengths to 1e-10, which is as well as they can be told apart.
    assert film.length == pytest.approx((1 + slack) * span * (1 + film.tension / (modulus * thickness)), rel=1e-10)
    assert film.tension == pytest.approx(pressure * film.radius, rel=1e-12)
    assert np.hypot(film.pull, film.push) == pytest.approx(film.tension, rel=1e-9)
    assert film.stress * thickness == pytest.approx(film.tension, rel=1e-12)


@given(pressures, spans, thicknesses, moduli, slacks)
def test_a_strip_is_the_arc_of_its_sag(pressure, span, thickness, modulus, slack):
    film = held(pressure, span, thickness, modulus, slack)
    shape = arc(span, film.sag)

    assert shape.radius == pytest.approx(film.radius, rel=1e-9)
    assert shape.length == pytest.approx(film.length, rel=1e-12)
    assert arc_tension(pressure, span, film.sag) == pytest.approx(film.tension, rel=1e-9)


@given(st.floats(1, 2000), spans, thicknesses, moduli, st.floats(0, 0.5))
def test_pressure_and_back(pressure, span, thickness, modulus, slack):
    film = held(pressure, span, thickness, modulus, slack)

    back = strip_pressure(film.tension, span, thickness, modulus=modulus, slack=slack)

    assert back == pytest.approx(pressure, rel=1e-6)


@given(pressures, spans, thicknesses, moduli, slacks, st.floats(1.01, 2))
def test_more_wind_pulls_more_and_thicker_film_bellies_less(pressure, span, thickness, modulus, slack, more):
    film = held(pressure, span, thickness, modulus, slack)
    windier = held(pressure * more, span, thickness, modulus, slack)
    thicker = strip(pressure, span, thickness * more, modulus=modulus, slack=slack)

    # Film hung tight pulls by its stretch, and hardly more for a breeze: there the last digits decide.
    assert windier.tension >= film.tension * (1 - 1e-12)
    assert windier.sag > film.sag
    assert thicker.sag < film.sag
    assert thicker.tension >= film.tension * (1 - 1e-12)
    if slack >= 0:
        assert windier.tension > film.tension
        assert thicker.tension > film.tension


@given(pressures, spans, thicknesses, moduli, st.floats(0, 0.4), st.floats(1e-4, 0.1))
def test_slack_spares_the_posts(pressure, span, thickness, modulus, slack, more):
    film = held(pressure, span, thickness, modulus, slack)
    looser = held(pressure, span, thickness, modulus, slack + more)

    assert looser.tension < film.tension
    assert looser.sag > film.sag


@given(pressures, spans, thicknesses, moduli, slacks, st.floats(0.1, 10))
def test_a_strip_twice_as_large_is_the_same_strip(pressure, span, thickness, modulus, slack, scale):
    film = held(pressure, span, thickness, modulus, slack)
    large = strip(pressure, span * scale, thickness * scale, modulus=modulus, slack=slack)
    stiff = strip(pressure * scale, span, thickness, modulus=modulus * scale, slack=slack)

    assert large.sag == pytest.approx(film.sag * scale, rel=1e-8)
    assert large.tension == pytest.approx(film.tension * scale, rel=1e-8)
    assert stiff.sag == pytest.approx(film.sag, rel=1e-8)
    assert stiff.tension == pytest.approx(film.tension * scale, rel=1e-8)


@given(spans, st.floats(1e-6, 0.01))
def test_a_shallow_arc_is_a_parabola_and_a_catenary(span, belly):
    shape, flat, hung = arc(span, belly * span), parabola(1.0, span, belly * span), catenary(1.0, span, belly * span)

    # R = L²/8s + s/2 and H = w (L²/8s + s/6 ...): apart by 4 and 4/3 of the squared belly.
    assert shape.radius == pytest.approx(flat.pull, rel=4.1 * belly**2 + 1e-12)
    assert hung.pull == pytest.approx(flat.pull, rel=1.4 * belly**2 + 1e-12)
    assert shape.length == pytest.approx(flat.length, rel=7 * belly**4 + 1e-12)
    assert hung.length == pytest.approx(flat.length, rel=7 * belly**4 + 1e-12)


@given(spans, st.floats(1e-6, 1))
def test_a_catenary_in_closed_form(span, belly):
    cable = catenary(2.0, span, belly * span)
    a = cable.pull / 2.0

    # (length/2)² = s² + 2as, and at the edge the tension is w(a + s).
    assert (cable.length / 2) ** 2 == pytest.approx((belly * span) ** 2 + 2 * a * belly * span, rel=1e-9)
    assert cable.tension == pytest.approx(np.hypot(cable.pull, 2.0 * cable.length / 2), rel=1e-9)


@given(spans, st.floats(1e-12, LOOSEST))
def test_slack_and_back(span, slack):
    shape = arc(span, np.minimum(arc_of_slack(span, slack), span / 2))

    assert shape.strain == pytest.approx(slack, rel=1e-9)


@given(spans, bellies)
def test_an_arc_by_the_arc_sine(span, belly):
    shape = arc(span, belly * span)

    assert np.sin(shape.slope) == pytest.approx(span / (2 * shape.radius), rel=1e-9)
    assert shape.length == pytest.approx(2 * shape.radius * shape.slope, rel=1e-9)
    assert shape.strain == pytest.approx(shape.length / span - 1, abs=1e-14)


@given(temperatures, temperatures, temperatures, thicknesses)
def test_warmth_only_depends_on_where_it_began(hung, between, now, thickness):
    there = slack_after(between, hung)
    direct, stepwise = slack_after(now, hung), slack_after(now, between, slack=there)

    assert stepwise == pytest.approx(direct, abs=1e-15)
    assert (held_tension(direct, thickness) > 0) == (direct < 0)


@given(st.floats(0, 20), st.floats(0, 20), st.floats(0.1, 20))
def test_film_never_grows_stronger(age, later, life):
    sooner, after = strength_left(np.sort([age, later]), life)

    assert 1 >= sooner >= after >= 0
