"""Cranking a door: the pull as the change of potential energy of film cut into slices, and the trade's own figures."""

import numpy as np
import pytest

from doors.mechanics.film import areal_mass
from doors.mechanics.lift import (
    HANDLE_FORCE_LEAST,
    HANDLE_FORCE_MOST,
    SELF_LOCKING_EFFICIENCY,
    Weights,
    bottom_bar_pull,
    crank,
    mid_bar_pull,
)
from doors.mechanics.strength import CLAMP_MASS
from doors.mechanics.tube import STANDARD_GRAVITY, section
from doors.sizing.quantity import FOOT, INCH, POUND_FORCE, SizingError
from doors.sizing.roll import bottom_bar
from doors.sizing.roll import mid_bar as mid_bar_roll

BAR, SILL, FILM, HEIGHT = 60.0, 40.0, 9.0, 3.0  # N, N, N/m of height, m
WEIGHTS = Weights(np.asarray(BAR), np.asarray(SILL), np.asarray(FILM))


def energy_of_film(stretches):
    """Weight times height of film hung between pairs of heights, or wound at one height, in 1000 slices each."""
    total = 0.0
    for low, high, length in stretches:
        middles = low + (np.arange(1000) + 0.5) / 1000 * (high - low)
        total += FILM * length / 1000 * middles.sum()
    return total


def energy_mid_bar(climbed):
    """The turning bar at h/2 + L winds 2 L of film; the sill bar follows at 2 L."""
    bar, sill, hung = HEIGHT / 2 + climbed, 2 * climbed, HEIGHT / 2 - climbed
    film = energy_of_film([(bar, HEIGHT, hung), (bar, bar, 2 * climbed), (sill, bar, hung)])
    return film + BAR * bar + SILL * sill


def energy_bottom_bar(climbed):
    film = energy_of_film([(climbed, HEIGHT, HEIGHT - climbed), (climbed, climbed, climbed)])
    return film + BAR * climbed


@pytest.mark.parametrize("climbed", [0.1, 0.5, 1.0, 1.4])
def test_pull_is_the_change_of_energy(climbed):
    step = 1e-4
    mid = (energy_mid_bar(climbed + step) - energy_mid_bar(climbed - step)) / (2 * step)
    bottom = (energy_bottom_bar(climbed + step) - energy_bottom_bar(climbed - step)) / (2 * step)

    assert mid_bar_pull(WEIGHTS, HEIGHT) == pytest.approx(mid, rel=1e-6)
    assert bottom_bar_pull(WEIGHTS, climbed) == pytest.approx(bottom, rel=1e-6)


def test_by_hand():
    """60 + 2 x 40 + 9 x 3 = 167 N; 60 + 9 x 2 = 78 N.

    On a roll of 50 mm: 167 x 0.025 = 4.175 N m; 3:1, 0.2 m, a half lost: 4.175 / 0.3 = 13.917 N; grown to 60 mm:
    5.01 N m, 16.7 N. 1.4 m up: 233.8 J. 20 turns at 3:1, one turn of the crank in 2 s: 120 s.
    """
    assert mid_bar_pull(WEIGHTS, HEIGHT) == 167
    assert bottom_bar_pull(WEIGHTS, 2.0) == 78
    found = crank(167.0, 167.0, 0.050, 0.060, 1.4, 20.0, ratio=3.0, handle_radius=0.2, efficiency=0.5,
                  turns_per_second=0.5)  # fmt: skip

    assert found.torque_closed == pytest.approx(4.175)
    assert found.torque_open == pytest.approx(5.01)
    assert found.handle_force == pytest.approx(16.7)
    assert found.work == pytest.approx(233.8)
    assert found.seconds == pytest.approx(120)


def test_work_at_the_bar_is_torque_over_the_turns():
    """Energy once more: torque summed over the turns of a growing roll is the pull over the rise, to the film's
    thickness: the roll grows in steps, the torque with it.
    """
    roll = bottom_bar(3.0, 0.042164, 0.0001524, tail_wraps=1.5)
    closed, opened = (float(one) for one in (roll.diameter_closed, roll.diameter_open))
    diameters = np.linspace(closed, opened, 20_001)
    climbed = np.pi * (diameters**2 - closed**2) / (4 * 0.0001524)
    torque = bottom_bar_pull(WEIGHTS, climbed) * diameters / 2
    angle = 2 * np.pi * (diameters - closed) / (2 * 0.0001524)
    found = crank(BAR, bottom_bar_pull(WEIGHTS, roll.film_wound), closed, opened, roll.bar_rise, roll.turns_to_open,
                  ratio=1.0, handle_radius=0.2, efficiency=1.0, turns_per_second=1.0)  # fmt: skip

    assert np.sum((torque[1:] + torque[:-1]) / 2 * np.diff(angle)) == pytest.approx(float(found.work), rel=1e-4)


def test_a_wide_door_is_light_on_the_crank():
    """Orders of magnitude, common practice, no source: 22 x 10 ft, bar, film and clamps about 38 lb, torque about
    41 lb-in, 7 in handle about 6 lbf; about 21 turns, at 25 turns a minute under a minute.
    """
    bar = float(section(1.66 * INCH, 0.065 * INCH).weight) * 22 * FOOT
    film = float(areal_mass(0.006 * INCH)) * STANDARD_GRAVITY * 22 * FOOT
    clamps = CLAMP_MASS * STANDARD_GRAVITY * 20
    roll = bottom_bar(10 * FOOT, 1.66 * INCH, 0.006 * INCH, tail_wraps=1.5)
    weights = Weights(np.asarray(bar + clamps), np.asarray(0.0), np.asarray(film))
    found = crank(bar + clamps, bottom_bar_pull(weights, roll.film_wound), roll.diameter_closed, roll.diameter_open,
                  roll.bar_rise, roll.turns_to_open, ratio=1.0, handle_radius=7 * INCH, efficiency=1.0,
                  turns_per_second=25 / 60)  # fmt: skip

    assert found.pull_open / POUND_FORCE == pytest.approx(38, rel=0.25)
    assert found.torque_open / (POUND_FORCE * INCH) == pytest.approx(41, rel=0.3)
    assert found.handle_force / POUND_FORCE == pytest.approx(6, rel=0.3)
    assert roll.turns_to_open == pytest.approx(21, abs=1)
    assert found.seconds < 60
    assert found.handle_force < HANDLE_FORCE_MOST


def test_range_of_large_hand_cranks():
    """5 to 10 lbf for cranks of 12.5 to 20 cm: ergonomics tables, seen in a secondary source."""
    least, most = (force / POUND_FORCE for force in (HANDLE_FORCE_LEAST, HANDLE_FORCE_MOST))
    assert least == pytest.approx(5, rel=0.02)
    assert most == pytest.approx(10, rel=0.02)


@pytest.mark.parametrize(("efficiency", "back"), [(0.3, 0), (0.5, 0), (0.501, 1), (1.0, 1)])
def test_a_drive_that_loses_half_its_work_holds_the_door(efficiency, back):
    """Driven backwards its efficiency is 2 - 1/e: above zero from one half on."""
    found = crank(100.0, 100.0, 0.05, 0.05, 1.0, 10.0, ratio=1.0, handle_radius=0.2, efficiency=efficiency,
                  turns_per_second=1.0)  # fmt: skip

    assert found.runs_back == back == (2 - 1 / efficiency > 0)
    assert SELF_LOCKING_EFFICIENCY == 0.5


def test_arrays_and_unknowns():
    found = crank(np.array([100.0, np.nan]), 120.0, 0.05, np.array([0.06, 0.06]), 1.0, 10.0, ratio=2.0,
                  handle_radius=0.2, efficiency=0.4, turns_per_second=0.5)  # fmt: skip

    assert found.handle_force.shape == (2,)
    assert found.handle_force[0] == pytest.approx(3.6 / 0.16)
    assert np.isnan(found.handle_force[1])
    assert np.isnan(found.work[1])


def test_a_mid_bar_pulls_the_same_all_the_way_and_its_roll_grows():
    roll = mid_bar_roll(3.0, 0.042164, 0.0334, 0.0001524, take_up=0.1)

    assert roll.diameter_open > roll.diameter_closed
    assert mid_bar_pull(WEIGHTS, np.array([3.0, 3.0])) == pytest.approx([167, 167])


@pytest.mark.parametrize(
    ("name", "value", "relation"),
    [
        ("ratio", 0.0, "above 0"),
        ("handle_radius", -0.1, "above 0"),
        ("efficiency", 0.0, "above 0"),
        ("efficiency", 1.01, "at most 1"),
        ("turns_per_second", 0.0, "above 0"),
    ],
)
def test_what_no_crank_has_is_refused(name, value, relation):
    drive = {"ratio": 1.0, "handle_radius": 0.2, "efficiency": 0.5, "turns_per_second": 1.0} | {name: value}
    with pytest.raises(SizingError, match=f"{name} is .*: must be {relation}"):
        crank(1.0, 1.0, 0.05, 0.06, 1.0, 10.0, **drive)
