"""The pass over all farms beside the working out of each: no storm is missed, and the levels are the same.

The measure is `assess` itself, farm by farm, whose levels and events are checked against published criteria elsewhere.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from doors.demo.load import load_demo_farm
from farm.models import Farm, Opening, Tunnel
from maintenance.blow.assess import assess
from maintenance.blow.conditions import standings
from maintenance.blow.everywhere import assess_farms
from maintenance.blow.lines import draw_lines, draw_old_lines, note_change, note_opened_jobs
from maintenance.blow.reading import CLOSE_UP, wind_of
from maintenance.blow.rules import rules_of
from maintenance.blow.sweep import chunks, sweep
from maintenance.blow.waiting import is_any_waiting, work_waiting
from maintenance.models import (
    ClosingLine,
    Forecast,
    Reminder,
    Repair,
    Storm,
    StormRound,
    StormRules,
    WeatherCell,
    WeatherSource,
)
from maintenance.skies.latest import chosen_forecasts, forecast_of, source_of
from maintenance.storm.levels import read_level
from maintenance.storm.spells import Spell
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel
from tests.storms_at_random import MPH, NOW, cell_at_random, farm_at_random
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db
FARMS = 40


def round_of(farm):
    return StormRound.objects.get(farm=farm)


def sweep_all(now=NOW):
    return sum(sweep(farms=farms, now=now) for farms in chunks())


def hours(*mph):
    """Return one spell an hour from now on, as a forecast keeps them."""
    starts = [NOW + timedelta(hours=number) for number in range(len(mph))]
    return [
        {"start": at.isoformat(), "end": (at + timedelta(hours=1)).isoformat(), "gust": gust and gust * MPH}
        for at, gust in zip(starts, mph, strict=True)
    ]


def type_in(farm, *mph, at=NOW):
    return Forecast.objects.create(farm=farm, source="typed", issued_at=at, fetched_at=at, spells=hours(*mph))


def calm_farm(**values):
    """Make a farm with one tunnel and one opening, drawn, whose forecast closes nothing."""
    farm = make_farm(**values)
    make_opening(make_tunnel(farm).end_walls.get(end="B"))
    type_in(farm, 10, 12, 9)
    draw_lines(farm=farm, now=NOW)
    return farm


# Beside the working out of each --------------------------------------------------------


@pytest.fixture
def many():
    """A hundred farms in any state, with their lines drawn."""
    cells = [cell_at_random(seed) for seed in range(12)]
    farms = [farm_at_random(seed, cells) for seed in range(1000, 1000 + FARMS)]
    for farm in farms:
        draw_lines(farm=farm, now=NOW)
    return farms


def by_the_core(farm, sky, now):
    """Return what the core reads of each tunnel over a whole forecast, one tunnel after the other."""
    rules, wind, spells = rules_of(farm), wind_at(farm, sky), spells_of(sky, now)
    return [
        read_level(spells, one.condition, rules.levels, replace(wind, factor=wind.factor * one.factor))
        for one in standings(farm=farm, on=now.astimezone(farm.zone).date(), rules=rules)
    ]


def wind_at(farm, sky):
    source = source_of(farm)
    upper = rules_of(farm).clock.act_on_upper or source.acts_on_upper
    return replace(wind_of(source, sky.forecast), upper=upper)


def spells_of(sky, now):
    return [Spell(**{name: getattr(one, name) for name in Spell.__slots__}) for one in sky.spells if one.end > now]


def highest_by_the_core(farm, now):
    """Return the highest level of any tunnel over the whole forecast."""
    sky = forecast_of(farm=farm, now=now)
    if sky is None:
        return None
    return max((one.level for one in by_the_core(farm, sky, now) if one.level is not None), default=None)


@pytest.mark.parametrize("later", [0, 7, 40])
def test_the_pass_finds_the_storms_and_levels_that_each_farm_alone_gives(many, later):
    now = NOW + timedelta(hours=later)

    sweep_all(now)

    rows = {one.farm_id: one for one in StormRound.objects.all()}
    found = set()
    for farm in many:
        row, expected = rows[farm.pk], highest_by_the_core(farm, now)
        if expected is not None and expected >= CLOSE_UP:
            assert row.level == expected
        elif row.level is not None:
            assert row.level <= 1
        storm = assess(farm=farm, now=now)
        assert (storm is not None) == (row.waits_since is not None), farm.pk
        if storm is not None:
            found.add(farm.pk)
            assert storm.level <= row.level
            assert row.openings > 0 or not Opening.objects.filter(farm=farm).exists()
    assert FARMS / 10 < len(found) < FARMS * 9 / 10  # both happen


def test_the_first_hour_and_the_worst_are_those_of_the_forecast(many):
    sweep_all()

    over = StormRound.objects.filter(level__gte=CLOSE_UP).select_related("farm")
    assert over
    for row in over:
        sky = forecast_of(farm=row.farm, now=NOW)
        read = by_the_core(row.farm, sky, NOW)
        assert row.first_at == min(one.since[CLOSE_UP] for one in read if CLOSE_UP in one.since)
        gusts = [(wind_at(row.farm, sky).gust(one) or 0.0, one.start) for one in spells_of(sky, NOW)]
        assert row.peak_m_s == pytest.approx(max(gusts)[0])
        assert row.worst_at == min(at for gust, at in gusts if gust == max(gusts)[0])


def test_many_farms_go_by_the_forecasts_that_each_alone_goes_by(many):
    sources = [source_of(farm) for farm in many]

    chosen = chosen_forecasts(sources=sources, now=NOW)

    alone = {farm.pk: forecast_of(farm=farm, now=NOW) for farm in many}
    assert chosen == {pk: sky.forecast for pk, sky in alone.items() if sky is not None}


def test_a_door_that_stands_less_than_its_tunnel_closes_it_where_its_limit_counts():
    farm = load_demo_farm(on=NOW.date())
    counted = {"door_limits_count": True, "levels.close_up": 60, "levels.batten": 61, "levels.storm": 62,
               "levels.extreme": 63}  # fmt: skip
    StormRules.objects.create(farm=farm, changes=counted)
    stands = standings(farm=farm, on=NOW.date(), rules=rules_of(farm))
    limit = min(one.condition.limit / one.factor for one in stands if one.condition.limit is not None)
    assert 10 < limit < 45
    draw_lines(farm=farm, now=NOW)
    for number, gust in enumerate((limit - 0.1, limit)):
        at = NOW + timedelta(minutes=number)
        Forecast.objects.create(
            farm=farm, source="typed", issued_at=at, fetched_at=at, spells=[{**one, "gust": gust} for one in hours(1)]
        )

        assert sweep_all(at) == number
        assert round_of(farm).level == (5 if number else 1)
        storm = assess(farm=farm, now=at)
        assert (storm and storm.level) == (5 if number else None)


def test_a_wind_that_closes_nothing_does_not_hide_the_storm_after_it():
    farm = make_farm()
    make_tunnel(farm, shelter="sheltered")  # 0.85 of the gust
    type_in(farm, *[37] * 5, *[5] * 40, *[60] * 5, 5)
    draw_lines(farm=farm, now=NOW)

    assert sweep_all() == 1
    storm = assess(farm=farm, now=NOW)
    assert (storm.level, storm.begins_at) == (3, NOW + timedelta(hours=45))  # 51 mph there


def test_a_weak_tunnel_is_closed_in_its_own_wind_days_before_the_storm():
    farm = make_farm()
    tunnel = make_tunnel(farm)
    tunnel.end_walls.update(is_tied_to_bows=False)  # 10 mph earlier
    type_in(farm, *[26] * 5, *[5] * 40, *[60] * 5, 5)

    assert assess(farm=farm, now=NOW).begins_at == NOW


# Never a quiet calm ----------------------------------------------------------------------


def test_a_farm_that_is_judged_and_calm_is_passed_over_and_says_so():
    farm = calm_farm()

    assert sweep_all() == 0
    row = round_of(farm)
    assert (row.level, row.openings, row.looked_at, row.waits_since) == (0, 0, NOW, None)
    assert row.peak_m_s == pytest.approx(12 * MPH)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda farm: StormRound.objects.filter(farm=farm).delete(),
        lambda farm: StormRound.objects.filter(farm=farm).update(drawn_changes=None),
        lambda farm: StormRound.objects.filter(farm=farm).update(good_until=NOW),
        lambda farm: note_change(farm_id=farm.pk),
        lambda farm: Forecast.objects.update(spells=[{"start": "soon", "end": "later", "gust": 1}]),
        lambda farm: Forecast.objects.update(spells=[{**hour, "gust": -1} for hour in hours(1, 2)]),
        lambda farm: Forecast.objects.update(spells=[{**hour, "gust": "much"} for hour in hours(1, 2)]),
        lambda farm: Forecast.objects.update(spells=hours(1, 2) + hours(3)),  # one hour twice
        lambda farm: Forecast.objects.update(spells=[7]),
    ],
)
def test_what_cannot_be_judged_is_worked_out_in_full(spoil):
    farm = calm_farm()
    spoil(farm)

    assert sweep_all() == 1
    row = round_of(farm)
    assert (row.level, row.waits_since) == (None, NOW)


def test_a_forecast_without_any_gust_is_no_calm():
    farm = calm_farm()
    Forecast.objects.update(spells=hours(None, None))

    sweep_all()

    assert round_of(farm).level is None


def test_a_farm_that_fails_does_not_keep_the_next_from_its_warning():
    broken, farm = calm_farm(), calm_farm()
    Forecast.objects.filter(farm=broken).update(spells=[7])
    type_in(farm, 20, 60, at=NOW + timedelta(minutes=1))

    assert assess_farms(now=NOW + timedelta(minutes=1)) == 1
    assert Storm.objects.get().farm == farm
    assert not is_any_waiting(now=NOW + timedelta(hours=1))


def test_what_a_member_writes_makes_the_lines_untrusted(client):
    farm = calm_farm()
    client.force_login(make_member(farm, "manager").user)
    assert sweep_all() == 0

    page = reverse("storm-rules", args=[farm.slug])
    assert client.get(page).status_code == 200
    assert sweep_all() == 0
    assert client.post(page, {"clock-reserve": "1.5"}).status_code == 302

    assert sweep_all() == 1
    assert draw_old_lines(now=NOW) == 1
    assert sweep_all() == 0


@pytest.mark.parametrize(("code", "due"), [("clamp-screws-first", 1), ("frame-autumn", 1), ("blower-weekly", 0)])
def test_a_job_opened_by_night_makes_the_lines_untrusted_if_it_moves_levels(code, due):
    farm = calm_farm()
    make_job(make_plan(make_routine(farm, code=code)), opened_at=NOW)

    note_opened_jobs(since=NOW)

    assert sweep_all() == due


# Lines -------------------------------------------------------------------------------------


def test_lines_foresee_a_film_that_outlives_its_life_before_they_are_drawn_again():
    farm = make_farm()
    tunnel = make_tunnel(farm)
    tunnel.end_walls.update(is_tied_to_bows=True)
    film = make_material(farm, kind="film", rated_life_years=Decimal(4))
    make_component(tunnel, kind="roof_film", material=film, fitted_on=NOW.date() - timedelta(days=1460))
    draw_lines(farm=farm, now=NOW)

    assert ClosingLine.objects.get().change_m_s == pytest.approx(-10 * MPH)  # past its life in two days


def test_the_round_draws_what_is_not_trusted_first_and_what_is_old_then():
    new, changed, old = calm_farm(), calm_farm(), calm_farm()
    sweep_all()
    note_change(farm_id=changed.pk)
    StormRound.objects.filter(farm=old).update(drawn_at=NOW - timedelta(hours=1))
    calls = iter((False, True))

    assert draw_old_lines(now=NOW, is_enough=lambda: next(calls)) == 1
    assert round_of(changed).drawn_changes == round_of(changed).changes == 1
    assert draw_old_lines(now=NOW) == 1
    assert round_of(old).drawn_at == NOW
    assert draw_old_lines(now=NOW) == 0
    assert round_of(new).drawn_changes == 0


def test_lines_follow_the_structures():
    farm = calm_farm()
    tunnel = Tunnel.objects.get(farm=farm)
    Repair.objects.create(farm=farm, tunnel=tunnel, found_on=NOW.date(), part="brace", mode="loose", is_critical=True)
    bare = make_tunnel(farm)

    draw_lines(farm=farm, now=NOW)

    lines = ClosingLine.objects.filter(farm=farm).order_by("tunnel")
    assert [(one.tunnel, one.opening is None) for one in lines] == [(tunnel, False), (bare, True)]
    assert [one.change_m_s for one in lines] == [pytest.approx(-10 * MPH), 0]
    Tunnel.objects.filter(pk=tunnel.pk).update(status="retired", retired_on=NOW.date())
    draw_lines(farm=farm, now=NOW)
    assert ClosingLine.objects.get(farm=farm).tunnel == bare


def test_a_change_while_lines_are_drawn_is_not_lost(monkeypatch):
    from maintenance.blow import lines

    farm = calm_farm()

    def slow(**given):
        note_change(farm_id=farm.pk)
        return standings(**given)

    monkeypatch.setattr(lines, "standings", slow)
    draw_lines(farm=farm, now=NOW)

    assert sweep_all() == 1


# Waiting -------------------------------------------------------------------------------------


def test_the_most_urgent_farm_comes_first_and_each_once():
    late, soon = calm_farm(), calm_farm()
    type_in(late, 5, 5, 5, 60, at=NOW + timedelta(minutes=1))
    type_in(soon, 5, 60, at=NOW + timedelta(minutes=1))
    sweep_all(NOW + timedelta(minutes=1))
    calls = iter(NOW + timedelta(minutes=2, seconds=second) for second in range(100))

    assert work_waiting(clock=lambda: next(calls)) == 2
    first, second = Storm.objects.order_by("opened_at")
    assert (first.farm, second.farm) == (soon, late)
    assert not is_any_waiting(now=NOW + timedelta(hours=1))
    assert work_waiting(clock=lambda: NOW + timedelta(hours=1)) == 0


def test_passes_again_and_again_leave_one_storm_and_one_look():
    farm = calm_farm()
    type_in(farm, 5, 5, 5, 60, at=NOW + timedelta(minutes=1))
    for minutes in (1, 6, 11, 11):
        assert assess_farms(now=NOW + timedelta(minutes=minutes)) == 1

    assert Storm.objects.get().looks.count() == 1
    assert not Reminder.objects.exists()


def test_a_claim_of_a_dead_worker_runs_out():
    farm = calm_farm()
    type_in(farm, 5, 60, at=NOW + timedelta(minutes=1))
    sweep_all(NOW + timedelta(minutes=1))
    StormRound.objects.update(claimed_at=NOW + timedelta(minutes=1))

    assert work_waiting(clock=lambda: NOW + timedelta(minutes=2)) == 0
    assert work_waiting(clock=lambda: NOW + timedelta(minutes=3)) == 1


def test_a_plan_that_a_dead_worker_left_is_written_by_the_next():
    farm = calm_farm()
    type_in(farm, *[5] * 30, 60, at=NOW + timedelta(minutes=1))
    storm = assess(farm=farm, now=NOW + timedelta(minutes=1), has_time=False)
    assert set(storm.tasks.values_list("begins_at", flat=True)) == {None}
    assert round_of(farm).plan_since is not None

    work_waiting(clock=lambda: NOW + timedelta(minutes=2))

    assert round_of(farm).plan_since is None
    assert storm.tasks.exclude(position=0).exists()


# Size ------------------------------------------------------------------------------------------


def test_the_number_of_questions_does_not_grow_with_the_farms():
    cell = WeatherCell.objects.create(kind="nws", key="A/1,1", latitude_deg=42, longitude_deg=-76)
    Forecast.objects.create(cell=cell, source="nws", issued_at=NOW, fetched_at=NOW, spells=hours(10, 11))
    counts = []
    for _ in range(2):
        for _ in range(3):
            farm = calm_farm()
            WeatherSource.objects.create(farm=farm, kind="nws", cell=cell)
        sweep_all()
        with CaptureQueriesContext(connection) as asked:
            sweep_all()
        counts.append(len(asked))

    assert counts[0] == counts[1]
    assert Farm.objects.count() == 6


def test_a_farm_without_forecast_or_storm_costs_nothing(django_assert_max_num_queries):
    make_farm()

    with django_assert_max_num_queries(3):
        assert assess_farms(now=NOW) == 0
