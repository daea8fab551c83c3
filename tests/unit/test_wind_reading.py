"""What stands between the rows and the mechanics: inputs, gaps, utilisation, load path, words."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from django.utils import translation

from doors.mechanics.built import State
from doors.mechanics.post import Soil
from doors.mechanics.wind_data import Enclosure, Exposure
from doors.wind.gaps import FIELDS
from doors.wind.path import SHORT, STATIONS, load_path
from doors.wind.reading import FASTEST_SHOWN, read
from doors.words.wind import (
    INPUTS,
    LINK_NOTES,
    LINKS,
    STATE_NOTES,
    STATES,
    flapping_text,
    forecast_text,
    gap_text,
    gust_text,
    share_text,
    standing_text,
)
from farm.models import Farm
from tests.wind_doors import INCH, MPH, make_bottom_bar, make_door

FEET = 12 * INCH


def test_soils_of_a_farm_are_those_the_mechanics_know():
    assert set(Farm.Soil.values) == set(Soil)


def test_film_loses_half_its_strength_by_the_end_of_its_rated_life():
    assert make_door(film_years=2.0, rated_years=4.0).film_left == pytest.approx(0.75)
    assert make_door(film_years=4.0, rated_years=4.0).film_left == pytest.approx(0.5)
    assert make_door(film_years=9.0, rated_years=4.0).film_left == 0.0


def test_new_film_has_its_strength_whatever_its_rating():
    assert make_door(film_years=0.0, rated_years=None).film_left == 1.0


@pytest.mark.parametrize("unknown", [{"film_years": None}, {"film_years": 3.0, "rated_years": None}])
def test_film_of_unknown_age_or_rating_has_an_unknown_strength(unknown):
    reading = read(make_door(**unknown), 20.0)

    assert make_door(**unknown).film_left is None
    assert all(math.isnan(state.limit) for state in reading.states if state.state in ("closed", "wired"))
    assert [gap.field for gap in reading.gaps] == ["film_age"]
    assert reading.gaps[0].links == ("film",)


# Utilisation ---------------------------------------------------------------------


def test_a_limit_is_where_the_weakest_link_is_used_up():
    door = make_door(hold_down_spacing=4 * FEET)
    for state in read(door, 20.0).states:
        at_limit = read(door, state.limit).state(state.state)

        assert at_limit.weakest.utilisation == pytest.approx(1.0, rel=1e-9)
        assert state.utilisation(state.limit) == pytest.approx(1.0, rel=1e-9)
        assert state.utilisation(state.limit / 2) == pytest.approx(0.25, rel=1e-9)


def test_links_stand_weakest_first_and_only_a_known_one_gives_first():
    for state in read(make_door(), 20.0).states:
        gusts = [one.gust for one in state.links]

        assert gusts == sorted(gusts)
        assert sum(state.gives_first(one) for one in state.links) == 1


def test_velocity_pressure_of_a_gust_of_46_mph():
    # 0.613 x (46 x 0.44704)² = 259.2 Pa
    assert read(make_door(), 46 * MPH).velocity_pressure == pytest.approx(259.2, abs=0.05)


def test_forecast_gust_is_taken_back_by_the_power_law_of_the_exposure():
    # Exposure C of ASCE 7-22, Table 26.11-1: alpha 9.8; below 15 ft as at 15 ft. V ratio (4.572 / 10)^(1/9.8).
    reading = read(make_door(exposure=Exposure.C), 20.0)

    assert reading.forecast(20.0) == pytest.approx(20.0 / (4.572 / 10) ** (1 / 9.8), rel=1e-9)


def test_a_hole_in_the_house_lowers_every_limit():
    shut, holed = (read(make_door(enclosure=way), 20.0) for way in (Enclosure.ENCLOSED, Enclosure.PARTLY_ENCLOSED))

    assert all(after.limit < before.limit for before, after in zip(shut.states, holed.states, strict=True))


def test_a_door_without_hold_downs_has_no_state_with_them():
    assert [state.state for state in read(make_door(), 20.0).states] == ["open", "part_open", "closed", "wired"]
    assert read(make_door(), 20.0).state(State.TIED) is None


# Gaps ----------------------------------------------------------------------------


def test_nothing_is_missing_of_a_door_that_was_measured_and_chosen():
    assert read(make_door(), 20.0).gaps == ()


def test_missing_soil_blocks_the_foot_of_the_tubes_and_nothing_else():
    reading = read(make_door(soil=None), 20.0)

    assert [(gap.field, gap.links) for gap in reading.gaps] == [("soil", ("tube_in_soil", "tube_leans"))]
    assert gap_text(reading.gaps[0]) == (
        "The farm's soil is missing; not known without it: tube in the soil, tube leaning in the soil."
    )


def test_each_of_two_gaps_is_named_with_its_own_links():
    reading = read(make_door(soil=None, stud_depth=None), 20.0)

    found = {gap.field: gap.links for gap in reading.gaps}
    assert set(found) == {"soil", "stud_depth"}
    assert {"stud_inward", "tube_in_soil"} & set(found["stud_depth"]) == {"stud_inward"}
    assert {"stud_inward", "tube_in_soil"} & set(found["soil"]) == {"tube_in_soil"}


def test_sill_tube_is_no_gap_of_a_bottom_bar():
    door = make_bottom_bar(opening={"design": {"sill_tube": None}})

    assert "design.sill_tube" not in [gap.field for gap in read(door, 20.0).gaps]


@pytest.mark.parametrize("field", FIELDS)
def test_every_input_that_can_lack_is_filled_and_named(field):
    row = FIELDS[field]
    lacking = {
        "stud_depth": {"stud_depth": None}, "soil": {"soil": None}, "film_age": {"film_years": None},
        "threshold": {"opening": {"threshold": None}}, "header_depth": {"opening": {"header_depth": None}},
    }  # fmt: skip
    if field in lacking:
        door = make_door(**lacking[field])
    else:
        part, _, name = field.partition(".")
        door = make_door(opening={part: {name: None}})

    assert row.is_lacking(door)
    assert not row.is_lacking(row.fill(door))
    assert field in INPUTS
    assert field in [gap.field for gap in read(door, 20.0).gaps]


def test_a_limit_that_is_not_known_is_still_bounded_by_what_is():
    reading = read(make_door(soil=None), 20.0)
    closed = reading.state(State.CLOSED)

    assert math.isnan(closed.limit)
    assert closed.weakest is not None
    assert closed.weakest.gust < FASTEST_SHOWN
    assert not closed.gives_first(closed.weakest)
    text = standing_text(reading, "us")
    assert text.startswith("What it stands as closed is not known. Missing: the farm's soil. It is not more than ")


# Load path -----------------------------------------------------------------------


@pytest.mark.parametrize("state", [State.CLOSED, State.WIRED, State.TIED])
@pytest.mark.parametrize("make", [make_door, make_bottom_bar])
def test_load_path_is_in_balance_at_the_tube(make, state):
    reading = read(make(hold_down_spacing=4 * FEET), 46 * MPH)
    path = load_path(reading, reading.state(state))
    upper, lower, rod, soil = path.on_tube

    assert upper + lower == pytest.approx(rod + soil, rel=1e-12)
    assert all(station.load >= 0 for station in path.stations)
    assert sum(station.gives_first for station in path.stations) == 1


def test_belly_grows_with_the_gust():
    bellies = [load_path(reading, reading.secured).belly for reading in (read(make_door(), gust) for gust in (10, 20))]

    assert bellies[0] < bellies[1]
    # Slack film hangs with a tenth of its 4 1/2 ft span before it stretches.
    assert bellies[0] > 0.1 * 4.5 * FEET


def test_film_that_is_not_chosen_has_no_belly():
    reading = read(make_door(opening={"design": {"film": None}}), 20.0)

    assert load_path(reading, reading.secured).belly is None


# Words ---------------------------------------------------------------------------


@pytest.mark.parametrize("make", [make_door, make_bottom_bar])
def test_everything_of_a_reading_has_a_name(make):
    reading = read(make(hold_down_spacing=4 * FEET), 20.0)
    stations = {station.key for state in reading.states[2:] for station in load_path(reading, state).stations}

    for state in reading.states:
        assert {state.state} <= STATES.keys() & STATE_NOTES.keys()
        assert {one.link.name for one in state.links} <= LINKS.keys() & LINK_NOTES.keys()
    assert stations <= STATIONS.keys() & SHORT.keys()


def test_words_say_what_a_door_stands_in_the_readers_units():
    reading = read(make_door(hold_down_spacing=4 * FEET), 20.0)
    closed = reading.state(State.CLOSED)

    text = standing_text(reading, "us")
    assert f"As closed it is expected to stand gusts up to {math.floor(closed.limit / MPH)} mph at the door" in text
    assert "With side wires" in text
    assert "with hold-downs too" in text
    assert f"{math.floor(closed.limit * 10) / 10:.1f} m/s" in standing_text(reading, "metric")
    assert "as closed from" in flapping_text(reading, "us")
    assert f"as closed {math.floor(reading.forecast(closed.limit) / MPH)} mph" in forecast_text(reading, "us")


def test_hold_downs_that_give_sooner_are_said_to_add_nothing():
    weak = make_door(hold_down_spacing=9 * FEET)
    weak = replace(weak, strengths=replace(weak.strengths, hold_down=20.0))

    assert "(no more: hold-downs" in standing_text(read(weak, 20.0), "us")


@pytest.mark.parametrize(
    ("gust", "said"),
    [(math.nan, "not known"), (32 * MPH, "32 mph"), (104.0, "more than 150 mph"), (math.inf, "more than 150 mph")],
)
def test_gusts_beyond_use_are_not_printed_as_figures(gust, said):
    assert gust_text(gust, "us") == said


@pytest.mark.parametrize(
    ("share", "said"), [(math.nan, "not known"), (0.0, "0 %"), (0.004, "0 %"), (0.48, "48 %"), (12.0, "over 999 %")]
)
def test_shares_are_printed_in_per_cent(share, said):
    assert share_text(share) == said


def test_gusts_are_printed_with_the_languages_decimal_mark():
    with translation.override("es"):
        assert gust_text(14.25, "metric") == "14.2 m/s"  # what a door stands is never rounded up
