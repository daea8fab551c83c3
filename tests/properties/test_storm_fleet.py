"""Levels of many openings at once are those of each alone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.storm.condition import Condition, Posture
from maintenance.storm.fleet import UNKNOWN, first_over, gusts_to_reckon_with, highest_levels
from maintenance.storm.levels import LevelRules, Wind, read_level
from maintenance.storm.quantity import KNOT, MPH, StormError
from maintenance.storm.spells import Spell, gust_of

NOW = datetime(2026, 11, 17, 12, tzinfo=UTC)
RULES = LevelRules()
NONE = 1e4  # m/s; no limit
# Whole knots and miles an hour come to a limit exactly, which any speed hardly ever does.
speeds = (
    st.none()
    | st.floats(0, 90)
    | st.integers(0, 150).map(lambda n: n * MPH)
    | st.integers(0, 150).map(lambda n: n * KNOT)
)
spells = st.lists(st.tuples(speeds, speeds, speeds), min_size=1, max_size=12)
openings = st.tuples(
    st.sampled_from([0.85, 1.0, 1.15, 1.5]), st.sampled_from([Condition(), Condition(critical_defects=1)]),
    st.none() | st.floats(5, 80), st.sampled_from(Posture),
)  # fmt: skip


def hours(rows):
    return [
        Spell(NOW + timedelta(hours=n), NOW + timedelta(hours=n + 1), wind=wind, gust=gust, upper_gust=upper)
        for n, (wind, gust, upper) in enumerate(rows)
    ]


def columns(rows):
    return (np.array(column, dtype=np.float64) for column in zip(*rows, strict=True))


@given(rows=spells)
def test_gusts_to_reckon_with_are_those_of_each_spell(rows):
    wind, gust, upper = columns(rows)

    for found, takes_upper in (
        (gusts_to_reckon_with(wind, gust), False),
        (gusts_to_reckon_with(wind, gust, upper), True),
    ):
        alone = [gust_of(spell, upper=takes_upper).speed for spell in hours(rows)]
        assert [None if np.isnan(one) else one for one in found.tolist()] == alone


@given(rows=spells, held=st.lists(openings, min_size=1, max_size=6), step=st.sampled_from([0.0, KNOT]))
def test_each_opening_has_the_level_and_the_first_hour_it_has_alone(rows, held, step):
    wind, gust, _ = columns(rows)
    gusts = gusts_to_reckon_with(wind, gust)
    speed = np.nan if np.isnan(gusts).all() else float(np.nanmax(gusts))
    factor = np.array([one[0] for one in held])
    conditions = [Condition(critical_defects=one[1].critical_defects, limit=one[2], posture=one[3]) for one in held]
    change = np.array([-10 * MPH if one.critical_defects else 0.0 for one in conditions])
    limit = np.array(
        [NONE if one.limit is None or one.posture == Posture.FILM_OFF else one.limit for one in conditions]
    )
    steps = np.full(len(held), step)

    level = highest_levels(
        np.full(len(held), speed), step=steps, factor=factor, change=change, limit=limit,
        thresholds=np.tile(RULES.thresholds[1:], (len(held), 1)),
    )  # fmt: skip

    alone = [
        read_level(hours(rows), condition, RULES, Wind(each, step))
        for condition, each in zip(conditions, factor, strict=True)
    ]
    assert level.tolist() == [UNKNOWN if one.level is None else one.level for one in alone]
    over = level >= 2
    if over.any():
        least = np.minimum(RULES.close_up + change, limit)[over]
        first = first_over(gusts, step=steps[over], factor=factor[over], least=least)
        when = [one.since[2] for one in alone if one.level is not None and one.level >= 2]
        assert [NOW + timedelta(hours=place) for place in first.tolist()] == when


@pytest.mark.parametrize("bad", [-0.1, 500.0, np.inf])
@pytest.mark.parametrize("name", ["wind", "gust", "upper"])
def test_speeds_that_cannot_be_are_refused(bad, name):
    given = {"wind": [5.0], "gust": [9.0], "upper": [9.0]} | {name: [bad]}

    with pytest.raises(StormError):
        gusts_to_reckon_with(**given)
