"""The morning list: to whom, when, what is in it, in which words; and what is told at once."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Farm, Membership
from maintenance.messages.digest import write_digests, write_urgent, write_urgent_jobs
from maintenance.models import Contact, Job, Reminder, Routine
from maintenance.work.faults import log_fault
from tests.factories import make_farm, make_member, make_opening, make_tunnel, make_wall
from tests.messages import make_device, make_person
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 24)
FIVE = datetime(2026, 11, 24, 5, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def days(count: int) -> date:
    return TODAY + timedelta(days=count)


def farm_with_jobs(*untils: int, **values: Any) -> Farm:
    """Make a farm whose jobs have to be done so many days from today."""
    farm = make_farm(name="North", **values)
    for until in untils:
        add_job(farm, until)
    return farm


def add_job(farm: Farm, until: int, name: str = "Look at the hooks", **values: Any) -> Job:
    columns = {key: values.pop(key) for key in ("rhythm", "is_urgent", "answer", "checklist") if key in values}
    routine = make_routine(farm, name={"en": name, "es": f"{name}, en español"}, **columns)
    opening = make_opening(make_wall(make_tunnel(farm)))
    dates = {"due_on": days(until - 5), "until_on": days(until), "opened_at": FIVE - timedelta(hours=1)}
    return make_job(make_plan(routine, opening), **{**dates, **values})


def lists(**filters: Any) -> list[Reminder]:
    return list(Reminder.objects.filter(kind="digest", **filters).order_by("pk"))


def test_the_list_says_what_is_late_what_is_for_today_and_what_for_the_week() -> None:
    farm = farm_with_jobs(-2, -1, 0, 6, 7, 8)
    make_person(farm, "manager")

    write_digests(now=FIVE)

    (letter,) = lists()
    assert letter.subject == "North: 2 late, 1 for today, 1 for this week"
    blocks = letter.body.split("\n\n")
    assert [block.splitlines()[0] for block in blocks] == [
        "Late, by date or age (2)",
        "Today at the latest, by date or age (1)",
        "By 2026-11-30, by date or age (1)",
        "2 more jobs have longer.",
    ]
    assert letter.expires_at is not None
    assert letter.expires_at > FIVE


def test_a_line_says_where_what_how_it_stands_and_why() -> None:
    farm = make_farm()
    job = add_job(farm, -3, name="Tighten the clamps")
    make_person(farm, "manager")

    write_digests(now=FIVE)

    (letter,) = lists()
    line = letter.body.splitlines()[1]
    assert line.startswith(f"- {job.plan.opening.code}: Tighten the clamps (3 days late). ")
    assert line.endswith("Never logged yet; it is done every 90 days.")


def test_a_fault_is_named_with_its_spot_once() -> None:
    farm = make_farm()
    opening = make_opening(make_wall(make_tunnel(farm)))
    boss = make_person(farm, "manager")
    log_fault(
        farm=farm, place=opening, part="clamp", spot="right jamb, clamp 4", mode="loose", found_on=days(-20),
        by=boss.user, now=FIVE,
    )  # fmt: skip
    Job.objects.update(until_on=days(-1))

    write_digests(now=FIVE)

    (line,) = lists()[0].body.splitlines()[1:]
    assert line.startswith(f"- {opening.code}: ")
    assert line.count("right jamb, clamp 4") == 1


def test_the_three_rhythms_are_never_mixed() -> None:
    farm = make_farm()
    for number, rhythm in enumerate(["cycle", "daily", "event", "cycle", "daily", "event"]):
        add_job(farm, -1 - number, rhythm=rhythm, name=f"{rhythm} work")
    make_person(farm, "manager")

    write_digests(now=FIVE)

    (letter,) = lists()
    for block, (heading, word) in zip(
        letter.body.split("\n\n"),
        [("after weather", "event"), ("daily round", "daily"), ("by date", "cycle")],
        strict=True,
    ):
        head, *lines = block.splitlines()
        assert heading in head
        assert len(lines) == 2
        assert all(f"{word} work" in line for line in lines)


def test_crews_get_their_own_and_what_nobody_has_and_managers_everything() -> None:
    farm = make_farm()
    anna, ben, boss = make_person(farm), make_person(farm), make_person(farm, "manager")
    add_job(farm, 0, name="Free")
    add_job(farm, 0, name="Annas", assigned_to=anna.user)
    add_job(farm, 0, name="Bens", assigned_to=ben.user)
    add_job(farm, 20, name="Later", assigned_to=ben.user)

    write_digests(now=FIVE)

    found = {row.membership_id: row.body for row in lists()}
    named = {pk: {name for name in ("Free", "Annas", "Bens") if name in body} for pk, body in found.items()}
    assert named == {anna.pk: {"Free", "Annas"}, ben.pk: {"Free", "Bens"}, boss.pk: {"Free", "Annas", "Bens"}}
    assert ["1 more job has longer." in found[pk] for pk in (anna.pk, ben.pk, boss.pk)] == [False, True, True]


def test_who_has_nothing_to_do_gets_no_list() -> None:
    farm = make_farm()
    anna, ben = make_person(farm), make_person(farm)
    add_job(farm, 0, assigned_to=anna.user)

    write_digests(now=FIVE)

    assert [row.membership_id for row in lists()] == [anna.pk]
    assert lists(membership=ben) == []


def test_ended_jobs_and_other_farms_are_not_in_it() -> None:
    farm, other = farm_with_jobs(), farm_with_jobs(0)
    add_job(farm, 0, state="done", ended_on=TODAY)
    make_person(farm, "manager")

    write_digests(now=FIVE)

    assert lists(farm=farm) == []
    assert other.jobs.count() == 1


@pytest.mark.parametrize(
    ("role", "wishes", "told"),
    [
        ("viewer", None, False), ("viewer", {"has_digest": True}, True), ("crew", {"has_digest": False}, False),
        ("manager", None, True), ("crew", None, True),
    ],
)  # fmt: skip
def test_who_gets_a_list(role: str, wishes: dict[str, Any] | None, told: bool) -> None:
    farm = farm_with_jobs(0)
    member = make_person(farm, role, **(wishes or {}))
    if wishes is None:
        Contact.objects.filter(membership=member).delete()
        member.user.email = "them@farm.example"
        member.user.save()

    write_digests(now=FIVE)

    assert bool(lists(membership=member)) is told


@pytest.mark.parametrize(
    ("zone", "at", "now", "told"),
    [
        ("UTC", "05:00", "2026-11-24T04:59", False),
        ("UTC", "05:00", "2026-11-24T05:00", True),
        ("UTC", "05:00", "2026-11-24T10:59", True),
        ("UTC", "05:00", "2026-11-24T11:05", False),
        ("UTC", "06:30", "2026-11-24T05:00", False),
        ("America/New_York", "05:00", "2026-11-24T09:59", False),
        ("America/New_York", "05:00", "2026-11-24T10:00", True),
        ("Pacific/Auckland", "05:00", "2026-11-23T16:00", True),
        ("Pacific/Auckland", "05:00", "2026-11-23T15:59", False),
        # The clock skips 2:00 to 3:00 on 29 March, and shows 2:00 to 3:00 twice on 25 October.
        ("Europe/Madrid", "02:30", "2026-03-29T00:59", False),
        ("Europe/Madrid", "02:30", "2026-03-29T01:00", True),
        ("Europe/Madrid", "02:30", "2026-10-25T00:29", False),
        ("Europe/Madrid", "02:30", "2026-10-25T00:30", True),
        ("Australia/Lord_Howe", "02:15", "2026-10-03T15:29", False),
        ("Australia/Lord_Howe", "02:15", "2026-10-03T15:30", True),
    ],
)
def test_the_hour_is_the_farms(zone: str, at: str, now: str, told: bool) -> None:
    moment = datetime.fromisoformat(now).replace(tzinfo=UTC)
    farm = make_farm(time_zone=zone)
    add_job(farm, 0, due_on=date(2026, 1, 1), until_on=date(2026, 1, 2))
    make_person(farm, "manager", digest_at=at)

    write_digests(now=moment)

    assert bool(lists()) is told


def test_a_list_comes_once_a_day_also_where_an_hour_comes_twice() -> None:
    farm = make_farm(time_zone="Europe/Madrid")
    add_job(farm, 0, due_on=date(2026, 1, 1), until_on=date(2026, 1, 2))
    make_person(farm, "manager", digest_at="02:30")
    start = datetime(2026, 10, 25, 0, 0, tzinfo=UTC)

    for number in range(24):
        write_digests(now=start + number * 5 * MINUTE)
    assert [row.key for row in lists()] == ["digest-2026-10-25"]
    write_digests(now=start + timedelta(days=1, hours=2))
    assert [row.key for row in lists()] == ["digest-2026-10-25", "digest-2026-10-26"]


def test_each_reads_in_ones_own_language_and_units() -> None:
    farm = make_farm(language="en", units="us")
    add_job(farm, -1, rhythm="event", name="Film {length:0.6096}")
    make_person(farm, "manager")
    member = make_person(farm, "manager")
    Membership.objects.filter(pk=member.pk).update(language="es", units="metric")

    write_digests(now=FIVE)

    first, second = (row.body for row in lists())
    assert 'Film 24" (1 day late)' in first
    assert "Film 610 mm, en español" in second


def test_many_members_cost_no_more_queries_than_few() -> None:
    def queries(count: int) -> int:
        farm = farm_with_jobs(*range(-5, 5))
        for number in range(count):
            make_device(make_person(farm, "crew" if number % 2 else "manager"))
        with CaptureQueriesContext(
            connection,
        ) as captured:
            write_digests(now=FIVE)
        assert len(lists(farm=farm)) == 2 * count
        return len(captured)

    few, many = queries(2), queries(12)

    assert many == few


def test_what_cannot_wait_is_told_to_those_it_concerns() -> None:
    farm = make_farm(name="North")
    anna, ben, boss = make_person(farm), make_person(farm), make_person(farm, "manager")
    make_person(farm, "viewer", has_digest=False)
    make_person(make_farm(), "manager")
    job = add_job(farm, 0, name="Strap it", assigned_to=anna.user, checklist={"en": ["Slack first"], "es": []})

    write_urgent(job=job, now=FIVE)
    write_urgent(job=job, now=FIVE + MINUTE)

    rows = Reminder.objects.order_by("pk")
    assert [row.membership_id for row in rows] == [anna.pk, boss.pk]
    assert {row.key for row in rows} == {f"job-{job.pk}"}
    assert {row.job_id for row in rows} == {job.pk}
    assert rows[0].subject == f"North: {job.plan.opening.code}, Strap it"
    assert "today at the latest" in rows[0].body
    assert "- Slack first" in rows[0].body
    assert ben.reminders.count() == 0


def test_urgent_jobs_are_found_and_the_others_wait_for_the_morning() -> None:
    farm = make_farm()
    make_person(farm)
    urgent = add_job(farm, 0, is_urgent=True)
    add_job(farm, 0)
    add_job(farm, 0, is_urgent=True, opened_at=FIVE - timedelta(days=2))
    add_job(farm, 0, is_urgent=True, state="done", ended_on=TODAY)

    write_urgent_jobs(now=FIVE)
    write_urgent_jobs(now=FIVE + MINUTE)

    assert [row.job_id for row in Reminder.objects.all()] == [urgent.pk]
    assert Routine.objects.filter(is_urgent=True).count() == 3


def test_members_without_wishes_are_told_as_usual() -> None:
    farm = farm_with_jobs(0)
    member = make_member(farm, "crew")
    make_device(member)

    write_digests(now=FIVE)

    assert [row.way for row in lists()] == ["push"]
