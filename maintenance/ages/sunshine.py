"""A farm's sunshine: its climate as the core takes it, and the radiation measured day by day."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Final

from django.db import transaction

from farm.models import Farm
from maintenance import dose
from maintenance.models import Climate, SunDay

BATCH: Final = 500


def climate_of(farm: Farm) -> dose.Climate | None:
    """Return what the sun over a farm is estimated from; None without a latitude or the months' sunshine."""
    kept = Climate.objects.filter(farm=farm).first()
    if kept is None or farm.latitude_deg is None:
        return None
    return dose.Climate(math.radians(farm.latitude_deg), tuple(kept.sunshine))


def keep_climate(*, farm: Farm, sunshine: Sequence[float], source: str) -> None:
    """Keep the twelve months' shares of the daylight in which the sun shines."""
    Climate.objects.update_or_create(farm=farm, defaults={"sunshine": list(sunshine), "source": source})


def known_days(farm: Farm, days: Mapping[date, Decimal]) -> int:
    """Return how many of some days are kept already."""
    if not days:
        return 0
    kept = SunDay.objects.of(farm).filter(on__gte=min(days), on__lte=max(days)).values_list("on", flat=True)
    return sum(1 for on in kept if on in days)


@transaction.atomic
def keep_days(*, farm: Farm, days: Mapping[date, Decimal]) -> None:
    """Keep the radiation measured on days [MJ/m²]; it takes the place of what was kept of the same days."""
    SunDay.objects.bulk_create(
        [SunDay(farm=farm, on=on, radiation_mj_m2=radiation) for on, radiation in days.items()],
        batch_size=BATCH, update_conflicts=True, unique_fields=["farm", "on"], update_fields=["radiation_mj_m2"],
    )  # fmt: skip
