"""A gust brings on what it should, once; storms and door cycles are counted."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from maintenance.models import DoorUse, Job, Plan, Turn, WindDay
from maintenance.plans.counting import count_up
from maintenance.plans.laying import lay_plans
from maintenance.plans.winds import GustError, record_gust
from tests.factories import make_farm, make_opening, make_tunnel, make_wall
from tests.upkeep_rows import make_routine

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 18, tzinfo=UTC)
DAY = timedelta(days=1)
MPH = Decimal("0.44704")  # m/s, exact


@pytest.fixture
def farm():
    farm = make_farm(time_zone="America/New_York")
    make_tunnel(farm)
    return farm


def blow(farm, mph, on=TODAY, now=NOW):
    return record_gust(farm=farm, on=on, gust_m_s=round(mph * MPH, 2), source="seen", now=now)


@pytest.mark.parametrize(("mph", "opened"), [(44, 0), (46, 1), (61, 1)])
def test_a_gust_above_the_limit_opens_the_check_at_once(farm, mph, opened):
    make_routine(farm, target="tunnel", trigger="gust", gust_m_s=Decimal("20.12"), window_days=3)
    lay_plans(farm=farm, on=TODAY)

    day = blow(farm, mph)

    jobs = [(job.due_on, job.until_on, job.cause) for job in Job.objects.all()]
    cause = {"gust_m_s": float(day.gust_m_s), "on": "2026-11-25"}
    assert jobs == [(TODAY, TODAY + 3 * DAY, cause)] * opened


def test_a_days_highest_gust_is_kept_and_the_check_asked_for_once(farm):
    make_routine(farm, target="tunnel", trigger="gust", gust_m_s=Decimal(20))
    lay_plans(farm=farm, on=TODAY)

    for mph in (50, 61, 47):
        blow(farm, mph)

    assert WindDay.objects.get().gust_m_s == round(61 * MPH, 2)
    assert Job.objects.count() == 1


def test_while_the_check_is_to_do_another_blow_opens_no_second(farm):
    make_routine(farm, target="tunnel", trigger="gust", gust_m_s=Decimal(20))
    lay_plans(farm=farm, on=TODAY)
    blow(farm, 50)
    blow(farm, 50, on=TODAY + DAY, now=NOW + DAY)

    assert Job.objects.count() == 1


def test_once_it_was_done_the_next_blow_brings_it_on_again(farm):
    make_routine(farm, target="tunnel", trigger="gust", gust_m_s=Decimal(20))
    lay_plans(farm=farm, on=TODAY)
    blow(farm, 50)
    Job.objects.update(state="done", ended_on=TODAY)
    Plan.objects.update(counted_from=TODAY)

    blow(farm, 50, on=TODAY + 5 * DAY, now=NOW + 5 * DAY)

    assert list(Job.objects.order_by("due_on").values_list("due_on", flat=True)) == [TODAY, TODAY + 5 * DAY]


def test_a_blow_of_long_ago_asks_nobody_to_look(farm):
    make_routine(farm, target="tunnel", trigger="gust", gust_m_s=Decimal(20))
    lay_plans(farm=farm, on=TODAY)

    blow(farm, 60, on=TODAY - 200 * DAY)

    assert Job.objects.count() == 0


@pytest.mark.parametrize("gust", [Decimal(0), Decimal(-3), Decimal("120.01")])
def test_no_such_gust(farm, gust):
    with pytest.raises(GustError, match="above 0 and at most 120"):
        record_gust(farm=farm, on=TODAY, gust_m_s=gust, source="seen", now=NOW)

    assert not WindDay.objects.exists()


def test_the_third_storm_brings_on_what_three_storms_bring_on(farm):
    make_routine(farm, target="tunnel", trigger="storms", after_count=3)
    lay_plans(farm=farm, on=TODAY)

    counts = []
    for number, mph in enumerate((50, 45, 47, 50)):  # 45 mph is no storm
        blow(farm, mph, on=TODAY + number * DAY, now=NOW + number * DAY)
        counts.append(Job.objects.count())

    assert counts == [0, 0, 0, 1]
    assert Job.objects.get().cause == {"count": 3}


def test_a_door_is_serviced_after_so_many_cycles():
    farm = make_farm()
    wall = make_wall(make_tunnel(farm))
    used, spared = make_opening(wall), make_opening(wall)
    make_routine(farm, target="opening", trigger="cycles", after_count=500)
    lay_plans(farm=farm, on=TODAY)
    DoorUse.objects.create(farm=farm, opening=used, on=TODAY, cycles=400)  # counted before
    DoorUse.objects.create(farm=farm, opening=used, on=TODAY + DAY, cycles=300)
    DoorUse.objects.create(farm=farm, opening=used, on=TODAY + 9 * DAY, cycles=200)
    DoorUse.objects.create(farm=farm, opening=spared, on=TODAY + 9 * DAY, cycles=499)

    count_up(farm=farm, on=TODAY + 9 * DAY)

    assert [turn.plan.opening for turn in Turn.objects.due(TODAY + 9 * DAY)] == [used]
