"""The page behind a message's link: whoever holds it acts as its person, for a week, and no further."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from doors.views.shared import today
from farm.models import Farm, Membership
from maintenance.messages.answering import LIFE, path_of
from maintenance.models import Job, Reminder
from tests.factories import make_farm, make_member, make_opening, make_tunnel, make_wall
from tests.messages import make_person, make_reminder
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db


def add_job(farm: Farm, until: int = 0, **values: Any) -> Job:
    """Make a job that has to be done so many days from the farm's day."""
    columns = {key: values.pop(key) for key in ("answer", "checklist", "name") if key in values}
    opening = make_opening(make_wall(make_tunnel(farm)))
    on = today(farm)
    dates = {"due_on": on - timedelta(days=9), "until_on": on + timedelta(days=until)}
    return make_job(make_plan(make_routine(farm, **columns), opening), **{**dates, **values})


def link(member: Membership, job: Job | None = None, now: datetime | None = None) -> str:
    """Return the page of a fresh message about one job, or of a morning list."""
    kind = Reminder.Kind.NOW if job else Reminder.Kind.DIGEST
    return path_of(make_reminder(member, kind=kind, job=job, path="", now=now or timezone.now()))


@pytest.fixture
def visitor() -> Client:
    """A browser that nobody has logged in with, and that checks tokens of forms."""
    return Client(enforce_csrf_checks=True)


def press(visitor: Client, path: str, **said: Any) -> str:
    """Press a button of the page and return what the page says then."""
    token = visitor.get(path).cookies["gablekeep_csrf"].value
    answer = visitor.post(path, {**said, "csrfmiddlewaretoken": token}, follow=True)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_link_shows_the_job_and_does_nothing_by_itself(visitor: Client) -> None:
    member = make_person()
    job = add_job(member.farm, checklist={"en": ["Slack first"]})

    answer = visitor.get(link(member, job))

    text = answer.content.decode()
    assert answer.status_code == 200
    assert "no-store" in answer["Cache-Control"]
    assert job.plan.opening.code in text
    assert "Slack first" in text
    for button in ("Done", "I take it", "Not today"):
        assert f">{button}</button>" in text
    job.refresh_from_db()
    assert (job.state, job.assigned_to, job.events.count()) == ("open", None, 0)
    assert "_auth_user_id" not in visitor.session


def test_done_finishes_the_job_as_that_person(visitor: Client) -> None:
    member = make_person()
    job = add_job(member.farm)
    path = link(member, job)

    text = press(visitor, path, do="done", job=job.pk)

    job.refresh_from_db()
    assert (job.state, job.ended_on) == ("done", today(member.farm))
    assert job.events.get(kind="done").by == member.user
    assert "done." in text
    assert ">Done</button>" not in text
    assert Reminder.objects.get(membership=member).seen_at is not None


def test_i_take_it_gives_the_person_the_job(visitor: Client) -> None:
    member = make_person()
    job = add_job(member.farm)

    text = press(visitor, link(member, job), do="take", job=job.pk)

    job.refresh_from_db()
    assert job.assigned_to == member.user
    assert ">I take it</button>" not in text


@pytest.mark.parametrize("until", [0, -5])
def test_not_today_gives_the_job_until_tomorrow(visitor: Client, until: int) -> None:
    member = make_person()
    job = add_job(member.farm, until)

    press(visitor, link(member, job), do="later", job=job.pk)

    job.refresh_from_db()
    assert job.until_on == today(member.farm) + timedelta(days=1)


def test_a_job_that_has_time_is_not_offered_to_wait(visitor: Client) -> None:
    member = make_person()

    assert ">Not today</button>" not in visitor.get(link(member, add_job(member.farm, 3))).content.decode()


def test_a_job_that_asks_for_an_answer_is_finished_on_its_own_page(visitor: Client) -> None:
    member = make_person()
    job = add_job(member.farm, answer="screws")

    text = visitor.get(link(member, job)).content.decode()

    assert ">Done</button>" not in text
    assert reverse("job", args=[member.farm.slug, job.pk]) in text
    press(visitor, link(member, job), do="done", job=job.pk)
    job.refresh_from_db()
    assert job.state == "open"


def test_what_cannot_be_done_is_said(visitor: Client) -> None:
    member = make_person()
    first, second = add_job(member.farm, name={"en": "Slack the film"}), add_job(member.farm)
    second.waits_for.add(first)

    text = press(visitor, link(member, second), do="done", job=second.pk)

    second.refresh_from_db()
    assert second.state == "open"
    assert "Slack the film" in text


def test_the_list_shows_what_presses_and_can_be_seen(visitor: Client) -> None:
    member = make_person()
    late, later = add_job(member.farm, -3), add_job(member.farm, 30)
    path = link(member)

    text = press(visitor, path, do="seen")

    assert late.plan.opening.code in text
    assert later.plan.opening.code not in text
    assert "I have seen it" not in text
    assert Reminder.objects.get(membership=member).seen_at is not None


def test_a_viewer_sees_and_changes_nothing(visitor: Client) -> None:
    member = make_person(role="viewer")
    job = add_job(member.farm)
    path = link(member, job)
    page = visitor.get(path)

    refused = visitor.post(
        path, {"do": "done", "job": job.pk, "csrfmiddlewaretoken": page.cookies["gablekeep_csrf"].value}
    )

    assert ">Done</button>" not in page.content.decode()
    assert refused.status_code == 404
    job.refresh_from_db()
    assert job.state == "open"


def test_a_link_reaches_no_job_but_its_own(visitor: Client) -> None:
    member, stranger = make_person(), make_person()
    own, elsewhere = add_job(member.farm), add_job(stranger.farm)
    others = add_job(member.farm, assigned_to=make_member(member.farm, "crew").user)
    unasked = add_job(member.farm)

    for path in (link(member, own), link(member, now=timezone.now() + timedelta(seconds=1))):
        for job in (elsewhere, others):
            assert "no longer yours" in press(visitor, path, do="done", job=job.pk)
    assert "no longer yours" in press(visitor, link(member, own), do="done", job=unasked.pk)
    for number in ("", "x", "-1", "²", "9" * 18):
        assert "no longer yours" in press(visitor, link(member, own), do="done", job=number)

    assert set(Job.objects.values_list("state", flat=True)) == {"open"}


def test_a_form_without_its_token_is_refused(visitor: Client) -> None:
    member = make_person()
    job = add_job(member.farm)

    assert visitor.post(link(member, job), {"do": "done", "job": job.pk}).status_code == 403


@pytest.mark.parametrize("why", ["old", "inactive", "left", "changed", "nonsense"])
def test_a_link_that_is_closed_is_gone(visitor: Client, why: str) -> None:
    member = make_person()
    job = add_job(member.farm)
    made_at = timezone.now() - LIFE if why == "old" else timezone.now()
    path = link(member, job, made_at)
    if why == "inactive":
        member.user.is_active = False
        member.user.save()
    if why == "left":
        member.delete()
    if why == "changed":
        path = path[:-2] + "x/"
    if why == "nonsense":
        path = reverse("close-loop", args=["nonsense:x"])

    for answer in (visitor.get(path), Client().post(path, {"do": "done", "job": job.pk})):
        assert answer.status_code == 410
        assert "This link is closed" in answer.content.decode()
    job.refresh_from_db()
    assert job.state == "open"


def test_a_link_lives_nearly_a_week(visitor: Client) -> None:
    member = make_person()

    path = link(member, add_job(member.farm), timezone.now() - LIFE + timedelta(minutes=1))

    assert visitor.get(path).status_code == 200


def test_the_page_is_in_the_persons_language_and_asks_the_same_of_the_database_for_one_and_for_many(
    visitor: Client,
) -> None:
    def queries(count: int) -> int:
        member = make_person(make_farm(language="es"))
        for _number in range(count):
            add_job(member.farm)
        path = link(member)
        with CaptureQueriesContext(connection) as captured:
            text = visitor.get(path).content.decode()
        assert '<html lang="es">' in text
        assert text.count("Revisar los ganchos") == count
        return len(captured)

    assert queries(1) == queries(4)
