"""What is due: three lists, late first, in groups, filtered; and the buttons beside each job."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.template import Context, Template
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from farm.models import Farm
from maintenance.models import Job, Turn
from maintenance.work.faults import log_fault
from tests.factories import make_component, make_member, make_opening, make_tunnel, make_wall
from tests.forms import post, said
from tests.upkeep_rows import make_job, make_plan, make_routine

OF_THE_FRAME, OF_CALM_HOURS = 3, 2  # queries: what does not work and danger over every page, calm hours over the list

pytestmark = pytest.mark.django_db


def sections(client: Any, farm: Farm, **query: Any) -> dict[str, list[tuple[str, list[str]]]]:
    """Return the page's lists: by rhythm each group's heading with the places of its jobs."""
    shown = client.get(reverse("due", args=[farm.slug]), query).context["sections"]
    return {
        str(section.rhythm): [(band.heading, [row.place for row in band.rows]) for band in section.bands]
        for section in shown
    }


def job_at(farm: Farm, code: str, day: date, *, left: int, name: str = "Look at the hooks", **values: Any) -> Job:
    """Make a job at a new tunnel that may take so many days yet; ``rhythm`` and others are of its routine."""
    columns = {key: values.pop(key) for key in ("assigned_to", "state") if key in values}
    tunnel = make_tunnel(farm, code=code)
    routine = make_routine(farm, target="tunnel", name={"en": name, "es": f"{name} (es)"}, **values)
    until = day + timedelta(days=left)
    return make_job(make_plan(routine, tunnel), due_on=min(day, until), until_on=until, **columns)


def test_three_rhythms_are_three_lists_and_each_begins_with_what_is_late(client, farm, today):
    job_at(farm, "T01", today, left=400)
    job_at(farm, "T02", today, left=-3)
    job_at(farm, "T03", today, left=0, rhythm="daily")
    job_at(farm, "T04", today, left=-1, rhythm="event")
    job_at(farm, "T05", today, left=-9)

    shown = sections(client, farm)

    far = today + timedelta(days=400)
    week = f"week of {far - timedelta(days=far.weekday())}"
    assert list(shown) == ["event", "cycle", "daily"]
    assert shown == {
        "event": [("late", ["T04"])],
        "cycle": [("late", ["T05", "T02"]), (week, ["T01"])],
        "daily": [("this week", ["T03"])],
    }


def test_late_faults_that_cannot_wait_come_before_what_is_later_still(client, farm, today):
    for code, days, is_critical in (("T01", 20, False), ("T02", 5, True), ("T03", 9, True), ("T04", 0, True)):
        log_fault(farm=farm, place=make_tunnel(farm, code=code), part="cord", mode="missing", is_critical=is_critical,
                  found_on=today - timedelta(days=days), by=None, now=timezone.now())  # fmt: skip

    late, *other = sections(client, farm)["event"]

    # A critical fault may take a day, any other two weeks: that of T04 is not late yet.
    assert late == ("late", ["T03", "T02", "T01"])
    assert [places for _heading, places in other] == [["T04"]]


def test_what_may_wait_for_weeks_is_folded_away_but_there(client, farm, today):
    for number, left in enumerate((-3, 0, 7, 15, 400)):
        job_at(farm, f"T0{number}", today, left=left)

    page = client.get(reverse("due", args=[farm.slug]))

    bands = page.context["sections"][1].bands
    assert [(band.rows[0].place, band.is_folded) for band in bands] == [
        ("T00", False), ("T01", False), ("T02", False), ("T03", True), ("T04", True)
    ]  # fmt: skip
    assert page.content.decode().count('<details class="later-band">') == 2
    by_place = client.get(reverse("due", args=[farm.slug]), {"group": "place"}).context["sections"][1].bands
    assert not any(band.is_folded for band in by_place)


def test_what_has_happened_already_is_never_folded_away(client, farm, today):
    job_at(farm, "T01", today, left=0, rhythm="event")
    job_at(farm, "T02", today, left=30, rhythm="event")

    bands = client.get(reverse("due", args=[farm.slug])).context["sections"][0].bands

    assert [(band.rows[0].place, band.is_folded) for band in bands] == [("T01", False), ("T02", False)]


def test_a_list_of_nothing_but_later_work_is_not_folded_away_whole(client, farm, today):
    job_at(farm, "T01", today, left=40)
    job_at(farm, "T02", today, left=80)

    bands = client.get(reverse("due", args=[farm.slug])).context["sections"][1].bands

    assert [band.is_folded for band in bands] == [False, True]


def test_jobs_are_grouped_by_place_or_person(client, farm, today):
    teo = make_member(farm, "crew").user
    job_at(farm, "T01", today, left=5, assigned_to=teo)
    job_at(farm, "T02", today, left=-2)
    make_job(make_plan(make_routine(farm, target="farm")), due_on=today, until_on=today + timedelta(days=9))

    assert sections(client, farm, group="place")["cycle"] == [
        ("the farm", ["the farm"]), ("T01", ["T01"]), ("T02", ["T02"])
    ]  # fmt: skip
    assert sections(client, farm, group="person")["cycle"] == [
        ("nobody yet", ["T02", "the farm"]), (teo.username, ["T01"])
    ]  # fmt: skip


def test_each_group_says_how_many_person_minutes_it_takes(client, farm, today):
    job_at(farm, "T01", today, left=-5, minutes=20, crew=2)
    job_at(farm, "T02", today, left=-5, minutes=15)
    opening = make_opening(make_wall(make_tunnel(farm, code="T03")))
    log_fault(farm=farm, place=opening, part="cord", mode="missing", minutes=30, found_on=today, by=None,
              now=timezone.now())  # fmt: skip

    shown = client.get(reverse("due", args=[farm.slug]), {"group": "place"}).context["sections"]

    totals = [(band.heading, band.total.jobs, band.total.late, band.total.minutes)
              for section in shown for band in section.bands]  # fmt: skip
    assert totals == [("T03", 1, 0, 30), ("T01", 1, 1, 40), ("T02", 1, 1, 15)]


def test_the_list_is_narrowed_by_rhythm_tunnel_and_person(client, farm, today):
    teo = make_member(farm, "crew").user
    mine = job_at(farm, "T01", today, left=5, assigned_to=teo)
    job_at(farm, "T02", today, left=5, rhythm="event")

    narrowed = [
        sections(client, farm, **query)
        for query in (
            {"tunnel": mine.plan.tunnel_id}, {"who": teo.pk}, {"who": "nobody"}, {"who": "me"}, {"rhythm": "event"},
            {"who": "x", "tunnel": "x", "rhythm": "x"},
        )
    ]  # fmt: skip

    places = [[place for bands in shown.values() for _heading, rows in bands for place in rows] for shown in narrowed]
    assert places == [["T01"], ["T01"], ["T02"], [], ["T02"], ["T02", "T01"]]
    assert list(narrowed[4]) == ["event"]


def test_when_nothing_is_due_the_page_says_when_something_will_be(client, farm, today):
    plan = make_plan(make_routine(farm, target="tunnel"), make_tunnel(farm))
    Turn.objects.create(plan=plan, due_on=date(2999, 5, 3), until_on=date(2999, 5, 9))

    text = client.get(reverse("due", args=[farm.slug])).content.decode()

    assert "Nothing is due. Everything that was is done." in text
    assert "falls due on Friday, 2999-05-03" in text


def test_fifty_jobs_a_page_and_a_page_too_far_is_the_last(client, farm, today):
    routine = make_routine(farm, target="tunnel")
    for number in range(52):
        make_job(make_plan(routine, make_tunnel(farm, code=f"T{number:02d}")), due_on=today, until_on=today)

    first, second, beyond = (sections(client, farm, cycle_page=page)["cycle"][0][1] for page in (1, 2, 99))

    assert first + second == [f"T{number:02d}" for number in range(52)]
    assert (len(first), beyond) == (50, second)


def add_rows(farm: Farm, day: date, count: int) -> None:
    """Add so many openings with a job that waits, one of a part, one of a fault, each somebody's."""
    teo = make_member(farm, "crew").user
    for _ in range(count):
        wall = make_wall(make_tunnel(farm))
        opening = make_opening(wall)
        part = make_component(wall, kind="wall_film", spot="left")
        late = {"due_on": day - timedelta(days=9), "until_on": day - timedelta(days=2), "assigned_to": teo}
        first = make_job(make_plan(make_routine(farm, target="component", trigger="age"), part), **late)
        make_job(make_plan(make_routine(farm, rhythm="daily"), opening), **late).waits_for.add(first)
        log_fault(farm=farm, place=opening, part="clamp", spot="clamp 4", mode="spun", found_on=day, by=teo,
                  now=timezone.now())  # fmt: skip


@pytest.mark.parametrize("group", ["week", "place", "person"])
def test_three_rows_cost_the_queries_of_one(client, farm, today, group):
    url = reverse("due", args=[farm.slug])
    add_rows(farm, today, 1)
    with CaptureQueriesContext(connection) as one:
        client.get(url, {"group": group})
    add_rows(farm, today, 2)
    with CaptureQueriesContext(connection) as three:
        text = client.get(url, {"group": group}).content.decode()

    assert len(three) == len(one) <= 8 + OF_THE_FRAME + (OF_CALM_HOURS if group == "week" else 0)
    assert len(re.findall('class="work-row', text)) == 9
    assert "Waits for" in text


# The buttons ----------------------------------------------------------------------


def test_one_tap_finishes_a_simple_job_and_leads_back_to_the_next(client, farm, today):
    crew = make_member(farm, "crew")
    client.force_login(crew.user)
    job = job_at(farm, "T01", today, left=2)
    after = job_at(farm, "T02", today, left=2)
    page = client.get(reverse("due", args=[farm.slug]), {"group": "place"}).content.decode()
    list_ = f"{reverse('due', args=[farm.slug])}?group=place"
    button = f"{reverse('job-change', args=[farm.slug, job.pk])}?to=job-{after.pk}"
    assert f'formaction="{button}"' in page
    assert f'name="next" value="{list_}"' in page

    answer = client.post(button, {"action": "done", "next": list_})

    assert (answer.status_code, answer["Location"]) == (302, f"{list_}#job-{after.pk}")
    job.refresh_from_db()
    assert (job.state, job.ended_on, job.events.get().by) == ("done", today, crew.user)
    assert "T01: Look at the hooks. Done." in said(answer)


def test_a_second_tap_says_who_was_first(client, farm, today):
    job = job_at(farm, "T01", today, left=2)
    post(client, farm, "job-change", job.pk, action="done")

    answer = post(client, farm, "job-change", job.pk, action="done")

    assert "finished this job" in said(answer)
    assert job.events.count() == 1


def test_the_crew_takes_a_job_but_not_out_of_anothers_hands(client, farm, today):
    teo, hanna = make_member(farm, "crew").user, make_member(farm, "crew").user
    job = job_at(farm, "T01", today, left=2)
    client.force_login(teo)
    post(client, farm, "job-change", job.pk, action="take")
    client.force_login(hanna)

    answer = post(client, farm, "job-change", job.pk, action="take")

    job.refresh_from_db()
    assert job.assigned_to == teo
    assert f"{teo.username} has this job" in said(answer)


@pytest.mark.parametrize("to", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)", ""])
def test_a_button_leads_to_no_other_site(client, farm, today, to):
    job = job_at(farm, "T01", today, left=2)

    answer = post(client, farm, "job-change", job.pk, action="take", next=to)

    assert answer["Location"] == reverse("job", args=[farm.slug, job.pk])


def test_a_viewer_sees_the_work_without_its_buttons(client, farm, today):
    client.force_login(make_member(farm, "viewer").user)
    job_at(farm, "T01", today, left=2)

    text = client.get(reverse("due", args=[farm.slug])).content.decode()

    assert "Look at the hooks" in text
    assert 'value="take"' not in text
    assert 'value="done"' not in text


def test_a_member_reads_routines_in_spanish(client, farm, today):
    client.force_login(make_member(farm, "crew", language="es").user)
    job_at(farm, "T01", today, left=2)

    text = client.get(reverse("due", args=[farm.slug])).content.decode()

    assert "Look at the hooks (es)" in text


# What other pages say -------------------------------------------------------------


def urgent(client: Any, farm: Farm) -> str:
    """Return what the plan page would say of the work that cannot wait."""
    request = client.get(reverse("due", args=[farm.slug])).wsgi_request
    request.farm = farm
    with CaptureQueriesContext(connection) as queries:
        text = Template("{% load upkeep %}{% urgent_work %}").render(Context({"request": request}))
    assert len(queries) <= 2
    return text


def test_what_cannot_wait_is_critical_faults_urgent_work_and_late_jobs_in_this_order(client, farm, today):
    job_at(farm, "T01", today, left=5)
    job_at(farm, "T02", today, left=-4)
    job_at(farm, "T03", today, left=5, is_urgent=True)
    log_fault(farm=farm, place=make_tunnel(farm, code="T04"), part="cord", mode="missing", is_critical=True,
              found_on=today, by=None, now=timezone.now())  # fmt: skip

    text = urgent(client, farm)

    assert re.findall(r"<strong>(T\d+)</strong>", text) == ["T04", "T03", "T02"]
    assert "It cannot wait for the next wind." in text
    assert "4 days late" in text


def test_where_nothing_presses_the_plan_says_nothing(client, farm, today):
    job_at(farm, "T01", today, left=5)

    assert urgent(client, farm).strip() == ""
