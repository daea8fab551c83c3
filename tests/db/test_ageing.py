"""How old parts are: days, seasons, storms and sun, and what it costs to ask."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from doors.models import Component, LayUp
from maintenance.ages.ageing import ages
from maintenance.models import Climate, SunDay, WindDay
from tests.factories import make_component, make_farm, make_material, make_tunnel

pytestmark = pytest.mark.django_db

MAY, JUNE = date(2024, 5, 1), date(2024, 6, 1)
FILM = {"kind": "film", "diameter_mm": None, "wall_mm": None, "stock_length_mm": None}


@pytest.fixture
def farm():
    """A farm at 42° 30' north where the sun shines half of the daylight."""
    farm = make_farm(latitude_deg=Decimal("42.5"))
    Climate.objects.create(farm=farm, sunshine=[0.5] * 12)
    return farm


def age_of(part: Component, on: date):
    """Return the age of one part."""
    loaded = Component.objects.for_list().get(pk=part.pk)
    return ages(components=[loaded], on=on)[part.pk]


def roof_film(farm, **values):
    """Fit a roof film on the first of May 2024, sold for four years or 480 kLy."""
    material = make_material(farm, **FILM, rated_life_years=4, rated_dose_kly=Decimal(480))
    return make_component(make_tunnel(farm), kind="roof_film", material=material, **values)


def test_measured_sun_is_what_a_film_has_taken(farm):
    for number in range(31):
        SunDay.objects.create(farm=farm, on=MAY + timedelta(days=number), radiation_mj_m2=20)

    age = age_of(roof_film(farm), JUNE)

    # 31 days of 20 MJ/m²; 480 kLy are 480 x 41.84 = 20,083.2 MJ/m².
    assert age.dose == pytest.approx(620e6)
    assert age.dose_share == pytest.approx(620 / 20083.2)
    assert (age.days, age.seasons) == (31, 2)


def test_sun_of_the_days_a_film_was_down_does_not_count(farm):
    part = roof_film(farm)
    LayUp.objects.create(component=part, off_on=date(2024, 5, 11), back_on=date(2024, 5, 21))
    for number in range(31):
        SunDay.objects.create(farm=farm, on=MAY + timedelta(days=number), radiation_mj_m2=20)

    age = age_of(part, JUNE)

    assert age.dose == pytest.approx(21 * 20e6)
    assert (age.days, age.days_down) == (31, 10)


def test_storms_count_while_a_part_is_up(farm):
    part = roof_film(farm)
    LayUp.objects.create(component=part, off_on=date(2024, 5, 11), back_on=date(2024, 5, 21))
    gusts = {
        date(2024, 4, 30): "25", MAY: "20.5", date(2024, 5, 2): "20.49", date(2024, 5, 11): "25",
        date(2024, 5, 21): "25", JUNE: "25", date(2024, 6, 2): "25",
    }  # fmt: skip
    for on, gust in gusts.items():
        WindDay.objects.create(farm=farm, on=on, gust_m_s=Decimal(gust))
    WindDay.objects.create(farm=make_farm(), on=date(2024, 5, 3), gust_m_s=25)

    assert age_of(part, JUNE).storms == (MAY, date(2024, 5, 21), JUNE)


def test_a_storm_passes_what_is_down_or_removed(farm):
    WindDay.objects.create(farm=farm, on=JUNE, gust_m_s=25)
    down = roof_film(farm)
    LayUp.objects.create(component=down, off_on=date(2024, 5, 11))
    removed = roof_film(farm, removed_on=JUNE, removal_reason="worn")

    assert age_of(down, JUNE).storms == ()
    assert age_of(removed, date(2024, 7, 1)).storms == ()


def test_a_rated_life_ends_within_half_of_itself(farm):
    """Common practice, no source: film sold for four years is used for four to six."""
    first, last = age_of(roof_film(farm), JUNE).by_age

    assert abs(first - date(2028, 5, 1)) <= timedelta(days=1)
    assert abs(last - date(2030, 5, 1)) <= timedelta(days=1)


def test_less_sun_than_estimated_ends_a_film_later(farm):
    end = age_of(roof_film(farm), JUNE).by_dose

    assert JUNE < end.early < end.expected < end.late


def test_film_lets_less_light_through_every_year(farm):
    """J. Bartok, Greenhouse Management, April 2014: 2 to 5 % a year. 0.95^4 = 0.815, 0.98^4 = 0.922."""
    least, most = age_of(roof_film(farm), date(2028, 5, 1)).light

    assert least == pytest.approx(0.815, abs=0.0005)
    assert most == pytest.approx(0.922, abs=0.0005)


def test_what_does_not_lie_in_the_sun_has_no_dose(farm):
    material = make_material(farm, rated_dose_kly=100)

    age = age_of(make_component(make_tunnel(farm), kind="clamp", material=material), JUNE)

    assert (age.dose, age.rated_dose, age.dose_share, age.by_dose, age.light) == (None, None, None, None, None)


@pytest.mark.parametrize("lacking", ["climate", "latitude"])
def test_without_a_climate_or_a_latitude_no_dose_is_told(farm, lacking):
    if lacking == "climate":
        Climate.objects.all().delete()
    else:
        farm.latitude_deg = None
        farm.save(update_fields=["latitude_deg"])

    age = age_of(roof_film(farm), JUNE)

    assert (age.dose, age.dose_share, age.by_dose) == (None, None, None)
    assert age.by_age is not None


def test_a_removed_part_stopped_ageing(farm):
    part = roof_film(farm, removed_on=JUNE, removal_reason="worn")
    SunDay.objects.create(farm=farm, on=JUNE, radiation_mj_m2=20)

    age, later = age_of(part, JUNE), age_of(part, date(2026, 1, 1))

    assert (age.days, later.days, later.seasons) == (31, 31, 1)
    assert later.dose == age.dose
    assert (later.by_age, later.by_dose) == (None, None)


def test_three_parts_cost_the_queries_of_one(farm):
    parts = [roof_film(farm) for _ in range(3)]
    loaded = list(Component.objects.for_list().filter(pk__in=[part.pk for part in parts]))

    with CaptureQueriesContext(connection) as one:
        ages(components=loaded[:1], on=JUNE)
    with CaptureQueriesContext(connection) as three:
        found = ages(components=loaded, on=JUNE)

    assert len(three) == len(one) <= 4
    assert set(found) == {part.pk for part in parts}


def test_parts_of_two_farms_are_refused(farm):
    with pytest.raises(ValueError, match="one farm"):
        ages(components=[roof_film(farm), roof_film(make_farm())], on=JUNE)


def test_no_parts_have_no_ages():
    assert ages(components=[], on=JUNE) == {}
