"""A person's calendar at a secret address. Rules are those of RFC 5545 (2009) and RFC 7986 (2016)."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from doors.views.shared import today
from farm.models import Farm, Membership
from maintenance.messages.feeds import calendar_of, make_feed, revoke_feed
from maintenance.models import CalendarFeed, Job, JobEvent
from tests.factories import make_farm, make_opening, make_tunnel, make_wall
from tests.messages import NOW, make_person
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 24)
DAY = timedelta(days=1)


def add_job(farm: Farm, due: int = 0, until: int = 2, *, routine: dict[str, Any] | None = None, **values: Any) -> Job:
    opening = make_opening(make_wall(make_tunnel(farm)))
    dates = {"due_on": TODAY + due * DAY, "until_on": TODAY + until * DAY}
    return make_job(make_plan(make_routine(farm, **(routine or {})), opening), **{**dates, "opened_at": NOW, **values})


def feed_of(member: Membership) -> CalendarFeed:
    make_feed(membership=member, now=NOW)
    return CalendarFeed.objects.select_related("membership__farm", "membership__user").latest("pk")


def events(member: Membership, on: date = TODAY) -> list[Any]:
    return list(Calendar.from_ical(calendar_of(feed_of(member), on=on)).walk("VEVENT"))


def test_the_secret_is_shown_once_and_only_its_hash_is_kept() -> None:
    member = make_person()

    tokens = {make_feed(membership=member, now=NOW) for _ in range(2)}

    kept = "".join(CalendarFeed.objects.values_list("token_hash", flat=True))
    assert len(tokens) == 2
    assert min(len(token) for token in tokens) >= 43  # 32 octets of base64
    assert not any(token in kept for token in tokens)


def test_a_calendar_program_reads_it_without_a_log_in(client: Client) -> None:
    member = make_person()
    token = make_feed(membership=member, now=NOW)

    answer = client.get(reverse("calendar-feed", args=[token]))

    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert "private" in answer["Cache-Control"]
    assert CalendarFeed.objects.get().last_read_at is not None


@pytest.mark.parametrize("why", ["unknown", "revoked", "inactive", "left"])
def test_an_address_that_is_closed_is_not_there(client: Client, why: str) -> None:
    member = make_person()
    token = make_feed(membership=member, now=NOW)
    other = make_feed(membership=make_person(), now=NOW)
    if why == "unknown":
        token = "x" * 43
    if why == "revoked":
        revoke_feed(feed=CalendarFeed.objects.get(membership=member), now=NOW)
    if why == "inactive":
        member.user.is_active = False
        member.user.save()
    if why == "left":
        member.delete()

    assert client.get(reverse("calendar-feed", args=[token])).status_code == 404
    assert client.get(reverse("calendar-feed", args=[other])).status_code == 200


def test_it_is_not_sent_again_to_who_has_it(client: Client) -> None:
    member = make_person()
    add_job(member.farm)
    path = reverse("calendar-feed", args=[make_feed(membership=member, now=NOW)])
    first = client.get(path)

    second = client.get(path, headers={"if-none-match": first["ETag"]})
    Job.objects.update(until_on=today(member.farm) + 99 * DAY)
    third = client.get(path, headers={"if-none-match": first["ETag"]})

    assert (second.status_code, second.content) == (304, b"")
    assert third.status_code == 200
    assert third["ETag"] != first["ETag"]


def test_the_calendar_says_what_the_standard_asks() -> None:
    member = make_person(make_farm(name="North", language="es"))

    text = calendar_of(feed_of(member), on=TODAY)

    calendar = Calendar.from_ical(text)
    assert calendar["VERSION"] == "2.0"
    assert "PRODID" in calendar
    assert b"NAME;LANGUAGE=es:" in text
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in text
    assert b"X-" not in text


def test_a_job_is_an_event_over_its_whole_days() -> None:
    member = make_person()
    routine = {"name": {"en": "Tighten; clamps, all"}, "checklist": {"en": ["Slack first", "Then the lock"]}}
    job = add_job(member.farm, -1, 1, routine=routine)
    changed = datetime(2026, 11, 24, 13, 30, tzinfo=UTC)
    JobEvent.objects.create(job=job, kind="assigned", at=changed)

    (event,) = events(member)

    place = job.plan.opening.code
    assert event["UID"].startswith(f"{job.plan_id}-20261123@")
    assert event["SUMMARY"] == f"Tighten; clamps, all, {place}"
    assert event["LOCATION"] == place
    assert event.decoded("DTSTART") == date(2026, 11, 23)
    assert event.decoded("DTEND") == date(2026, 11, 26)  # the day after the last: the end is excluded
    assert event.decoded("DTSTAMP") == changed
    assert event.decoded("LAST-MODIFIED") == changed
    assert event["SEQUENCE"] == 2
    assert event["STATUS"] == "CONFIRMED"
    assert event["TRANSP"] == "TRANSPARENT"
    assert event["URL"].endswith(reverse("job", args=[member.farm.slug, job.pk]))
    assert "To do from 2026-11-23 until 2026-11-25." in event["DESCRIPTION"]
    assert "Never logged yet" in event["DESCRIPTION"]
    assert "- Slack first\n- Then the lock" in event["DESCRIPTION"]


def test_a_long_window_stands_on_its_first_day() -> None:
    member = make_person()
    add_job(member.farm, 0, 4)

    (event,) = events(member)

    assert (event.decoded("DTSTART"), event.decoded("DTEND")) == (TODAY, TODAY + DAY)
    assert "until 2026-11-28" in event["DESCRIPTION"]


@pytest.mark.parametrize(
    ("state", "ended", "status"),
    [
        ("started", None, "CONFIRMED"), ("done", 0, "CONFIRMED"), ("skipped", 0, "CANCELLED"),
        ("lapsed", -30, "CANCELLED"), ("done", -31, None),
    ],
)  # fmt: skip
def test_what_ended_lately_stays_for_a_while(state: str, ended: int | None, status: str | None) -> None:
    member = make_person()
    add_job(member.farm, state=state, ended_on=None if ended is None else TODAY + ended * DAY)

    assert [event["STATUS"] for event in events(member)] == ([status] if status else [])


def test_what_is_planned_for_a_year_stands_there_and_keeps_its_name_when_it_falls_due() -> None:
    member = make_person()
    opening = make_opening(make_wall(make_tunnel(member.farm)))
    soon, far = TODAY + 365 * DAY, TODAY + 366 * DAY
    plan = make_plan(make_routine(member.farm), opening, due_on=soon, until_on=soon + DAY)
    make_plan(make_routine(member.farm), opening, due_on=far, until_on=far)
    make_plan(make_routine(member.farm, is_active=False), opening, due_on=soon, until_on=soon)
    make_plan(make_routine(member.farm), opening, ended_on=TODAY)

    (planned,) = events(member)
    make_job(plan, due_on=soon, until_on=soon + DAY)
    (opened,) = events(member)

    assert planned.decoded("DTSTART") == soon
    assert (planned["STATUS"], planned["SEQUENCE"]) == ("TENTATIVE", 0)
    assert opened["UID"] == planned["UID"]
    assert opened["SEQUENCE"] > planned["SEQUENCE"]


def test_crews_read_their_own_and_nobody_reads_another_farms() -> None:
    farm = make_farm()
    anna, ben, boss = make_person(farm), make_person(farm), make_person(farm, "manager")
    add_job(farm, assigned_to=anna.user)
    add_job(farm)
    add_job(make_farm())

    assert [len(events(member)) for member in (anna, ben, boss)] == [2, 1, 2]


def test_it_asks_the_same_of_the_database_for_one_and_for_many() -> None:
    def queries(count: int) -> int:
        member = make_person()
        for number in range(count):
            job = add_job(member.farm, -number)
            make_plan(job.plan.routine, make_wall(job.plan.tunnel), due_on=TODAY + DAY, until_on=TODAY + DAY)
        feed = feed_of(member)
        with CaptureQueriesContext(connection) as captured:
            assert calendar_of(feed, on=TODAY).count(b"BEGIN:VEVENT") == 2 * count
        return len(captured)

    assert queries(1) == queries(4) <= 4


# What people type: any text but surrogates. RFC 5545, 3.3.11, has no room for controls besides tab and line feed.
WORDS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=120)


@given(words=WORDS)
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_words_survive_the_calendar(words: str) -> None:
    member = make_person()
    try:
        job = add_job(member.farm, routine={"name": {"en": f"a{words}".replace("\x00", "")}})
        text = calendar_of(feed_of(member), on=TODAY)
        (event,) = Calendar.from_ical(text).walk("VEVENT")
    finally:
        Job.objects.all().delete()

    lines = text.split(b"\r\n")
    assert text.endswith(b"\r\n")
    assert max(len(line) for line in lines) <= 75  # octets, without the line end
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    for line in lines:
        line.decode()  # no character is cut in two
    written = f"a{words}, {job.plan.opening.code}".replace("\r\n", "\n").replace("\r", "\n")
    printable = "".join(
        letter for letter in written if letter in "\n\t" or not (ord(letter) < 32 or ord(letter) == 127)
    )
    assert str(event["SUMMARY"]) == printable
