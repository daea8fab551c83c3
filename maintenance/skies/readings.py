"""Readings of the farm's own anemometer: who may send them, and what they make of the day."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from hashlib import sha256
from hmac import compare_digest
from typing import Final

from farm.models import Farm
from maintenance.models import WeatherSource, WindDay, WindReading
from maintenance.plans import winds
from maintenance.weather import Reading, read_reading

CENT: Final = Decimal("0.01")  # what the columns keep


@dataclass(frozen=True, slots=True)
class Kept:
    """A reading in its row, whether it was not known before, and what it said."""

    row: WindReading
    is_new: bool
    reading: Reading


def new_token(*, source: WeatherSource) -> str:
    """Return a fresh token for the farm's instrument; the one before it opens nothing any more.

    Only its hash is kept: nobody can be shown it again.
    """
    token = secrets.token_urlsafe(32)
    source.anemometer_hash = _hash(token)
    source.save() if source.pk is None else source.save(update_fields=["anemometer_hash"])
    return token


def forget_token(*, source: WeatherSource) -> None:
    """Take no more readings of the instrument."""
    if source.pk is not None:
        source.anemometer_hash = ""
        source.save(update_fields=["anemometer_hash"])


def farm_of(*, slug: str, token: str) -> Farm | None:
    """Return the farm whose instrument holds this token; None for any other farm, and for any other token."""
    source = WeatherSource.objects.filter(farm__slug=slug).select_related("farm").first()
    known = source.anemometer_hash if source else ""
    # Compared also where there is nothing to compare with: how long it takes gives no farm away.
    fits = compare_digest(_hash(token), known or _hash(""))
    return source.farm if source and known and fits else None


def keep_reading(*, farm: Farm, content: bytes, now: datetime) -> Kept:
    """Keep what the instrument measured, once for each time, and the day's highest gust with what it brings on.

    Raises
    ------
    ForecastError
        If it is no reading.
    """
    reading = read_reading(content, fetched_at=now)
    row, is_new = WindReading.objects.get_or_create(
        farm=farm, at=reading.at,
        defaults={
            "gust_m_s": _kept(reading.gust), "mean_m_s": None if reading.mean is None else _kept(reading.mean),
            "bearing_deg": None if reading.bearing_deg is None else _kept(reading.bearing_deg) % 360,
        },
    )  # fmt: skip
    _raise_day(row, now)
    return Kept(row, is_new, reading)


def _raise_day(row: WindReading, now: datetime) -> None:
    """Make a reading the gust of its day where it is the highest; also after a crash between the two."""
    on = row.at.astimezone(row.farm.zone).date()
    known = WindDay.objects.of(row.farm).filter(on=on, gust_m_s__gte=row.gust_m_s).exists()
    if row.gust_m_s > 0 and not known:
        winds.record_gust(farm=row.farm, on=on, gust_m_s=row.gust_m_s, source=WindDay.Source.MEASURED, now=now)


def _kept(number: float) -> Decimal:
    return Decimal(str(number)).quantize(CENT, ROUND_HALF_UP)


def _hash(token: str) -> str:
    return sha256(token.encode()).hexdigest()
