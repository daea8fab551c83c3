"""Doing the work: what is written down, what the plan expects next, what an undo puts back, who was first."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User

from doors.models import Component, Material, StockMove
from farm.models import Farm
from maintenance.models import Job, JobEvent, JobPart, Plan, Repair, ScrewCheck
from maintenance.plans.laying import lay_plans
from maintenance.stores.fitting import NewPart, Removal
from maintenance.work import working
from maintenance.work.faults import log_fault
from maintenance.work.working import WorkError
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.upkeep_rows import DAY, NOW, loaded, make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db

PLAN = ("turn__due_on", "turn__until_on", "turn__cause", "counted_from", "ended_on")
JOB = ("state", "assigned_to", "ended_on", "minutes_spent", "ticks", "note", "until_on")


@pytest.fixture
def farm() -> Farm:
    return make_farm(time_zone="America/New_York")


@pytest.fixture
def teo(farm: Farm) -> User:
    """A member of the crew."""
    return make_member(farm, "crew", user=User.objects.create_user("teo", first_name="Teo", last_name="Lucero")).user


@pytest.fixture
def hanna(farm: Farm) -> User:
    """Another one."""
    user = User.objects.create_user("hanna", first_name="Hanna", last_name="Brzeska")
    return make_member(farm, "crew", user=user).user


@pytest.fixture
def opening(farm: Farm) -> Any:
    return make_opening(make_wall(make_tunnel(farm, code="T08")), code="T08-W")


@pytest.fixture
def job(farm: Farm, opening: Any) -> Job:
    """A job of a routine that is done every 90 days, due on 20 November and by the 30th."""
    return loaded(make_job(make_plan(make_routine(farm, checklist={"en": ["hooks", "cords"]}), opening)))


def values(row: Job | Plan, columns: tuple[str, ...]) -> dict[str, Any]:
    """Return columns of a row as stored now."""
    return type(row)._default_manager.values(*columns).get(pk=row.pk)


def told(job: Job) -> list[tuple[str, Any, Any, str]]:
    """Return what was written down of a job: what, when, who, note."""
    return list(job.events.order_by("pk").values_list("kind", "at", "by", "note"))


def test_a_job_that_is_done_sets_the_day_of_the_next(job, teo):
    working.finish(job=job, by=teo, now=NOW, on=DAY, minutes=20, ticks=[1, 0], note="one cord frayed")

    assert values(job, JOB) == {
        "state": "done", "assigned_to": None, "ended_on": DAY, "minutes_spent": 20, "ticks": [0, 1],
        "note": "one cord frayed", "until_on": date(2026, 11, 30),
    }  # fmt: skip
    assert values(job.plan, PLAN) == {
        "turn__due_on": date(2027, 2, 22), "turn__until_on": date(2027, 3, 8), "turn__cause": {"done_on": "2026-11-24"},
        "counted_from": date(2026, 1, 1), "ended_on": None,
    }  # fmt: skip
    assert told(job) == [("done", NOW, teo.pk, "one cord frayed")]


@pytest.mark.parametrize("trigger", ["storms", "cycles", "gust"])
def test_what_is_counted_is_counted_anew_from_the_day_it_was_done(farm, opening, teo, trigger):
    routine = make_routine(farm, trigger=trigger, after_count=5, gust_m_s=20)
    job = loaded(make_job(make_plan(routine, opening)))

    working.finish(job=job, by=teo, now=NOW, on=DAY)

    assert values(job.plan, PLAN) == {
        "turn__due_on": None, "turn__until_on": None, "turn__cause": None, "counted_from": DAY, "ended_on": None
    }  # fmt: skip


def test_a_round_by_the_season_goes_on_by_itself(farm, opening, teo):
    plan = make_plan(
        make_routine(farm, trigger="season", season="spring"), opening, due_on=date(2027, 3, 1),
        until_on=date(2027, 3, 15),
    )  # fmt: skip
    job = loaded(make_job(plan))
    before = values(plan, PLAN)

    working.finish(job=job, by=teo, now=NOW, on=DAY)

    assert values(plan, PLAN) == before


def test_a_skipped_job_needs_a_reason_and_counts_as_done_for_its_plan(job, teo):
    with pytest.raises(WorkError, match="Write why"):
        working.skip(job=job, by=teo, now=NOW, on=DAY, reason="  ")
    assert told(job) == []

    working.skip(job=job, by=teo, now=NOW, on=DAY, reason="The tunnel is empty")

    assert values(job, ("state", "ended_on", "note")) == {
        "state": "skipped", "ended_on": DAY, "note": "The tunnel is empty"
    }  # fmt: skip
    assert values(job.plan, ("turn__due_on",)) == {"turn__due_on": date(2027, 2, 22)}
    assert told(job) == [("skipped", NOW, teo.pk, "The tunnel is empty")]


def test_the_second_who_presses_hears_who_was_first_and_when(job, teo, hanna):
    late = loaded(job)
    working.finish(job=job, by=teo, now=NOW, on=DAY)

    for attempt in (
        lambda: working.finish(job=late, by=hanna, now=NOW, on=DAY, note="me too"),
        lambda: working.skip(job=late, by=hanna, now=NOW, on=DAY, reason="no time"),
        lambda: working.start(job=late, by=hanna, now=NOW),
        lambda: working.assign(job=late, to=hanna, by=hanna, now=NOW),
        lambda: working.put_off(job=late, by=hanna, now=NOW, on=DAY, until=date(2026, 12, 24)),
    ):
        with pytest.raises(WorkError, match=r"Teo Lucero finished this job on 2026-11-24 07:00\. Nothing was changed"):
            attempt()

    assert told(job) == [("done", NOW, teo.pk, "")]
    assert values(job, ("note", "state")) == {"note": "", "state": "done"}


def test_two_who_take_the_same_job_do_not_both_get_it(job, teo, hanna):
    late = loaded(job)
    working.assign(job=job, to=teo, by=teo, now=NOW)

    with pytest.raises(WorkError, match="Teo Lucero has taken this job"):
        working.assign(job=late, to=hanna, by=hanna, now=NOW)

    assert values(job, ("assigned_to",)) == {"assigned_to": teo.pk}
    assert told(job) == [("assigned", NOW, teo.pk, "Teo Lucero")]


def test_taking_a_job_twice_is_one_taking(job, teo):
    working.assign(job=job, to=teo, by=teo, now=NOW)
    working.assign(job=job, to=teo, by=teo, now=NOW)

    assert told(job) == [("assigned", NOW, teo.pk, "Teo Lucero")]


def test_whoever_begins_a_job_that_nobody_had_has_it(job, teo):
    working.start(job=job, by=teo, now=NOW)

    assert values(job, ("state", "assigned_to", "ended_on")) == {
        "state": "started", "assigned_to": teo.pk, "ended_on": None
    }  # fmt: skip


def test_a_job_waits_for_the_one_before_it(farm, job, teo, opening):
    first = make_job(make_plan(make_routine(farm, name={"en": "Take the shade off"}), opening.end_wall.tunnel))
    job.waits_for.add(first)

    for attempt in (working.start, lambda **who: working.finish(on=DAY, **who)):
        with pytest.raises(WorkError, match=r"First comes T08: Take the shade off\."):
            attempt(job=job, by=teo, now=NOW)
    assert told(job) == []

    working.finish(job=loaded(first), by=teo, now=NOW, on=DAY)
    working.finish(job=job, by=teo, now=NOW, on=DAY)

    assert values(job, ("state",)) == {"state": "done"}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"on": date(2026, 11, 25)}, "2026-11-25 has not come yet"),
        ({"minutes": -1}, "Minutes are a number"),
        ({"minutes": 10_081}, "Minutes are a number"),
        ({"ticks": [2]}, "checklist has changed"),
        ({"ticks": [-1]}, "checklist has changed"),
    ],
)
def test_an_answer_that_cannot_be_changes_nothing(job, teo, change, words):
    before = values(job, JOB)

    with pytest.raises(WorkError, match=words):
        working.finish(**{"job": job, "by": teo, "now": NOW, "on": DAY, **change})

    assert values(job, JOB) == before
    assert told(job) == []


def test_the_day_is_the_farms(job, teo):
    night = NOW.replace(day=25, hour=3)  # 22:00 of the 24th in New York

    with pytest.raises(WorkError, match="2026-11-25 has not come yet"):
        working.finish(job=job, by=teo, now=night, on=date(2026, 11, 25))


# Parts ----------------------------------------------------------------------------


def stock(farm: Farm) -> dict[str, Decimal]:
    """Return what lies in store by code."""
    sums = StockMove.objects.of(farm).balances()
    return {material.code: sums[material.pk] for material in Material.objects.of(farm) if material.pk in sums}


def test_parts_used_leave_the_store_and_an_undo_puts_them_back(farm, job, teo):
    hook = make_material(farm, kind="other", code="hook")
    StockMove.objects.create(farm=farm, material=hook, quantity=10, on=date(2026, 1, 1), reason="bought")

    working.finish(job=job, by=teo, now=NOW, on=DAY, parts=[(hook, Decimal(3))])

    assert stock(farm) == {"hook": 7}
    taken = JobPart.objects.get(job=job).move
    assert (taken.quantity, taken.reason, taken.on, taken.by, taken.note) == (
        -3, "used", DAY, teo, "used for Look at the hooks"
    )  # fmt: skip

    working.take_back(job=job, by=teo, now=NOW)

    assert stock(farm) == {"hook": 10}
    assert not JobPart.objects.exists()
    moves = StockMove.objects.order_by("pk").values_list("quantity", "reason")
    assert list(moves) == [(10, "bought"), (-3, "used"), (3, "returned")]


def test_parts_that_cannot_be_used_leave_job_and_store_alone(farm, job, teo):
    foreign = make_material()

    for material, quantity in ((foreign, Decimal(1)), (make_material(farm), Decimal(0))):
        with pytest.raises(WorkError):
            working.finish(job=job, by=teo, now=NOW, on=DAY, parts=[(material, quantity)])

    assert values(job, ("state",)) == {"state": "open"}
    assert not StockMove.objects.exists()


# Taking back ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "do",
    [
        lambda job, teo: working.finish(job=job, by=teo, now=NOW, on=DAY, minutes=5, ticks=[0], note="oops"),
        lambda job, teo: working.skip(job=job, by=teo, now=NOW, on=DAY, reason="oops"),
        lambda job, teo: working.start(job=job, by=teo, now=NOW),
    ],
    ids=["done", "skipped", "begun"],
)
def test_an_undo_puts_job_and_plan_back(job, teo, do):
    before = values(job, JOB), values(job.plan, PLAN)
    do(job, teo)
    assert (values(job, JOB), values(job.plan, PLAN)) != before

    working.take_back(job=loaded(job), by=teo, now=NOW + timedelta(minutes=1))

    assert (values(job, JOB), values(job.plan, PLAN)) == before
    assert told(job)[-1] == ("undone", NOW + timedelta(minutes=1), teo.pk, "")


def test_undoing_goes_back_step_by_step_and_then_has_nothing_left(job, teo):
    working.start(job=job, by=teo, now=NOW)
    working.finish(job=job, by=teo, now=NOW, on=DAY)

    states = []
    for _ in range(2):
        working.take_back(job=job, by=teo, now=NOW)
        states.append(values(job, ("state", "assigned_to")))

    assert states == [{"state": "started", "assigned_to": teo.pk}, {"state": "open", "assigned_to": None}]
    with pytest.raises(WorkError, match="nothing to take back"):
        working.take_back(job=job, by=teo, now=NOW)


def test_an_undo_also_withdraws_the_next_job_while_nobody_has_it(job, teo, hanna):
    working.finish(job=job, by=teo, now=NOW, on=DAY)
    following = make_job(job.plan, due_on=date(2027, 2, 22), until_on=date(2027, 3, 8))

    working.take_back(job=loaded(job), by=teo, now=NOW)

    assert not Job.objects.filter(pk=following.pk).exists()
    assert values(job, ("state",)) == {"state": "open"}

    working.finish(job=loaded(job), by=teo, now=NOW, on=DAY)
    following = make_job(job.plan, due_on=date(2027, 2, 22), until_on=date(2027, 3, 8))
    working.assign(job=following, to=hanna, by=hanna, now=NOW)
    with pytest.raises(WorkError, match="due on 2027-02-22, is already in somebody's hands"):
        working.take_back(job=loaded(job), by=teo, now=NOW)

    assert values(job, ("state",)) == {"state": "done"}
    assert Job.objects.filter(pk=following.pk).exists()


def test_an_undo_is_refused_once_the_next_round_stands(farm, opening, teo):
    plan = make_plan(make_routine(farm, trigger="season", season="spring"), opening)
    job = loaded(make_job(plan))
    working.skip(job=job, by=teo, now=NOW, on=DAY, reason="rain")
    make_job(plan, due_on=date(2027, 3, 1), until_on=date(2027, 3, 15))

    with pytest.raises(WorkError, match="due on 2027-03-01, stands already"):
        working.take_back(job=job, by=teo, now=NOW)

    assert values(job, ("state", "note")) == {"state": "skipped", "note": "rain"}


# Putting off ----------------------------------------------------------------------


def test_a_job_put_off_keeps_the_day_it_fell_due(job, teo):
    working.put_off(job=job, by=teo, now=NOW, on=DAY, until=date(2026, 12, 20), reason="waiting for clamps")

    assert values(job, ("due_on", "until_on", "state")) == {
        "due_on": date(2026, 11, 20), "until_on": date(2026, 12, 20), "state": "open"
    }  # fmt: skip
    assert told(job) == [("moved", NOW, teo.pk, "waiting for clamps")]


@pytest.mark.parametrize(
    ("until", "words"),
    [
        (date(2026, 11, 30), "no later than it has to be done anyway"),
        (date(2026, 11, 1), "no later than"),
        (date(2027, 2, 25), "to 2027-02-24 at the latest"),
    ],
)
def test_a_job_is_put_off_within_reason(job, teo, until, words):
    with pytest.raises(WorkError, match=words):
        working.put_off(job=job, by=teo, now=NOW, on=DAY, until=until)

    assert values(job, ("until_on",)) == {"until_on": date(2026, 11, 30)}


# Screws ---------------------------------------------------------------------------


@pytest.fixture
def screws(farm: Farm, opening: Any) -> Job:
    return loaded(make_job(make_plan(make_routine(farm, answer="screws"), opening)))


def test_each_screw_has_its_outcome_and_a_spun_one_becomes_a_fault_with_its_job(farm, screws, opening, teo):
    outcomes = [("right jamb, clamp 3", "tight"), ("right jamb,  clamp 4 ", "spun"), ("right jamb, clamp 5", "turned")]

    working.finish(job=screws, by=teo, now=NOW, on=DAY, outcomes=outcomes)

    checks = ScrewCheck.objects.order_by("pk").values_list("spot", "outcome", "on", "by", "job", "opening")
    rest = (DAY, teo.pk, screws.pk, opening.pk)
    assert list(checks) == [
        ("right jamb, clamp 3", "tight", *rest),
        ("right jamb, clamp 4", "spun", *rest),
        ("right jamb, clamp 5", "turned", *rest),
    ]
    fault = Repair.objects.get()
    assert (fault.part, fault.spot, fault.mode, fault.is_critical, fault.found_on, fault.found_by, fault.state) == (
        "clamp_screw", "right jamb, clamp 4", "spun", False, DAY, "Teo Lucero", "open"
    )  # fmt: skip
    assert (fault.opening, fault.tunnel) == (opening, opening.end_wall.tunnel)
    assert (fault.job.state, fault.job.due_on, fault.job.until_on) == ("open", DAY, date(2026, 12, 8))
    assert ScrewCheck.objects.get(outcome="spun").repair == fault


def test_an_undo_of_a_screw_check_drops_its_answers_and_the_faults_nobody_has_begun(farm, screws, teo, hanna):
    working.finish(job=screws, by=teo, now=NOW, on=DAY, outcomes=[("clamp 4", "missing")])

    working.take_back(job=loaded(screws), by=teo, now=NOW)

    assert (ScrewCheck.objects.count(), Repair.objects.count(), Job.objects.count()) == (0, 0, 1)

    working.finish(job=loaded(screws), by=teo, now=NOW, on=DAY, outcomes=[("clamp 4", "missing")])
    working.assign(job=Repair.objects.get().job, to=hanna, by=hanna, now=NOW)
    with pytest.raises(WorkError, match="already in somebody's hands"):
        working.take_back(job=loaded(screws), by=teo, now=NOW)

    assert (ScrewCheck.objects.count(), Repair.objects.count(), Job.objects.count()) == (1, 1, 2)


def test_a_screw_that_is_still_spun_is_no_second_fault(farm, screws, opening, teo):
    standing = log_fault(
        farm=farm, place=opening, part="clamp", spot="Clamp 4", mode="loose", found_on=DAY, by=teo, now=NOW
    )

    working.finish(job=screws, by=teo, now=NOW, on=DAY, outcomes=[("clamp  4", "spun")])

    assert list(Repair.objects.all()) == [standing]
    assert ScrewCheck.objects.get().repair == standing


def test_a_screw_check_without_answers_is_not_done(screws, teo):
    with pytest.raises(WorkError, match="Say of each screw"):
        working.finish(job=screws, by=teo, now=NOW, on=DAY)

    assert values(screws, ("state",)) == {"state": "open"}
    assert not JobEvent.objects.exists()


# A new part -----------------------------------------------------------------------


@pytest.fixture
def old_film(opening: Any) -> Component:
    return make_component(opening, kind="door_film", fitted_on=date(2020, 9, 1), spot="")


def test_a_replaced_part_makes_room_for_the_new_one_and_an_undo_brings_it_and_its_jobs_back(farm, old_film, teo):
    material = make_material(farm, kind="film", code="film-6")
    job = loaded(
        make_job(make_plan(make_routine(farm, answer="replaced", trigger="age", target="component"), old_film))
    )
    other = make_job(make_plan(make_routine(farm, target="component"), old_film))
    lay_plans(farm=farm, on=DAY)

    working.finish(
        job=job, by=teo, now=NOW, on=DAY, replacement=(Removal(reason="worn"), NewPart(material=material, lot="L7"))
    )

    fresh = Component.objects.get(replaces=old_film)
    assert (fresh.kind, fresh.opening, fresh.fitted_on, fresh.material, fresh.lot) == (
        "door_film", old_film.opening, DAY, material, "L7"
    )  # fmt: skip
    old_film.refresh_from_db()
    assert (old_film.removed_on, old_film.removal_reason) == (DAY, "worn")
    assert values(other, ("state",)) == {"state": "lapsed"}

    working.take_back(job=loaded(job), by=teo, now=NOW)

    assert list(Component.objects.values_list("pk", "removed_on", "removal_reason")) == [(old_film.pk, None, "")]
    assert values(other, ("state", "ended_on")) == {"state": "open", "ended_on": None}
    assert values(job, ("state", "ended_on")) == {"state": "open", "ended_on": None}
    assert values(job.plan, ("ended_on",)) == {"ended_on": None}


def test_a_job_that_asks_for_the_new_part_is_not_done_without_it(farm, old_film, teo):
    job = loaded(make_job(make_plan(make_routine(farm, answer="replaced", target="component"), old_film)))

    with pytest.raises(WorkError, match="Say what came in its place"):
        working.finish(job=job, by=teo, now=NOW, on=DAY)

    assert values(job, ("state",)) == {"state": "open"}
    assert Component.objects.get().removed_on is None
