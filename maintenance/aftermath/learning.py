"""What storms teach: how gusts at each tunnel stand to the forecast, and how long each kind of work takes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import ROUND_HALF_UP, Decimal
from statistics import median
from typing import Any, Final

from django.db import transaction

from farm.models import Farm, Tunnel
from maintenance.blow.rules import change_rules, rules_of
from maintenance.models import StormFinding, StormTask, TunnelFactor
from maintenance.storm.local import Learnt, Observation, Shelter, learn_factor
from maintenance.storm.quantity import MINUTE
from maintenance.storm.work import WorkTimes

LEAST: Final = 5  # observations before the farm's own minutes are proposed; common practice, no source
PRIOR: Final = 5  # observations that the rule in use weighs; common practice, no source
TIMES: Final = {  # the rule of each kind of work
    StormTask.Kind.WALK: "walk_round", StormTask.Kind.SIDE: "side", StormTask.Kind.FILM_DOOR: "film_door",
    StormTask.Kind.WIDE_FILM_DOOR: "wide_film_door", StormTask.Kind.PERSON_DOOR: "person_door",
    StormTask.Kind.SLIDING_DOOR: "sliding_door", StormTask.Kind.INFLATION: "inflation", StormTask.Kind.SHADE: "shade",
}  # fmt: skip


# Gusts ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TunnelLearnt:
    """What was learnt of one tunnel's gusts."""

    tunnel: Tunnel
    factor: Decimal
    learnt: Learnt


@transaction.atomic
def observe(*, finding: StormFinding, now: datetime) -> None:
    """Learn from the gust that was seen at a tunnel in a storm; each place of a storm counts once."""
    if finding.gust_seen_m_s is None:
        return
    row, _made = TunnelFactor.objects.get_or_create(tunnel=finding.tunnel)
    storm = finding.storm
    one = {
        "finding": finding.pk, "at": storm.peak_at.astimezone(UTC).isoformat(), "seen": float(finding.gust_seen_m_s),
        "forecast": float(storm.peak_gust_m_s) * _shelter(finding.tunnel, storm.farm),
    }  # fmt: skip
    row.observations = [*(old for old in row.observations if old.get("finding") != finding.pk), one]
    row.factor = _two(_learnt(row.observations).factor)
    row.learnt_at = now
    row.save(update_fields=["observations", "factor", "learnt_at"])


def reset_factor(*, tunnel: Tunnel, now: datetime) -> None:
    """Forget what was learnt of a tunnel's gusts: it moved, or its windbreak fell."""
    TunnelFactor.objects.filter(tunnel=tunnel).update(factor=1, observations=[], learnt_at=now)


def factors_of(farm: Farm) -> list[TunnelLearnt]:
    """Return the tunnels of which something was learnt, by code."""
    rows = TunnelFactor.objects.filter(tunnel__farm=farm).exclude(observations=[]).select_related("tunnel")
    return [TunnelLearnt(row.tunnel, row.factor, _learnt(row.observations)) for row in rows.order_by("tunnel__code")]


def _learnt(observations: list[dict[str, Any]]) -> Learnt:
    return learn_factor([
        Observation(datetime.fromisoformat(one["at"]).astimezone(UTC), one["forecast"], one["seen"])
        for one in observations
    ])  # fmt: skip


def _shelter(tunnel: Tunnel, farm: Farm) -> float:
    """Return what the farm's rules already take off for shelter, lest it be learnt a second time."""
    return float(getattr(rules_of(farm).shelter, Shelter(tunnel.shelter or Shelter.OPEN).value))


def _two(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal("0.01"), ROUND_HALF_UP)


# Minutes --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Minutes:
    """How long one kind of work takes each person, by the rule in use and by what was logged. [min]"""

    kind: str
    rule: str
    in_use: float
    usual: float
    count: int
    middle: float
    proposed: int | None  # None before there are enough, and where it would change nothing

    @property
    def label(self) -> str:
        return str(StormTask.Kind(self.kind).label)


def minutes_of(farm: Farm) -> list[Minutes]:
    """Return the kinds of work whose minutes were logged, beside the farm's rule and common practice."""
    logged: dict[str, list[int]] = defaultdict(list)
    rows = StormTask.objects.filter(storm__farm=farm, state=StormTask.State.DONE, minutes_spent__gt=0, kind__in=TIMES)
    for kind, minutes in rows.values_list("kind", "minutes_spent"):
        logged[kind].append(minutes or 0)
    times = rules_of(farm).times
    return [_minutes(kind, logged[kind], times) for kind in TIMES if logged[kind]]


def accept_minutes(*, farm: Farm, kind: str) -> Minutes | None:
    """Take the proposed minutes of a kind of work into the farm's rules; None where none are proposed."""
    found = next((one for one in minutes_of(farm) if one.kind == kind and one.proposed is not None), None)
    if found is None or found.proposed is None:
        return None
    rules = rules_of(farm)
    times = replace(rules.times, **{found.rule: found.proposed * MINUTE})
    change_rules(farm=farm, rules=replace(rules, times=times))
    return found


def _minutes(kind: str, logged: list[int], times: WorkTimes) -> Minutes:
    rule = TIMES[StormTask.Kind(kind)]
    in_use, middle = getattr(times, rule) / MINUTE, float(median(logged))
    usual = getattr(WorkTimes(), rule) / MINUTE
    proposed = _proposed(usual, middle, len(logged)) if len(logged) >= LEAST else None
    return Minutes(kind, rule, in_use, usual, len(logged), middle, None if proposed == round(in_use) else proposed)


def _proposed(usual: float, middle: float, count: int) -> int:
    """Return the median drawn towards common practice, as a whole number of minutes, at least one."""
    weight = count / (count + PRIOR)
    drawn = Decimal(repr(usual + (middle - usual) * weight))
    return max(int(drawn.quantize(Decimal(1), ROUND_HALF_UP)), 1)
