"""Official warnings on the pages of the wind: those for the farm, and those of which nobody can tell."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from maintenance.models import WeatherAlert, WeatherSource
from maintenance.skies.alerts import keep_alerts
from maintenance.skies.sources import OF_CAP, OF_NWS
from maintenance.weather import Alert, Area
from tests.factories import make_farm, make_member
from tests.skies import PLACE, make_forecast, spell
from tests.storm_rows import make_storm

pytestmark = pytest.mark.django_db
HERE = ((41.0, -97.0), (41.0, -96.0), (42.0, -96.0), (42.0, -97.0), (41.0, -97.0))
FAR = tuple((latitude + 9, longitude) for latitude, longitude in HERE)
FEED = "https://warnings.example/all.xml"


@pytest.fixture
def farm():
    farm = make_farm(**PLACE, time_zone="America/Chicago")
    WeatherSource.objects.create(farm=farm, kind="typed", cap_url=FEED)
    return farm


@pytest.fixture
def page(farm, client):
    """Return what reads the page of a storm to come."""
    now = timezone.now()
    storm = make_storm(farm, state="coming", begins_at=now + timedelta(hours=9), ends_at=now + timedelta(hours=20))
    client.force_login(make_member(farm).user)
    return lambda: client.get(reverse("storm", args=[farm.slug, storm.pk])).content.decode()


def warning(name: str, *areas: Area, **values: Any) -> Alert:
    now = timezone.now()
    given: dict[str, Any] = {
        "event": name, "status": "Actual", "message_type": "Alert", "severity": "Severe", "certainty": "Likely",
        "urgency": "Expected", "sent": now, "onset": now, "ends": now + timedelta(days=1), "expires": None,
        "headline": f"{name} in words", "areas": areas, **values,
    }  # fmt: skip
    return Alert(id=name, **given)


def keep(farm, *alerts: Alert, origin: str = OF_CAP) -> None:
    keep_alerts(farm=farm, origin=origin, alerts=alerts, now=timezone.now())


def test_a_warning_for_the_farm_stands_on_the_storms_page(farm, page):
    keep(farm, warning("High wind", Area("here", polygons=(HERE,))))

    found = page()

    assert "High wind in words" in found
    assert "Severity: severe." in found
    assert "Holds until" in found
    assert f'href="{FEED}"' in found
    assert "may not be for this place" not in found


def test_one_for_another_place_is_not_kept(farm, page):
    keep(farm, warning("Far gale", Area("far", polygons=(FAR,))))

    assert not WeatherAlert.objects.exists()
    assert "Far gale" not in page()


def test_one_without_an_outline_is_shown_with_its_doubt(farm, page):
    keep(farm, warning("County gale", Area("a county", ugc=("QZZ015",)), ends=None))

    found = page()

    assert "County gale in words" in found
    assert "may not be for this place" in found
    assert "Holds until it is withdrawn" in found


def test_the_doubtful_come_last(farm, page):
    keep(farm, warning("County gale", Area("a county")), warning("High wind", Area("here", polygons=(HERE,))))

    found = page()

    assert found.index("High wind") < found.index("County gale")


def test_a_doubt_that_is_lifted_leaves_one_warning(farm, page):
    keep(farm, warning("High wind", Area("a county")))
    keep(farm, warning("High wind", Area("here", polygons=(HERE,))))

    assert page().count("High wind in words") == 1
    assert "may not be for this place" not in page()


def test_what_the_weather_service_says_of_the_farms_own_place_is_for_it(farm, page):
    WeatherSource.objects.update(kind="nws", cap_url="")
    keep(farm, warning("High wind", Area("a county", ugc=("QZZ015",))), origin=OF_NWS)

    found = page()

    assert "may not be for this place" not in found
    assert 'href="https://api.weather.gov/alerts/High wind"' in found


def test_they_stand_on_the_page_of_the_wind_without_a_storm(farm, client):
    client.force_login(make_member(farm).user)
    keep(farm, warning("High wind", Area("here", polygons=(HERE,))))

    assert "High wind in words" in client.get(reverse("storms", args=[farm.slug])).content.decode()


def test_an_old_forecast_without_wind_is_no_calm(farm, client):
    client.force_login(make_member(farm).user)
    made = timezone.now() - timedelta(hours=20)
    make_forecast(farm, [spell(made, 100, gust=3.0)], issued_at=made)

    found = client.get(reverse("storms", args=[farm.slug])).content.decode()

    assert "too old to say that no wind comes" in found
    assert "brings nothing that has to be closed" not in found
