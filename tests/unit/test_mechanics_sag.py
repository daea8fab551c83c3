"""The sag of a bar's drive end: closed forms where every film is tight; else the balance found by trying every set."""

from itertools import combinations

import numpy as np
import pytest

from doors.mechanics import sag
from doors.mechanics.beam import LineLoad, PointLoad, Support, bend
from doors.mechanics.sag import drive_overhang
from doors.sizing.quantity import SizingError

BAR = 8636.0  # N m², 1.66 in x 0.065 in
GEARBOX = 24.5  # N


def test_two_clamps_far_apart():
    """Span 3 m, overhang 1 m, w = 20 N/m, G = 24.5 N, both films tight (the far one holds 80/3 - 24.5/3 N):
    tip = [w a (4 a² L - L³ + 3 a³)/24 + G a² (L + a)/3] / EI = (-10 + 32.667) / 8636 = 2.6247 mm;
    moment over the clamp w a²/2 + G a = 34.5 N m.
    """
    found = drive_overhang(
        4.0, np.array([0.0, 3.0]), drive_place=4.0, strip_place=None, stiffness=BAR, weight=20.0, gearbox_weight=GEARBOX
    )

    assert found.tip == pytest.approx(22.6667 / BAR, rel=1e-4)
    assert found.moment == pytest.approx(34.5)
    assert found.tip_with_strip == found.tip
    assert found.moment_with_strip == pytest.approx(34.5)


def test_a_strip_over_the_gearbox_carries_it():
    found = drive_overhang(
        4.0, np.array([0.0, 3.0]), drive_place=4.0, strip_place=4.0, stiffness=BAR, weight=20.0, gearbox_weight=GEARBOX
    )

    assert found.tip > 0.002
    assert found.tip_with_strip == 0
    assert found.moment_with_strip < found.moment


def test_a_drive_on_the_left_is_the_mirror_image():
    right = drive_overhang(5.0, np.linspace(0.3, 3.5, 8), drive_place=4.8, strip_place=4.5, stiffness=BAR, weight=18.0,
                           gearbox_weight=GEARBOX, below=5.0)  # fmt: skip
    left = drive_overhang(5.0, np.linspace(1.5, 4.7, 8), drive_place=0.2, strip_place=0.5, stiffness=BAR, weight=18.0,
                          gearbox_weight=GEARBOX, below=5.0)  # fmt: skip

    assert left.tip == pytest.approx(right.tip)
    assert left.tip_with_strip == pytest.approx(right.tip_with_strip, abs=1e-12)
    assert left.moment == pytest.approx(right.moment)
    assert left.moment_with_strip == pytest.approx(right.moment_with_strip)


def balanced(length, places, lines, gearbox):
    """Return the bar on the one set of films that all pull while no slack film is overstretched."""
    found = []
    for count in range(2, len(places) + 1):
        for tight in combinations(places, count):
            bent = bend(length, BAR, tuple(Support(place) for place in tight), (gearbox,), lines)
            slack = [np.interp(place, bent.places, bent.deflection) for place in places if place not in tight]
            if bent.reactions.min() >= -1e-9 and max(slack, default=0) <= 1e-12:
                found.append(bent)
    return found


@pytest.mark.parametrize("overhang", [0.4, 0.8, 1.2, 1.6])
@pytest.mark.parametrize("below", [0.0, 12.0])
@pytest.mark.parametrize("strip", [None, 0.3])
def test_a_heavy_end_lifts_the_bar_off_its_next_clamps(overhang, below, strip):
    clamps, length = np.linspace(0.2, 3.2, 7), 3.4 + overhang
    drive = length - 0.1
    held = None if strip is None else drive - strip
    lines = (LineLoad(0.0, length, 18.0), *((LineLoad(0.2, 3.2, below),) if below else ()))
    places = [*map(float, clamps), *([] if held is None else [held])]
    found = drive_overhang(length, clamps, drive_place=drive, strip_place=held, stiffness=BAR, weight=18.0,
                           gearbox_weight=GEARBOX, below=below)  # fmt: skip
    (by_trying,) = balanced(length, places, lines, PointLoad(drive, GEARBOX))
    pressed_down = bend(length, BAR, tuple(map(Support, map(float, clamps))), (PointLoad(drive, GEARBOX),), lines)

    assert found.tip_with_strip == pytest.approx(np.interp(drive, by_trying.places, by_trying.deflection), abs=1e-12)
    assert found.moment_with_strip == pytest.approx(by_trying.worst_moment)
    assert found.tip > np.interp(drive, pressed_down.places, pressed_down.deflection)


def test_films_that_go_slack_and_tight_again():
    """Uneven clamps near a heavy gearbox, found by chance: a film dropped early pulls in the end."""
    clamps = np.array([1.17320124, 1.17762117, 1.23552427, 1.75795729, 1.94776947, 2.79553281, 3.78169294])
    length, drive, strip = 7.763736706652776, 7.673923214969415, 5.0878399887207575
    lines = (LineLoad(0.0, length, 35.505), LineLoad(clamps[0], clamps[-1], 56.405))
    (by_trying,) = balanced(length, [*map(float, clamps), strip], lines, PointLoad(drive, 145.19))
    found = drive_overhang(length, clamps, drive_place=drive, strip_place=strip, stiffness=BAR, weight=35.505,
                           gearbox_weight=145.19, below=56.405)  # fmt: skip

    assert found.tip_with_strip == pytest.approx(np.interp(drive, by_trying.places, by_trying.deflection))


def test_a_bar_too_light_to_hold_its_overhang_tips():
    """1 m between clamps, 3 m beyond: 20 x 3²/2 = 90 N m against 20 x 1²/2 = 10; 200 N/m below hold it, 10 + 100."""
    both = {"drive_place": 4.0, "strip_place": 3.9, "stiffness": BAR, "weight": 20.0, "gearbox_weight": 0.0}
    light = drive_overhang(4.0, np.array([0.0, 0.5, 1.0]), **both)
    heavy = drive_overhang(4.0, np.array([0.0, 0.5, 1.0]), **both, below=200.0)
    tips = drive_overhang(4.0, np.array([0.0, 0.5, 1.0]), **(both | {"strip_place": None}))

    assert light.tip == np.inf
    assert light.moment == pytest.approx(90)
    assert np.isfinite([light.tip_with_strip, heavy.tip]).all()
    assert tips.tip_with_strip == tips.moment_with_strip == np.inf


def test_weight_and_gearbox_add_to_the_sag():
    sizes = {"drive_place": 3.9, "strip_place": None, "stiffness": BAR}
    tips = [
        drive_overhang(4.0, np.array([0.0, 1.5, 3.0]), **sizes, weight=weight, gearbox_weight=gearbox).tip
        for weight, gearbox in ((10.0, 0.0), (10.0, 20.0), (10.0, 40.0))
    ]

    assert tips[0] < tips[1] < tips[2]
    assert drive_overhang(4.0, np.array([0.0, 3.0]), **sizes, weight=0.0, gearbox_weight=0.0).tip == 0


def test_a_strip_at_a_clamp_changes_nothing():
    found = drive_overhang(4.0, np.array([0.0, 1.5, 3.0]), drive_place=3.9, strip_place=3.0, stiffness=BAR, weight=16.0,
                           gearbox_weight=GEARBOX)  # fmt: skip

    assert found.tip_with_strip == pytest.approx(found.tip)


@pytest.mark.parametrize("name", ["weight", "gearbox_weight", "below"])
def test_weights_below_zero_are_refused(name):
    loads = {"weight": 1.0, "gearbox_weight": 1.0, "below": 1.0} | {name: -1.0}
    with pytest.raises(SizingError, match=f"{name} is -1: must be at least 0"):
        drive_overhang(4.0, np.array([0.0, 3.0]), drive_place=4.0, strip_place=None, stiffness=BAR, **loads)


def test_a_set_of_films_that_is_never_settled_says_so(monkeypatch):
    monkeypatch.setattr(sag, "ROUNDS", 0)
    with pytest.raises(ArithmeticError, match="which clamps pull was not settled"):
        test_two_clamps_far_apart()
