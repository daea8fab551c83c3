"""Questions to the weather services; the only part that goes to the network.

Every function returns what it read beside the answers as they came. Base addresses are arguments, so that a farm
can use a mirror; the clock is one too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final, Generic, TypeVar

from maintenance.weather.addresses import Target, host_of, is_same_host, public_target, web_address
from maintenance.weather.cap import read_cap
from maintenance.weather.nws import read_gridpoint, read_points
from maintenance.weather.nws_alerts import read_alerts
from maintenance.weather.open_meteo import SERIES, read_open_meteo
from maintenance.weather.reasons import ForecastError, Notes
from maintenance.weather.shapes import Alerts, Forecast, GridAddress
from maintenance.weather.wire import Body, Caller, Validators, ask

__all__ = [
    "Body",
    "Caller",
    "Fetched",
    "Validators",
    "fetch_cap",
    "fetch_nws",
    "fetch_nws_alerts",
    "fetch_nws_grid",
    "fetch_open_meteo",
]

NWS: Final = "https://api.weather.gov"
OPEN_METEO: Final = "https://api.open-meteo.com"
DECIMALS: Final = 4  # of a latitude; NWS refuses more
MOST_PAGES: Final = 10

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Fetched(Generic[T]):
    """What a service said.

    Attributes
    ----------
    result : Forecast, Alerts or None
        None when nothing has changed since the validators given.
    bodies : tuple of Body
        The answers as they came.
    validators : Validators
        To be given at the next question.
    grid : GridAddress or None
        For NWS, to spare the first of its two questions next time.
    """

    result: T | None
    bodies: tuple[Body, ...]
    validators: Validators
    grid: GridAddress | None = None

    @property
    def unchanged(self) -> bool:
        return self.result is None


def fetch_nws(
    latitude: float,
    longitude: float,
    *,
    caller: Caller,
    now: datetime,
    base_url: str = NWS,
    grid: GridAddress | None = None,
    validators: Validators | None = None,
) -> Fetched[Forecast]:
    """Return the forecast of the grid cell around a place in the United States.

    Give ``grid`` of an earlier answer to spare a question; leave it out once it is refused, for grids move.

    Raises
    ------
    ForecastError
        If the place is not on Earth, the service refuses, or its answer cannot be used.
    """
    bodies: tuple[Body, ...] = ()
    place = _place(latitude, longitude)
    if grid is None:
        grid, points = _find_grid(place, caller, base_url)
        bodies = (points,)
    body = ask(_target(base_url, f"/gridpoints/{grid.cell}"), caller=caller, kind="json", validators=validators)
    bodies += (body,)
    if body.unchanged:
        return Fetched(None, bodies, validators or Validators(), grid)
    forecast = read_gridpoint(body.content, fetched_at=now)
    named = replace(forecast, place=replace(forecast.place, time_zone=grid.time_zone))
    return Fetched(named, bodies, body.validators, grid)


def fetch_nws_grid(latitude: float, longitude: float, *, caller: Caller, base_url: str = NWS) -> GridAddress:
    """Return in which grid cell of NWS a place in the United States lies.

    Raises
    ------
    ForecastError
        If the place is not on Earth, the service refuses, or its answer cannot be used.
    """
    return _find_grid(_place(latitude, longitude), caller, base_url)[0]


def fetch_nws_alerts(
    latitude: float,
    longitude: float,
    *,
    caller: Caller,
    now: datetime,
    base_url: str = NWS,
    validators: Validators | None = None,
) -> Fetched[Alerts]:
    """Return the active alerts for a place in the United States, all pages of them.

    Raises
    ------
    ForecastError
        If the place is not on Earth, the service refuses, or an answer cannot be used.
    """
    query = f"/alerts/active?status=actual&point={','.join(_place(latitude, longitude))}"
    first = ask(_target(base_url, query), caller=caller, kind="json", validators=validators)
    if first.unchanged:
        return Fetched(None, (first,), validators or Validators())
    bodies, found = [first], [read_alerts(first.content, fetched_at=now)]
    while found[-1].next_page and len(bodies) < MOST_PAGES:
        bodies.append(ask(_next_target(base_url, found[-1].next_page), caller=caller, kind="json"))
        found.append(read_alerts(bodies[-1].content, fetched_at=now))
    # Of several pages any may change; only a single one can be asked for by its validators.
    kept = first.validators if len(bodies) == 1 else Validators()
    return Fetched(_one(found), tuple(bodies), kept)


def fetch_open_meteo(
    latitude: float,
    longitude: float,
    *,
    caller: Caller,
    now: datetime,
    base_url: str = OPEN_METEO,
    days: int = 7,
    validators: Validators | None = None,
) -> Fetched[Forecast]:
    """Return the hourly forecast for a place anywhere, up to 16 days ahead.

    Raises
    ------
    ForecastError
        If the place is not on Earth, the service refuses, or its answer cannot be used.
    """
    north, east = _place(latitude, longitude)
    query = (
        f"/v1/forecast?latitude={north}&longitude={east}&hourly={','.join(SERIES)}"
        f"&wind_speed_unit=ms&timeformat=unixtime&forecast_days={min(max(days, 1), 16)}"
    )
    body = ask(_target(base_url, query), caller=caller, kind="json", validators=validators)
    if body.unchanged:
        return Fetched(None, (body,), validators or Validators())
    return Fetched(read_open_meteo(body.content, fetched_at=now), (body,), body.validators)


def fetch_cap(url: str, *, caller: Caller, now: datetime, validators: Validators | None = None) -> Fetched[Alerts]:
    """Return the alerts of the CAP message at an address that somebody typed.

    Raises
    ------
    ForecastError
        If the address is not public or leads elsewhere, the service refuses, or its answer cannot be used.
    """
    target = public_target(url, resolve=caller.resolve, allow_private=caller.allow_private)
    body = ask(target, caller=caller, kind="xml", validators=validators)
    if body.unchanged:
        return Fetched(None, (body,), validators or Validators())
    return Fetched(read_cap(body.content, fetched_at=now), (body,), body.validators)


def _place(latitude: float, longitude: float) -> tuple[str, str]:
    """Return a place as the services take it: four decimals, without zeros at the end, which NWS redirects."""
    if not (math.isfinite(latitude) and math.isfinite(longitude) and abs(latitude) <= 90 and abs(longitude) <= 180):
        raise ForecastError("not_on_earth", latitude=latitude, longitude=longitude)
    north, east = (f"{round(value, DECIMALS) + 0.0:.{DECIMALS}f}" for value in (latitude, longitude))
    return north.rstrip("0").rstrip("."), east.rstrip("0").rstrip(".")


def _find_grid(place: tuple[str, str], caller: Caller, base_url: str) -> tuple[GridAddress, Body]:
    points = ask(_target(base_url, f"/points/{','.join(place)}"), caller=caller, kind="json")
    return read_points(points.content), points


def _target(base_url: str, path: str) -> Target:
    return Target(web_address(f"{base_url.rstrip('/')}{path}"))


def _next_target(base_url: str, page: str | None) -> Target:
    """Return the next page, which must be on the host we asked."""
    here, there = web_address(base_url), web_address(page or "")
    if not is_same_host(here, there):
        raise ForecastError("redirect_elsewhere", host=host_of(here), target=str(there))
    return Target(there)


def _one(pages: list[Alerts]) -> Alerts:
    """Return the pages as one; what could not be read of any page stays said."""
    remarks = [remark for page in pages for remark in page.remarks]
    if pages[-1].next_page:
        unread = Notes()
        unread.add("more_pages", MOST_PAGES)
        remarks += unread.remarks()
    alerts = {alert.id: alert for page in pages for alert in page.alerts}
    return replace(pages[-1], alerts=tuple(alerts.values()), remarks=tuple(remarks))
