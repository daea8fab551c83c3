"""Whether warnings were right: what was warned of, beside what came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from farm.models import Farm
from maintenance.aftermath.gusts import Gust, gusts_of, with_readings
from maintenance.blow.rules import rules_of
from maintenance.models import Storm
from maintenance.storm.after import Alarms, Warned, count_alarms
from maintenance.storm.levels import LevelRules

PAST: Final = (Storm.State.OVER, Storm.State.CLOSED, Storm.State.GONE)
STORM: Final = 2  # the level from which something is to be shut


@dataclass(frozen=True, slots=True)
class Record:
    """One past storm: the highest level warned of, the one reached (None where nobody knows), and the verdict."""

    storm: Storm
    gust: Gust
    warned: int
    reached: int | None

    @property
    def verdict(self) -> str:
        """``hit``, ``false``, ``missed`` or ``unknown``."""
        counted = count_alarms([Warned(self.warned, self.reached)], least=STORM)
        kinds = ("hits", "false", "missed", "unknown")
        return next((kind for kind in kinds if getattr(counted, kind)), "unknown").removesuffix("s")


def records_of(farm: Farm) -> list[Record]:
    """Return the past storms of a farm, the last on top; takes three queries."""
    storms = list(with_readings(Storm.objects.of(farm).filter(state__in=PAST)).newest_first())
    return records(storms, farm)


def records(storms: Sequence[Storm], farm: Farm) -> list[Record]:
    """Return how storms that ``with_readings`` loaded compare with their warnings."""
    gusts, rules = gusts_of(storms, farm), rules_of(farm).levels
    return [
        Record(
            storm,
            gusts[storm.pk],
            max(storm.level, getattr(storm, "warned_level", None) or 0),
            _reached(gusts[storm.pk], rules),
        )
        for storm in storms
    ]


def records_among(storms: Sequence[Storm], farm: Farm) -> dict[int, Record]:
    """Return how the past ones of some storms compare with their warnings, by id; takes three queries."""
    past = [storm.pk for storm in storms if storm.state in PAST]
    found = list(with_readings(Storm.objects.of(farm).filter(pk__in=past))) if past else []
    return {record.storm.pk: record for record in records(found, farm)}


def tally(found: Sequence[Record]) -> Alarms:
    """Return how many warnings were right, false or missing."""
    return count_alarms([Warned(one.warned, one.reached) for one in found], least=STORM)


def _reached(gust: Gust, rules: LevelRules) -> int | None:
    """Return the level of a gust in the open, for a tunnel without any weakness; None for a forecast one."""
    if gust.is_forecast:
        return None
    return sum(float(gust.speed) >= threshold for threshold in rules.thresholds[1:])
