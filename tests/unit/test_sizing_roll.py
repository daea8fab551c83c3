"""The winding of a door, against a simulation that turns the bar bit by bit and watches where everything is."""

import math

import pytest

from doors.sizing import INCH, SizingError
from doors.sizing.roll import bottom_bar, mid_bar, wound_diameter, wound_length

MIL = INCH / 1000
STEP = 1 / 2000  # of a turn


def turn_mid_bar(height, bar, sill, film, take_up):
    """Turn the mid-height bar until the sill bar touches its roll: turns to rest, turns to open, roll, clear height."""
    turns = wound = 0.0
    to_rest = None
    while True:
        radius = bar / 2 + 2 * film * turns  # two films a turn, all round
        wound += 2 * math.pi * radius * STEP
        turns += STEP
        if to_rest is None:
            if wound >= take_up:
                to_rest, at_rest = turns, wound
            continue
        climbed = wound - at_rest
        middle = height / 2 + climbed  # the film above is shorter by what was wound
        sill_top = sill + 2 * climbed  # and the film below as well, under a bar that climbs
        radius = bar / 2 + 2 * film * turns
        if middle - radius <= sill_top:
            return to_rest, turns - to_rest, 2 * radius, sill_top - sill


def turn_bottom_bar(height, bar, film, wraps):
    """Turn the bottom bar until its roll is level with the header: turns, roll, clear height."""
    turns, wound = wraps, 0.0
    lowest = bar / 2 + film * wraps  # it rests on the threshold
    while True:
        radius = bar / 2 + film * turns
        wound += 2 * math.pi * radius * STEP
        turns += STEP
        radius = bar / 2 + film * turns
        if lowest + wound + radius >= height:
            return turns - wraps, 2 * radius, lowest + wound - radius


@pytest.mark.parametrize("height", [78, 96, 108, 120])
@pytest.mark.parametrize("bar", [1.315, 1.66, 1.9])
def test_the_mid_height_bar_turns_as_simulated(height, bar):
    sizes = height * INCH, bar * INCH, 1.315 * INCH, 6 * MIL

    winding = mid_bar(*sizes, take_up=4 * INCH)
    to_rest, to_open, diameter, clear = turn_mid_bar(*sizes, 4 * INCH)

    assert winding.turns_to_rest == pytest.approx(to_rest, abs=0.002)
    assert winding.turns_to_open == pytest.approx(to_open, abs=0.004)
    assert winding.diameter_open == pytest.approx(diameter, abs=1e-5)
    assert winding.clear_height == pytest.approx(clear, abs=2e-4)


@pytest.mark.parametrize("height", [78, 96, 108, 120])
@pytest.mark.parametrize("bar", [1.315, 1.66, 1.9])
def test_the_bottom_bar_turns_as_simulated(height, bar):
    winding = bottom_bar(height * INCH, bar * INCH, 6 * MIL, tail_wraps=1.5)
    turns, diameter, clear = turn_bottom_bar(height * INCH, bar * INCH, 6 * MIL, 1.5)

    assert winding.turns_to_open == pytest.approx(turns, abs=0.002)
    assert winding.diameter_open == pytest.approx(diameter, abs=1e-5)
    assert winding.clear_height == pytest.approx(clear, abs=2e-4)


@pytest.mark.parametrize(("bar", "turns"), [(1.315, 26), (1.66, 21), (1.9, 19)])
def test_about_as_many_turns_as_practice_counts(bar, turns):
    # Derived: a 10 ft door takes about 26, 21 and 19 turns on bars of 1.315, 1.660 and 1.900 in.
    winding = bottom_bar(120 * INCH, bar * INCH, 6 * MIL, tail_wraps=0)

    assert winding.turns_to_open == pytest.approx(turns, abs=1)


def test_bars_and_roll_fill_what_is_not_clear():
    # From the threshold up: what is clear, the sill bar, the roll, and as much as the sill bar left under the header.
    winding = mid_bar(108 * INCH, 1.66 * INCH, 1.315 * INCH, 6 * MIL, take_up=4 * INCH)

    used = winding.clear_height + winding.diameter_open + 2 * 1.315 * INCH
    assert used == pytest.approx(108 * INCH)
    assert winding.film_wound == winding.bar_rise == pytest.approx(winding.clear_height / 2)


@pytest.mark.parametrize("mils", [6, 200])
def test_roll_and_film_fit_each_other(mils):
    """The film's cross-section fills the ring round the bar: exactly, also for a quilt of 0.2 in."""
    bar, film = 1.66 * INCH, mils * MIL
    mid = mid_bar(108 * INCH, bar, 1.315 * INCH, film, take_up=4 * INCH)
    bottom = bottom_bar(108 * INCH, bar, film, tail_wraps=1.5)

    ring = math.pi / 4 * (mid.diameter_open**2 - bar**2)
    assert ring == pytest.approx(2 * film * (mid.film_wound + 4 * INCH), rel=1e-12)
    ring = math.pi / 4 * (bottom.diameter_open**2 - bottom.diameter_closed**2)
    assert ring == pytest.approx(film * bottom.film_wound, rel=1e-12)
    assert bottom.diameter_closed == pytest.approx(bar + 3 * film)
    # From the threshold up: half of the closed roll, the rise, half of the open one.
    rise = 108 * INCH - (bottom.diameter_closed + bottom.diameter_open) / 2
    assert bottom.bar_rise == bottom.film_wound == pytest.approx(rise)
    assert mid.turns_to_open == pytest.approx((mid.diameter_open - mid.diameter_closed) / (4 * film))


def test_the_mid_height_bar_cannot_part_from_the_sill_bar():
    # 2 x 1.315 in of sill bar and just over 1.66 in of roll leave nothing of 4.29 in to open.
    with pytest.raises(SizingError) as caught:
        mid_bar(4.29 * INCH, 1.66 * INCH, 1.315 * INCH, 6 * MIL, take_up=0)

    assert (caught.value.field, caught.value.relation) == ("rough_height", "above")
    assert caught.value.limit == pytest.approx(4.29 * INCH)


def test_the_bottom_bar_is_lower_than_its_opening():
    # 1.66 in and 1.5 wraps of 0.006 in on both sides: 1.678 in are closed.
    with pytest.raises(SizingError) as caught:
        bottom_bar(1.67 * INCH, 1.66 * INCH, 6 * MIL, tail_wraps=1.5)

    assert (caught.value.field, caught.value.limit) == ("rough_height", pytest.approx(1.678 * INCH))


@pytest.mark.parametrize(
    ("sizes", "field"),
    [((0, 1, 1), "core"), ((1, 0, 1), "thickness"), ((1, 1, -1), "length")],
)
def test_no_roll_on_nothing(sizes, field):
    with pytest.raises(SizingError) as caught:
        wound_diameter(*sizes)

    assert caught.value.field == field


@pytest.mark.parametrize(
    ("sizes", "field"),
    [((0, 1, 1), "core"), ((1, 0, 1), "thickness"), ((1, 1, 0.9), "diameter")],
)
def test_no_length_on_a_roll_thinner_than_its_core(sizes, field):
    with pytest.raises(SizingError) as caught:
        wound_length(*sizes)

    assert caught.value.field == field


def test_no_winding_of_film_without_thickness():
    with pytest.raises(SizingError) as caught:
        bottom_bar(2.0, 0.04, 0.0, tail_wraps=1.5)

    assert caught.value.field == "thickness"
