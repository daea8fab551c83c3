"""What the farm's own anemometer sends: kept once, and the highest of a day brings on the work after it."""

import json
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from maintenance.models import Job, WeatherSource, WindDay, WindReading
from maintenance.plans.laying import lay_plans
from maintenance.skies.readings import farm_of, forget_token, keep_reading, new_token
from tests.factories import make_farm, make_tunnel
from tests.upkeep_rows import make_routine

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 25, 18, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def farm():
    return make_farm(time_zone="America/New_York")


def send(farm, gust, at=NOW, **more):
    return keep_reading(
        farm=farm, content=json.dumps({"at": at.isoformat(), "gust": gust, "unit": "m/s", **more}).encode(), now=NOW
    )


def test_a_reading_is_kept_with_its_mean_and_direction(farm):
    send(farm, 12.345, mean=7.0, direction=360)

    row = WindReading.objects.get()
    assert (row.at, row.gust_m_s, row.mean_m_s, row.bearing_deg) == (NOW, Decimal("12.35"), Decimal(7), Decimal(0))


def test_the_same_time_twice_is_one_reading(farm):
    assert [send(farm, 12).is_new, send(farm, 12).is_new] == [True, False]
    assert WindReading.objects.count() == WindDay.objects.count() == 1


def test_the_highest_of_a_day_is_the_days_gust(farm):
    for minute, gust in enumerate((12, 19, 14)):
        send(farm, gust, NOW - minute * MINUTE)

    day = WindDay.objects.get()
    assert (day.on, day.gust_m_s, day.source) == (date(2026, 11, 25), 19, "measured")


def test_a_day_is_the_farms_day(farm):
    send(farm, 12, datetime(2026, 11, 25, 3, tzinfo=UTC))  # ten in the evening of the 24th in New York

    assert WindDay.objects.get().on == date(2026, 11, 24)


def test_a_higher_gust_that_somebody_saw_stays(farm):
    WindDay.objects.create(farm=farm, on=date(2026, 11, 25), gust_m_s=30, source="seen")

    send(farm, 12)

    assert WindDay.objects.get().gust_m_s == 30


def test_no_wind_at_all_is_a_reading_but_no_windy_day(farm):
    send(farm, 0)

    assert (WindReading.objects.count(), WindDay.objects.count()) == (1, 0)


def test_a_gust_that_was_measured_opens_the_round_after_it(farm):
    make_tunnel(farm)
    make_routine(farm, target="tunnel", trigger="gust", gust_m_s=Decimal(20), window_days=3)
    lay_plans(farm=farm, on=date(2026, 11, 25))

    send(farm, 25)

    assert Job.objects.count() == 1


def test_a_token_opens_its_own_farm_until_there_is_another(farm):
    source, other = WeatherSource.objects.create(farm=farm), make_farm()
    WeatherSource.objects.create(farm=other)
    first = new_token(source=source)
    assert (farm_of(slug=farm.slug, token=first), farm_of(slug=other.slug, token=first)) == (farm, None)
    assert first not in WeatherSource.objects.get(farm=farm).anemometer_hash

    second = new_token(source=source)

    assert (farm_of(slug=farm.slug, token=first), farm_of(slug=farm.slug, token=second)) == (None, farm)
    forget_token(source=source)
    assert farm_of(slug=farm.slug, token=second) is None


@pytest.mark.parametrize("token", ["", "guess"])
def test_a_farm_without_an_instrument_takes_no_token(farm, token):
    WeatherSource.objects.create(farm=farm)

    assert farm_of(slug=farm.slug, token=token) is None
    assert farm_of(slug="no-such-farm", token=token) is None
