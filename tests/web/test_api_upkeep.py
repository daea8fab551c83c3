"""Components, jobs, repairs and storms by the API."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from doors.models import Component, StockMove
from maintenance.models import Job, Repair, ScrewCheck, StormTask
from maintenance.stores import store
from tests.api_client import Program, program_of
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.hands_rows import make_storm, make_task
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db
TODAY = timezone.now().date()
AT = "/farms/hollow"


@pytest.fixture
def farm():
    return make_farm(name="Hollow Farm", slug="hollow")


@pytest.fixture
def program(farm):
    return program_of(farm, "crew")


@pytest.fixture
def opening(farm):
    return make_opening(make_wall(make_tunnel(farm)))


def day(back: int = 0) -> str:
    """Return a day before today as bodies write it."""
    return (TODAY - timedelta(days=back)).isoformat()


def test_a_part_is_fitted_and_taken_out_of_the_store(program, farm, opening):
    film = make_material(farm, kind="film", name="Film 6 mil")
    store.move(farm=farm, material=film, quantity=Decimal(3), on=date(2026, 1, 1), reason=StockMove.Reason.BOUGHT)
    body = {"kind": "door_film", "opening_id": opening.pk, "fitted_on": day(2), "material_id": film.pk,
            "quantity": 1, "from_store": 1, "lot": "A-17"}  # fmt: skip

    answer = program.post(f"{AT}/components", body)

    assert answer.status_code == 201, answer.content
    part = Component.objects.get(pk=answer.json()["id"])
    assert (part.opening, part.material, part.lot, part.fitted_on.isoformat()) == (opening, film, "A-17", day(2))
    assert StockMove.objects.of(farm).balances() == {film.pk: Decimal(2)}


def test_nothing_without_a_material_comes_out_of_the_store(program, opening):
    body = {"kind": "door_film", "opening_id": opening.pk, "fitted_on": day(), "from_store": 5}

    answer = program.post(f"{AT}/components", body)

    assert answer.status_code == 409, answer.content
    assert not Component.objects.exists()


@pytest.mark.parametrize("place", [{}, {"tunnel_id": 1, "opening_id": 1}])
def test_a_part_sits_at_one_place(program, place):
    answer = program.post(f"{AT}/components", {"kind": "clamp", "fitted_on": day(), **place})

    assert answer.status_code == 422
    assert {each["pointer"] for each in answer.json()["errors"]} == {"#/tunnel_id", "#/end_wall_id", "#/opening_id"}


def test_a_part_is_not_fitted_tomorrow(program, opening):
    body = {"kind": "clamp", "opening_id": opening.pk, "fitted_on": (TODAY + timedelta(days=3)).isoformat()}

    answer = program.post(f"{AT}/components", body)

    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "#/fitted_on")


def test_a_part_is_taken_out_once(program, opening):
    part = make_component(opening)
    body = {"removed_on": day(1), "reason": "worn", "failure_mode": "bent", "failure_cause": "wind"}

    first = program.post(f"{AT}/components/{part.pk}/remove", body)
    second = program.post(f"{AT}/components/{part.pk}/remove", body)

    assert first.status_code == 200, first.content
    assert (first.json()["removed_on"], first.json()["failure_mode"]) == (day(1), "bent")
    assert second.status_code == 409
    assert program.get(f"{AT}/components?in_service=true").json()["items"] == []


def test_a_part_is_replaced_and_its_fault_ends_with_it(program, opening):
    part = make_component(opening, spot="clamp 4")
    fault = program.post(f"{AT}/repairs", {"component_id": part.pk, "part": "clamp", "mode": "bent", "spot": "clamp 4"})
    assert fault.status_code == 201, fault.content

    answer = program.post(
        f"{AT}/components/{part.pk}/replace",
        {"replaced_on": day(), "reason": "worn", "failure_mode": "bent", "closes": [fault.json()["id"]]},
    )

    assert answer.status_code == 201, answer.content
    assert (answer.json()["replaces_id"], answer.json()["spot"]) == (part.pk, "clamp 4")
    assert Repair.objects.get().state == "done"
    assert Job.objects.get().state == "done"


def test_a_part_does_not_close_faults_of_others(program, farm, opening):
    part = make_component(opening)
    other = program.post(f"{AT}/repairs", {"part": "post", "mode": "leaning"} | {"part": "guide_post"}).json()

    answer = program.post(
        f"{AT}/components/{part.pk}/replace", {"replaced_on": day(), "reason": "worn", "closes": [other["id"]]}
    )

    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "#/closes/0")
    assert Component.objects.get().removed_on is None


def test_jobs_are_narrowed_to_a_state(program, farm, opening):
    plan = make_plan(make_routine(farm), opening)
    jobs = {state: make_job(plan, due_on=date(2026, 10, number + 1), state=state,
                            ended_on=None if state in ("open", "started") else date(2026, 11, 1)).pk
            for number, state in enumerate(Job.State.values)}  # fmt: skip

    def ids(query):
        return [each["id"] for each in program.get(f"{AT}/jobs?{query}").json()["items"]]

    assert {state: ids(f"state={state}") for state in jobs} == {state: [pk] for state, pk in jobs.items()}
    assert ids("state=undone") == [jobs["open"], jobs["started"]]
    assert ids("until_by=2020-01-01") == []
    assert program.get(f"{AT}/jobs?state=odd").status_code == 422


def test_a_job_is_begun_and_finished_by_its_person(program, farm, opening):
    routine = make_routine(farm, checklist={"en": ["Look", "Listen"], "es": ["Mire", "Escuche"]})
    job = make_job(make_plan(routine, opening))

    begun = program.post(f"{AT}/jobs/{job.pk}/start")
    done = program.post(f"{AT}/jobs/{job.pk}/done", {"minutes": 12, "ticks": [0, 1], "note": "all well"})

    assert (begun.status_code, begun.json()["state"]) == (200, "started"), begun.content
    assert begun.json()["checklist"] == ["Look", "Listen"]
    assert (done.status_code, done.json()["state"]) == (200, "done"), done.content
    job.refresh_from_db()
    assert (job.assigned_to, job.minutes_spent, job.ticks, job.note) == (program.user, 12, [0, 1], "all well")


def test_a_job_is_finished_once(program, farm, opening):
    job = make_job(make_plan(make_routine(farm), opening))

    answers = [program.post(f"{AT}/jobs/{job.pk}/done", {}).status_code for _ in range(2)]

    assert answers == [200, 409]
    assert job.events.filter(kind="done").count() == 1


def test_screws_are_answered_where_the_routine_asks(program, farm, opening):
    job = make_job(make_plan(make_routine(farm, answer="screws"), opening))

    bare = program.post(f"{AT}/jobs/{job.pk}/done", {})
    body = {"screws": [{"spot": "jamb 1", "outcome": "tight"}, {"spot": "jamb 2", "outcome": "spun"}]}
    said = program.post(f"{AT}/jobs/{job.pk}/done", body)

    assert bare.status_code == 409
    assert said.status_code == 200, said.content
    assert list(ScrewCheck.objects.order_by("pk").values_list("spot", "outcome")) == [
        ("jamb 1", "tight"), ("jamb 2", "spun")
    ]  # fmt: skip
    assert Repair.objects.get().spot == "jamb 2"


def test_a_part_is_replaced_by_a_job_that_asks_for_it(program, farm, opening):
    part = make_component(opening)
    job = make_job(make_plan(make_routine(farm, answer="replaced", target="component"), part))

    bare = program.post(f"{AT}/jobs/{job.pk}/done", {})
    said = program.post(f"{AT}/jobs/{job.pk}/done", {"replacement": {"reason": "worn", "quantity": 1}})

    assert bare.status_code == 409
    assert said.status_code == 200, said.content
    part.refresh_from_db()
    assert part.removed_on is not None
    assert Component.objects.get(replaces=part).opening == opening


def test_what_a_job_used_leaves_the_store(program, farm, opening):
    screws = make_material(farm, kind="fastener")
    store.move(farm=farm, material=screws, quantity=Decimal(10), on=date(2026, 1, 1), reason=StockMove.Reason.BOUGHT)
    job = make_job(make_plan(make_routine(farm), opening))

    fine = program.post(f"{AT}/jobs/{job.pk}/done", {"parts": [{"material_id": screws.pk, "quantity": 0.125}]})
    strange = program.post(f"{AT}/jobs/{job.pk}/done", {"parts": [{"material_id": screws.pk + 99, "quantity": 1}]})
    done = program.post(f"{AT}/jobs/{job.pk}/done", {"parts": [{"material_id": screws.pk, "quantity": 4}]})

    assert (fine.status_code, fine.json()["errors"][0]["pointer"]) == (422, "#/parts/0/quantity")
    assert (strange.status_code, strange.json()["errors"][0]["pointer"]) == (422, "#/parts/0/material_id")
    assert done.status_code == 200, done.content
    assert StockMove.objects.of(farm).balances() == {screws.pk: Decimal(6)}


def test_the_crew_skips_its_own_jobs_and_nobodys_only(program, farm, opening):
    other = make_member(farm, "crew").user
    plan = make_plan(make_routine(farm), opening)
    free, taken = make_job(plan), make_job(plan, due_on=date(2026, 11, 1), assigned_to=other)

    answers = [program.post(f"{AT}/jobs/{job.pk}/skip", {"reason": "no door there"}) for job in (free, taken)]

    assert [answer.status_code for answer in answers] == [200, 403]
    assert answers[0].json()["note"] == "no door there"
    manager = program_of(farm, "manager")
    assert manager.post(f"{AT}/jobs/{taken.pk}/skip", {"reason": "no door there"}).status_code == 200


def test_a_fault_is_reported_held_and_mended(program, farm, opening):
    reported = program.post(
        f"{AT}/repairs", {"opening_id": opening.pk, "part": "clamp", "spot": "clamp 2", "mode": "loose"}
    )
    assert reported.status_code == 201, reported.content
    at = f"{AT}/repairs/{reported.json()['id']}"

    held = program.post(f"{at}/mend", {"for_now": True, "note": "tied with wire"})
    mended = program.post(f"{at}/mend", {"cause": "wind", "minutes": 20})
    again = program.post(f"{at}/mend", {})

    assert (held.status_code, held.json()["state"]) == (200, "temporary"), held.content
    assert (mended.status_code, mended.json()["state"], mended.json()["cause"]) == (200, "done", "wind")
    assert again.status_code == 409
    assert Job.objects.get(pk=reported.json()["job_id"]).state == "done"
    assert program.get(f"{AT}/repairs?state=unmended").json()["items"] == []


def test_a_fault_may_be_somewhere_on_the_farm(program):
    answer = program.post(f"{AT}/repairs", {"part": "other", "mode": "other", "note": "the gate"})

    assert (answer.status_code, answer.json()["opening_id"]) == (201, None), answer.content


def test_a_storm_is_read_with_its_tasks_and_a_task_is_ticked(farm, django_capture_on_commit_callbacks):
    person = make_member(farm, "crew").user
    other = make_member(farm, "crew").user
    program = Program(person)
    storm = make_storm(farm)
    mine, theirs = make_task(storm, assigned_to=person), make_task(storm, assigned_to=other, position=1)

    read = program.get(f"{AT}/storms/{storm.pk}")
    strange = program.post(f"{AT}/storms/{storm.pk}/tasks/{theirs.pk}/tick", {})
    with django_capture_on_commit_callbacks(execute=True):
        ticked = program.post(f"{AT}/storms/{storm.pk}/tasks/{mine.pk}/tick", {"minutes": 6})
    twice = program.post(f"{AT}/storms/{storm.pk}/tasks/{mine.pk}/tick", {})

    assert [task["id"] for task in read.json()["tasks"]] == [mine.pk, theirs.pk]
    assert (ticked.status_code, ticked.json()["state"], ticked.json()["minutes_spent"]) == (200, "done", 6)
    assert twice.status_code == 409
    assert strange.status_code == 403
    assert StormTask.objects.get(pk=mine.pk).done_by == person
    assert program.get(f"{AT}/storms?state=closed").json()["items"] == []
