"""Spells, local gusts, storms in a forecast: by hand."""

import math
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from doors.mechanics.wind_data import Exposure
from maintenance.storm.criteria import Criterion, product_of
from maintenance.storm.events import EventRules, find_events, unknown_from
from maintenance.storm.levels import Wind
from maintenance.storm.local import (
    Learning,
    Observation,
    Place,
    Shelter,
    ShelterFactors,
    Standing,
    head_on_part,
    is_windward,
    learn_factor,
    local_factor,
)
from maintenance.storm.quantity import HOUR, KNOT, MPH, Fact, Interval, StormError
from maintenance.storm.spells import Basis, Gust, Spell, gust_of, in_order, without_holes

START = datetime(2026, 11, 17, tzinfo=UTC)


def hour(number):
    return START + timedelta(hours=number)


def spells(gusts, **changes):
    """One spell of six hours for each gust in mph, None for not known."""
    return tuple(
        Spell(hour(6 * i), hour(6 * i + 6), gust=None if gust is None else gust * MPH, **changes)
        for i, gust in enumerate(gusts)
    )


# Spells ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wind", "gust", "upper", "is_upper", "expected"),
    [
        (10.0, 15.0, 20.0, False, Gust(15.0, Basis.FORECAST)),
        (10.0, 15.0, 20.0, True, Gust(20.0, Basis.UPPER)),
        (10.0, 15.0, None, True, Gust(15.0, Basis.FORECAST)),
        (10.0, 25.0, 20.0, True, Gust(25.0, Basis.UPPER)),  # the upper gust is never below the expected one
        (18.0, 15.0, None, False, Gust(18.0, Basis.FORECAST)),  # nor a gust below the mean
        (10.0, None, None, False, Gust(17.5, Basis.MEAN)),  # 1.75, WMO/TD-1555
        (None, None, None, False, Gust(None, Basis.UNKNOWN)),
    ],
)
def test_the_gust_to_reckon_with(wind, gust, upper, is_upper, expected):
    spell = Spell(hour(0), hour(1), wind=wind, gust=gust, upper_gust=upper)

    assert gust_of(spell, upper=is_upper) == expected


def test_a_hole_is_a_spell_of_nothing_known():
    first, last = Spell(hour(0), hour(1), gust=5.0), Spell(hour(3), hour(4), gust=6.0)

    assert without_holes([last, first]) == (first, Spell(hour(1), hour(3)), last)
    assert in_order([last, first]) == (first, last)


def test_two_spells_may_not_overlap():
    with pytest.raises(StormError, match="the one before it ends at"):
        in_order([Spell(hour(0), hour(2)), Spell(hour(1), hour(3))])


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"start": datetime(2026, 11, 17)}, "spell.start", "utc"),
        ({"start": START.astimezone(ZoneInfo("America/New_York"))}, "spell.start", "utc"),
        ({"end": START}, "spell.end", "after"),
        ({"gust": -1.0}, "spell.gust", "at_least"),
        ({"wind": math.nan}, "spell.wind", "finite"),
        ({"upper_gust": 151.0}, "spell.upper_gust", "at_most"),
        ({"temperature": 0.0}, "spell.temperature", "above"),
        ({"snow": -0.01}, "spell.snow", "at_least"),
        ({"bearing_deg": math.inf}, "spell.bearing_deg", "finite"),
    ],
)
def test_a_spell_that_cannot_be(changes, field, code):
    with pytest.raises(StormError) as caught:
        Spell(**({"start": START, "end": hour(1)} | changes))

    assert (caught.value.field, caught.value.code) == (field, code)


def test_an_offset_of_nothing_is_utc():
    assert Interval(START.replace(tzinfo=timezone(timedelta(0))), hour(2)).length == timedelta(hours=2)


# Local gusts -------------------------------------------------------------------


def test_a_standard_gust_is_weaker_near_the_ground():
    # ASCE 7-16, Table 26.10-1, exposure C: 0.85 up to 15 ft; about 1.00 at 33 ft.
    factor = local_factor(Standing(height=4.0, exposure=Exposure.C))

    assert factor.total == pytest.approx(math.sqrt(0.85 / 1.00), abs=0.005)


def test_a_gust_of_the_site_keeps_its_height():
    factor = local_factor(Standing(place=Place.SITE, shelter=Shelter.HALF, learnt=1.2), ShelterFactors(half=0.9))

    assert (factor.profile, factor.shelter, factor.learnt) == (1.0, 0.9, 1.2)
    assert factor.total == pytest.approx(1.08)


@pytest.mark.parametrize("learnt", [0.0, 2.1, math.nan])
def test_a_learnt_factor_has_limits(learnt):
    with pytest.raises(StormError):
        local_factor(Standing(learnt=learnt))


def test_no_shelter_makes_wind():
    with pytest.raises(StormError, match=r"shelter\.half"):
        ShelterFactors(half=1.1)


@pytest.mark.parametrize(
    ("wall", "wind", "expected"),
    [
        (270, 270, True), (270, 225, True), (270, 292.5, True), (270, 202.5, True), (270, 337.5, True),
        (270, 180, False), (270, 0, False), (270, 90, False), (0, 330, True), (350, 20, True),
        (None, 180, True), (270, None, True),
    ],
)  # fmt: skip
def test_walls_within_three_points_of_the_wind_are_windward(wall, wind, expected):
    assert is_windward(wall, wind) is expected


@pytest.mark.parametrize(("wind", "expected"), [(270, 10.0), (330, 5.0), (0, 0.0), (90, 0.0), (None, 10.0)])
def test_the_part_of_a_gust_head_on(wind, expected):
    assert head_on_part(10.0, 270, wind) == pytest.approx(expected, abs=1e-9)


def observed(*ratios, at=START, forecast=20.0):
    return [Observation(at, forecast, forecast * ratio) for ratio in ratios]


def test_nothing_seen_teaches_nothing():
    learnt = learn_factor([*observed(1.4, forecast=8.0)])  # 18 mph, a breeze

    assert (learnt.factor, learnt.median, learnt.count, learnt.weight) == (1.0, None, 0, 0.0)


def test_five_observations_weigh_as_much_as_the_start():
    learnt = learn_factor(observed(1.21, 1.21, 1.21, 1.0, 3.0))

    assert learnt.factor == pytest.approx(1.1)  # the root of 1.21
    assert (learnt.median, learnt.count, learnt.weight) == (pytest.approx(1.21), 5, 0.5)
    assert not learnt.is_bounded


def test_a_bound_is_told():
    many = observed(*[0.5] * 50)

    assert learn_factor(many).factor == 0.85
    assert learn_factor(many).is_bounded
    assert learn_factor(many, learning=Learning(least=0.6)).factor == 0.6


def test_a_reset_forgets_what_was_before():
    old, new = observed(1.5, 1.5), observed(1.1, at=hour(48))

    learnt = learn_factor(old + new, reset_at=hour(24))

    assert (learnt.count, learnt.median) == (1, pytest.approx(1.1))


# Criteria ----------------------------------------------------------------------


def test_another_country_has_other_criteria():
    # Japan's storm warning by mean wind of 20 m/s.
    japan = (Criterion("storm_warning", 20.0, 150.0),)

    assert product_of(20.0, 30.0, japan, step=0.0) == "storm_warning"
    assert product_of(19.9, 60.0, japan, step=0.0) == "none"


# Storms ------------------------------------------------------------------------


def test_a_breeze_is_no_storm():
    assert find_events(spells([10, 34, 10])) == ()


def test_a_storm_begins_where_work_stops():
    (event,) = find_events(spells([10, 31, 20, 60, 60, 32, 10]))

    assert (event.onset, event.peak_at, event.peak, event.end) == (hour(6), hour(18), 60 * MPH, hour(36))
    assert event.cause == Fact("gust", 31 * MPH, 30 * MPH, hour(6))
    assert [spell.start for spell in event.spells] == [hour(6 * i) for i in range(1, 6)]


def test_a_pause_of_a_day_parts_two_storms():
    short, long = spells([40, 10, 10, 10, 50]), spells([40, 10, 10, 10, 10, 50])

    assert [event.onset for event in find_events(short)] == [hour(0)]
    assert [event.onset for event in find_events(long)] == [hour(0), hour(30)]


def test_a_gap_before_a_storm_belongs_to_it_and_one_after_does_not():
    (event,) = find_events(spells([10, None, 60, None]))

    assert (event.onset, event.end) == (hour(6), hour(18))
    assert event.cause == Fact("gust_unknown", at=hour(6))


def test_a_gap_alone_is_no_storm_and_no_calm():
    assert find_events(spells([10, None, 10])) == ()
    assert unknown_from(spells([10, None, 10]), START) == hour(6)


@pytest.mark.parametrize(
    ("known", "now", "expected"),
    [
        (spells([10, 10]), hour(8), hour(12)),
        (spells([10, 10]), hour(20), hour(20)),
        ((), START, START),
        ((Spell(hour(3), hour(5), gust=1.0),), START, START),
    ],
)
def test_the_end_of_what_is_known(known, now, expected):
    assert unknown_from(known, now) == expected


def test_a_weak_structure_brings_the_onset_forward():
    rules = EventRules(trigger=25 * MPH)

    (event,) = find_events(spells([10, 26, 28, 10]), rules)

    assert (event.onset, event.peak) == (hour(6), 28 * MPH)


def test_a_site_that_is_windier_has_its_storm_sooner():
    # 26 mph times 1.2 are 31.2.
    (event,) = find_events(spells([10, 26, 60]), wind=Wind(factor=1.2))

    assert event.onset == hour(6)
    assert event.peak == pytest.approx(72 * MPH)


def test_whole_knots_stand_for_half_a_knot_more():
    # 26 kn are 29.92 mph, up to 26.5 kn or 30.5 mph.
    knots = (Spell(hour(0), hour(6), gust=26 * KNOT), Spell(hour(6), hour(12), gust=50 * KNOT))

    assert find_events(knots, wind=Wind(step=KNOT))[0].onset == hour(0)
    assert find_events(knots)[0].onset == hour(6)


@pytest.mark.parametrize("changes", [{"handling": -1.0}, {"lull": -HOUR}, {"trigger": math.inf}])
def test_rules_of_storms_have_limits(changes):
    with pytest.raises(StormError, match=r"events\."):
        EventRules(**changes)
