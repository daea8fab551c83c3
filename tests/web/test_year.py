"""The year's page: hours by the arithmetic it shows, months that say what the wheel draws, and other years."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from doors.models import Component
from farm.models import Farm
from maintenance.drawn.wheel import Share
from maintenance.models import Job, Plan, Routine
from maintenance.plans.laying import lay_plans
from maintenance.seasons.wheel import Year, year_of
from tests.factories import make_component, make_material, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db

ON = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def make_routine(farm: Farm, code: str, **values: Any) -> Routine:
    """Make a routine of each tunnel in spring."""
    given: dict[str, Any] = {
        "code": code, "name": {"en": code.capitalize()}, "target": "tunnel", "trigger": "season", "season": "spring",
        "minutes": 90, "window_days": 30,
    }  # fmt: skip
    return Routine.objects.create(farm=farm, **{**given, **values})


def year(farm: Farm, chosen: int = 2027) -> Year:
    lay_plans(farm=farm, on=ON)
    return year_of(farm=farm, year=chosen, on=ON)


def make_job(plan: Plan, due_on: date, **values: Any) -> Job:
    given: dict[str, Any] = {"until_on": due_on.replace(day=28), "opened_at": NOW}
    return Job.objects.create(farm=plan.farm, plan=plan, due_on=due_on, **{**given, **values})


def page(reader: Any, farm: Farm, **query: Any) -> Any:
    return reader.get(reverse("year", args=[farm.slug]), query)


def test_two_rounds_of_twelve_tunnels_and_seventeen_doors_are_about_fifty_hours(reader, farm):
    """A manager's own sum: 2 x (12 x 1.5 h + 17 x 0.4 h) = 49.6 h; common practice, no source."""
    walls = [make_wall(make_tunnel(farm)) for _ in range(12)]
    for number in range(17):
        make_opening(walls[number % 12])
    for season in ("spring", "autumn"):
        make_routine(farm, f"round-{season}", season=season)
        make_routine(farm, f"doors-{season}", season=season, target="opening", minutes=24)

    shown = year(farm)
    text = page(reader, farm, year=2027).content.decode()

    assert shown.person_hours == pytest.approx(49.6)
    assert [(line.times, line.places, line.person_hours) for line in shown.rounds] == [
        (1, 12, 18), (1, 12, 18), (1, 17, pytest.approx(6.8)), (1, 17, pytest.approx(6.8)),
    ]  # fmt: skip
    assert "About 50 person-hours" in text
    assert "49.6 h" in text


def test_people_multiply_the_minutes(farm):
    """Two people for 90 min at one tunnel: 3 h."""
    make_tunnel(farm)
    make_routine(farm, "film", crew=2)

    assert year(farm).person_hours == pytest.approx(3)


def test_months_hold_what_begins_in_them(farm):
    make_tunnel(farm)
    make_routine(farm, "spring")
    make_routine(farm, "autumn", season="autumn", offset_days=20)

    shown = year(farm)

    begun = {month.first.month: [(e.routine.code, e.first, e.last) for e in month.entries] for month in shown.months}
    assert {month: entries for month, entries in begun.items() if entries} == {
        3: [("spring", date(2027, 3, 1), date(2027, 3, 31))],
        9: [("autumn", date(2027, 9, 21), date(2027, 10, 21))],
    }


def test_seasons_turn_round_in_the_south(farm):
    Farm.objects.filter(pk=farm.pk).update(latitude_deg=Decimal(-35))
    farm.refresh_from_db()
    make_tunnel(farm)
    make_routine(farm, "spring")

    shown = year(farm)

    assert [month.first.month for month in shown.months if month.entries] == [9]
    assert shown.months[5].daylight < 12 < shown.months[11].daylight


def test_a_weekly_rule_comes_as_often_as_it_has_mondays(farm):
    """August 2027 has five Mondays; the year 52."""
    make_tunnel(farm)
    make_routine(farm, "weekly", trigger="calendar", season="", rule="FREQ=WEEKLY;BYDAY=MO", window_days=2)

    shown = year(farm)

    assert shown.months[7].entries[0].times == 5
    assert [line.times for line in shown.rounds] == [52]


def test_a_winter_window_reaches_into_the_next_year(farm):
    make_tunnel(farm)
    make_routine(farm, "winter", season="winter", window_days=60)

    (window, later) = year(farm).rings[0]

    assert (window.first, window.last) == (date(2026, 12, 1), date(2027, 1, 30))
    assert later.first == date(2027, 12, 1)


def test_what_became_of_jobs_is_counted(farm):
    tunnels = [make_tunnel(farm) for _ in range(4)]
    make_routine(farm, "autumn", season="autumn")
    lay_plans(farm=farm, on=ON)
    plans = list(Plan.objects.of(farm).order_by("pk"))
    due = date(2026, 9, 1)
    make_job(plans[0], due, state="done", ended_on=due, minutes_spent=120)
    make_job(plans[1], due)  # late: its last day was 28 September
    make_job(plans[2], due, until_on=date(2026, 12, 31))
    make_job(plans[3], due, state="skipped", ended_on=due)

    month = year(farm, 2026).months[8]

    assert len(tunnels) == 4
    assert month.share == Share(done=1, late=1, to_do=1, dropped=1)
    assert month.hours_spent == 2
    assert [(e.places, e.jobs) for e in month.entries] == [(4, 4)]


def test_film_stands_where_the_film_plan_has_it_and_once(farm):
    """Its rated life ends in May 2029; the plan renews it in September 2028, and May has no job of it."""
    film = make_material(farm, kind="film", diameter_mm=None, wall_mm=None, rated_life_years=Decimal(4))
    make_component(make_tunnel(farm), kind=Component.Kind.ROOF_FILM, material=film, fitted_on=date(2025, 5, 1))
    make_routine(
        farm, "renew", target="component", kinds=["roof_film"], trigger="age", season="", answer="replaced",
        minutes=480, crew=6,
    )  # fmt: skip

    in_plan, by_age = year(farm, 2028), year(farm, 2029)

    assert [len(month.film) for month in in_plan.months] == [0] * 8 + [1] + [0] * 3
    assert in_plan.person_hours == 48
    assert in_plan.months[8].person_hours == 48
    assert by_age.person_hours == 0


def test_a_part_due_once_is_in_its_month_once(farm):
    part = make_component(make_tunnel(farm), kind=Component.Kind.BLOWER, fitted_on=date(2026, 3, 1))
    make_routine(farm, "blower", target="component", kinds=["blower"], trigger="age", season="", after_days=365)

    shown = year(farm)

    assert part.pk
    assert [(line.times, line.places) for line in shown.once] == [(1, 1)]
    assert shown.months[2].entries[0].first == date(2027, 3, 1)


@pytest.mark.parametrize("query", ["abc", "", "1900", "99999999999999"])
def test_what_is_no_year_is_said_and_this_year_shown(reader, farm, query):
    answer = page(reader, farm, year=query)

    assert answer.status_code == 422
    assert "Write a year from 1970 to 2200" in answer.content.decode()
    assert answer.context["is_this_year"]


@pytest.mark.parametrize("chosen", [1970, 2028, 2200])
def test_any_other_year_opens(reader, farm, chosen):
    Farm.objects.filter(pk=farm.pk).update(latitude_deg=Decimal("42.51"))
    make_tunnel(farm)
    make_routine(farm, "spring")

    answer = page(reader, farm, year=chosen)

    assert answer.status_code == 200
    assert f"The year {chosen}" in answer.content.decode()


def test_the_month_list_says_what_the_wheel_shows(reader, farm):
    """Every number on the rim stands in the key and, with its days, in the list."""
    make_tunnel(farm)
    for code, season in (("one", "spring"), ("two", "summer"), ("three", "winter")):
        make_routine(farm, code, season=season)
    lay_plans(farm=farm, on=ON)

    answer = page(reader, farm, year=2027)

    text = answer.content.decode()
    rim = {line.text for line in answer.context["drawing"].lettering if "wheel-number" in line.style}
    assert rim == {"1", "2", "3"}
    assert all(text.count(f'<span class="number">{number}</span>') == 3 for number in rim)  # key, month, sum
    assert "2027-06-01" in text
