"""The demo farm's storm from forecast to order of work, against its own arithmetic on paper.

Planned minutes: 12 walk-rounds of 6, 24 sides of 5, 13 film doors of 7, 4 wide ones of 2 x 12, 11 person doors of 2,
2 sliding ones of 4, 4 blowers of 3, defects 190, shade 80: 691 person-minutes. With a reserve of 20 % four people
need 207.3 minutes.
"""

from collections import Counter
from datetime import timedelta

import pytest

from maintenance.storm.condition import Condition
from maintenance.storm.deadline import read_clocks
from maintenance.storm.events import find_events
from maintenance.storm.levels import read_level
from maintenance.storm.order import facing, in_order_of_work, windward_places
from maintenance.storm.quantity import MINUTE, MPH
from maintenance.storm.work import TaskKind, load_of, tasks_of
from tests.storm_farm import FARM, at, daylight, forecast, shifts

TUESDAY_MORNING = at(1, 7)
TASKS = tasks_of(FARM)
NEEDED = timedelta(minutes=207.3)


def clock(now=TUESDAY_MORNING, **changes):
    given = {"load": load_of(TASKS), "shifts": shifts(), "daylight": daylight()} | changes
    return read_clocks(forecast(), now=now, **given).acted_on


def in_wind():
    event = find_events(forecast())[0]
    return in_order_of_work(facing(TASKS, event), peak_bearing=event.peak_bearing)


def test_the_work_is_691_person_minutes():
    minutes = Counter()
    for task in TASKS:
        minutes[task.kind] += task.person_time / MINUTE

    assert minutes == {
        TaskKind.WALK_ROUND: 72, TaskKind.SIDE: 120, TaskKind.DOOR: 91 + 96 + 22 + 8, TaskKind.INFLATION: 12,
        TaskKind.REPAIR: 190, TaskKind.SHADE: 80,
    }  # fmt: skip
    assert load_of(TASKS).total == 691 * MINUTE
    assert load_of(TASKS).paired == (96 + 80) * MINUTE
    assert load_of(TASKS).dry == 40 * MINUTE


def test_the_peak_is_on_thursday_and_the_deadline_on_wednesday():
    found = clock()

    assert found.event.peak_at == at(3, 16)
    assert found.event.peak == 61 * MPH
    assert found.event.onset == at(2, 19)
    assert found.deadline == at(2, 17)
    assert found.decides == ("shift",)
    assert {fact.key: fact.at for fact in found.bounds} == {
        "gust": at(2, 19),
        "daylight": at(2, 17, 16),
        "shift": at(2, 17),
    }


@pytest.mark.parametrize("end", [17, 15])
def test_the_start_is_3_hours_27_minutes_before_the_shift_ends(end):
    found = clock(shifts=shifts(end=end))

    assert found.latest_start == at(2, end) - NEEDED
    assert found.bound_by == "total"
    assert found.margin == at(2, end) - NEEDED - at(1, 7)
    assert not found.is_too_late


def test_without_shifts_on_paper_dusk_ends_the_work():
    found = clock(shifts=shifts(end=22))

    assert found.deadline == at(2, 17, 16)
    assert found.decides == ("daylight",)


def test_all_doors_in_western_walls_are_windward():
    doors = [task for task in in_wind() if task.kind == TaskKind.DOOR]

    assert set(windward_places(doors)) == {f"T{number:02}-W" for number in range(1, 13)}


def test_the_four_broken_ones_in_the_wind_come_first():
    first = in_wind()[:4]

    assert {task.place for task in first} == {"T04-W", "T08-W", "T09-W", "T11-W"}
    assert all(task.kind == TaskKind.REPAIR for task in first)


def test_level_4_from_15_o_clock_and_a_level_earlier_for_old_film():
    sound, old = Condition(), Condition(film_age=6.2, film_life=4.0, critical_defects=1)

    assert read_level(forecast(), sound).since[4] == at(3, 15)
    assert read_level(forecast(), sound).level == 4
    # 10 mph earlier: storm from 48 mph, which 52 mph at 14:00 are the first to reach.
    assert read_level(forecast(), old).since[4] == at(3, 14)
    assert [fact.key for fact in read_level(forecast(), old).offset.reasons] == ["film_past_life", "critical_defect"]


def test_on_wednesday_at_three_some_of_it_no_longer_fits():
    found = clock(now=at(2, 15))

    # Two hours of four people are 480 person-minutes, and 400 of planned work with the reserve.
    assert found.is_too_late
    assert found.margin == -timedelta(minutes=87.3)
    assert found.capacity == pytest.approx(400 * MINUTE)
    assert found.missing == pytest.approx(291 * MINUTE)


def test_more_work_than_a_day_holds_begins_the_day_before():
    # 10 h shifts of two people: 691 x 1.2 = 829.2 person-minutes are 414.6 minutes; double that is 829.2, of which
    # Wednesday holds 600, so 229.2 minutes before 17:00 on Tuesday.
    work = load_of(TASKS + TASKS)

    found = clock(load=work, shifts=shifts(people=2))

    assert found.latest_start == at(1, 17) - timedelta(minutes=229.2)
