"""Plans are laid where routines fit, follow their parts, and end with their place."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.models import Climate, Job, Plan, Turn
from maintenance.plans.laying import lay_plans, replan
from tests.factories import feet, make_component, make_farm, make_material, make_opening, make_tunnel, make_wall
from tests.upkeep_rows import make_job, make_routine

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 25)
DAY = timedelta(days=1)


@pytest.fixture
def farm():
    return make_farm(latitude_deg=Decimal("42.5"))


def due(routine):
    return list(
        Plan.objects.filter(routine=routine).order_by("pk").values_list("key", "turn__due_on", "turn__until_on")
    )


def test_each_tunnel_gets_the_plan_of_a_season(farm):
    tunnel = make_tunnel(farm)
    routine = make_routine(farm, target="tunnel", trigger="season", season="spring", offset_days=14, window_days=30)

    lay_plans(farm=farm, on=TODAY)

    assert due(routine) == [(f"tunnel-{tunnel.pk}", date(2027, 3, 15), date(2027, 4, 14))]


def test_south_of_the_equator_spring_comes_in_september():
    """Meteorological seasons; half a year apart in the two hemispheres."""
    farm = make_farm(latitude_deg=Decimal(-37))
    make_tunnel(farm)
    routine = make_routine(farm, target="tunnel", trigger="season", season="spring", offset_days=0, window_days=30)

    lay_plans(farm=farm, on=date(2026, 8, 1))

    assert [on for _key, on, _until in due(routine)] == [date(2026, 9, 1)]


def test_a_season_whose_window_is_still_open_is_due_now(farm):
    make_tunnel(farm)
    routine = make_routine(farm, target="tunnel", trigger="season", season="autumn", offset_days=14, window_days=75)

    lay_plans(farm=farm, on=TODAY)

    assert [on for _key, on, _until in due(routine)] == [date(2026, 9, 15)]


def test_a_sheet_is_due_at_the_end_of_its_rated_life(farm):
    film = make_material(farm, kind="film", rated_life_years=4, diameter_mm=None, wall_mm=None)
    sheet = make_component(make_tunnel(farm), kind="roof_film", fitted_on=date(2020, 9, 13), material=film)
    routine = make_routine(
        farm, target="component", kinds=["roof_film"], trigger="age", after_days=None, window_days=730
    )

    lay_plans(farm=farm, on=TODAY)

    plan = Plan.objects.get()
    assert (plan.component, plan.tunnel, plan.opening) == (sheet, sheet.tunnel, None)
    assert due(routine) == [(f"part-{sheet.pk}", date(2024, 9, 13), date(2026, 9, 13))]


def test_the_farms_own_life_of_a_part_counts_when_it_is_shorter(farm):
    film = make_material(farm, kind="film", rated_life_years=4, diameter_mm=None, wall_mm=None)
    make_component(make_opening(make_wall(make_tunnel(farm))), kind="door_film", fitted_on=TODAY, material=film)
    routine = make_routine(farm, target="component", kinds=["door_film"], trigger="age", after_days=1000)

    lay_plans(farm=farm, on=TODAY)

    assert [on for _key, on, _until in due(routine)] == [TODAY + 1000 * DAY]


def test_a_sheet_is_due_when_it_has_taken_the_sun_it_is_rated_for(farm):
    """At 40 N with sun in 0.6 of the daylight a year brings 135.4 kLy (FAO-56, Eq. 21 and 35): 270.8 last two years."""
    farm.latitude_deg = Decimal(40)
    farm.save(update_fields=["latitude_deg"])
    Climate.objects.create(farm=farm, sunshine=[0.6] * 12)
    film = make_material(farm, kind="film", rated_dose_kly=Decimal("270.8"), diameter_mm=None, wall_mm=None)
    make_component(make_tunnel(farm), kind="roof_film", fitted_on=date(2025, 3, 1), material=film)
    routine = make_routine(farm, target="component", kinds=["roof_film"], trigger="dose", window_days=60)

    lay_plans(farm=farm, on=TODAY)

    [(_key, due_on, until_on)] = due(routine)
    assert abs(due_on - date(2027, 3, 1)) <= 2 * DAY
    assert until_on == due_on + 60 * DAY


def test_without_a_climate_no_sun_is_counted(farm):
    film = make_material(farm, kind="film", rated_dose_kly=Decimal(100), diameter_mm=None, wall_mm=None)
    make_component(make_tunnel(farm), kind="roof_film", fitted_on=date(2020, 3, 1), material=film)
    routine = make_routine(farm, target="component", trigger="dose")

    lay_plans(farm=farm, on=TODAY)

    assert [on for _key, on, _until in due(routine)] == [None]


def test_screws_fitted_five_weeks_ago_are_late_and_old_ones_are_left_in_peace(farm):
    opening = make_opening(make_wall(make_tunnel(farm)))
    new = make_component(opening, kind="clamp_screw", fitted_on=TODAY - 35 * DAY)
    make_component(opening, kind="clamp_screw", fitted_on=TODAY - 61 * DAY)
    routine = make_routine(
        farm, target="component", kinds=["clamp_screw"], trigger="fitted", after_days=1, window_days=2
    )

    lay_plans(farm=farm, on=TODAY)

    dated = [row for row in due(routine) if row[1]]
    assert dated == [(f"part-{new.pk}", TODAY - 34 * DAY, TODAY - 32 * DAY)]


def test_a_plan_never_opened_follows_its_parts_day(farm):
    part = make_component(make_tunnel(farm), kind="roof_film", fitted_on=date(2026, 11, 1))
    routine = make_routine(farm, target="component", trigger="fitted", after_days=30)
    lay_plans(farm=farm, on=TODAY)

    part.fitted_on = date(2026, 11, 11)
    part.save(update_fields=["fitted_on"])
    lay_plans(farm=farm, on=TODAY)

    assert [on for _key, on, _until in due(routine)] == [date(2026, 12, 11)]


def test_a_plan_that_was_opened_stays_as_people_were_told(farm):
    part = make_component(make_tunnel(farm), kind="roof_film", fitted_on=date(2026, 11, 1))
    routine = make_routine(farm, target="component", trigger="fitted", after_days=1)
    lay_plans(farm=farm, on=TODAY)
    plan = Plan.objects.get()
    make_job(plan, due_on=plan.turn.due_on, until_on=plan.turn.until_on)
    Turn.objects.all().delete()

    part.fitted_on = date(2026, 11, 11)
    part.save(update_fields=["fitted_on"])
    lay_plans(farm=farm, on=TODAY)

    assert [on for _key, on, _until in due(routine)] == [None]


@pytest.mark.parametrize("need", ["film_door", "wide_film_door"])
def test_a_routine_goes_only_where_the_place_has_what_it_needs(farm, need):
    wall = make_wall(make_tunnel(farm))
    make_opening(wall, kind="person", rough_width_mm=feet(16))
    make_opening(wall, kind="mid_bar", rough_width_mm=feet(12)) if need == "wide_film_door" else None
    door = make_opening(wall, kind="mid_bar", rough_width_mm=feet(16))
    routine = make_routine(farm, target="opening", trigger="done", after_days=30, needs=[need])

    lay_plans(farm=farm, on=TODAY)

    assert [key for key, *_rest in due(routine)] == [f"opening-{door.pk}"]


def test_laying_twice_changes_nothing(farm):
    make_component(make_opening(make_wall(make_tunnel(farm))), kind="clamp_screw", fitted_on=TODAY)
    for target in ("farm", "tunnel", "end_wall", "opening", "component"):
        make_routine(farm, target=target, trigger="done", after_days=30)
    lay_plans(farm=farm, on=TODAY)
    before = list(Plan.objects.order_by("pk").values("pk", "key", "turn__due_on", "turn__until_on", "ended_on"))

    lay_plans(farm=farm, on=TODAY + DAY)

    assert len(before) == 6  # a tunnel has two end walls
    assert list(Plan.objects.order_by("pk").values("pk", "key", "turn__due_on", "turn__until_on", "ended_on")) == before


def test_a_plan_ends_with_its_part_and_its_open_job_was_not_done(farm):
    part = make_component(make_tunnel(farm), kind="roof_film", fitted_on=date(2020, 1, 1))
    make_routine(farm, target="component", trigger="age", after_days=100)
    lay_plans(farm=farm, on=TODAY)
    job = make_job(Plan.objects.get())

    part.removed_on, part.removal_reason = TODAY, "worn"
    part.save(update_fields=["removed_on", "removal_reason"])
    lay_plans(farm=farm, on=TODAY)

    job.refresh_from_db()
    plan = Plan.objects.get()
    assert (plan.ended_on, job.state, job.ended_on) == (TODAY, "lapsed", TODAY)
    assert not Turn.objects.exists()


def test_a_routine_switched_off_and_on_again_brings_its_plans_back(farm):
    make_tunnel(farm)
    routine = make_routine(farm, target="tunnel", trigger="season", season="spring", window_days=30)
    lay_plans(farm=farm, on=TODAY)
    for active in (False, True):
        routine.is_active = active
        routine.save(update_fields=["is_active"])
        lay_plans(farm=farm, on=TODAY)

    plan = Plan.objects.get()
    assert (plan.ended_on, plan.turn.due_on) == (None, date(2027, 3, 1))


def test_a_changed_season_moves_the_next_day_and_not_the_job_that_is_open(farm):
    make_tunnel(farm)
    routine = make_routine(farm, target="tunnel", trigger="season", season="autumn", offset_days=0, window_days=90)
    lay_plans(farm=farm, on=TODAY)
    plan = Plan.objects.get()
    job = make_job(plan, due_on=date(2026, 9, 1), until_on=date(2026, 11, 30))
    Turn.objects.update(due_on=date(2027, 9, 1), until_on=date(2027, 11, 30))

    routine.offset_days = 20
    routine.save(update_fields=["offset_days"])
    replan(routine=routine, on=TODAY)

    job.refresh_from_db()
    assert (job.due_on, job.state) == (date(2026, 9, 1), "open")
    assert Job.objects.count() == 1
    assert [on for _key, on, _until in due(routine)] == [date(2027, 9, 21)]
