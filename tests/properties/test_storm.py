"""What holds of every storm: more wind is never better, more work never shorter, more hands never slower."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import permutations, product

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from maintenance.storm.condition import Condition
from maintenance.storm.crew import Assignment, Job, Person, evaluate, plan_crew
from maintenance.storm.deadline import Load, read_clocks
from maintenance.storm.due_dates import Due, by_due_date, greatest_lateness, most_on_time
from maintenance.storm.levels import read_level
from maintenance.storm.local import Observation, head_on_part, is_windward, learn_factor
from maintenance.storm.quantity import Interval
from maintenance.storm.snow import read_snow
from maintenance.storm.spells import Spell
from maintenance.storm.work_time import Shift

START = datetime(2026, 11, 17, tzinfo=UTC)
speeds = st.floats(0, 45)
bearings = st.floats(0, 360)
HOURS = 6


def spells(gusts):
    return tuple(
        Spell(START + timedelta(hours=HOURS * i), START + timedelta(hours=HOURS * (i + 1)), gust=gust)
        for i, gust in enumerate(gusts)
    )


days = st.integers(0, 6).map(lambda day: START + timedelta(days=day))
workdays = st.lists(
    st.tuples(days, st.integers(5, 12), st.integers(1, 12), st.integers(1, 5)).map(
        lambda row: Shift(row[0] + timedelta(hours=row[1]), row[0] + timedelta(hours=row[1] + row[2]), row[3])
    ),
    min_size=1,
    max_size=5,
)
DAYLIGHT = tuple(Interval(START + timedelta(days=d, hours=7), START + timedelta(days=d, hours=17)) for d in range(8))
gusts_known = st.lists(speeds, min_size=8, max_size=24)
work = st.floats(0, 400_000)


def clock(gusts, load, shifts):
    return read_clocks(spells(gusts), now=START, load=Load(load), shifts=shifts, daylight=DAYLIGHT).expected


def never(moment):
    """No such time is as early as can be."""
    return moment or datetime(1, 1, 2, tzinfo=UTC)


@given(gusts_known, st.data())
def test_a_stronger_gust_never_lowers_the_level(gusts, data):
    index = data.draw(st.integers(0, len(gusts) - 1))
    stronger = [*gusts]
    stronger[index] += data.draw(st.floats(0, 30))
    condition = Condition(limit=data.draw(st.floats(10, 60)), critical_defects=data.draw(st.integers(0, 1)))

    before, after = (read_level(spells(row), condition) for row in (gusts, stronger))

    assert after.level >= before.level
    assert all(after.since[level] <= moment for level, moment in before.since.items())


@given(speeds, st.floats(5, 60), st.floats(0, 40))
def test_a_weaker_structure_never_has_a_lower_level(gust, limit, less):
    strong, weak = Condition(limit=limit), Condition(limit=max(0.0, limit - less), critical_defects=1)

    assert read_level(spells([gust]), weak).level >= read_level(spells([gust]), strong).level


@given(gusts_known, workdays, work, st.data())
def test_a_stronger_gust_never_gives_more_time(gusts, shifts, load, data):
    index = data.draw(st.integers(0, len(gusts) - 1))
    stronger = [*gusts]
    stronger[index] += data.draw(st.floats(0, 30))
    before, after = clock(gusts, load, shifts), clock(stronger, load, shifts)
    assume(before.event is not None)

    assert after.event.onset <= before.event.onset
    assert never(after.deadline) <= never(before.deadline)
    assert never(after.latest_start) <= never(before.latest_start)
    assert after.missing >= before.missing - 1e-6


@given(gusts_known, workdays, work, st.floats(0, 100_000))
def test_more_work_never_starts_later(gusts, shifts, load, more):
    before, after = clock(gusts, load, shifts), clock(gusts, load + more, shifts)

    assert never(after.latest_start) <= never(before.latest_start)
    assert after.deadline == before.deadline
    assert after.missing >= before.missing


@given(gusts_known, workdays, work, st.integers(0, 4))
def test_more_people_never_start_earlier(gusts, shifts, load, more):
    before = clock(gusts, load, shifts)
    after = clock(gusts, load, [replace(shift, people=shift.people + more) for shift in shifts])

    assert never(after.latest_start) >= never(before.latest_start) - timedelta(milliseconds=1)
    assert after.missing <= before.missing + 1e-6


@given(gusts_known, workdays, work, st.data())
def test_work_is_too_late_just_when_its_start_has_passed(gusts, shifts, load, data):
    now = START + timedelta(hours=data.draw(st.integers(0, 48)))
    found = read_clocks(spells(gusts), now=now, load=Load(load), shifts=shifts, daylight=DAYLIGHT).expected
    assume(found.event is not None and load > 0)
    if found.latest_start is None or found.margin < -timedelta(seconds=1):
        assert found.is_too_late
    elif found.margin > timedelta(seconds=1):
        assert found.missing < 1e-3


@given(bearings, st.floats(0, 180), st.floats(-720, 720))
def test_either_side_of_a_wall_is_the_same_and_turning_both_changes_nothing(wall, off, turn):
    assume(abs(off - 67.5) > 1e-6)

    assert is_windward(wall, wall + off) == is_windward(wall, wall - off)
    assert is_windward(wall, wall + off) == is_windward(wall + turn, wall + off + turn)
    assert head_on_part(10, wall, wall + off) == pytest.approx(head_on_part(10, wall, wall - off), abs=1e-6)


@given(bearings, bearings)
def test_opposite_walls_are_never_both_windward(wall, wind):
    assert not (is_windward(wall, wind) and is_windward(wall + 180, wind))


@given(st.lists(st.tuples(st.floats(9, 40), st.floats(0, 60)), max_size=30), st.floats(1, 3))
def test_a_learnt_factor_stays_in_its_bounds_and_grows_with_what_is_seen(rows, times):
    one, more = (
        learn_factor([Observation(START, forecast, min(seen * factor, 149)) for forecast, seen in rows])
        for factor in (1, times)
    )

    assert 0.85 <= one.factor <= more.factor <= 1.5
    assert one.count == len(rows)


@given(st.lists(st.tuples(st.floats(0, 0.1), st.floats(0, 0.5)), min_size=1, max_size=10), st.integers(0, 9))
def test_more_snow_never_weighs_less(rows, index):
    def read(values):
        return read_snow([replace(spell, rain=r, snow=s) for spell, (r, s) in zip(spells([0.0] * len(values)), values,
                                                                                  strict=True)])  # fmt: skip

    index %= len(rows)
    water, snow = rows[index]
    more = [*rows[:index], (water + 0.01, snow + 0.05), *rows[index + 1 :]]

    assert read(more).water >= read(rows).water - 1e-12 or water == 0  # water that was estimated is then known


dues = st.lists(st.builds(Due, st.integers(0, 12), st.integers(0, 40)), min_size=1, max_size=6)


@given(dues)
def test_by_due_date_nothing_beats_the_greatest_lateness(jobs):
    best = min(greatest_lateness(jobs, order) for order in permutations(range(len(jobs))))

    assert greatest_lateness(jobs, by_due_date(jobs)) == best


@given(dues)
def test_no_order_has_fewer_late_jobs(jobs):
    on_time, late = most_on_time(jobs)
    fewest = min(
        sum(sum(jobs[i].time for i in order[: place + 1]) > jobs[order[place]].due for place in range(len(jobs)))
        for order in permutations(range(len(jobs)))
    )

    assert len(late) == fewest
    assert greatest_lateness(jobs, on_time) <= 0 or not on_time
    assert sorted(on_time + late) == list(range(len(jobs)))


# Crews ---------------------------------------------------------------------------

places = st.tuples(st.integers(0, 300), st.integers(0, 300)).map(lambda spot: (float(spot[0]), float(spot[1])))
crews = st.lists(
    st.tuples(st.integers(1, 8), st.sampled_from([frozenset(), frozenset({"wiring"})]), places), min_size=1, max_size=2
).map(
    lambda rows: tuple(
        Person(code=f"P{i}", shifts=(Interval(START, START + timedelta(hours=h)),), skills=skills, position=spot)
        for i, (h, skills, spot) in enumerate(rows)
    )
)
jobs_of = st.lists(
    st.tuples(
        st.integers(1, 120), st.sampled_from([1, 1, 2]), st.sampled_from(["", "", "wiring"]),
        st.one_of(st.none(), st.integers(1, 10)), st.integers(1, 3), st.booleans(), places,
    ),
    min_size=1, max_size=3,
).map(
    lambda rows: tuple(
        Job(code=f"J{i}", time=minutes * 60.0, people=people, skill=skill, weight=float(weight), rank=(later,),
            deadline=None if due is None else START + timedelta(hours=due), position=spot)
        for i, (minutes, people, skill, due, weight, later, spot) in enumerate(rows)
    )
)  # fmt: skip


def every_plan(jobs, people):
    """Yield every order of the jobs that somebody can do, with every team for each."""
    able = {job.code: teams(job, people) for job in jobs}
    doable = [job for job in jobs if able[job.code]]
    for order in permutations(doable):
        for chosen in product(*(able[job.code] for job in order)):
            yield [Assignment(job.code, team) for job, team in zip(order, chosen, strict=True)]


def teams(job, people):
    codes = [person.code for person in people if not job.skill or job.skill in person.skills]
    return [team for team in permutations(codes, job.people) if list(team) == sorted(team)]


@settings(max_examples=60)
@given(jobs_of, crews)
def test_the_greedy_plan_is_feasible_and_no_better_than_the_best(jobs, people):
    found = evaluate(plan_crew(jobs, people, now=START), jobs, people, now=START)
    best = min(evaluate(plan, jobs, people, now=START).late_weight for plan in every_plan(jobs, people))

    assert found.late_weight >= best - 1e-9
    crew, work = {person.code: person for person in people}, {job.code: job for job in jobs}
    for code, person in crew.items():
        mine = [visit for visit in found.visits if code in visit.people]
        spot, free = person.position, START
        for visit in mine:
            there = work[visit.job].position
            assert (visit.start - free).total_seconds() >= math.dist(spot, there) / person.speed - 1e-5
            assert any(shift.start <= visit.start and visit.end <= shift.end for shift in person.shifts)
            assert person.can(work[visit.job])
            spot, free = there, visit.end
    assert {visit.job for visit in found.visits} | set(found.undone) == set(work)


@settings(max_examples=60)
@given(jobs_of, crews)
def test_whatever_no_plan_can_save_is_not_blamed_on_the_planner(jobs, people):
    """One job alone is planned as well as it can be."""
    for job in jobs:
        alone = (job,)
        found = evaluate(plan_crew(alone, people, now=START), alone, people, now=START)

        assert found.late_weight == min(
            evaluate(p, alone, people, now=START).late_weight for p in every_plan(alone, people)
        )


@settings(max_examples=60)
@given(jobs_of, crews)
def test_a_class_is_given_out_before_the_next(jobs, people):
    """Among the jobs that come in time."""
    outcome = evaluate(plan_crew(jobs, people, now=START), jobs, people, now=START)
    ranks = {job.code: job.rank for job in jobs}
    given_out = [ranks[visit.job] for visit in outcome.visits if not visit.is_late]

    assert given_out == sorted(given_out)
