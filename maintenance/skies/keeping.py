"""Forecasts as rows: kept as they came, dropped when nobody asks for them any more."""

from __future__ import annotations

import zlib
from datetime import datetime, timedelta
from typing import Final

from django.db.models import Exists, OuterRef, Q

from farm.models import Farm
from maintenance import weather
from maintenance.models import Forecast, StormLook, WeatherCell
from maintenance.skies.codec import remarks_to_json, spells_to_json

KEPT: Final = timedelta(days=14)


def keep_forecast(
    *, forecast: weather.Forecast, original: bytes, cell: WeatherCell | None = None, farm: Farm | None = None
) -> Forecast:
    """Keep a forecast of a cell, or of one farm; one that is known already stays as it is."""
    row, _is_new = Forecast.objects.get_or_create(
        cell=cell, farm=farm, issued_at=forecast.issued_at or forecast.fetched_at, source=forecast.source[:40],
        defaults={
            "fetched_at": forecast.fetched_at, "spells": spells_to_json(forecast.spells),
            "remarks": remarks_to_json(forecast.remarks), "original": zlib.compress(original),
        },
    )  # fmt: skip
    return row


def original_of(forecast: Forecast) -> bytes:
    """Return a forecast as it came."""
    return zlib.decompress(bytes(forecast.original)) if forecast.original else b""


def drop_old(*, now: datetime) -> int:
    """Drop forecasts of a fortnight ago, but none that a storm was judged by, and no place's last."""
    looks = StormLook.objects.filter(forecast=OuterRef("pk"))
    same = Q(cell=OuterRef("cell")) | Q(farm=OuterRef("farm"))
    later = Forecast.objects.filter(same).filter(
        Q(issued_at__gt=OuterRef("issued_at")) | Q(issued_at=OuterRef("issued_at"), pk__gt=OuterRef("pk"))
    )
    old = Forecast.objects.filter(Exists(later), ~Exists(looks), fetched_at__lt=now - KEPT)
    return old.delete()[0]
