"""Farms that ask the weather, a stand-in that answers, and forecasts in rows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from farm.models import Farm
from maintenance.models import Forecast, WeatherSource
from maintenance.skies.sources import choose
from maintenance.weather.client import Caller
from tests.factories import make_farm
from tests.standin import Answer, StandIn, json_answer
from tests.weather_documents import NOW, alerts, gridpoint, open_meteo, points

HOUR = timedelta(hours=1)
MPH = 0.44704  # m/s, exact
PLACE = {"latitude_deg": Decimal("41.26"), "longitude_deg": Decimal("-96.5")}
POINTS = "/points/41.26,-96.5"
GRID = "/gridpoints/QQZ/12,34"
ALERTS = "/alerts/active"
METEO = "/v1/forecast"


def patient() -> Caller:
    """Return who asks: named, and never waiting; typed addresses may lead to the stand-in."""
    return Caller("Gablekeep tests (mailto:post@farm.example)", sleep=lambda _seconds: None, allow_private=True)


def urls(standin: StandIn) -> dict[str, str]:
    return {"nws": standin.url, "open_meteo": standin.url}


def nws(standin: StandIn, grid: Sequence[Answer] = (), **changed: Any) -> None:
    """Put down what the stand-in answers for the places of these tests."""
    standin.on(POINTS, json_answer(points()))
    standin.on(GRID, *(grid or [json_answer(gridpoint(**changed))]))
    standin.on(ALERTS, json_answer(alerts()))


def meteo(standin: StandIn, *answers: Answer) -> None:
    standin.on(METEO, *(answers or [json_answer(open_meteo(), kind="application/json")]))


def watching(kind: str = "open_meteo", *, now: datetime = NOW, **values: Any) -> Farm:
    """Make a farm that chose a service, in the place of the stand-in's grid cell."""
    place = {name: Decimal(values.pop(name, value)) for name, value in PLACE.items()}
    farm = make_farm(**place, time_zone=values.pop("time_zone", "America/Chicago"))
    choose(source=WeatherSource(farm=farm, kind=kind, **values), now=now)
    return farm


def asked_of(standin: StandIn, path: str) -> int:
    """Return how often the stand-in was asked for a path."""
    return sum(one.path.partition("?")[0] == path for one in standin.asked)


def spell(start: datetime, hours: float = 1, **figures: Any) -> dict[str, Any]:
    """Return a spell as a row keeps it."""
    none = dict.fromkeys(("wind", "gust", "upper_gust", "bearing_deg", "temperature", "rain", "snow", "thunder"))
    return {"start": start.isoformat(), "end": (start + hours * HOUR).isoformat(), **none, **figures}


def make_forecast(farm: Farm, spells: list[dict[str, Any]], *, issued_at: datetime = NOW, **values: Any) -> Forecast:
    """Make a forecast that was typed in for a farm."""
    row = {"source": "table", "issued_at": issued_at, "fetched_at": issued_at, **values}
    return Forecast.objects.create(farm=farm, spells=spells, **row)
