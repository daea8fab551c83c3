"""Rows of a storm that is over, for tests: plain functions with keyword overrides."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from farm.models import Farm, Opening, Tunnel
from maintenance.models import Storm, StormLook, StormTask

BEGAN = datetime(2026, 11, 20, 18, tzinfo=UTC)
PEAK = BEGAN + timedelta(hours=3)
ENDED = BEGAN + timedelta(hours=8)
AFTER = datetime(2026, 11, 21, 13, tzinfo=UTC)
MPH = Decimal("0.44704")  # m/s, exact


def make_storm(farm: Farm, **values: Any) -> Storm:
    """Make a storm of 20 November 2026 that is over: 26 m/s (58 mph) were forecast, level 4."""
    sizes: dict[str, Any] = {
        "state": "over", "opened_at": BEGAN - timedelta(days=2), "begins_at": BEGAN, "ends_at": ENDED, "peak_at": PEAK,
        "peak_gust_m_s": Decimal(26), "level": 4, "deadline_at": BEGAN - timedelta(hours=2),
        "start_by_at": BEGAN - timedelta(hours=6), "assessed_at": BEGAN,
    }  # fmt: skip
    return Storm.objects.create(farm=farm, **{**sizes, **values})


def make_look(storm: Storm, **values: Any) -> StormLook:
    """Make what was known of a storm two days before it."""
    sizes: dict[str, Any] = {
        "at": storm.opened_at, "level": storm.level, "peak_at": storm.peak_at, "peak_gust_m_s": storm.peak_gust_m_s,
        "deadline_at": storm.deadline_at, "start_by_at": storm.start_by_at, "open_minutes": 180, "people": 4,
        "what": "opened",
    }  # fmt: skip
    return StormLook.objects.create(storm=storm, **{**sizes, **values})


def make_task(storm: Storm, place: Tunnel | Opening, **values: Any) -> StormTask:
    """Make an open task: a film door to shut, or a side to let down."""
    is_door = isinstance(place, Opening)
    tunnel = place.end_wall.tunnel if isinstance(place, Opening) else place
    sizes: dict[str, Any] = {
        "key": f"{'door' if is_door else 'side'}-{place.pk}", "kind": "film_door" if is_door else "side",
        "tunnel": tunnel, "opening": place if is_door else None, "minutes": 7,
    }  # fmt: skip
    return StormTask.objects.create(storm=storm, **{**sizes, **values})


def picture(tunnel: Tunnel, *, factor: float = 1.0, limit: float | None = None, level: int = 4) -> dict[str, Any]:
    """Return what a storm's last assessment says of a tunnel: its factor and what its weakest door stands. [m/s]"""
    weakest = None if limit is None else [f"{tunnel.code}-W", limit]
    return {"pk": tunnel.pk, "code": tunnel.code, "factor": factor, "level": level, "weakest": weakest}
