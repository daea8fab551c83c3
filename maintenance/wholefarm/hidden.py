"""Numbers of rows inside texts and JSON: found and exchanged, so that they mean the same row elsewhere."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from django.contrib.auth.models import User
from django.db.models import Model

from doors.models import Component, LayUp, Material, StockMove
from farm.models import EndWall, Opening, Tunnel
from maintenance.models import Forecast, Job, JobEvent, Repair, ScrewCheck, StormFinding, StormTask

Swap = Callable[[type[Model], int], int | None]
Path = tuple[str, ...]
KEY: Final = "key"  # in place of a model: a text such as "door-12"
EACH: Final = "*"  # in a path: every member of a list
PREFIXES: Final[Mapping[str, type[Model]]] = {
    "walk": Tunnel, "inflation": Tunnel, "shade": Tunnel, "side": Tunnel, "tunnel": Tunnel, "door": Opening,
    "opening": Opening, "wall": EndWall, "repair": Repair, "part": Component,
}  # fmt: skip
WRITTEN: Final = re.compile(r"([a-z_]+)-([1-9]\d{0,18})(?![\w.])", re.ASCII)

# By table and column: what is a number of a row, by its path in the JSON. The empty path is the column itself.
HIDDEN: Final[Mapping[str, Mapping[Path, Any]]] = {
    "plans.key": {(): KEY},
    "storm_tasks.key": {(): KEY},
    "storms.facts": {("forecast",): Forecast, ("tunnels", EACH, "pk"): Tunnel, ("windward", EACH): KEY},
    "tunnel_factors.observations": {(EACH, "finding"): StormFinding},
    "job_events.facts": {
        ("of",): JobEvent, ("before",): User, ("to",): User, ("job", "assigned_to_id"): User,
        ("moves", EACH): StockMove, ("faults", EACH): Repair, ("checks", EACH): ScrewCheck,
        ("lapsed", EACH, "0"): Job, ("fitting", "fitted"): Component, ("fitting", "removed"): Component,
        ("fitting", "lay_up"): LayUp, ("fitting", "move"): StockMove,
    },
    "field_entries.payload": {
        ("door",): Opening, ("tunnel",): Tunnel, ("task",): StormTask, ("job",): Job, ("repair",): Repair,
        ("parts", EACH, "material"): Material,
    },
}  # fmt: skip


def exchanged(value: Any, paths: Mapping[Path, Any], swap: Swap, row: int) -> Any:
    """Return a text or JSON with its numbers exchanged; one of a row that is gone becomes null, or names no row."""
    for path, model in paths.items():
        value = _at(value, path, model, swap, row)
    return value


def _at(value: Any, path: Path, model: Any, swap: Swap, row: int) -> Any:
    if not path:
        return _one(value, model, swap, row)
    step, rest = path[0], path[1:]
    if step == EACH:
        return [_at(one, rest, model, swap, row) for one in value] if isinstance(value, list) else value
    if isinstance(value, dict) and step in value:
        return {**value, step: _at(value[step], rest, model, swap, row)}
    if isinstance(value, list) and step.isdecimal() and int(step) < len(value):
        place = int(step)
        return [*value[:place], _at(value[place], rest, model, swap, row), *value[place + 1 :]]
    return value


def _one(value: Any, model: Any, swap: Swap, row: int) -> Any:
    if model is KEY:
        return _key(value, swap, row) if isinstance(value, str) else value
    if isinstance(value, str) and value.isascii() and value.isdecimal() and len(value) < 19:  # as some phones write it
        number = swap(model, int(value))
        return None if number is None else str(number)
    is_number = isinstance(value, int) and not isinstance(value, bool)
    return swap(model, value) if is_number else value


def _key(text: str, swap: Swap, row: int) -> str:
    """Exchange the number in a key; the key of a row that is gone stays one of its own."""
    match = WRITTEN.match(text)
    if match is None or match[1] not in PREFIXES:
        return text
    number = swap(PREFIXES[match[1]], int(match[2]))
    return f"{match[1]}-{f'gone.{row}' if number is None else number}{text[match.end() :]}"
