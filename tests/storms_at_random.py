"""Farms at random for the pass over all farms: whatever moves a tunnel's levels, and a forecast with holes."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from farm.models import Farm
from maintenance.models import Forecast, Repair, StormRules, TunnelFactor, WeatherCell, WeatherSource
from tests.factories import feet, make_component, make_farm, make_material, make_opening, make_tunnel

NOW = datetime(2026, 11, 17, 12, tzinfo=UTC)
MPH = 0.44704  # m/s, exact
ZONES = ("America/New_York", "Europe/London", "Pacific/Auckland", "UTC")


@dataclass
class Chance:
    """Draws from one seed."""

    seed: int

    def __post_init__(self) -> None:
        self.draw = random.Random(self.seed)  # noqa: S311 - the same farms each time

    def one(self, *choices: Any) -> Any:
        return self.draw.choice(choices)

    def is_so(self, share: float) -> bool:
        return self.draw.random() < share


def farm_at_random(seed: int, cells: list[WeatherCell]) -> Farm:
    """Make a farm with up to four tunnels in any state, its own rules, and a forecast of its cell's or its own."""
    chance = Chance(seed)
    farm = make_farm(time_zone=chance.one(*ZONES))
    for _ in range(chance.one(0, 1, 2, 4)):
        _tunnel(chance, farm)
    if chance.is_so(0.4):
        changes = chance.one(
            {"levels.close_up": 12.0}, {"offset.earlier": 2.0}, {"events.trigger": 12.0}, {"events.trigger": 20.0},
            {"events.handling": 18.0, "events.trigger": 14.0}, {"shelter.half": 0.7}, {"clock.act_on_upper": True},
            {"door_limits_count": True}, {"levels.close_up": 13.0, "shelter.sheltered": 0.6},
        )  # fmt: skip
        StormRules.objects.create(farm=farm, changes=changes)
    if chance.is_so(0.8):
        cell = chance.one(*cells)
        WeatherSource.objects.create(
            farm=farm, kind=cell.kind, cell=cell, gust_factor=Decimal(chance.one("1", "1", "0.85", "1.2")),
            acts_on_upper=chance.is_so(0.3),
        )  # fmt: skip
    if chance.is_so(0.4):
        Forecast.objects.create(farm=farm, source="typed", **moments(chance), spells=spells_at_random(chance))
    return farm


def _tunnel(chance: Chance, farm: Farm) -> None:
    tunnel = make_tunnel(
        farm, shelter=chance.one("", "open", "half", "sheltered"), status=chance.one("in_use", "in_use", "planned"),
        storm_posture=chance.one("closed", "closed", "film_off", "closed_fan"),
    )  # fmt: skip
    tunnel.end_walls.update(is_tied_to_bows=chance.one(True, True, False, None))
    for wall in tunnel.end_walls.order_by("end"):
        for _ in range(chance.one(0, 1, 1)):
            make_opening(wall, kind=chance.one("mid_bar", "person"), rough_width_mm=feet(chance.one(8, 12)))
    if chance.is_so(0.7):
        film = make_material(farm, kind="film", rated_life_years=Decimal(4))
        age = chance.one(200, 1400, 1500, 4000)  # days; 1461 are four years
        make_component(tunnel, kind="roof_film", material=film, fitted_on=NOW.date() - timedelta(days=age))
    if chance.is_so(0.3):
        Repair.objects.create(
            farm=farm, tunnel=tunnel, found_on=NOW.date(), part="brace", mode="loose", is_critical=chance.is_so(0.5)
        )
    if chance.is_so(0.5):
        TunnelFactor.objects.create(tunnel=tunnel, factor=Decimal(chance.one("0.85", "1.25", "1.5")))


def cell_at_random(seed: int) -> WeatherCell:
    """Make a grid cell with two forecasts, of which the newer counts."""
    chance = Chance(seed)
    cell = WeatherCell.objects.create(
        kind=chance.one("nws", "open_meteo"), key=f"cell-{seed}", latitude_deg=42, longitude_deg=-76
    )
    for back in (3, 0):
        times = moments(chance, back)
        Forecast.objects.create(cell=cell, source=cell.kind, **times, spells=spells_at_random(chance))
    return cell


def moments(chance: Chance, back: int = 0) -> dict[str, datetime]:
    """Return when a forecast was made and came; now and then it is too old."""
    at = NOW - timedelta(hours=back + chance.one(1, 1, 8))
    return {"issued_at": at, "fetched_at": at}


def spells_at_random(chance: Chance) -> list[dict[str, Any]]:
    """Return four days of hours, some past: mostly quiet, with a blow or two, holes, and gusts nobody knows."""
    base, found = chance.draw.uniform(5, 25), []
    blows = [(chance.draw.randrange(0, 96), chance.draw.uniform(15, 60)) for _ in range(chance.one(0, 1, 2))]
    for hour in range(-3, 96):
        if chance.is_so(0.03):
            continue
        start = NOW + timedelta(hours=hour)
        mph = max([base, *(peak - 2 * abs(hour - at) for at, peak in blows)])
        gust: float | None = round(mph) * MPH if chance.is_so(0.5) else mph * MPH
        wind = gust and gust / 2
        if chance.is_so(0.05):
            gust, wind = chance.one((None, None), (None, wind), (gust, None))
        upper = gust and gust * 1.3
        found.append(
            {
                "start": start.isoformat(), "end": (start + timedelta(hours=1)).isoformat(), "gust": gust,
                "wind": wind, "upper_gust": upper if chance.is_so(0.5) else None, "bearing_deg": 270.0,
                "thunder": chance.is_so(0.01),
            }
        )  # fmt: skip
    return found
