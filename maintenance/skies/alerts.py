"""Official warnings, kept farm by farm: what stands, and what was withdrawn, replaced or left out since."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Final

from django.db import transaction
from django.db.models import QuerySet

from farm.models import Farm
from maintenance.models import WeatherAlert
from maintenance.weather import Alert, standing

MOST: Final = 100  # of a farm and a source; more is no longer read by anybody
LONGEST_IDENT: Final = 300


def keep_alerts(*, farm: Farm, origin: str, alerts: Iterable[Alert], now: datetime) -> None:
    """Keep the warnings of a source that stand; those it no longer names are gone.

    ``origin`` stands before their ids, so that one source's silence ends no other's warnings.
    """
    rows = [_row(farm, origin, alert, now) for alert in standing(alerts, now=now)[:MOST]]
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


def _row(farm: Farm, origin: str, alert: Alert, now: datetime) -> WeatherAlert:
    return WeatherAlert(
        farm=farm, ident=f"{origin}{alert.id}"[:LONGEST_IDENT], event=alert.event[:120],
        headline=(alert.headline or alert.description.partition("\n")[0])[:500], severity=alert.severity[:12],
        onset=alert.onset, ends=alert.ends, fetched_at=now, gone_at=None,
    )  # fmt: skip
