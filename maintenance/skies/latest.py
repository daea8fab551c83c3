"""What is known of a farm's weather at a moment: its forecast and how old it is, light to work by, working hours."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Q, Subquery

from farm.models import Farm
from maintenance.daylight import work_light
from maintenance.messages.quiet import moment
from maintenance.models import Forecast, WeatherAlert, WeatherCell, WeatherSource, WorkHours
from maintenance.skies.codec import remarks_from_json, spells_from_json
from maintenance.storm.quantity import Interval
from maintenance.weather import Remark, Spell

Stretch = tuple[datetime, datetime]  # half-open, in UTC

WORK_FROM, WORK_UNTIL = time(7), time(17)
DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Sky:
    """A farm's forecast at a moment.

    Attributes
    ----------
    spells : tuple of Spell
        As the source gave them: the farm's own gust factor is not applied.
    age : timedelta
        Since it was made, or since it came where the source does not say; never negative.
    is_stale : bool
        Whether it is older than the farm allows.
    alerts : list of WeatherAlert
        Official warnings that hold.
    """

    forecast: Forecast
    spells: tuple[Spell, ...]
    issued_at: datetime
    fetched_at: datetime
    is_stale: bool
    age: timedelta
    remarks: tuple[Remark, ...]
    alerts: list[WeatherAlert]


def source_of(farm: Farm) -> WeatherSource:
    """Return where a farm's forecast comes from, with its cell; typed in until it chooses, and then not yet saved."""
    known = WeatherSource.objects.filter(farm=farm).select_related("cell").first()
    return known or WeatherSource(farm=farm)


def forecast_of(*, farm: Farm, now: datetime, source: WeatherSource | None = None) -> Sky | None:
    """Return the forecast to act on, or None where there is none.

    The chosen service comes first; while it is silent or too old, a later one that somebody typed in stands in.
    """
    source = source or source_of(farm)
    found = _chosen(source, _newest(farm, source), now)
    if found is None:
        return None
    return Sky(
        forecast=found, spells=spells_from_json(found.spells), issued_at=found.issued_at, fetched_at=found.fetched_at,
        is_stale=_is_stale(found, source, now), age=age_of(found, now), remarks=remarks_from_json(found.remarks),
        alerts=alerts_of(farm=farm, now=now),
    )  # fmt: skip


def chosen_forecasts(*, sources: Collection[WeatherSource], now: datetime) -> dict[int, Forecast]:
    """Return by farm the forecast that `forecast_of` acts on, for many farms at once; what they hold is not loaded."""
    newest = Forecast.objects.latest_first().values("pk")
    cells = WeatherCell.objects.filter(pk__in={one.cell_id for one in sources if one.cell_id})
    farms = Farm.objects.filter(pk__in=[one.farm_id for one in sources])
    by_cell = dict(cells.values_list("pk", Subquery(newest.filter(cell=OuterRef("pk"))[:1])))
    by_farm = dict(farms.values_list("pk", Subquery(newest.filter(farm=OuterRef("pk"))[:1])))
    wanted = {pk for pk in (*by_cell.values(), *by_farm.values()) if pk is not None}
    rows = Forecast.objects.defer("original", "spells", "remarks").in_bulk(wanted)
    chosen = {}
    for source in sources:
        pks = (by_cell.get(source.cell_id) if source.cell_id else None, by_farm.get(source.farm_id))
        found = _chosen(source, [rows[pk] for pk in pks if pk in rows], now)
        if found is not None:
            chosen[source.farm_id] = found
    return chosen


def age_of(forecast: Forecast, now: datetime) -> timedelta:
    """Return how old a forecast is; one that says it was made later than it came is no younger for that."""
    return max(now - min(forecast.issued_at, forecast.fetched_at), timedelta(0))


def alerts_of(*, farm: Farm, now: datetime) -> list[WeatherAlert]:
    """Return the warnings that are neither withdrawn nor over, the first to begin on top."""
    standing = WeatherAlert.objects.filter(Q(ends=None) | Q(ends__gt=now), farm=farm, gone_at=None)
    return list(standing.order_by("onset", "pk"))


def place_known(farm: Farm) -> bool:
    """Return whether anybody has said where a farm lies."""
    return farm.latitude_deg is not None and farm.longitude_deg is not None


def daylight_of(*, farm: Farm, start: date, days: int) -> list[Stretch]:
    """Return when there is light to work by on days of the farm's calendar; none where its place is not known."""
    if farm.latitude_deg is None or farm.longitude_deg is None:
        return []
    latitude, longitude = float(farm.latitude_deg), float(farm.longitude_deg)
    found = (_light_on(day, latitude, longitude, farm.zone) for day in _days(start, days))
    return [(one.start, one.end) for light in found for one in light]


def hours_of(farm: Farm) -> WorkHours:
    """Return when the crew works; from seven to five until the farm says otherwise, and then not yet saved."""
    return WorkHours.objects.filter(farm=farm).first() or WorkHours(
        farm=farm, work_from=WORK_FROM, work_until=WORK_UNTIL
    )


def shifts_of(*, farm: Farm, start: date, days: int, hours: WorkHours | None = None) -> list[Stretch]:
    """Return the working hours of days of the farm's calendar, by its clock also where that is put on or back."""
    kept, zone = hours or hours_of(farm), farm.zone
    found = [
        (moment(day, kept.work_from, zone), moment(day, kept.work_until, zone, last=True)) for day in _days(start, days)
    ]
    return [(begins, ends) for begins, ends in found if begins < ends]


@lru_cache(maxsize=20_000)  # each farm's days are asked for every five minutes while it has a storm
def _light_on(day: date, latitude: float, longitude: float, zone: ZoneInfo) -> tuple[Interval, ...]:
    return work_light([day], latitude=latitude, longitude=longitude, zone=zone)


def _newest(farm: Farm, source: WeatherSource) -> Sequence[Forecast]:
    """Return the newest forecast of the farm's cell, where it has one, and the newest typed in."""
    rows = Forecast.objects.defer("original").latest_first()
    of_cell = rows.filter(cell_id=source.cell_id).first() if source.cell_id else None
    return [found for found in (of_cell, rows.filter(farm=farm).first()) if found is not None]


def _chosen(source: WeatherSource, found: Sequence[Forecast], now: datetime) -> Forecast | None:
    fresh = [one for one in found if not _is_stale(one, source, now)]
    if fresh:
        return fresh[0]
    return min(found, key=lambda one: age_of(one, now), default=None)


def _is_stale(forecast: Forecast, source: WeatherSource, now: datetime) -> bool:
    return age_of(forecast, now) > timedelta(hours=source.oldest_hours)


def _days(start: date, days: int) -> list[date]:
    return [start + DAY * number for number in range(days)]
