"""The work list, its order and its steps, for structures small enough to count by hand."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from doors.sizing import FOOT, INCH, DoorKind
from maintenance.storm.condition import Posture
from maintenance.storm.events import Event
from maintenance.storm.order import OrderRules, class_of, facing, in_order_of_work, windward_places
from maintenance.storm.quantity import MINUTE, Fact, StormError
from maintenance.storm.spells import Spell
from maintenance.storm.steps import steps_of
from maintenance.storm.work import (
    Door,
    Repair,
    Structure,
    Task,
    TaskKind,
    WorkTimes,
    load_of,
    tasks_of,
    what_fits,
)

START = datetime(2026, 11, 17, tzinfo=UTC)
HOUSE = Structure(
    code="H1",
    doors=(
        Door(place="H1-W", kind=DoorKind.MID_BAR, width=12 * FOOT, bearing=270.0),
        Door(place="H1-E", kind=DoorKind.PERSON, width=3 * FOOT, bearing=90.0),
    ),
    sides=(("H1-N", 0.0), ("H1-S", 180.0)),
    is_inflated=True,
    has_shade=True,
    repairs=(Repair(place="H1-W", time=40 * MINUTE, needs_dry=True, bearing=270.0),),
)


def storm(*bearings):
    spells = tuple(
        Spell(START + timedelta(hours=i), START + timedelta(hours=i + 1), gust=20.0, bearing_deg=bearing)
        for i, bearing in enumerate(bearings)
    )
    return Event(START, Fact("gust"), START, 20.0, bearings[0], spells[-1].end, spells)


def minutes(structure, times=None):
    return {(task.kind, task.place): task.person_time / MINUTE for task in tasks_of([structure], times)}


def test_a_house_and_its_minutes():
    assert minutes(HOUSE) == {
        (TaskKind.REPAIR, "H1-W"): 40, (TaskKind.SHADE, "H1"): 80, (TaskKind.DOOR, "H1-W"): 7,
        (TaskKind.DOOR, "H1-E"): 2, (TaskKind.SIDE, "H1-N"): 5, (TaskKind.SIDE, "H1-S"): 5,
        (TaskKind.INFLATION, "H1"): 3, (TaskKind.WALK_ROUND, "H1"): 6,
    }  # fmt: skip
    load = load_of(tasks_of([HOUSE]))
    assert (load.total, load.dry, load.paired) == (148 * MINUTE, 40 * MINUTE, 80 * MINUTE)


def test_with_the_film_off_little_is_left():
    assert set(minutes(replace(HOUSE, posture=Posture.FILM_OFF))) == {
        (TaskKind.REPAIR, "H1-W"), (TaskKind.DOOR, "H1-E"), (TaskKind.WALK_ROUND, "H1"),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "feet", "expected"),
    [
        (DoorKind.MID_BAR, 12.0, (7, 1)), (DoorKind.BOTTOM_BAR, 12.5, (12, 2)), (DoorKind.MID_BAR, 22.0, (12, 2)),
        (DoorKind.PERSON, 3.0, (2, 1)), (DoorKind.SLIDING_PAIR, 10.0, (4, 1)), (DoorKind.HINGED_PAIR, 8.0, (4, 1)),
        (DoorKind.COIL, 10.0, (3, 1)), (DoorKind.LIFT_OUT, 10.0, (6, 1)),
    ],
)  # fmt: skip
def test_each_kind_of_door(kind, feet, expected):
    door = Door(place="D", kind=kind, width=feet * FOOT)

    task = tasks_of([Structure(code="H", doors=(door,))])[0]

    assert (task.time / MINUTE, task.people, task.door) == (*expected, kind)


def test_twelve_feet_in_inches_are_twelve_feet():
    door = Door(place="D", kind=DoorKind.MID_BAR, width=sum([INCH] * 144))

    assert tasks_of([Structure(code="H", doors=(door,))])[0].people == 1


def test_a_farms_own_times():
    assert minutes(HOUSE, WorkTimes(side=9 * MINUTE))[TaskKind.SIDE, "H1-N"] == 9


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: WorkTimes(shade=-1.0), "times.shade"),
        (lambda: Repair(place="X", time=-1.0), "repair.time"),
        (lambda: Repair(place="X", time=1.0, people=3), "repair.people"),
        (lambda: OrderRules(rules=("windward", "luck")), "order.rules"),
        (lambda: OrderRules(within=200.0), "order.within"),
    ],
)
def test_what_no_work_list_can_take(make, field):
    with pytest.raises(StormError) as caught:
        make()

    assert caught.value.field == field


# Windward ----------------------------------------------------------------------


def test_a_wind_that_turns_presses_on_every_wall_it_comes_to():
    tasks = facing(tasks_of([HOUSE]), storm(225.0, 315.0))

    assert windward_places(tasks) == ("H1-W", "H1-N", "H1-S")
    assert windward_places(facing(tasks, storm(90.0))) == ("H1-E",)


def test_an_unknown_wind_presses_on_every_wall():
    assert windward_places(facing(tasks_of([HOUSE]), storm(90.0, None))) == ("H1-W", "H1-E", "H1-N", "H1-S")


def test_a_door_that_faces_nobody_knows_where_is_pressed_and_a_ridge_is_not():
    unmeasured = Structure(
        code="H2",
        doors=(Door(place="H2-door", kind=DoorKind.PERSON, width=1.0),),
        repairs=(Repair(place="ridge", time=60.0),),
    )

    assert windward_places(facing(tasks_of([unmeasured]), storm(270.0))) == ("H2-door",)


def test_a_farm_may_look_further_round():
    tasks = tasks_of([HOUSE])

    assert "H1-N" not in windward_places(facing(tasks, storm(270.0)))
    assert "H1-N" in windward_places(facing(tasks, storm(270.0), OrderRules(within=90.0)))


# Order -------------------------------------------------------------------------

PLAIN = Task(structure="A", place="plain", kind=TaskKind.DOOR, time=60.0, bearing=90.0)
TOLD_APART = {
    "near": replace(PLAIN, place="near", near_people=True),
    "windward broken": replace(PLAIN, place="windward broken", faces_wind=True, is_critical=True, bearing=270.0),
    "windward": replace(PLAIN, place="windward", faces_wind=True, bearing=270.0),
    "broken": replace(PLAIN, place="broken", is_critical=True),
    "head on": replace(PLAIN, place="head on", bearing=200.0),
    "dear": replace(PLAIN, place="dear", crop_value=5.0),
    "old": replace(PLAIN, place="old", film_age=9.0),
    "plain": PLAIN,
}


def test_the_order_from_the_first_rule_to_the_last():
    mixed = list(TOLD_APART.values())[::-1]

    assert [task.place for task in in_order_of_work(mixed, peak_bearing=270.0)] == list(TOLD_APART)


def test_a_farm_may_put_its_crop_first():
    rules = OrderRules(rules=("crop_value", "windward"))

    assert [task.place for task in in_order_of_work(TOLD_APART.values(), rules)][:3] == [
        "dear", "windward broken", "windward",
    ]  # fmt: skip


def test_work_at_no_wall_comes_after_work_at_walls():
    walk = replace(PLAIN, place="walk", kind=TaskKind.WALK_ROUND, bearing=None)

    assert in_order_of_work([walk, PLAIN], peak_bearing=200.0) == (PLAIN, walk)


def test_equals_stay_as_they_were():
    twins = [replace(PLAIN, place=place) for place in "BCA"]

    assert [task.place for task in in_order_of_work(twins)] == ["B", "C", "A"]


def test_classes_are_in_the_same_order():
    places = list(TOLD_APART)
    classes = [class_of(task) for task in TOLD_APART.values()]

    assert classes[: places.index("head on") + 1] == sorted(set(classes))
    assert len(set(classes)) == 5


def test_a_task_that_is_too_long_lets_shorter_ones_through():
    tasks = [replace(PLAIN, place=place, time=time * MINUTE) for place, time in (("A", 10), ("B", 30), ("C", 5))]

    assert [task.place for task in what_fits(tasks, 18 * MINUTE, reserve=1.2)] == ["A", "C"]
    assert [task.place for task in what_fits(tasks, 45 * MINUTE)] == ["A", "B", "C"]
    assert what_fits(tasks, 0.0) == ()


# Steps -------------------------------------------------------------------------


def test_a_film_door_is_lowered_before_it_is_tied_and_photographed_last():
    door = next(task for task in tasks_of([HOUSE]) if task.door == DoorKind.MID_BAR)

    assert steps_of(door, 2) == (
        "look_clear", "lower_by_crank", "bar_on_threshold", "pins_in", "hold_downs", "cords_even", "crank_locked",
        "photo",
    )  # fmt: skip
    assert steps_of(door, 3)[-3:] == ("side_edges", "jamb_brace", "photo")


@pytest.mark.parametrize("kind", DoorKind)
def test_every_door_has_steps_and_more_of_them_in_a_stronger_wind(kind):
    task = replace(PLAIN, door=kind)

    assert set(steps_of(task, 2)) < set(steps_of(task, 3))
    assert steps_of(task, 3)[-1] == "photo"


@pytest.mark.parametrize("kind", [kind for kind in TaskKind if kind != TaskKind.DOOR])
def test_so_has_everything_else(kind):
    assert steps_of(replace(PLAIN, kind=kind), 0)


def test_inflation_goes_up_from_level_3():
    blower = replace(PLAIN, kind=TaskKind.INFLATION)

    assert steps_of(blower, 2) == ("intake_clear", "blower_runs")
    assert steps_of(blower, 3) == ("intake_clear", "blower_runs", "pressure_up")
