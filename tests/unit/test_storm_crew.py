"""Plans for a crew: what becomes of them, and what the greedy planner makes, by hand."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from maintenance.storm.crew import Assignment, Job, Person, Visit, evaluate, plan_crew
from maintenance.storm.due_dates import Due, by_due_date, most_on_time
from maintenance.storm.quantity import HOUR, MINUTE, Interval, StormError

START = datetime(2026, 11, 18, 12, tzinfo=UTC)


def minute(number):
    return START + timedelta(minutes=number)


DAY = (Interval(minute(0), minute(120)),)
ANN, BEN = Person(code="ann", shifts=DAY), Person(code="ben", shifts=DAY)
DOOR = Job(code="door", time=30 * MINUTE, position=(72.0, 0.0))  # a minute's walk at 1.2 m/s


def test_a_job_begins_after_the_walk():
    found = evaluate([Assignment("door", ("ann",))], [DOOR], [ANN], now=START)

    assert found.visits == (Visit("door", ("ann",), minute(1), minute(31), is_late=False),)
    assert (found.late_weight, found.walking, found.finish, found.undone) == (0.0, 72.0, minute(31), ())
    assert found.cost == (0.0, 72.0)


def test_two_begin_together():
    far = replace(BEN, position=(72.0 + 3 * 72.0, 0.0))

    found = evaluate([Assignment("door", ("ann", "ben"))], [replace(DOOR, people=2)], [ANN, far], now=START)

    assert (found.visits[0].start, found.walking) == (minute(3), 72.0 * 4)


def test_a_job_after_its_deadline_is_late():
    due = replace(DOOR, deadline=minute(31), weight=5.0)

    assert evaluate([Assignment("door", ("ann",))], [due], [ANN], now=START).late_weight == 0
    late = evaluate([Assignment("door", ("ann",))], [due], [ANN], now=minute(1))
    assert late.late_weight == 5
    assert late.visits[0].is_late


def test_what_nobody_does_counts_as_late():
    found = evaluate([], [DOOR, replace(DOOR, code="other", weight=2.0)], [ANN], now=START)

    assert (found.undone, found.late_weight, found.finish) == (("door", "other"), 3.0, None)


def test_a_job_is_not_begun_that_the_shift_does_not_hold():
    short = replace(ANN, shifts=(Interval(minute(0), minute(20)), Interval(minute(60), minute(90))))

    found = evaluate([Assignment("door", ("ann",))], [DOOR], [short], now=START)
    assert (found.visits[0].start, found.visits[0].end) == (minute(60), minute(90))
    none = evaluate([Assignment("door", ("ann",))], [replace(DOOR, time=HOUR)], [short], now=START)
    assert none.undone == ("door",)


@pytest.mark.parametrize(
    ("plan", "field"),
    [
        ([Assignment("gate", ("ann",))], "plan.job"),
        ([Assignment("door", ("ann",))] * 2, "plan.job"),
        ([Assignment("door", ())], "plan.door.people"),
        ([Assignment("door", ("ann", "ben"))], "plan.door.people"),
        ([Assignment("pair", ("ann", "ann"))], "plan.pair.people"),
        ([Assignment("door", ("zoe",))], "plan.door.people"),
        ([Assignment("wires", ("ann",))], "plan.wires.people"),
    ],
)
def test_a_plan_that_cannot_be(plan, field):
    jobs = [DOOR, replace(DOOR, code="pair", people=2), replace(DOOR, code="wires", skill="wiring")]

    with pytest.raises(StormError) as caught:
        evaluate(plan, jobs, [ANN, BEN], now=START)

    assert caught.value.field == field


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"time": -1.0}, "job.time"), ({"people": 3}, "job.people"), ({"weight": -1.0}, "job.weight"),
     ({"deadline": datetime(2026, 11, 18)}, "job.deadline")],
)  # fmt: skip
def test_a_job_that_cannot_be(changes, field):
    with pytest.raises(StormError) as caught:
        replace(DOOR, **changes)

    assert caught.value.field == field


def test_nobody_stands_still_for_ever():
    with pytest.raises(StormError, match=r"person\.speed"):
        Person(code="ann", shifts=DAY, speed=0.0)


# The planner -------------------------------------------------------------------


def codes(jobs, people=(ANN,), **changes):
    return [given.job for given in plan_crew(jobs, people, now=START, **changes)]


def near(code, x, **changes):
    return Job(code=code, time=10 * MINUTE, position=(float(x), 0.0), **changes)


def test_equal_jobs_are_done_on_the_way():
    assert codes([near("c", 300), near("a", 100), near("b", 200)]) == ["a", "b", "c"]


def test_the_first_class_is_done_first_however_far():
    assert codes([near("near", 1, rank=(True,)), near("far", 500, rank=(False,))]) == ["far", "near"]


def test_what_is_due_first_goes_first():
    jobs = [near("any", 1), near("noon", 300, deadline=minute(60)), near("soon", 500, deadline=minute(40))]

    assert codes(jobs) == ["soon", "noon", "any"]


def test_what_is_late_whoever_does_it_waits():
    assert codes([near("lost", 1, deadline=minute(5)), near("saved", 400, deadline=minute(30))]) == ["saved", "lost"]


def test_the_one_with_the_skill_is_sent():
    wiring = replace(BEN, position=(900.0, 0.0), skills=frozenset({"wiring"}))

    assert plan_crew([near("wires", 0, skill="wiring")], [ANN, wiring], now=START) == (Assignment("wires", ("ben",)),)


def test_people_share_the_work():
    plan = plan_crew([near("a", 0), near("b", 0)], [ANN, BEN], now=START)

    assert {given.people for given in plan} == {("ann",), ("ben",)}


def test_a_job_for_two_needs_two():
    pair = near("pair", 0, people=2)

    assert plan_crew([pair], [ANN, BEN], now=START) == (Assignment("pair", ("ann", "ben")),)
    assert plan_crew([pair, near("one", 0)], [ANN], now=START) == (Assignment("one", ("ann",)),)


def test_what_no_shift_holds_is_left_out():
    assert codes([replace(near("long", 0), time=3 * HOUR), near("short", 0)]) == ["short"]


# One after the other -----------------------------------------------------------


def test_no_jobs_are_all_on_time():
    assert most_on_time([]) == ((), ())
    assert by_due_date([]) == ()


def test_the_longest_is_given_up():
    assert most_on_time([Due(5, 6), Due(2, 7), Due(2, 8)]) == ((1, 2), (0,))


def test_the_newest_may_be_the_longest():
    assert most_on_time([Due(2, 3), Due(9, 4)]) == ((0,), (1,))


@pytest.mark.parametrize("job", [Due(-1, 0), Due(1, float("nan"))])
def test_a_duration_is_a_number(job):
    with pytest.raises(StormError):
        by_due_date([job])
