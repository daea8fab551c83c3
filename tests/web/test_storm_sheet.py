"""The storm sheet: whose it is, what each may say, the manager's order, film, opening again, and pictures."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from maintenance.hands.photos import keep_photo
from maintenance.models import FilmDecision, Photo, Reopening, StormTask
from tests.factories import make_farm, make_member, make_tunnel
from tests.hands_rows import DEADLINE, MORNING, here, make_storm, make_task, picture_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm():
    return make_farm()


@pytest.fixture
def teo(farm):
    return make_member(farm, "crew")


@pytest.fixture
def hanna(farm):
    return make_member(farm, "crew", language="es")


@pytest.fixture
def storm(farm, teo, hanna):
    storm = make_storm(farm)
    here(storm, teo)
    here(storm, hanna)
    return storm


def say(client, task, action, **body):
    path = reverse("storm-task", args=[task.storm.farm.slug, task.storm_id, task.pk])
    return client.post(path, {"action": action, **body})


def sheet(client, storm, query=""):
    answer = client.get(reverse("storm-sheet", args=[storm.farm.slug, storm.pk]) + query)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_sheet_shows_deadline_place_and_steps(client, storm, teo):
    task = make_task(storm, assigned_to=teo.user, begins_at=MORNING, is_windward=True)
    client.force_login(teo.user)

    text = sheet(client, storm)

    assert f"Done by {DEADLINE:%A} 17:00" in text
    assert task.opening.code in text
    assert "Both bar ends behind the posts, pins in" in text
    assert "pasadores puestos" in text  # on paper both languages stand


def test_the_steps_are_in_the_readers_language(client, storm, hanna):
    make_task(storm, assigned_to=hanna.user, begins_at=MORNING)
    client.force_login(hanna.user)

    assert "<li>Bajar con la manivela, nunca soltarla; lejos de la barra</li>" in sheet(client, storm)


def test_whoever_has_a_task_ticks_it(client, storm, teo):
    task = make_task(storm, assigned_to=teo.user)
    client.force_login(teo.user)

    answer = say(client, task, "done", minutes="8")

    task.refresh_from_db()
    assert answer.status_code == 302
    assert (task.state, task.done_by, task.minutes_spent) == ("done", teo.user, 8)


def test_the_crew_ticks_what_nobody_has_and_not_what_is_anothers(client, storm, teo, hanna):
    free, hers = make_task(storm), make_task(storm, assigned_to=hanna.user)
    client.force_login(teo.user)

    assert say(client, hers, "done").status_code == 403
    assert say(client, hers, "cannot", why="wind").status_code == 403
    assert say(client, free, "done").status_code == 302
    assert set(StormTask.objects.filter(state="done")) == {free}


def test_a_manager_ticks_for_anybody(client, storm, hanna, farm):
    hers = make_task(storm, assigned_to=hanna.user)
    client.force_login(make_member(farm, "manager").user)

    say(client, hers, "done")

    hers.refresh_from_db()
    assert hers.state == "done"


def test_a_viewer_looks_and_says_nothing(client, storm, teo, farm):
    task = make_task(storm, assigned_to=teo.user)
    viewer = make_member(farm, "viewer")
    client.force_login(viewer.user)

    text = sheet(client, storm, f"?person={teo.pk}")

    assert task.opening.code in text
    assert 'value="done"' not in text
    assert say(client, task, "done").status_code == 403


def test_a_task_of_another_storm_does_not_exist(client, storm, teo):
    task = make_task(storm, assigned_to=teo.user)
    other = make_storm(storm.farm, state="closed")
    client.force_login(teo.user)

    path = reverse("storm-task", args=[storm.farm.slug, other.pk, task.pk])

    assert client.post(path, {"action": "done"}).status_code == 404


@pytest.mark.parametrize("person", ["0", "x", "99999999999", "²"])
def test_a_sheet_of_nobody_does_not_exist(client, storm, teo, person):
    client.force_login(teo.user)

    path = reverse("storm-sheet", args=[storm.farm.slug, storm.pk])

    assert client.get(path, {"person": person}).status_code == 404


def test_a_second_tick_says_who_was_first(client, storm, teo, hanna):
    task = make_task(storm)
    client.force_login(hanna.user)
    say(client, task, "done")
    client.force_login(teo.user)

    answer = client.post(
        reverse("storm-task", args=[storm.farm.slug, storm.pk, task.pk]), {"action": "done"}, follow=True
    )

    assert f"{hanna.user.username} has already done it" in answer.content.decode()


def test_cannot_is_shown_with_its_reason_to_the_manager(client, storm, teo, farm):
    task = make_task(storm, assigned_to=teo.user)
    client.force_login(teo.user)
    say(client, task, "cannot", why="part", text="no pins")
    client.force_login(make_member(farm, "manager").user)

    text = client.get(reverse("storm-plan", args=[farm.slug, storm.pk])).content.decode()

    assert "a part or tool is missing: no pins" in text


def test_done_with_a_file_that_is_no_picture_stays_done(client, storm, teo):
    task = make_task(storm, assigned_to=teo.user)
    client.force_login(teo.user)

    say(client, task, "done", photo=SimpleUploadedFile("a.jpg", b"nothing"))

    task.refresh_from_db()
    assert task.state == "done"
    assert not Photo.objects.exists()


def test_a_picture_is_for_the_farms_members_only(client, storm, teo):
    task = make_task(storm, assigned_to=teo.user)
    client.force_login(teo.user)
    say(client, task, "photo", photo=picture_file())
    path = reverse("photo", args=[storm.farm.slug, Photo.objects.get().pk])

    answer = client.get(path)

    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer["Cache-Control"]
    assert client.get(path + "?small=1").content[:2] == b"\xff\xd8"
    client.force_login(make_member(make_farm(), "manager").user)
    assert client.get(path).status_code == 404


def test_a_picture_whose_file_is_gone_says_so(client, storm, teo):
    photo = keep_photo(farm=storm.farm, upload=picture_file(), by=teo.user, now=MORNING)
    photo.file.storage.delete(photo.file.name)
    client.force_login(teo.user)

    assert client.get(reverse("photo", args=[storm.farm.slug, photo.pk])).status_code == 410


def test_only_whoever_said_it_or_a_manager_takes_it_back(client, storm, teo, hanna):
    task = make_task(storm)
    client.force_login(hanna.user)
    say(client, task, "done")
    client.force_login(teo.user)

    say(client, task, "take-back")
    task.refresh_from_db()
    assert task.state == "done"
    client.force_login(hanna.user)
    say(client, task, "take-back")

    task.refresh_from_db()
    assert task.state == "open"


def test_the_manager_moves_and_gives_without_a_script(client, storm, teo, farm):
    first, second = (make_task(storm, assigned_to=teo.user, begins_at=MORNING, position=n) for n in (1, 2))
    client.force_login(make_member(farm, "manager").user)
    path = reverse("storm-plan", args=[farm.slug, storm.pk])

    moved = client.post(path, {"action": "up", "task": second.pk}, follow=True)
    given = client.post(path, {"action": "give", "task": first.pk, "to": teo.user.pk}, follow=True)
    wrong = client.post(path, {"action": "give", "task": first.pk, "to": "x"}, follow=True)

    assert (moved.status_code, given.status_code) == (200, 200)
    assert "Choose somebody from the list." in wrong.content.decode()
    assert StormTask.objects.get(pk=second.pk).is_pinned


def test_the_manager_puts_a_task_before_another(client, storm, teo, farm):
    first, second = (make_task(storm, assigned_to=teo.user, begins_at=MORNING, position=n) for n in (1, 2))
    client.force_login(make_member(farm, "manager").user)
    path = reverse("storm-plan", args=[farm.slug, storm.pk])
    stranger = make_member(farm, "crew")

    put = client.post(path, {"action": "place", "task": second.pk, "to": teo.user.pk, "before": first.pk}, follow=True)
    gone = client.post(path, {"action": "place", "task": first.pk, "to": stranger.user.pk, "before": ""}, follow=True)

    assert put.status_code == 200
    assert StormTask.objects.get(pk=second.pk).is_pinned
    assert not StormTask.objects.get(pk=first.pk).is_pinned
    assert "is not here before this storm" in gone.content.decode()


def test_a_decision_on_the_film_is_kept_or_said_why_not(client, storm, farm):
    client.force_login(make_member(farm, "manager").user)
    tunnel, path = make_tunnel(farm), reverse("storm-film", args=[farm.slug, storm.pk])

    refused = client.post(path, {"tunnel": tunnel.pk, "choice": "cut", "note": ""})
    kept = client.post(path, {"tunnel": tunnel.pk, "choice": "cut", "note": "frame bent", "insurer_told": "on"})

    assert (refused.status_code, kept.status_code) == (422, 302)
    assert FilmDecision.objects.get().insurer_told
    assert "frame bent" in client.get(path).content.decode()


def test_the_crew_opens_again_and_the_manager_names_who(client, storm, teo, farm):
    tunnel = make_tunnel(farm)
    row = Reopening.objects.create(storm=storm, tunnel=tunnel, due_at=DEADLINE)
    path = reverse("storm-reopen", args=[farm.slug, storm.pk])
    change = {"reopening": row.pk, "action": "change", "owner": teo.user.pk, "due_at": "2026-11-28T09:00"}
    client.force_login(teo.user)
    assert client.post(path, change).status_code == 403
    client.force_login(make_member(farm, "manager").user)
    assert client.post(path, {**change, "due_at": "soon"}).status_code == 422
    client.post(path, change)
    row.refresh_from_db()
    assert row.owner == teo.user
    client.force_login(teo.user)

    client.post(path, {"reopening": row.pk, "action": "done"})

    row.refresh_from_db()
    assert row.done_by == teo.user


@pytest.mark.parametrize("name", ["storm-sheet", "storm-plan"])
def test_the_pages_ask_as_often_for_three_tasks_as_for_one(client, storm, farm, name):
    boss = make_member(farm, "manager")
    client.force_login(boss.user)
    path = reverse(name, args=[farm.slug, storm.pk])
    make_task(storm, assigned_to=boss.user, begins_at=MORNING)
    client.get(path)
    before = _count(client, path)
    for _ in range(2):
        make_task(storm, assigned_to=boss.user, begins_at=MORNING)

    assert _count(client, path) == before


def _count(client, path):
    with CaptureQueriesContext(connection) as caught:
        client.get(path)
    return len(caught)
