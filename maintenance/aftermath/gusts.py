"""The highest gust that came, and from where it is known."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Max, OuterRef, Subquery

from farm.models import Farm
from maintenance.models import Storm, WindDay, WindReading
from maintenance.querysets import StormQuerySet


@dataclass(frozen=True, slots=True)
class Gust:
    """A storm's highest gust. [m/s] ``is_forecast`` where nobody measured or saw any."""

    speed: Decimal
    is_forecast: bool


def with_readings(storms: StormQuerySet) -> StormQuerySet:
    """Return storms with the highest gust an instrument read within each, and the highest level warned of."""
    within = WindReading.objects.filter(
        farm=OuterRef("farm"), at__gte=OuterRef("begins_at"), at__lte=OuterRef("ends_at")
    )
    highest = within.order_by("-gust_m_s").values("gust_m_s")[:1]
    return storms.annotate(read_gust=Subquery(highest), warned_level=Max("looks__level"))


def gust_of(storm: Storm) -> Gust:
    """Return a storm's highest gust; takes two queries."""
    loaded = with_readings(Storm.objects.filter(pk=storm.pk)).get()
    return gusts_of([loaded], storm.farm)[storm.pk]


def gusts_of(storms: Sequence[Storm], farm: Farm) -> dict[int, Gust]:
    """Return the highest gust of each storm of a farm, which ``with_readings`` loaded; takes one query."""
    days = _days(farm, storms)
    return {storm.pk: _gust(storm, farm, days) for storm in storms}


def day_of(moment: datetime, farm: Farm) -> date:
    """Return the farm's day of a moment."""
    return moment.astimezone(farm.zone).date()


def _days(farm: Farm, storms: Iterable[Storm]) -> dict[date, Decimal]:
    """Return what was seen, measured or reported on the days of storms; the forecast is no observation."""
    spans = [(day_of(storm.begins_at, farm), day_of(storm.ends_at, farm)) for storm in storms]
    if not spans:
        return {}
    first, last = min(begins for begins, _ends in spans), max(ends for _begins, ends in spans)
    rows = WindDay.objects.of(farm).filter(on__range=(first, last)).exclude(source=WindDay.Source.FORECAST)
    found: dict[date, Decimal] = defaultdict(Decimal)
    found.update(rows.values_list("on", "gust_m_s"))
    return dict(found)


def _gust(storm: Storm, farm: Farm, days: dict[date, Decimal]) -> Gust:
    first, last = day_of(storm.begins_at, farm), day_of(storm.ends_at, farm)
    known = [gust for on, gust in days.items() if first <= on <= last]
    known += [gust for gust in (getattr(storm, "read_gust", None), storm.actual_gust_m_s) if gust is not None]
    return Gust(max(known), is_forecast=False) if known else Gust(storm.peak_gust_m_s, is_forecast=True)
