"""A job's card: what it prints, what it asks, who may do what with it, and what comes back with a refused form."""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from doors.models import Component, StockMove
from doors.services import resize_openings
from farm.models import Farm, Opening
from maintenance.models import Job, Repair, ScrewCheck
from maintenance.work import working
from maintenance.work.faults import log_fault
from tests.factories import make_component, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.forms import post, said
from tests.upkeep_rows import loaded, make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db


@pytest.fixture
def opening(farm: Farm) -> Opening:
    return make_opening(make_wall(make_tunnel(farm, code="T08")), code="T08-W")


def job_of(opening: Any, day: date, **values: Any) -> Job:
    """Make a job at an opening that is due today and may take ten days."""
    routine = make_routine(opening.farm, **values)
    return loaded(make_job(make_plan(routine, opening), due_on=day, until_on=day + timedelta(days=10)))


def card(client: Any, job: Job) -> str:
    """Return a job's card."""
    answer = client.get(reverse("job", args=[job.farm.slug, job.pk]))
    assert answer.status_code == 200
    return str(answer.content.decode())


def done(client: Any, job: Job, day: date, **data: Any) -> Any:
    """Send the answer to a job as a browser does."""
    return post(client, job.farm, "job-done", job.pk, **{"on": day.isoformat(), **data})


def test_the_card_says_what_why_where_and_under_which_weather(client, farm, opening, today):
    screw = make_material(farm, kind="fastener", code="screw-8", name="Screw no 8")
    StockMove.objects.create(farm=farm, material=screw, quantity=3, on=today, reason="bought")
    job = job_of(
        opening, today, name={"en": "Tighten the channel"}, why={"en": "Screws work loose."}, minutes=45, crew=2,
        checklist={"en": ["Door down", "Stop above {gust:13.4112}"]}, tools={"en": ["step ladder", "driver"]},
        parts=[{"material": "screw-8", "quantity": 6}], most_gust_m_s=Decimal("13.41"), needs_dry=True,
        source="common practice, no source",
    )  # fmt: skip

    text = card(client, job)

    for words in (
        "T08-W", "Tighten the channel", "Screws work loose.", "45 min × 2 people", "dry, gusts below 30 mph",
        "step ladder, driver", "Stop above 30 mph", "6 × Screw no 8", "3 in store", "Somebody holds the ladder",
        "common practice, no source", "10 days left",
    ):  # fmt: skip
        assert words in text, words


def test_a_sized_door_is_drawn_on_the_card(client, farm, opening, today):
    job = job_of(opening, today)
    assert "<svg" not in card(client, job)
    resize_openings(farm=farm)

    assert "Door T08-W in elevation" in card(client, job)


def test_finishing_keeps_minutes_ticks_note_and_parts(client, farm, opening, today):
    hook, clamp = make_material(farm, kind="other", code="hook"), make_material(farm, kind="clamp", code="clamp-x")
    client.force_login(make_member(farm, "crew").user)
    job = job_of(opening, today, checklist={"en": ["one", "two"]}, parts=[{"material": "hook", "quantity": 2}])

    answer = done(
        client, job, today - timedelta(days=1), minutes="25", ticks=["1"], note="cord frayed", quantity_0="2",
        material_0=hook.pk, material_1=clamp.pk, quantity_1="1",
    )  # fmt: skip

    assert answer["Location"] == reverse("due", args=[farm.slug])
    job.refresh_from_db()
    assert (job.state, job.ended_on, job.minutes_spent, job.ticks, job.note) == (
        "done", today - timedelta(days=1), 25, [1], "cord frayed"
    )  # fmt: skip
    moves = StockMove.objects.order_by("pk").values_list("material", "quantity", "reason")
    assert list(moves) == [(hook.pk, -2, "used"), (clamp.pk, -1, "used")]
    text = card(client, job)
    assert "took 25 min" in text
    assert f"2 × {hook.name}" in text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"minutes": "-5"}, "greater than or equal to 0"),
        ({"minutes": "soon"}, "whole number"),
        ({"on": "2999-01-01"}, "has not come yet"),
        ({"on": "yesterday"}, "valid date"),
        ({"ticks": ["7"]}, "7 is not one of the available choices"),
        ({"quantity_0": "3"}, "Choose which part was used"),
        ({"material_0": "999999", "quantity_0": "1"}, "999999 is not one of the available choices"),
    ],
)
def test_a_refused_answer_comes_back_with_what_was_written(client, farm, opening, today, data, words):
    job = job_of(opening, today, checklist={"en": ["one"]})

    answer = done(client, job, today, **{"note": "cord frayed", **data})

    text = answer.content.decode()
    assert answer.status_code == 422
    assert words in text
    assert "cord frayed" in text
    assert "Nothing is saved yet" in text
    job.refresh_from_db()
    assert job.state == "open"


def test_whoever_comes_second_reads_who_was_first_and_keeps_nothing(client, farm, opening, today):
    job = job_of(opening, today)
    first = make_member(farm, "crew").user
    url = reverse("job-done", args=[farm.slug, job.pk])
    assert client.get(url).status_code == 200
    working.finish(job=job, by=first, now=timezone.now(), on=today)

    answer = client.post(url, {"on": today.isoformat(), "note": "me too"})

    assert answer["Location"] == reverse("job", args=[farm.slug, job.pk])
    job.refresh_from_db()
    assert (job.note, job.events.count()) == ("", 1)


def test_a_held_job_asks_for_the_one_before(client, farm, opening, today):
    first = job_of(opening, today, name={"en": "Shade off"})
    job = job_of(opening, today)
    job.waits_for.add(first)

    assert "Shade off" in card(client, job)
    assert 'name="note"' not in card(client, job)
    answer = done(client, job, today)

    assert answer.status_code == 422
    job.refresh_from_db()
    assert job.state == "open"


# Screws ---------------------------------------------------------------------------


@pytest.fixture
def screws(opening: Opening, today: date) -> Job:
    return job_of(opening, today, answer="screws")


def spots(client: Any, job: Job) -> list[str]:
    """Return the screws the card asks for, in order."""
    form = client.get(reverse("job", args=[job.farm.slug, job.pk])).context["done"]
    return [name for _spot, _outcome, name in form.spots]


def test_the_card_asks_for_the_screws_of_the_sheet_and_of_earlier_checks(client, farm, opening, screws, today):
    check = {"farm": farm, "opening": opening, "outcome": "tight"}
    ScrewCheck.objects.create(**check, spot="right jamb, clamp 4", on=today - timedelta(days=90))
    ScrewCheck.objects.create(**check, spot="Right jamb, clamp 4", on=today - timedelta(days=5))
    assert spots(client, screws) == ["Right jamb, clamp 4", "", ""]
    resize_openings(farm=farm)

    asked = spots(client, screws)

    clamps = len(asked) - 3
    assert clamps > 3
    assert asked == ["Right jamb, clamp 4", *(f"Sill bar, clamp {number}" for number in range(1, clamps + 1)), "", ""]
    assert "checked" not in "".join(re.findall(r'<input type="radio"[^>]*>', card(client, screws)))


ANSWERS = {
    "known_spots": "3", "spot_0": "clamp 1", "spot_1": "clamp 2", "spot_2": "clamp 3", "outcome_1": "spun",
    "spot_3": "left jamb, clamp 9", "outcome_3": "missing",
}  # fmt: skip


def test_all_others_are_tight_with_one_button(client, farm, screws, today):
    answer = done(client, screws, today, **ANSWERS, others_tight="1")

    assert answer.status_code == 302
    checks = ScrewCheck.objects.order_by("pk").values_list("spot", "outcome")
    assert list(checks) == [
        ("clamp 1", "tight"), ("clamp 2", "spun"), ("clamp 3", "tight"), ("left jamb, clamp 9", "missing")
    ]  # fmt: skip
    assert sorted(Repair.objects.values_list("spot", "mode")) == [
        ("clamp 2", "spun"), ("left jamb, clamp 9", "missing")
    ]  # fmt: skip


def test_a_screw_without_an_answer_is_asked_for_and_the_others_are_kept(client, farm, screws, today):
    answer = done(client, screws, today, **ANSWERS)

    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Not answered: clamp 1; clamp 3." in text
    assert re.search(r'name="outcome_1" value="spun"[^>]* checked', text)
    assert "left jamb, clamp 9" in text
    assert not ScrewCheck.objects.exists()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"outcome_0": "tight"}, "Write which screw this is"),
        ({"known_spots": "1", "spot_0": "clamp 1", "outcome_0": "welded"}, "welded is not one of the available"),
        ({"known_spots": "999999999999", "spot_0": "x" * 81, "outcome_0": "tight"}, "at most 80 characters"),
        ({}, "Say of each screw"),
    ],
)
def test_answers_that_cannot_be_are_refused(client, screws, today, data, words):
    answer = done(client, screws, today, **data)

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not ScrewCheck.objects.exists()


# A new part -----------------------------------------------------------------------


def test_a_job_of_a_worn_part_asks_for_the_new_one(client, farm, opening, today):
    film = make_component(opening, kind="door_film", fitted_on=date(2020, 9, 1))
    job = job_of(film, today, answer="replaced", trigger="age", target="component")
    sheet = make_material(farm, kind="film", code="film-x")

    refused = done(client, job, today, new_quantity="1")
    answer = done(client, job, today, new_reason="worn", new_material=sheet.pk, new_quantity="1", new_lot="L7")

    assert refused.status_code == 422
    assert answer.status_code == 302
    fresh = Component.objects.get(replaces=film)
    assert (fresh.kind, fresh.material, fresh.lot, fresh.fitted_on) == ("door_film", sheet, "L7", today)


# Who may do what ------------------------------------------------------------------


def test_a_viewer_looks_and_does_nothing(client, farm, opening, today):
    job = job_of(opening, today)
    client.force_login(make_member(farm, "viewer").user)

    text = card(client, job)

    assert not re.search(r'name="action"|name="note"', text)
    assert done(client, job, today).status_code == 403
    assert post(client, farm, "job-change", job.pk, action="done").status_code == 403


@pytest.mark.parametrize(
    "data",
    [{"action": "skip", "skip-reason": "rain"}, {"action": "put-off", "later-until": "2999-01-01"},
     {"action": "give-up"}, {"action": "assign", "to": ""}],
)  # fmt: skip
def test_only_a_manager_disposes_of_another_persons_job(client, farm, opening, today, data):
    job = job_of(opening, today)
    Job.objects.filter(pk=job.pk).update(assigned_to=make_member(farm, "crew").user)
    client.force_login(make_member(farm, "crew").user)

    assert post(client, farm, "job-change", job.pk, **data).status_code == 403

    assert not job.events.exists()


def test_the_manager_gives_a_job_to_anybody_of_the_farm_who_works(client, farm, opening, today):
    teo, guest = make_member(farm, "crew").user, make_member(farm, "viewer").user
    stranger = make_member(role="crew").user
    job = job_of(opening, today)

    for nobody in (guest, stranger):
        answer = post(client, farm, "job-change", job.pk, action="assign", to=nobody.pk)
        assert answer.status_code == 422
    answer = post(client, farm, "job-change", job.pk, action="assign", to=teo.pk)

    job.refresh_from_db()
    assert (answer.status_code, job.assigned_to) == (302, teo)


def test_skipping_needs_a_reason_and_putting_off_a_day(client, farm, opening, today):
    client.force_login(make_member(farm, "crew").user)
    job = job_of(opening, today)

    refused = [
        post(client, farm, "job-change", job.pk, **data).status_code
        for data in (
            {"action": "skip", "skip-reason": " "}, {"action": "put-off", "later-until": ""},
            {"action": "put-off", "later-until": today.isoformat()},
            {"action": "put-off", "later-until": "2999-01-01"},
        )
    ]  # fmt: skip
    later = today + timedelta(days=20)
    post(client, farm, "job-change", job.pk, **{"action": "put-off", "later-until": later.isoformat()})
    job.refresh_from_db()
    assert (refused, job.until_on, job.due_on) == ([422] * 4, later, today)

    post(client, farm, "job-change", job.pk, **{"action": "skip", "skip-reason": "The tunnel is empty"})
    job.refresh_from_db()
    assert (job.state, job.note) == ("skipped", "The tunnel is empty")


def test_what_was_done_is_taken_back_by_who_did_it_or_a_manager(client, farm, opening, today):
    job = job_of(opening, today)
    working.finish(job=job, by=make_member(farm, "crew").user, now=timezone.now(), on=today)
    manager = client.session["_auth_user_id"]
    client.force_login(make_member(farm, "crew").user)

    assert 'value="undo"' not in card(client, job)
    answer = post(client, farm, "job-change", job.pk, action="undo")
    assert "Only they or a manager can take it back" in said(answer)
    client.force_login(type(job.events.get().by).objects.get(pk=manager))
    assert 'value="undo"' in card(client, job)
    post(client, farm, "job-change", job.pk, action="undo")

    job.refresh_from_db()
    assert (job.state, job.ended_on) == ("open", None)
    assert "taken back" in card(client, job)


def test_a_button_that_is_none_of_ours_does_nothing(client, farm, opening, today):
    job = job_of(opening, today)

    for action in ("", "burn"):
        assert "Choose one of its buttons" in said(post(client, farm, "job-change", job.pk, action=action))

    assert not job.events.exists()


def test_begin_take_and_give_back(client, farm, opening, today):
    crew = make_member(farm, "crew").user
    client.force_login(crew)
    job = job_of(opening, today)

    states = []
    for action in ("take", "give-up", "start"):
        post(client, farm, "job-change", job.pk, action=action)
        job.refresh_from_db()
        states.append((job.state, job.assigned_to))

    assert states == [("open", crew), ("open", None), ("started", crew)]


def test_a_routine_is_read_in_the_members_language(client, farm, opening, today):
    job = job_of(
        opening, today, name={"en": "Tighten", "es": "Apretar"}, checklist={"en": ["Door down"], "es": ["Puerta abajo"]}
    )
    client.force_login(make_member(farm, "crew", language="es").user)

    text = card(client, job)

    assert ("Apretar" in text, "Puerta abajo" in text, "Door down" in text) == (True, True, False)


def test_the_card_costs_as_many_queries_for_many_events_as_for_few(client, farm, opening, today):
    job = job_of(opening, today)
    teo = make_member(farm, "crew").user

    counts = []
    for days in (20, 30, 40):
        working.put_off(job=job, by=teo, now=timezone.now(), on=today, until=today + timedelta(days=days))
        with CaptureQueriesContext(connection) as queries:
            card(client, job)
        counts.append(len(queries))

    assert counts == [counts[0]] * 3
    assert counts[0] <= 18


def test_a_faults_card_leads_to_the_fault_and_cannot_be_skipped(client, farm, opening, today):
    repair = log_fault(
        farm=farm, place=opening, part="clamp", spot="clamp 4", mode="spun", found_on=today, by=None, now=timezone.now()
    )
    assert repair.job is not None

    text = card(client, repair.job)

    assert reverse("repair", args=[farm.slug, repair.pk]) in text
    assert 'value="skip"' not in text
