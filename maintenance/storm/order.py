"""In which order the work is done: what the wind can open first comes first. A farm may put the rules in its order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from maintenance.storm.events import Event
from maintenance.storm.local import WINDWARD_WITHIN, is_windward, off_head_on
from maintenance.storm.quantity import StormError, check_number
from maintenance.storm.work import Task

HALF_TURN: Final = 180.0  # degrees

# What comes first under each rule sorts lowest; the second argument is where the peak's wind comes from.
_SORTS: Final[Mapping[str, Callable[[Task, float | None], float]]] = MappingProxyType(
    {
        "near_people": lambda task, _: not task.near_people,
        "windward_critical": lambda task, _: not (task.faces_wind and task.is_critical),
        "windward": lambda task, _: not task.faces_wind,
        "critical": lambda task, _: not task.is_critical,
        "crop_value": lambda task, _: -task.crop_value,
        "film_age": lambda task, _: -task.film_age,
        "head_on": lambda task, peak: _off(task, peak),
    }
)
CLASSES: Final = frozenset({"near_people", "windward_critical", "windward", "critical"})  # yes or no


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRules:
    """What goes first, by the first rule that tells two tasks apart; common practice, no source.

    Flying film near people comes before everything; then the openings the storm presses on, those with a critical
    defect before the sound ones; then other critical defects; then what is worth most, oldest, most head on.
    """

    rules: tuple[str, ...] = (
        "near_people", "windward_critical", "windward", "critical", "head_on", "crop_value", "film_age",
    )  # fmt: skip
    within: float = WINDWARD_WITHIN  # degrees either side of head on that count as windward

    def __post_init__(self) -> None:
        for rule in self.rules:
            if rule not in _SORTS:
                raise StormError("order.rules", rule, "known", ", ".join(_SORTS))
        check_number("order.within", self.within, least=0.0, most=HALF_TURN)


def facing(tasks: Iterable[Task], event: Event, rules: OrderRules | None = None) -> tuple[Task, ...]:
    """Return tasks, each told whether a storm presses on its wall at any time from onset to end.

    A wall that faces an unknown way counts as pressed, and so does every wall while the wind's direction is unknown;
    a task at no wall, such as a walk-round, is not pressed.
    """
    within = (rules or OrderRules()).within
    bearings = {spell.bearing_deg for spell in event.spells}
    return tuple(
        replace(
            task, faces_wind=_is_at_wall(task) and any(is_windward(task.bearing, b, within=within) for b in bearings)
        )
        for task in tasks
    )


def in_order_of_work(
    tasks: Iterable[Task], rules: OrderRules | None = None, *, peak_bearing: float | None = None
) -> tuple[Task, ...]:
    """Return tasks in the order to do them; equals stay as they were.

    Parameters
    ----------
    tasks : iterable of Task
        From `facing`.
    rules : OrderRules, optional
        The farm's.
    peak_bearing : float, optional
        Where the wind comes from at the peak. [degrees]
    """
    keys = (rules or OrderRules()).rules
    return tuple(sorted(tasks, key=lambda task: tuple(_SORTS[key](task, peak_bearing) for key in keys)))


def class_of(task: Task, rules: OrderRules | None = None) -> tuple[bool, ...]:
    """Return a task's class by the yes-or-no rules, the first class lowest; a crew finishes one before the next."""
    keys = (rules or OrderRules()).rules
    return tuple(bool(_SORTS[key](task, None)) for key in keys if key in CLASSES)


def windward_places(tasks: Sequence[Task]) -> tuple[str, ...]:
    """Return the places the storm presses on, each once, in the order given."""
    return tuple(dict.fromkeys(task.place for task in tasks if task.faces_wind))


def _is_at_wall(task: Task) -> bool:
    return task.kind in ("door", "side") or (task.kind == "repair" and task.bearing is not None)


def _off(task: Task, peak: float | None) -> float:
    if not _is_at_wall(task):
        return HALF_TURN
    off = off_head_on(task.bearing, peak)
    return 0.0 if off is None else off
