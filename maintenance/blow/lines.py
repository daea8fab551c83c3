"""The closing lines of a farm: what each opening holds against a gust, drawn ahead for the pass over all farms.

Whatever a person changes makes a farm's lines untrusted at once: the pass then works that farm out in full. What
changes by the clock alone, such as a film that outlives its life, is foreseen: lines are drawn for today and for the
last day they are good for, and the more careful of the two is kept.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from django.db import transaction
from django.db.models import F, Q

from doors.mechanics.wind_data import FASTEST_GUST
from farm.models import Farm
from maintenance.blow.conditions import AUTUMN_ROUNDS, FIRST_CHECKS, Standings, standings
from maintenance.blow.rules import FarmRules, rules_of
from maintenance.models import ClosingLine, Job, StormRound
from maintenance.models.lines import NO_LIMIT
from maintenance.storm.condition import Posture, offset_of

logger = logging.getLogger(__name__)

GOOD_FOR: Final = timedelta(days=2)
DRAWN_EVERY: Final = timedelta(minutes=55)
MOST_AT_ONCE: Final = 5_000  # farms; the next round takes the others
UNTRUSTED: Final = Q(drawn_changes=None) | ~Q(drawn_changes=F("changes")) | Q(good_until=None)

Line = tuple[int, int | None, float, float, float]  # tunnel, opening, change, factor, limit


def note_change(*, farm_id: int) -> None:
    """Trust a farm's lines no longer: somebody wrote to the farm."""
    StormRound.objects.filter(farm=farm_id).update(changes=F("changes") + 1)


def note_opened_jobs(*, since: datetime) -> None:
    """Trust the lines of those farms no longer where the night opened a job that moves levels."""
    moving = Job.objects.filter(opened_at__gte=since, plan__routine__code__in=(*FIRST_CHECKS, *AUTUMN_ROUNDS))
    StormRound.objects.filter(farm__in=moving.values("farm")).update(changes=F("changes") + 1)


def draw_old_lines(*, now: datetime, is_enough: Callable[[], bool] = lambda: False) -> int:
    """Draw the lines of the farms whose lines are not trusted, then of those drawn longest ago; return of how many.

    Only farms that the pass has met need any. What ``is_enough`` leaves over comes first the next time.
    """
    rows, drawn = StormRound.objects.select_related("farm"), 0
    for old in (rows.filter(UNTRUSTED), rows.exclude(UNTRUSTED).filter(drawn_at__lte=now - DRAWN_EVERY)):
        for row in old.order_by("drawn_at", "pk")[:MOST_AT_ONCE]:
            if is_enough():
                return drawn
            drawn += _drawn(row.farm, now)
    return drawn


def draw_lines(*, farm: Farm, now: datetime) -> None:
    """Draw a farm's lines.

    Raises
    ------
    StormError
        For rules or structures that cannot be; its lines are then not trusted.
    """
    row, _ = StormRound.objects.get_or_create(farm=farm)
    changes = row.changes  # before the facts are read: what changes meanwhile is not in these lines
    rules, on = rules_of(farm), now.astimezone(farm.zone).date()
    lines = _careful(*(_lines(standings(farm=farm, on=day, rules=rules), rules) for day in (on, on + GOOD_FOR)))
    with transaction.atomic():
        StormRound.objects.select_for_update().get(pk=row.pk)  # one at a time
        _keep(farm, lines)
        StormRound.objects.filter(pk=row.pk).update(
            drawn_changes=changes, drawn_at=now, good_until=now + GOOD_FOR,
            thresholds_m_s=list(rules.levels.thresholds[1:]), acts_on_upper=rules.clock.act_on_upper,
        )  # fmt: skip


def _drawn(farm: Farm, now: datetime) -> bool:
    try:
        draw_lines(farm=farm, now=now)
    except Exception:  # the other farms get theirs; this one is worked out in full meanwhile
        logger.exception("the closing lines of farm %s could not be drawn", farm.pk)
        return False
    return True


def _lines(stands: Sequence[Standings], rules: FarmRules) -> dict[tuple[int, int | None], Line]:
    return {line[:2]: line for one in stands for line in _of_tunnel(one, rules)}


def _of_tunnel(one: Standings, rules: FarmRules) -> Iterator[Line]:
    change = offset_of(one.condition, rules.offset).change
    has_limit = one.condition.limit is not None and one.condition.posture != Posture.FILM_OFF
    for opening in one.openings or (None,):
        limit = NO_LIMIT
        if has_limit and opening is not None:
            limit = one.limits.get(opening.pk, NO_LIMIT) if rules.door_limits_count else FASTEST_GUST
        yield one.tunnel.pk, opening.pk if opening else None, change, one.factor, min(limit, NO_LIMIT)


def _careful(*drawn: dict[tuple[int, int | None], Line]) -> list[Line]:
    """Return of each line drawn for several days the one that closes first."""
    return [
        (*key, min(one[key][2] for one in drawn), max(one[key][3] for one in drawn), min(one[key][4] for one in drawn))
        for key in drawn[0]
    ]


def _keep(farm: Farm, lines: Sequence[Line]) -> None:
    """Write lines, and nothing where they are what they were: most farms change little from day to day."""
    rows = ClosingLine.objects.filter(farm=farm)
    if set(rows.values_list("tunnel", "opening", "change_m_s", "factor", "limit_m_s")) == set(lines):
        return
    rows.delete()
    ClosingLine.objects.bulk_create(
        ClosingLine(
            farm=farm, tunnel_id=tunnel, opening_id=opening, change_m_s=change, factor=factor, limit_m_s=limit
        )
        for tunnel, opening, change, factor, limit in lines
    )  # fmt: skip
