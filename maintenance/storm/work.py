"""The work before a storm from plain facts: one task for each door, side, walk-round and critical repair."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from doors.sizing import FILM_ROLLS, FOOT, DoorKind, Length
from maintenance.storm.condition import Posture
from maintenance.storm.deadline import Load
from maintenance.storm.quantity import MINUTE, Duration, StormError, check_number

SAME = 1e-9  # m; binary noise between two lengths that are equal on the tape
PAIR = 2  # people; nobody before a storm needs more at one job


class TaskKind(StrEnum):
    """What has to be done."""

    REPAIR = "repair"
    SHADE = "shade"
    DOOR = "door"
    SIDE = "side"
    INFLATION = "inflation"
    WALK_ROUND = "walk_round"


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkTimes:
    """How long each task takes each person at it; common practice, no source. A farm's logged times replace them."""

    walk_round: Duration = 6 * MINUTE  # one structure: loose objects away, every fastening touched
    side: Duration = 5 * MINUTE  # roll-up side: down, bar held, cords on
    film_door: Duration = 7 * MINUTE
    wide_film_door: Duration = 12 * MINUTE  # by two people
    person_door: Duration = 2 * MINUTE
    sliding_door: Duration = 4 * MINUTE
    hinged_pair: Duration = 4 * MINUTE
    coil: Duration = 3 * MINUTE
    lift_out: Duration = 6 * MINUTE
    inflation: Duration = 3 * MINUTE  # one blower and its intake
    shade: Duration = 40 * MINUTE  # by two people: cloth off one structure
    film_door_most: Length = 12 * FOOT  # a wider film door takes two people

    def __post_init__(self) -> None:
        for name in self.__slots__:
            check_number(f"times.{name}", getattr(self, name), least=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """A door to be shut. ``bearing`` is the way its wall faces. [SI, degrees]"""

    place: str
    kind: DoorKind
    width: Length
    bearing: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """An open defect.

    Attributes
    ----------
    time : float
        Of each person at it. [s]
    needs_dry : bool
        Tape is put on film, which has to be dry.
    bearing : float or None
        The way its wall or side faces; None where it has none, such as a ridge. [degrees]
    """

    place: str
    time: Duration
    people: int = 1
    is_critical: bool = True
    needs_dry: bool = False
    bearing: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        check_number("repair.time", self.time, least=0.0)
        if self.people not in (1, PAIR):
            raise StormError("repair.people", self.people, "known", f"1, {PAIR}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Structure:
    """A structure as far as its work before a storm depends on it.

    Attributes
    ----------
    sides : tuple of (str, float or None)
        Place and bearing of each roll-up side. [degrees]
    is_inflated, has_shade : bool
        Double film held by a blower; shade cloth still on.
    near_people : bool
        A path, road or railway lies close: flying film would hit somebody.
    crop_value : float
        Of what grows in it, in the farm's money; larger goes first.
    film_age : float
        [s]
    """

    code: str
    doors: tuple[Door, ...] = ()
    sides: tuple[tuple[str, float | None], ...] = ()
    is_inflated: bool = False
    has_shade: bool = False
    repairs: tuple[Repair, ...] = ()
    posture: Posture = Posture.CLOSED
    near_people: bool = False
    crop_value: float = 0.0
    film_age: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One job. ``time`` is each person's. [s]"""

    structure: str
    place: str
    kind: TaskKind
    time: float
    people: int = 1
    is_critical: bool = False
    needs_dry: bool = False
    faces_wind: bool = False
    bearing: float | None = None
    door: DoorKind | None = None
    near_people: bool = False
    crop_value: float = 0.0
    film_age: float = 0.0
    note: str = ""

    @property
    def person_time(self) -> float:
        """Time of all people at it together. [person-seconds]"""
        return self.time * self.people


def tasks_of(structures: Iterable[Structure], times: WorkTimes | None = None) -> tuple[Task, ...]:
    """Return the work before a storm, structure by structure.

    Parameters
    ----------
    structures : iterable of Structure
        With the film off, only doors not of film, repairs and the walk-round are left.
    times : WorkTimes, optional
        The farm's.
    """
    known = times or WorkTimes()
    return tuple(task for structure in structures for task in _tasks(structure, known))


def load_of(tasks: Iterable[Task]) -> Load:
    """Return the sum of tasks as the backward clock takes it. [person-seconds]"""
    known = tuple(tasks)
    return Load(
        total=sum(task.person_time for task in known),
        dry=sum(task.person_time for task in known if task.needs_dry),
        paired=sum(task.person_time for task in known if task.people == PAIR),
    )


def what_fits(tasks: Sequence[Task], time: float, *, reserve: float = 1.0) -> tuple[Task, ...]:
    """Return the tasks that fit into person-time, taken in the order given.

    Parameters
    ----------
    tasks : sequence of Task
        In their order, `order.in_order_of_work`.
    time : float
        Person-time there is. [person-seconds]
    reserve : float
        Times the minutes planned; 1 where ``time`` has the reserve taken out, as `Clock.capacity` has.

    Notes
    -----
    A task that is too long is passed over, so that shorter ones after it are done.
    """
    chosen, left = [], time
    for task in tasks:
        if task.person_time * reserve <= left:
            chosen.append(task)
            left -= task.person_time * reserve
    return tuple(chosen)


def _tasks(structure: Structure, times: WorkTimes) -> Iterator[Task]:
    walk_round = Task(
        structure=structure.code,
        place=structure.code,
        kind=TaskKind.WALK_ROUND,
        time=times.walk_round,
        near_people=structure.near_people,
        crop_value=structure.crop_value,
        film_age=structure.film_age,
    )
    has_film = structure.posture != Posture.FILM_OFF
    for repair in structure.repairs:
        yield replace(
            walk_round, place=repair.place, kind=TaskKind.REPAIR, time=repair.time, people=repair.people,
            is_critical=repair.is_critical, needs_dry=repair.needs_dry, bearing=repair.bearing, note=repair.note,
        )  # fmt: skip
    if has_film and structure.has_shade:
        yield replace(walk_round, kind=TaskKind.SHADE, time=times.shade, people=PAIR)
    for door in structure.doors:
        if has_film or door.kind not in FILM_ROLLS:
            time, people = _door_time(door, times)
            yield replace(
                walk_round, place=door.place, kind=TaskKind.DOOR, time=time, people=people, bearing=door.bearing,
                door=door.kind,
            )  # fmt: skip
    for place, bearing in structure.sides if has_film else ():
        yield replace(walk_round, place=place, kind=TaskKind.SIDE, time=times.side, bearing=bearing)
    if has_film and structure.is_inflated:
        yield replace(walk_round, kind=TaskKind.INFLATION, time=times.inflation)
    yield walk_round


def _door_time(door: Door, times: WorkTimes) -> tuple[float, int]:
    if door.kind in FILM_ROLLS:
        is_wide = door.width > times.film_door_most + SAME
        return (times.wide_film_door, PAIR) if is_wide else (times.film_door, 1)
    return {
        DoorKind.PERSON: times.person_door,
        DoorKind.HINGED_PAIR: times.hinged_pair,
        DoorKind.SLIDING_PAIR: times.sliding_door,
        DoorKind.COIL: times.coil,
        DoorKind.LIFT_OUT: times.lift_out,
    }[door.kind], 1
