"""The nightly run: every due day becomes one job, whatever nights were missed and however often it ran."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from maintenance.models import Job, Plan, Turn
from maintenance.plans import cadence
from maintenance.plans.nightly import local_day, open_due_jobs
from maintenance.recurrence import occurrences
from tests.factories import make_farm, make_tunnel
from tests.upkeep_rows import make_plan, make_routine

pytestmark = pytest.mark.django_db

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = date(2026, 11, 25)
MONDAYS = cadence.calendar_text("FREQ=WEEKLY;BYDAY=MO", window_days=6)
LATER = date(2027, 1, 1)


def weekly(farm=None, **values):
    routine = make_routine(farm or make_farm(), target="farm", trigger="calendar", rule="FREQ=WEEKLY;BYDAY=MO")
    due = values.pop("due_on", date(2026, 11, 23))
    return make_plan(routine, cadence=MONDAYS, due_on=due, until_on=due + timedelta(days=6), **values)


def single(farm=None, **values):
    due = values.pop("due_on", TODAY)
    plan = {"due_on": due, "until_on": due + timedelta(days=3), **values}
    return make_plan(make_routine(farm or make_farm()), **plan)


def opened():
    return list(Job.objects.order_by("plan", "due_on").values_list("plan", "due_on", "until_on", "state"))


def test_a_plan_that_is_due_opens_its_job_and_waits():
    plan = single(cause={"gust_m_s": 23.2})

    assert open_due_jobs(now=NOON) == 1

    job = Job.objects.get()
    plan = Plan.objects.get()
    assert (job.farm, job.plan, job.due_on, job.until_on) == (plan.farm, plan, TODAY, TODAY + timedelta(days=3))
    assert (job.cause, job.state, job.opened_at, job.ticks, job.note) == ({"gust_m_s": 23.2}, "open", NOON, [], "")
    assert not Turn.objects.exists()


def test_a_plan_of_tomorrow_waits_for_tomorrow():
    plan = single(due_on=TODAY + timedelta(days=1))

    assert open_due_jobs(now=NOON) == 0
    assert open_due_jobs(now=NOON + timedelta(days=1)) == 1
    assert opened() == [(plan.pk, date(2026, 11, 26), date(2026, 11, 29), "open")]


def test_a_second_run_opens_nothing_new():
    weekly(), single()

    assert [open_due_jobs(now=NOON) for _ in range(3)] == [2, 0, 0]


def test_missed_nights_are_caught_up_and_the_older_jobs_have_lapsed():
    plan = weekly(due_on=date(2026, 11, 9))

    assert open_due_jobs(now=NOON) == 3

    plan = Plan.objects.get()
    assert opened() == [
        (plan.pk, date(2026, 11, 9), date(2026, 11, 15), "lapsed"),
        (plan.pk, date(2026, 11, 16), date(2026, 11, 22), "lapsed"),
        (plan.pk, date(2026, 11, 23), date(2026, 11, 29), "open"),
    ]
    assert (plan.turn.due_on, plan.turn.until_on) == (date(2026, 11, 30), date(2026, 12, 6))


def test_a_job_somebody_has_begun_does_not_lapse():
    plan = weekly()
    open_due_jobs(now=NOON)
    Job.objects.update(state="started")

    open_due_jobs(now=NOON + timedelta(days=7))

    assert [state for _plan, _due, _until, state in opened()] == ["started", "open"]
    assert plan.jobs.count() == 2


def test_a_run_that_was_cut_off_after_its_jobs_were_written_moves_the_plans_on():
    """The job stands and the plan still names its day: the next run writes nothing twice and goes on."""
    plan = weekly(due_on=date(2026, 11, 16))
    Job.objects.create(
        farm=plan.farm, plan=plan, due_on=date(2026, 11, 16), until_on=date(2026, 11, 22), opened_at=NOON
    )

    assert open_due_jobs(now=NOON) == 1
    assert [due for _plan, due, _until, _state in opened()] == [date(2026, 11, 16), date(2026, 11, 23)]


def test_a_farm_has_its_own_day():
    """At 11:00 UTC on the 25th it is the 25th in New York and, past four in the morning, the 26th in Auckland."""
    now = datetime(2026, 11, 25, 16, tzinfo=UTC)
    here = single(make_farm(time_zone="America/New_York"), due_on=date(2026, 11, 26))
    there = single(make_farm(time_zone="Pacific/Auckland"), due_on=date(2026, 11, 26))

    assert open_due_jobs(now=now) == 1
    assert [plan for plan, *_rest in opened()] == [there.pk]
    assert open_due_jobs(now=now + timedelta(days=1)) == 1
    assert here.jobs.count() == 1


def test_one_farm_alone_can_be_opened():
    ours, theirs = single(), single()

    assert open_due_jobs(now=NOON, farm=ours.farm) == 1
    assert (ours.jobs.count(), theirs.jobs.count()) == (1, 0)


# Clock changes by the IANA time zone database: New York 8 March and 1 November 2026, London 29 March and 25 October,
# Auckland 5 April and 27 September.
@pytest.mark.parametrize(
    ("zone", "before"),
    [
        ("America/New_York", datetime(2026, 3, 7, 12, tzinfo=UTC)),
        ("America/New_York", datetime(2026, 10, 31, 12, tzinfo=UTC)),
        ("Europe/London", datetime(2026, 3, 28, 12, tzinfo=UTC)),
        ("Europe/London", datetime(2026, 10, 24, 12, tzinfo=UTC)),
        ("Pacific/Auckland", datetime(2026, 4, 4, 12, tzinfo=UTC)),
        ("Pacific/Auckland", datetime(2026, 9, 26, 12, tzinfo=UTC)),
    ],
)
def test_the_day_turns_once_in_a_night_when_the_clocks_change(zone, before):
    """Looked at every ten minutes through the night, the day goes up by one once, at four by the new clock."""
    place = ZoneInfo(zone)
    moments = [before + timedelta(minutes=10 * step) for step in range(6 * 36)]
    days = [local_day(moment, place) for moment in moments]
    turns = [
        (moment, day - last) for moment, (last, day) in zip(moments[1:], pairwise(days), strict=True) if day != last
    ]

    assert {step for _moment, step in turns} == {timedelta(days=1)}
    assert {moment.astimezone(place).strftime("%H:%M") for moment, _step in turns} == {"04:00"}
    assert len(turns) in (1, 2)


def test_a_job_waits_for_the_one_that_comes_before_it_in_the_same_tunnel():
    farm = make_farm()
    tunnels = [make_tunnel(farm), make_tunnel(farm)]
    film, screws = make_routine(farm), make_routine(farm)
    screws.waits_for.add(film)
    for tunnel in tunnels:
        make_plan(screws, tunnel, due_on=TODAY, until_on=LATER)
    make_plan(film, tunnels[0], due_on=TODAY, until_on=LATER)

    open_due_jobs(now=NOON)

    waiting = {job.plan.tunnel: list(job.waits_for.all()) for job in Job.objects.filter(plan__routine=screws)}
    assert waiting == {tunnels[0]: [Job.objects.get(plan__routine=film)], tunnels[1]: []}


def test_a_job_opened_before_the_one_it_must_wait_for_still_waits():
    farm = make_farm()
    tunnel = make_tunnel(farm)
    film, screws = make_routine(farm), make_routine(farm)
    screws.waits_for.add(film)
    make_plan(screws, tunnel, due_on=TODAY, until_on=LATER)
    open_due_jobs(now=NOON)
    make_plan(film, tunnel, due_on=TODAY, until_on=LATER)

    open_due_jobs(now=NOON)

    assert [job.is_held for job in Job.objects.with_hold().filter(plan__routine=screws)] == [True]


def test_the_number_of_queries_does_not_depend_on_the_number_of_plans():
    farm = make_farm()
    counts = []
    for number in (1, 30):
        for _ in range(number):
            single(farm), weekly(farm)
        with CaptureQueriesContext(connection) as captured:
            open_due_jobs(now=NOON)
        counts.append(len(captured))

    assert counts[0] == counts[1]


class TestNoDueDayIsLost(TestCase):
    """Whatever nights are missed, repeated or taken out of order: the due days of the rule, each once."""

    @given(
        runs=st.lists(st.integers(0, 120), min_size=1, max_size=12),
        rule=st.sampled_from(
            ["FREQ=WEEKLY;BYDAY=MO", "FREQ=DAILY", "FREQ=MONTHLY;BYMONTHDAY=-1", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU"]
        ),
    )
    def test_any_sequence_of_runs(self, runs, rule):
        start = date(2026, 1, 10)  # through the clock changes of March and the last day of February
        text = cadence.calendar_text(rule, window_days=3)
        kept = cadence.read(text)
        first = kept.after(start)
        routine = make_routine(make_farm(), target="farm", trigger="calendar", rule=rule)
        plan = make_plan(routine, cadence=text, due_on=first, until_on=kept.window(first))

        for day in runs:
            open_due_jobs(now=datetime(2026, 1, 10, 12, tzinfo=UTC) + timedelta(days=day))

        expected = occurrences(kept.rule, start, start + timedelta(days=max(runs)))
        assert list(plan.jobs.order_by("due_on").values_list("due_on", flat=True)) == expected
        following = Plan.objects.get(pk=plan.pk).turn.due_on
        assert following == kept.after(max([start, *expected]))
