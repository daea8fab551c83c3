"""Official warnings, kept farm by farm: what stands, and what was withdrawn, replaced or left out since.

NWS is asked for a farm's own place. A file of CAP may hold warnings for a whole country: those whose outlines leave the
farm out are not kept, and those without outlines are kept with a doubt.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet

from farm.models import Farm
from maintenance.models import WeatherAlert, WeatherSource
from maintenance.skies.latest import alerts_of, place_known
from maintenance.skies.sources import OF_CAP, OF_NWS, Kind
from maintenance.weather import Alert, reaches, standing
from maintenance.words.skies import severity_text

MOST: Final = 100  # of a farm and a source; more is no longer read by anybody
LONGEST_IDENT: Final = 300
DOUBT: Final = "?"  # between origin and id: nothing says that the warning is for the farm's place


@dataclass(frozen=True, slots=True)
class Told:
    """An official warning as a page prints it; ``link`` leads to the source, and may be empty."""

    alert: WeatherAlert
    severity: str
    is_doubtful: bool
    link: str


def told_alerts(*, farm: Farm, source: WeatherSource, now: datetime) -> list[Told]:
    """Return the warnings that hold, those that are surely for this place first."""
    found = [_told(alert, source) for alert in alerts_of(farm=farm, now=now)]
    return sorted(found, key=lambda one: one.is_doubtful)


def keep_alerts(*, farm: Farm, origin: str, alerts: Iterable[Alert], now: datetime) -> None:
    """Keep the warnings of a source that stand and may be for the farm; those it no longer names are gone.

    ``origin`` stands before their ids, so that one source's silence ends no other's warnings.
    """
    place = (float(farm.latitude_deg or 0), float(farm.longitude_deg or 0)) if place_known(farm) else None
    here = [(alert, origin == OF_NWS or reaches(alert, place)) for alert in standing(alerts, now=now)]
    here.sort(key=lambda pair: pair[1] is None)  # of more than can be kept, the doubtful go first
    rows = [_row(farm, origin, alert, now, is_sure=bool(sure)) for alert, sure in here if sure is not False][:MOST]
    with transaction.atomic():
        WeatherAlert.objects.bulk_create(
            rows, update_conflicts=True, unique_fields=["farm", "ident"],
            update_fields=["event", "headline", "severity", "onset", "ends", "fetched_at", "gone_at"],
        )  # fmt: skip
        _of(farm, origin).exclude(ident__in=[row.ident for row in rows]).update(gone_at=now)


def hear_again(*, farm: Farm, origin: str, now: datetime) -> None:
    """Note that nothing has changed at a source."""
    _of(farm, origin).update(fetched_at=now)


def _of(farm: Farm, origin: str) -> QuerySet[WeatherAlert]:
    return WeatherAlert.objects.filter(farm=farm, ident__startswith=origin, gone_at=None)


def _told(alert: WeatherAlert, source: WeatherSource) -> Told:
    origin, _colon, ident = alert.ident.partition(":")
    link = source.cap_url if f"{origin}:" == OF_CAP else ""
    if f"{origin}:" == OF_NWS:
        link = f"{settings.WEATHER_SERVICES[Kind.NWS]}/alerts/{ident}"
    return Told(alert, severity_text(alert.severity), ident.startswith(DOUBT), link)


def _row(farm: Farm, origin: str, alert: Alert, now: datetime, *, is_sure: bool) -> WeatherAlert:
    return WeatherAlert(
        farm=farm, ident=f"{origin}{'' if is_sure else DOUBT}{alert.id}"[:LONGEST_IDENT], event=alert.event[:120],
        headline=(alert.headline or alert.description.partition("\n")[0])[:500], severity=alert.severity[:12],
        onset=alert.onset, ends=alert.ends, fetched_at=now, gone_at=None,
    )  # fmt: skip
