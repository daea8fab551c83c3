"""Levels of structures: thresholds, what moves them, what is done at each."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from doors.codec import from_plain, to_plain
from doors.sizing import FOOT
from maintenance.storm.condition import Condition, OffsetRules, Posture, offset_of
from maintenance.storm.levels import KEYS, LevelRules, Wind, actions_of, read_level
from maintenance.storm.quantity import DAY, KNOT, MPH, Fact, StormError
from maintenance.storm.spells import Spell

START = datetime(2026, 11, 17, tzinfo=UTC)
SOUND = Condition(film_age=1.0, film_life=4.0, limit=90 * MPH)
FAVOURED = replace(SOUND, has_windbreak=True, is_film_sound=True, autumn_round_logged=True)


def blows(*gusts, **changes):
    return tuple(
        Spell(
            START + timedelta(hours=i), START + timedelta(hours=i + 1), gust=None if g is None else g * MPH, **changes
        )
        for i, g in enumerate(gusts)
    )


@pytest.mark.parametrize(
    ("gust", "level"),
    [(0, 0), (24, 0), (25, 1), (34, 1), (35, 2), (45, 2), (46, 3), (57, 3), (58, 4), (74, 4), (75, 5), (89, 5)],
)
def test_the_table(gust, level):
    reading = read_level(blows(gust), SOUND)

    assert (reading.level, reading.key) == (level, KEYS[level])


@pytest.mark.parametrize(("knots", "level"), [(39, 2), (40, 3), (49, 3), (50, 4)])
def test_whole_knots(knots, level):
    spell = Spell(START, START + timedelta(hours=1), gust=knots * KNOT)

    assert read_level([spell], SOUND, wind=Wind(step=KNOT)).level == level


WEAK = {
    "film_past_life": {"film_age": 5.0},
    "not_retightened": {"loose_age": 35 * DAY},
    "critical_defect": {"critical_defects": 1},
    "light_frame": {"is_light": True},
    "unbraced_frame": {"is_unbraced": True},
    "exposed_site": {"is_exposed": True},
    "bar_held_at_ends_only": {"ends_only_width": 12 * FOOT},
}


@pytest.mark.parametrize("reason", WEAK)
def test_each_weakness_alone_makes_the_levels_earlier(reason):
    condition = replace(FAVOURED, **WEAK[reason])
    offset = offset_of(condition)

    assert offset.change == -10 * MPH
    assert [fact.key for fact in offset.reasons] == [reason]
    assert read_level(blows(36), condition).level == 3
    assert read_level(blows(35), condition).level == 2


def test_weaknesses_do_not_add_up_but_all_are_named():
    condition = replace(SOUND, **{key: value for changes in WEAK.values() for key, value in changes.items()})

    offset = offset_of(condition)

    assert offset.change == -10 * MPH
    assert {fact.key for fact in offset.reasons} == set(WEAK)
    assert Fact("bar_held_at_ends_only", 12 * FOOT, 10 * FOOT) in offset.reasons


@pytest.mark.parametrize(
    "changes", [{"film_age": 4.0}, {"loose_age": 60 * DAY}, {"ends_only_width": 10 * FOOT}, {"critical_defects": 0}]
)
def test_at_its_limit_nothing_is_weak(changes):
    assert offset_of(replace(SOUND, **changes)).change == 0


def test_windbreak_sound_film_and_a_logged_round_make_them_later():
    assert offset_of(FAVOURED).change == 5 * MPH
    assert read_level(blows(39), FAVOURED).level == 1
    assert read_level(blows(40), FAVOURED).level == 2


@pytest.mark.parametrize(
    "changes",
    [{"has_windbreak": None}, {"is_film_sound": False}, {"autumn_round_logged": False}, {"film_age": None},
     {"limit": None}, {"is_light": None}],
)  # fmt: skip
def test_nothing_less_does(changes):
    assert offset_of(replace(FAVOURED, **changes)).change == 0


def test_what_nobody_knows_is_told():
    reading = read_level(blows(10, None), Condition(is_light=None, is_unbraced=None, is_exposed=None))

    assert [fact.key for fact in reading.unknown] == [
        "gust_unknown", "film_age_unknown", "limit_unknown", "is_light_unknown", "is_unbraced_unknown",
        "is_exposed_unknown",
    ]  # fmt: skip
    assert reading.unknown[0].at == START + timedelta(hours=1)


def test_its_own_limit_is_the_highest_level():
    weak_door = replace(SOUND, limit=40 * MPH)

    assert read_level(blows(39), weak_door).level == 2
    assert read_level(blows(39), weak_door).margin == pytest.approx(1 * MPH)
    reading = read_level(blows(30, 41, 45), weak_door)
    assert (reading.level, reading.margin) == (5, None)
    assert Fact("own_limit", 45 * MPH, 40 * MPH, START + timedelta(hours=1)) in reading.reasons


def test_with_the_film_off_film_and_doors_no_longer_count():
    bare = Condition(film_age=9.0, film_life=4.0, limit=20 * MPH, loose_age=0.0, ends_only_width=9.0,
                     posture=Posture.FILM_OFF)  # fmt: skip
    reading = read_level(blows(36), bare)

    assert (reading.level, reading.offset.change, reading.offset.unknown) == (2, 0.0, ())
    assert "doors_down" in reading.actions
    assert not {"sides_down", "tuck_wire_tails"} & set(reading.actions)


def test_the_margin_is_to_the_next_threshold():
    assert read_level(blows(30, 40), SOUND).margin == pytest.approx(6 * MPH)


def test_since_when_each_level_holds():
    reading = read_level(blows(10, 26, 47, 36), SOUND)

    assert reading.since == {level: START + timedelta(hours=hour) for level, hour in ((1, 1), (2, 2), (3, 2))}
    assert reading.at == START + timedelta(hours=2)
    assert reading.reasons == (Fact("gust", 47 * MPH, 46 * MPH, START + timedelta(hours=2)),)


def test_a_calm_holds_from_the_first_spell():
    reading = read_level(blows(3, 10), SOUND)

    assert (reading.level, reading.at, reading.actions, reading.people) == (0, START, (), ())


def test_without_any_gust_there_is_no_level():
    reading = read_level(blows(None, None), SOUND)

    assert (reading.level, reading.key, reading.gust, reading.at, reading.margin) == (None, "unknown", None, None, None)
    assert reading.unknown[0].key == "gust_unknown"


def test_thunder_alone_is_the_first_level():
    for gust in (5, None):
        reading = read_level(blows(gust, thunder=True), SOUND)

        assert reading.level == 1
        assert "no_open_door_unattended" in reading.actions
        assert "shelter_at_thunder" in reading.people
        assert Fact("thunder", at=START) in reading.reasons


def test_thunder_takes_nothing_from_a_storm():
    assert read_level(blows(60, thunder=True), SOUND).level == 4


def test_a_gust_made_from_the_mean_says_so():
    # 20 mph x 1.75 are 35 mph.
    reading = read_level([Spell(START, START + timedelta(hours=1), wind=20 * MPH)], SOUND)

    assert reading.level == 2
    assert [fact.key for fact in reading.reasons] == ["gust", "gust_from_mean"]


def test_the_site_and_the_upper_gust_are_reckoned_with():
    spell = Spell(START, START + timedelta(hours=1), gust=40 * MPH, upper_gust=50 * MPH)

    assert read_level([spell], SOUND).level == 2
    reading = read_level([spell], SOUND, wind=Wind(factor=1.2, upper=True))
    assert reading.level == 4
    assert reading.gust == pytest.approx(60 * MPH)
    assert [fact.key for fact in reading.reasons] == ["gust", "gust_from_upper", "local_factor"]


def test_each_level_keeps_what_those_below_it_ask():
    for level in range(1, 6):
        assert set(actions_of(level - 1)) < set(actions_of(level))
    assert actions_of(0) == ()
    assert read_level(blows(60), SOUND).people == (
        "no_new_film_jobs", "handling_stops", "no_ladders", "pairs_only", "nobody_at_structures",
    )  # fmt: skip


def test_the_posture_changes_what_is_done():
    assert {"shut_intakes", "exhaust_fan_on"} <= set(actions_of(2, Posture.CLOSED_FAN))
    assert "posture_by_notes" in actions_of(2, Posture.OTHER)
    assert actions_of(1, Posture.OTHER) == actions_of(1)


@pytest.mark.parametrize(("name", "speed"), [("batten", 35 * MPH), ("get_ready", 0.0), ("storm", -1.0)])
def test_levels_must_rise(name, speed):
    with pytest.raises(StormError, match=f"levels.{name}"):
        LevelRules(**{name: speed})


@pytest.mark.parametrize("name", ["earlier", "later", "settled_after", "ends_only_most"])
def test_offsets_are_not_negative(name):
    with pytest.raises(StormError, match=f"offset.{name}"):
        OffsetRules(**{name: -1.0})


def test_rules_survive_their_json():
    rules = LevelRules(storm=27.0, offset=OffsetRules(settled_after=30 * DAY))
    plain = to_plain(rules)

    assert plain["storm_mps"] == 27.0
    assert plain["offset"]["settled_after_minutes"] == 43_200.0
    assert to_plain(from_plain(LevelRules, plain)) == plain
