"""The reading of one door: its states, which link is named, what happens where something is not known."""

from dataclasses import replace

import numpy as np
import pytest

from doors.mechanics.assess import read_wind
from doors.mechanics.built import State
from doors.mechanics.strength import Strengths, coefficients, limit_gust
from doors.mechanics.wind_data import Enclosure
from doors.sizing import FOOT, DoorKind, Rules, SizingError
from tests.hung_doors import make_door, make_site, make_tube


def read(opening=None, site=None, strengths=None):
    readings = read_wind(opening or make_door(), site or make_site(), strengths or Strengths(), Rules())
    return {reading.state: reading for reading in readings}


def test_states_least_secured_first():
    assert list(read()) == list(State)
    assert list(read(site=make_site(hold_down_spacing=None))) == list(State)[:-1]


def test_the_limit_is_the_governing_links():
    """Pressure of the link over 0.613 times the coefficient of its way, worst direction."""
    opening = make_door()
    worst = coefficients(opening.rough_width * opening.rough_height, np.nan, Enclosure.ENCLOSED)

    for reading in read().values():
        inward = limit_gust(reading.inward_link.pressure, worst.inward)
        outward = limit_gust(reading.outward_link.pressure, worst.outward)
        assert reading.inward_gust == pytest.approx(float(inward))
        assert reading.outward_gust == pytest.approx(float(outward))
        assert reading.limit == min(reading.inward_gust, reading.outward_gust)
        assert reading.governing is (reading.inward_link if inward <= outward else reading.outward_link)
        assert reading.governing.breaks


def test_a_torn_open_house_stands_less():
    shut, torn = read(), read(site=make_site(enclosure=Enclosure.PARTLY_ENCLOSED))

    assert all(torn[state].limit < shut[state].limit for state in State)


def test_one_way_unknown_is_no_limit():
    """The known way must not stand for both: what is not known may be weaker, whichever way it is."""
    no_soil, no_stud = read(site=make_site(soil=None)), read(site=make_site(stud_depth=None))
    outward, inward = no_soil[State.CLOSED], no_stud[State.CLOSED]

    assert np.isfinite(outward.inward_gust)
    assert np.isnan([outward.outward_gust, outward.limit]).all()
    assert outward.governing.name == "tube_in_soil"
    assert np.isnan([inward.inward_gust, inward.outward_gust, inward.limit]).all()
    assert inward.governing.name in ("stud_inward", "jamb_at_header")


def test_weak_hold_downs_leave_a_wired_door():
    """Hooks of 10 N: the wired state decides, and the link named is one of its own."""
    readings = read(strengths=Strengths(hold_down=10.0))
    wired, tied = readings[State.WIRED], readings[State.TIED]

    assert tied.limit == wired.limit
    assert tied.governing is wired.governing
    assert tied.falls_back
    assert not wired.falls_back
    assert tied.stand.outward_link == -1


def test_jambs_that_give_leave_a_closed_door():
    """A bottom bar as wide as it is high puts half of the film on thin jambs, held at the header's upper edge."""
    door = make_door(10, 10, DoorKind.BOTTOM_BAR)
    opening, site = replace(door, wall=replace(door.wall, shape=None)), make_site(stud_depth=0.02)
    readings = read(opening, site)

    assert readings[State.WIRED].inward_gust >= readings[State.CLOSED].inward_gust
    assert readings[State.WIRED].outward_gust == readings[State.CLOSED].outward_gust
    assert readings[State.WIRED].stand.outward_link == -1


def test_strong_hold_downs_help():
    readings = read(strengths=Strengths(hold_down=1e5))

    assert readings[State.TIED].limit > readings[State.WIRED].limit
    assert not readings[State.TIED].falls_back


def test_flapping_begins_long_before_breaking_unless_it_is_tied():
    readings = read()

    assert readings[State.CLOSED].flap_gust < readings[State.WIRED].flap_gust < readings[State.TIED].flap_gust
    assert readings[State.CLOSED].flap_gust < readings[State.CLOSED].limit


def test_the_limit_of_a_plain_door_is_believable():
    """12 x 10 ft, 1.66 in bar: 30 to 60 mph, no more; common practice, no source (red from about 10 ft of width)."""
    readings = read()

    assert 30 < readings[State.CLOSED].limit / 0.44704 < 60
    assert readings[State.TIED].limit > readings[State.CLOSED].limit


def test_a_door_no_opening_can_have_is_refused():
    with pytest.raises(SizingError, match="rough_width"):
        read(replace(make_door(), rough_width=0.1))
    with pytest.raises(SizingError, match="turning_tube"):
        read(replace(make_door(), design=replace(make_door().design, turning_tube=make_tube(30.0))))


def test_without_a_sill_tube_only_the_struck_bar_is_known():
    bare = read(replace(make_door(), design=replace(make_door().design, sill_tube=None)))

    assert np.isnan(bare[State.CLOSED].limit)
    assert np.isnan(bare[State.OPEN].limit)  # the roll grows until it meets the sill bar
    assert np.isfinite(bare[State.PART_OPEN].limit)
    assert np.isnan(bare[State.PART_OPEN].flap_gust)


def test_closed_sheds_no_load_to_hold_downs_far_apart():
    far = read(site=make_site(hold_down_spacing=40 * FOOT), strengths=Strengths(hold_down=1e6))

    assert far[State.TIED].limit >= far[State.WIRED].limit
