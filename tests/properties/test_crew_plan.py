"""The crew's plan beside all plans there are, and beside the core's own."""

from datetime import UTC, datetime, timedelta
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.hands.crew import plan_work
from maintenance.storm.crew import Assignment, Job, Person, evaluate
from maintenance.storm.quantity import Interval

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


@st.composite
def small(draw, most=6, people=2, ranks=(False, True)):
    jobs = [
        Job(
            code=f"j{number}", time=60.0 * draw(st.integers(2, 45)), weight=float(draw(st.sampled_from([1, 4, 8, 20]))),
            people=draw(st.sampled_from([1, 1, 1, 2])) if people > 1 else 1, rank=(draw(st.sampled_from(ranks)),),
            position=(float(draw(st.integers(0, 150))), float(draw(st.integers(0, 60)))),
        )
        for number in range(draw(st.integers(1, most)))
    ]  # fmt: skip
    hours = [draw(st.sampled_from([0.5, 1.0, 2.0, 6.0])) for _ in range(people)]
    crew = [
        Person(code=f"p{number}", shifts=(Interval(NOW, NOW + timedelta(hours=each)),))
        for number, each in enumerate(hours)
    ]
    return jobs, crew


@given(small(most=10))
@settings(max_examples=60)
def test_the_plan_is_never_worse_than_the_cores_own(case):
    jobs, crew = case

    found = plan_work(jobs, crew, now=NOW)

    assert found.outcome.cost <= found.by_rules.cost
    assert evaluate(found.plan, jobs, crew, now=NOW) == found.outcome
    assert len({each.job for each in found.plan}) == len(found.plan)


@given(small(most=5, people=1, ranks=(False,)))
@settings(max_examples=30)
def test_one_persons_round_is_the_shortest_there_is(case):
    jobs, crew = case
    ways = [[Assignment(job.code, (crew[0].code,)) for job in order] for order in permutations(jobs)]
    best = min(evaluate(way, jobs, crew, now=NOW).cost for way in ways)

    found = plan_work(jobs, crew, now=NOW)

    assert found.outcome.late_weight >= best[0]
    if best[0] == 0:
        assert found.outcome.cost == pytest.approx(best)


@given(small(most=5, ranks=(False,)))
@settings(max_examples=20)
def test_two_peoples_harm_is_near_the_least_there_is(case):
    jobs, crew = case
    codes = [person.code for person in crew]
    best = min(
        (evaluate(way, jobs, crew, now=NOW) for way in _all_plans(jobs, codes)), key=lambda outcome: outcome.cost
    )

    found = plan_work(jobs, crew, now=NOW)

    assert found.outcome.cost >= best.cost or found.outcome.cost == pytest.approx(best.cost)
    if best.late_weight == 0:  # all of it can be done: then at most the least of it is left
        assert found.outcome.late_weight <= max(job.weight for job in jobs)


def _all_plans(jobs, codes):
    for order in permutations(jobs):
        for who in product(*([(code,) for code in codes] if job.people == 1 else [tuple(codes)] for job in order)):
            yield [Assignment(job.code, people) for job, people in zip(order, who, strict=True)]
