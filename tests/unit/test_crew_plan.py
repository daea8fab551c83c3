"""The crew's plan: the better of two, with what was placed by hand, and without an optimiser."""

from datetime import UTC, datetime, timedelta

import pytest

from maintenance.hands.crew import plan_work
from maintenance.hands.optimise import NoRoundsError, Stop, Walker, rounds
from maintenance.storm.crew import Assignment, Job, Person
from maintenance.storm.quantity import Interval

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def person(code, hours=8.0, **values):
    return Person(code=code, shifts=(Interval(NOW, NOW + timedelta(hours=hours)),), **values)


def job(code, minutes=10.0, east=0.0, **values):
    return Job(code=code, time=minutes * 60, position=(east, 0.0), **values)


def order_of(found, who):
    return [visit.job for visit in found.outcome.visits if who in visit.people]


def test_nobody_walks_to_and_fro():
    # East of one another at 100, 200, 300 and 400 m: straight on is the shortest way.
    jobs = [job("a", east=100), job("b", east=300), job("c", east=200), job("d", east=400)]

    found = plan_work(jobs, [person("p")], now=NOW)

    assert order_of(found, "p") == ["a", "c", "b", "d"]
    assert found.outcome.walking == 400
    assert found.outcome.undone == ()


def test_the_work_is_not_heaped_on_one_person_to_save_steps():
    jobs = [job(code, minutes=30, east=10) for code in "abcd"]

    found = plan_work(jobs, [person("p"), person("q")], now=NOW)

    assert found.outcome.finish <= found.by_rules.finish
    assert [len(order_of(found, who)) for who in "pq"] == [2, 2]


def test_the_first_class_is_shut_before_the_second():
    jobs = [
        job("late", east=1, rank=(True,)),
        job("first", east=500, rank=(False,)),
        job("too", east=600, rank=(False,)),
    ]

    found = plan_work(jobs, [person("p")], now=NOW)

    assert order_of(found, "p") == ["first", "too", "late"]


def test_what_does_not_fit_is_what_weighs_least():
    jobs = [job("light", minutes=40, weight=1), job("heavy", minutes=40, weight=8)]

    found = plan_work(jobs, [person("p", hours=1.0)], now=NOW)

    assert order_of(found, "p") == ["heavy"]
    assert found.outcome.undone == ("light",)
    assert found.outcome.late_weight == 1


def test_what_was_placed_by_hand_comes_first_in_its_order():
    jobs = [job("a", rank=(False,)), job("b", rank=(True,)), job("c", rank=(True,)), job("d", rank=(False,))]
    fixed = [Assignment("c", ("p",)), Assignment("b", ("p",))]

    found = plan_work(jobs, [person("p")], now=NOW, fixed=fixed)

    assert order_of(found, "p")[:2] == ["c", "b"]
    assert set(order_of(found, "p")) == set("abcd")


def test_two_stand_at_a_job_for_two_at_once():
    jobs = [job("wide", people=2), job("a", east=5), job("b", east=6), job("c", east=7)]

    found = plan_work(jobs, [person("p"), person("q")], now=NOW)

    wide = next(visit for visit in found.outcome.visits if visit.job == "wide")
    assert sorted(wide.people) == ["p", "q"]
    assert found.outcome.undone == ()


def test_only_who_may_do_it_gets_a_job():
    jobs = [job("shade", skill="shade"), job("shade 2", skill="shade", east=9), job("door", skill="door", east=2)]
    people = [person("p", skills=frozenset({"door"})), person("q", skills=frozenset({"door", "shade"}))]

    found = plan_work(jobs, people, now=NOW)

    assert {"shade", "shade 2"} <= set(order_of(found, "q"))
    assert found.outcome.undone == ()


def test_nobody_at_work_leaves_all_undone():
    found = plan_work([job("a"), job("b")], [], now=NOW)

    assert found.outcome.undone == ("a", "b")
    assert found.by == "rules"


def test_no_time_to_search_gives_the_cores_plan():
    jobs = [job("a", east=100), job("b", east=300), job("c", east=200)]

    found = plan_work(jobs, [person("p")], now=NOW, limit=0)

    assert found.by == "rules"
    assert found.outcome == found.by_rules


def test_a_machine_without_the_optimiser_still_plans(monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "pyvrp", None)  # as Python marks what cannot be imported
    jobs = [job("a", east=100), job("b", east=300), job("c", east=200)]

    found = plan_work(jobs, [person("p")], now=NOW)

    assert found.by == "rules"
    assert found.outcome.undone == ()


def test_rounds_that_cannot_be_are_refused():
    must = Stop(place=(0.0, 0.0), service=100, opens=0, closes=50)
    late = Walker(place=(0.0, 0.0), opens=60, closes=200)

    with pytest.raises(NoRoundsError):
        rounds([must], [late], distance=lambda a, b: 0, durations=[lambda a, b: 0], seconds=1)


def test_the_same_work_gives_the_same_plan():
    jobs = [job(f"j{number}", minutes=5 + number % 3, east=37 * number % 101) for number in range(12)]
    people = [person("p"), person("q")]

    assert plan_work(jobs, people, now=NOW) == plan_work(jobs, people, now=NOW)


def test_a_day_of_two_shifts_is_used_in_both():
    shifts = (Interval(NOW, NOW + timedelta(hours=1)), Interval(NOW + timedelta(hours=5), NOW + timedelta(hours=6)))
    jobs = [job(code, minutes=40) for code in "ab"]

    found = plan_work(jobs, [Person(code="p", shifts=shifts)], now=NOW)

    assert [visit.start for visit in found.outcome.visits] == [NOW, NOW + timedelta(hours=5)]


def test_a_deadline_of_its_own_is_kept():
    wet = NOW + timedelta(minutes=45)
    jobs = [job("door", minutes=30, weight=1), job("tape", minutes=30, weight=1, deadline=wet), job("c", minutes=5)]

    found = plan_work(jobs, [person("p")], now=NOW)

    assert found.outcome.undone == ()
    assert not any(visit.is_late for visit in found.outcome.visits)
