"""What one person's storm sheet prints, on the phone and on paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.contrib.auth.models import User

from farm.paper import Drawing
from maintenance.hands.sketch import load_walls, sketch_of
from maintenance.hands.texts import KINDS, STEPS, fault_of, level_of, step_keys, steps_for, what_of, where_of
from maintenance.models import Storm, StormTask
from maintenance.words.said import person

State = StormTask.State
SIZES = ((9, "few"), (15, "some"), (24, "many"))  # most rows on one page of paper in each size of type


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One task as its card says it."""

    task: StormTask
    where: str
    what: str
    fault: str
    steps: tuple[str, ...]
    drawing: Drawing | None
    with_whom: str
    who: str
    is_own: bool  # whoever reads it may say that it is done
    photos: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PrintRow:
    """One line on paper, in both languages."""

    task: StormTask
    where: str
    what: str
    other: str
    fault: str
    with_whom: str


@dataclass(frozen=True, slots=True)
class PrintSteps:
    """How one kind of thing is done, in both languages."""

    what: str
    steps: str
    other: str
    other_steps: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """One person's sheet: what is to do in its order, what nobody has, what is done, and the round of second looks."""

    todo: tuple[Card, ...]
    free: tuple[Card, ...]
    ended: tuple[Card, ...]
    round: tuple[Card, ...]
    rows: tuple[PrintRow, ...]
    steps: tuple[PrintSteps, ...]
    type_size: str


def sheet_of(*, storm: Storm, whose: User, reader: User, is_manager: bool, language: str) -> Sheet:
    """Return a person's sheet as somebody reads it; languages on paper are the person's first, then the other."""
    tasks = list(
        storm.tasks.for_list().select_related("storm", "repair__opening", "repair__end_wall__tunnel", "repair__tunnel")
        .prefetch_related("photos").order_by("is_left_out", "begins_at", "position", "pk")
    )  # fmt: skip
    mine = [task for task in tasks if whose.pk in (task.assigned_to_id, task.second_id)]
    todo = [task for task in mine if task.state == State.OPEN]
    free = [task for task in tasks if task.state == State.OPEN and task.assigned_to_id is None]
    ended = [task for task in tasks if task.state != State.OPEN and task.done_by_id == whose.pk]
    unseen = [task for task in tasks if task.state == State.DONE and task.checked_at is None]
    other_eyes = [task for task in unseen if reader.pk not in (task.done_by_id, task.second_id)]
    load_walls(todo)
    known = {
        task.pk: _card(task, whose, reader, is_manager=is_manager, is_drawn=task in todo)
        for task in {*todo, *free, *ended, *other_eyes}
    }
    return Sheet(
        todo=_known(known, todo), free=_known(known, free), ended=_known(known, ended), round=_known(known, other_eyes),
        rows=_rows(todo, whose, language), steps=_steps(todo, language), type_size=_type_size(len(todo)),
    )  # fmt: skip


def _type_size(count: int) -> str:
    """Return the largest type in which so many rows are one page."""
    return next((name for most, name in SIZES if count <= most), "crowd")


def _known(cards: Mapping[int, Card], tasks: Sequence[StormTask]) -> tuple[Card, ...]:
    return tuple(cards[task.pk] for task in tasks)


def _card(task: StormTask, whose: User, reader: User, *, is_manager: bool, is_drawn: bool) -> Card:
    return Card(
        task=task, where=where_of(task), what=what_of(task), fault=fault_of(task),
        steps=tuple(steps_for(task, level_of(task))), drawing=sketch_of(task) if is_drawn else None,
        with_whom=_other(task, whose), who=person(task.done_by) if task.done_by_id else "",
        is_own=may_say(task, reader, is_manager=is_manager), photos=tuple(photo.pk for photo in task.photos.all()),
    )  # fmt: skip


def may_say(task: StormTask, reader: User, *, is_manager: bool) -> bool:
    """Return whether somebody may say what became of a task: a manager, whoever has it, anybody if nobody has it."""
    return is_manager or task.assigned_to_id is None or reader.pk in (task.assigned_to_id, task.second_id)


def _other(task: StormTask, whose: User) -> str:
    others = [one for one in (task.assigned_to, task.second) if one is not None and one.pk != whose.pk]
    return person(others[0]) if others else ""


def _rows(tasks: Sequence[StormTask], whose: User, language: str) -> tuple[PrintRow, ...]:
    other = "en" if language.startswith("es") else "es"
    return tuple(
        PrintRow(task, where_of(task, language), what_of(task, language), what_of(task, other), fault_of(task),
                 _other(task, whose))
        for task in tasks
    )  # fmt: skip


def _steps(tasks: Sequence[StormTask], language: str) -> tuple[PrintSteps, ...]:
    """Return each way of doing things once, with the kinds of tasks done that way."""
    other = "en" if language.startswith("es") else "es"
    ways: dict[tuple[str, ...], dict[str, None]] = {}
    for task in tasks:
        ways.setdefault(step_keys(task, level_of(task)), {})[task.kind] = None
    return tuple(
        PrintSteps(
            *(
                text
                for each in (language, other)
                for text in (
                    " / ".join(KINDS[kind].said(each) for kind in kinds),
                    "; ".join(STEPS[key].said(each) for key in keys),
                )
            )
        )
        for keys, kinds in ways.items()
    )
