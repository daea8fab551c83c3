"""Farms that wait to be worked out in full: claimed one by one by any number of workers, the most urgent first.

What waits is in the database and not in the queue: a worker may be killed, or a pass come twice, and every farm is
still worked out, and no more often than needed. All warnings go before the crews' plans, which take longer.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Final

from django.db.models import F, Q, QuerySet

from maintenance.blow.assess import assess, write_waiting_plan
from maintenance.models import StormRound

logger = logging.getLogger(__name__)

CLAIM_HOLDS: Final = timedelta(minutes=2)  # a farm takes a second or two; a later one belongs to a dead worker
AT_ONCE: Final = 20  # farms looked up together


def work_waiting(*, clock: Callable[[], datetime], is_enough: Callable[[], bool] = lambda: False) -> int:
    """Work out the farms that wait, then write the plans that wait; return how many farms have a storm.

    One farm that fails does not keep the others from their warning; the next pass asks for it again.
    """
    found = 0
    while not is_enough() and (rows := _claimed(_assessments(), clock())):
        for row in rows:
            found += _assess(row, clock())
    while not is_enough() and (rows := _claimed(_plans(), clock())):
        for row in rows:
            _plan(row, clock())
    return found


def is_any_waiting(*, now: datetime) -> bool:
    """Return whether there is work that nobody has claimed."""
    return any(_free(rows, now).exists() for rows in (_assessments(), _plans()))


def _assessments() -> QuerySet[StormRound]:
    return StormRound.objects.filter(waits_since__isnull=False)


def _plans() -> QuerySet[StormRound]:
    return StormRound.objects.filter(plan_since__isnull=False)


def _free(rows: QuerySet[StormRound], now: datetime) -> QuerySet[StormRound]:
    return rows.filter(Q(claimed_at=None) | Q(claimed_at__lte=now - CLAIM_HOLDS))


def _claimed(rows: QuerySet[StormRound], now: datetime) -> Sequence[StormRound]:
    """Return rows that are this worker's now; of two workers that want one, the database lets one have it."""
    wanted = _free(rows, now).select_related("farm").order_by(F("urgent_at").asc(nulls_first=True), "farm")
    mine: list[StormRound] = []
    while not mine and (seen := list(wanted[:AT_ONCE])):
        mine = [one for one in seen if _free(rows, now).filter(pk=one.pk).update(claimed_at=now)]
    return mine


def _assess(row: StormRound, now: datetime) -> bool:
    storm = None
    try:
        storm = assess(farm=row.farm, now=now, has_time=False)
    except Exception:
        logger.exception("the storm of farm %s could not be worked out", row.farm_id)
    mine = StormRound.objects.filter(pk=row.pk)
    if not mine.filter(waits_since=row.waits_since).update(waits_since=None, claimed_at=None):
        mine.update(claimed_at=None)  # asked for again meanwhile
    return storm is not None


def _plan(row: StormRound, now: datetime) -> None:
    try:
        write_waiting_plan(farm=row.farm, now=now)
    except Exception:
        logger.exception("the crew's plan of farm %s could not be written", row.farm_id)
        StormRound.objects.filter(pk=row.pk).update(plan_since=None)  # or it would be tried for ever
    StormRound.objects.filter(pk=row.pk).update(claimed_at=None)
