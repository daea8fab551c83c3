"""A farm's storm rules: common practice, and what the farm does otherwise. [SI]

Only what differs is kept, by dotted names such as ``levels.storm``; a rule that nobody knows any more is passed over.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, Final

from farm.models import Farm
from maintenance.models import StormRules
from maintenance.storm.after import ReopenRules
from maintenance.storm.condition import OffsetRules
from maintenance.storm.deadline import ClockRules
from maintenance.storm.events import EventRules
from maintenance.storm.levels import LevelRules
from maintenance.storm.local import ShelterFactors
from maintenance.storm.order import OrderRules
from maintenance.storm.quantity import StormError, check_number
from maintenance.storm.snow import SnowRules
from maintenance.storm.work import WorkTimes


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """What a job left undone costs beside another; common practice, no source. [-]"""

    near_people: float = 40.0
    windward_critical: float = 20.0
    windward: float = 8.0
    critical: float = 4.0
    other: float = 1.0

    def __post_init__(self) -> None:
        for name in self.__slots__:
            check_number(f"weights.{name}", getattr(self, name), least=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FarmRules:
    """Everything a farm may set for its storms."""

    levels: LevelRules = field(default_factory=LevelRules)
    offset: OffsetRules = field(default_factory=OffsetRules)
    clock: ClockRules = field(default_factory=ClockRules)
    events: EventRules = field(default_factory=EventRules)
    times: WorkTimes = field(default_factory=WorkTimes)
    shelter: ShelterFactors = field(default_factory=ShelterFactors)
    order: OrderRules = field(default_factory=OrderRules)
    snow: SnowRules = field(default_factory=SnowRules)
    reopen: ReopenRules = field(default_factory=ReopenRules)
    weights: Weights = field(default_factory=Weights)
    # A door's computed limit is a low planning value: counted, most film doors put their tunnel on the highest level
    # in every gale, and nobody listens after the third.
    door_limits_count: bool = False


PRACTICE: Final = FarmRules()


def rules_of(farm: Farm) -> FarmRules:
    """Return the farm's rules, ready for the core."""
    kept = StormRules.objects.filter(farm=farm).values_list("changes", flat=True).first()
    return rules_from(kept or {})


def rules_from(changes: Mapping[str, Any]) -> FarmRules:
    """Return common practice with changes.

    Raises
    ------
    StormError
        For a figure that cannot be.
    """
    loose = FarmRules(**{name: _changed(name, getattr(PRACTICE, name), changes) for name in FarmRules.__slots__})
    return replace(
        loose,
        levels=replace(loose.levels, offset=loose.offset),
        clock=replace(loose.clock, events=loose.events),
    )


def changes_of(rules: FarmRules) -> dict[str, Any]:
    """Return what differs from common practice, as it is kept."""
    usual = dict(flat(PRACTICE))
    return {name: _plain(value) for name, value in flat(rules) if value != usual[name]}


def change_rules(*, farm: Farm, rules: FarmRules) -> None:
    """Keep a farm's rules; common practice for all leaves nothing to keep."""
    StormRules.objects.update_or_create(farm=farm, defaults={"changes": changes_of(rules)})


def flat(rules: FarmRules) -> Iterator[tuple[str, Any]]:
    """Yield every rule by its dotted name; what one group takes from another is named once."""
    for group in fields(rules):
        value = getattr(rules, group.name)
        if not is_dataclass(value):
            yield group.name, value
            continue
        for one in fields(value):
            if not is_dataclass(getattr(value, one.name)):
                yield f"{group.name}.{one.name}", getattr(value, one.name)


def _changed(name: str, usual: Any, changes: Mapping[str, Any]) -> Any:
    if not is_dataclass(usual):
        return changes.get(name, usual)
    own = {one.name: changes[f"{name}.{one.name}"] for one in fields(usual) if f"{name}.{one.name}" in changes}
    try:
        return replace(usual, **{key: tuple(value) if isinstance(value, list) else value for key, value in own.items()})  # type: ignore[type-var]
    except TypeError as error:  # words where a number belongs
        raise StormError(name, ", ".join(own), "finite") from error


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value
