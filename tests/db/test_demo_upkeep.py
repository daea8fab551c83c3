"""The demo farm's upkeep: what its story says is late, broken and logged, on whatever day it is loaded."""

import time
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction

from farm.models import Farm
from maintenance.demo.load import load_demo_farm, reload_demo_farm
from maintenance.models import Job, JobEvent, Plan, Repair, Turn
from maintenance.words.reasons import why
from maintenance.work.faults import repeats

LOAD_DAYS = (date(2026, 11, 17), date(2027, 2, 28), date(2028, 2, 29), date(2026, 7, 4))
MOST_SECONDS = 12.0  # of its own work: a newcomer waits for it; a busy machine is no failure
# What the farm's story names as critical: the place, and the spot at it.
CRITICAL = {
    ("T04", "west end, bay 7, at the bow"), ("T06", "north side, from bay 8"), ("T08-W", "right jamb, clamp 4"),
    ("T09-W", "left"), ("T11-W", "crank handle pin"),
}  # fmt: skip

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module", params=LOAD_DAYS, ids=str)
def day(request: pytest.FixtureRequest) -> date:
    """The day the farm is loaded on."""
    found: date = request.param
    return found


@pytest.fixture(scope="module")
def farm(day: date, django_db_setup: None, django_db_blocker: Any) -> Iterator[Farm]:
    """The demo farm of a day, for all tests of that day: it takes a second or two to load."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield load_demo_farm(on=day)
        transaction.set_rollback(True)


@pytest.fixture
def reloaded(farm: Farm) -> Iterator[Callable[[date], Farm]]:
    """Load the farm afresh, until the end of a test."""
    with transaction.atomic():
        yield lambda on: reload_demo_farm(on=on)
        transaction.set_rollback(True)


def late(farm: Farm, day: date, code: str) -> list[Job]:
    """Return the late jobs of a routine, with all that a list prints."""
    return list(Job.objects.of(farm).late(day).for_list().filter(plan__routine__code=code).order_by("pk"))


def place(repair: Repair) -> str:
    """Return the code of a fault's place."""
    where = repair.opening or repair.tunnel
    assert where is not None
    return str(where.code)


def test_one_roof_sheet_is_late_by_its_age(farm, day):
    (job,) = late(farm, day, "roof-film-age")

    assert job.plan.tunnel is not None
    assert job.plan.tunnel.code == "T04"
    # Covered 6.2 years ago, as the story tells it, with film of four seasons.
    assert "in service for 6 years 2 months; rated for 4 years" in why(job, day, "us")


def test_the_newest_tunnel_waits_for_its_first_re_tightening_that_nobody_logged(farm, day):
    screws, channels = late(farm, day, "clamp-screws-first"), late(farm, day, "channel-screws-first")

    assert [job.plan.opening and job.plan.opening.code for job in screws] == ["T12-W", "T12-E"]
    assert {job.plan.tunnel and job.plan.tunnel.code for job in channels} == {"T12"}
    assert len(channels) == 3  # the roof's film, and that of either end wall
    for job in (*screws, *channels):
        assert "was never logged" in why(job, day, "us")
        assert "24 to 72 hours" in why(job, day, "us")
    fitted_days_ago = {(day - job.due_on).days + 1 for job in screws}
    assert fitted_days_ago == {35}  # the doors of T12 were hung five weeks ago


def test_the_clamp_that_spins_has_failed_four_times(farm, day):
    found = [(place(repeat.row), repeat.spot, len(repeat.failures)) for repeat in repeats(farm=farm, on=day)
             if isinstance(repeat.row, Repair)]  # fmt: skip

    assert ("T08-W", "right jamb, clamp 4", 4) in found
    assert max(count for _place, _spot, count in found) == 4


def test_five_faults_cannot_wait_for_the_next_wind_and_each_has_its_job(farm, day):
    critical = Repair.objects.of(farm).filter(state="open", is_critical=True).for_list()

    assert {(place(repair), repair.spot) for repair in critical} == CRITICAL
    assert len(critical) == 5
    assert all(repair.job is not None and repair.job.state == "open" for repair in critical)


def test_no_job_waits_for_itself_not_even_by_others(farm, day):
    before: dict[int, set[int]] = {}
    for later, first in Job.waits_for.through.objects.values_list("from_job_id", "to_job_id"):
        before.setdefault(later, set()).add(first)

    assert before  # the month's checks of T12 wait for its first ones
    assert Job.objects.of(farm).undone().filter(pk__in=before).exists()
    for job in before:
        reached, waiting = set(), list(before[job])
        while waiting:
            one = waiting.pop()
            if one not in reached:
                reached.add(one)
                waiting += before.get(one, ())
        assert job not in reached


def test_what_was_done_was_done_by_somebody_on_a_day_that_has_been(farm, day):
    done = Job.objects.of(farm).filter(state="done")

    assert done.count() > 100  # a year's work
    assert not done.filter(assigned_to=None).exists()
    assert not done.filter(minutes_spent=None).exists()
    assert not done.filter(ended_on__gt=day).exists()
    assert done.filter(events__kind="done", events__by__isnull=False).distinct().count() == done.count()
    assert len(set(done.values_list("assigned_to", flat=True))) > 1


def test_every_job_still_to_do_was_opened_for_a_day_that_has_come(farm, day):
    assert Job.objects.of(farm).undone().exists()
    assert not Job.objects.of(farm).undone().filter(due_on__gt=day).exists()
    assert not Turn.objects.of(farm).filter(due_on__lte=day).exists()


def counts(farm: Farm) -> dict[str, object]:
    """Return how much of everything there is."""
    jobs = Job.objects.of(farm).order_by()
    return {
        "plans": Plan.objects.of(farm).count(),
        "jobs": Counter(jobs.values_list("plan__routine__code", "state")),
        "late": Counter(jobs.filter(state="open").values_list("plan__routine__code", "until_on")),
        "faults": Counter(Repair.objects.of(farm).values_list("state", "is_critical")),
        "events": JobEvent.objects.filter(job__farm=farm).count(),
    }


def test_loading_it_again_gives_the_same_and_takes_seconds(farm, day, reloaded):
    first = counts(farm)

    begun = time.process_time()
    again = reloaded(day)
    seconds = time.process_time() - begun

    assert counts(again) == first
    assert Farm.objects.get() == again
    assert seconds < MOST_SECONDS


def test_a_day_later_the_same_things_are_as_late(farm, day, reloaded):
    """The story hangs on days before the load, not on the calendar: faults and films keep their ages."""
    codes = ("roof-film-age", "clamp-screws-first", "channel-screws-first", "repair")
    tomorrow = day + timedelta(days=1)
    first = {code: [(day - job.until_on).days for job in late(farm, day, code)] for code in codes}

    again = reloaded(tomorrow)

    assert all(first.values())
    assert {code: [(tomorrow - job.until_on).days for job in late(again, tomorrow, code)] for code in codes} == first
