"""Paper: job cards by person and place, numbers on the sheets, and typing them in at the desk."""

from __future__ import annotations

import re
import uuid
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from doors.models import StockMove
from farm.models import Farm, Membership, Opening
from maintenance.hands import ticking
from maintenance.models import FieldEntry, Job, JobEvent, Label, ScrewCheck, StormTask
from maintenance.work import working
from maintenance.work.sheetnumbers import SheetNumber, card_of
from tests.factories import make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.forms import said
from tests.hands_rows import make_storm, make_task
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db


@pytest.fixture
def opening(farm: Farm) -> Opening:
    return make_opening(make_wall(make_tunnel(farm, code="T09")), code="T09-W")


@pytest.fixture
def teo(farm: Farm) -> Membership:
    member = make_member(farm, "crew")
    member.user.first_name = "Teo"
    member.user.save(update_fields=["first_name"])
    return member


@pytest.fixture
def job(farm: Farm, opening: Opening, teo: Membership, today: date) -> Job:
    return due_job(opening, today, assigned_to=teo.user)


def due_job(opening: Opening, today: date, **values: Any) -> Job:
    """Return a job that is due, of a routine of its own."""
    of_routine = {name: values.pop(name) for name in ("answer", "parts", "checklist") if name in values}
    plan = make_plan(make_routine(opening.farm, **of_routine), opening)
    opened = {"due_on": today, "until_on": today + timedelta(days=3), "opened_at": timezone.now()}
    return make_job(plan, **{**opened, **values})


def sheet_url(farm: Farm, number: SheetNumber | str) -> str:
    return reverse("paper", args=[farm.slug]) + f"?sheet={number}"


def typed(client: Any, url: str, rows: dict[str, dict[str, Any]], **head: Any) -> Any:
    """Fill in the desk's form as a browser would: what is not named stays as it was."""
    context = client.get(url).context
    bound = context["head"]
    data: dict[str, Any] = {f"head-{name}": head.get(name, bound[name].value() or "") for name in ("on", "by", "nonce")}
    data["row"] = [form.row.key for form in context["rows"] if form.row.is_open]
    for key, given in rows.items():
        data |= {f"{key}-{name}": value for name, value in given.items()}
    return client.post(url, data)


def marked(answer: Any, key: str) -> str:
    """Return what is said beside a row that came back."""
    assert answer.status_code == 422
    form = next(form for form in answer.context["rows"] if form.row.key == key)
    return " ".join(str(error) for errors in form.errors.values() for error in errors)


# Cards ----------------------------------------------------------------------------


def test_each_person_has_a_card_with_a_number_in_the_persons_language(client, farm, opening, job, teo, today):
    hanna = make_member(farm, "crew", language="es")
    due_job(opening, today, assigned_to=hanna.user)
    due_job(opening, today)

    answer = client.get(reverse("job-cards", args=[farm.slug]))

    cards = {card.number.first: card for card in answer.context["cards"]}
    assert {pk: card.language for pk, card in cards.items()} == {teo.pk: "en", hanna.pk: "es", 0: "en"}
    assert [each.what for each in cards[hanna.pk].jobs] == ["Revisar los ganchos"]
    assert [each.what for each in cards[teo.pk].jobs] == ["Look at the hooks"]
    text = answer.content.decode()
    assert all(str(card.number) in text for card in cards.values())
    assert f"No. {job.pk}" in text


def test_a_card_prints_the_short_address_of_the_doors_label(client, farm, opening, job):
    label = Label.objects.create(farm=farm, token="ABC34679", opening=opening, made_at=timezone.now())
    Label.objects.create(
        farm=farm, token="GONE3467", opening=opening, made_at=timezone.now(), revoked_at=timezone.now()
    )

    text = client.get(reverse("job-cards", args=[farm.slug])).content.decode()

    assert reverse("label", args=[label.token]) in text
    assert "GONE3467" not in text


def test_each_place_has_a_card(client, farm, opening, job, today):
    due_job(make_opening(make_wall(make_tunnel(farm, code="T02"))), today)
    make_tunnel(farm, code="T03")
    url = reverse("job-cards", args=[farm.slug])

    cards = client.get(url, {"by": "place"}).context["cards"]
    only = client.get(url, {"by": "place", "only": opening.end_wall.tunnel_id}).context["cards"]

    assert [card.name for card in cards] == ["T02", "T09"]
    assert [card.name for card in only] == ["T09"]


def test_what_can_wait_longer_than_a_week_is_not_printed(client, farm, opening, teo, today):
    due_job(opening, today, assigned_to=teo.user, until_on=today + timedelta(days=8))

    assert client.get(reverse("job-cards", args=[farm.slug])).context["cards"] == []


def test_many_cards_cost_the_queries_of_few(client, farm, opening, teo, today):
    def count(url: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(url).status_code == 200
        return len(queries)

    urls = (
        reverse("job-cards", args=[farm.slug]), sheet_url(farm, card_of("P", teo.pk, today)),
        reverse("job-cards", args=[farm.slug]) + "?by=place",
    )  # fmt: skip
    counts = []
    for number in (1, 3):
        for _each in range(number):
            place = make_opening(make_wall(make_tunnel(farm)))
            due_job(place, today, assigned_to=teo.user)
            due_job(place, today, assigned_to=teo.user, answer="screws")
        counts.append([count(url) for url in urls])

    assert counts[0] == counts[1]


# The number -----------------------------------------------------------------------


def test_a_storm_sheet_prints_the_number_that_finds_it_again(client, farm, teo):
    storm = make_storm(farm)
    task = make_task(storm, assigned_to=teo.user)
    url = reverse("storm-sheet", args=[farm.slug, storm.pk]) + f"?person={teo.pk}"

    found = re.search(r'paper-number">([^<]+)<', client.get(url).content.decode())

    assert found is not None
    assert [form.row.key for form in client.get(sheet_url(farm, found[1])).context["rows"]] == [f"task-{task.pk}"]


@pytest.mark.parametrize("text", ["P7-1125-X", "7", "P7-1340-0", "x" * 500])
def test_a_number_that_is_none_says_what_to_do(client, farm, text):
    answer = client.get(sheet_url(farm, text))

    assert "Look at" in answer.context["which"].errors["sheet"][0]


def test_another_farms_sheet_is_empty(client, farm, today):
    other = make_farm()
    theirs = make_member(other, "crew")
    due_job(make_opening(make_wall(make_tunnel(other))), today, assigned_to=theirs.user)
    storm = make_storm(other)
    make_task(storm, assigned_to=theirs.user)

    for number in (card_of("P", theirs.pk, today), SheetNumber("S", storm.pk, theirs.pk)):
        assert client.get(sheet_url(farm, number)).context["rows"] == []


def test_another_farms_rows_cannot_be_typed_in(client, farm, job, teo, today):
    other = make_farm()
    theirs = due_job(make_opening(make_wall(make_tunnel(other))), today)
    task = make_task(make_storm(other))
    keys = [f"job-{theirs.pk}", f"task-{task.pk}"]
    data = {"row": keys, "head-on": today.isoformat(), "head-by": teo.user_id, "head-nonce": uuid.uuid4()}
    data |= {f"{key}-outcome": "done" for key in keys}

    client.post(sheet_url(farm, card_of("P", teo.pk, today)), data)

    assert (Job.objects.get(pk=theirs.pk).state, StormTask.objects.get().state) == ("open", "open")
    assert not FieldEntry.objects.exists()


# Typing in ------------------------------------------------------------------------


def test_a_job_done_on_paper_is_done_by_whoever_wrote_it_when_it_was_written(client, farm, job, teo, today, opening):
    left = due_job(opening, today, assigned_to=teo.user)
    url = sheet_url(farm, card_of("P", teo.pk, today))

    typed(client, url, {f"job-{job.pk}": {"outcome": "done", "at": "00:01", "minutes": "25", "note": "two were loose"}})

    job.refresh_from_db()
    event = JobEvent.objects.get(job=job, kind="done")
    assert (job.state, job.ended_on, job.minutes_spent, job.note) == ("done", today, 25, "two were loose")
    assert (event.by, event.at) == (teo.user, datetime.combine(today, time(0, 1), tzinfo=farm.zone))
    entry = FieldEntry.objects.get()
    assert (entry.kind, entry.state, entry.by, entry.job, entry.made_at) == (
        "job_done",
        "taken",
        teo.user,
        job,
        event.at,
    )
    assert entry.payload["typed_by"] == Membership.objects.get(farm=farm, role="manager").user_id
    assert Job.objects.get(pk=left.pk).state == "open"
    history = client.get(reverse("job", args=[farm.slug, job.pk])).content.decode()
    assert f"from sheet {card_of('P', teo.pk, today)}" in history


def test_storm_tasks_done_and_impossible_are_typed_in_together(client, farm, teo):
    other = make_member(farm, "crew")
    now = timezone.now()
    storm = make_storm(
        farm, opened_at=now, begins_at=now + timedelta(hours=9), peak_at=now + timedelta(hours=12),
        ends_at=now + timedelta(hours=20), deadline_at=now + timedelta(hours=5), start_by_at=now, assessed_at=now,
    )  # fmt: skip
    done, stuck = (make_task(storm, assigned_to=teo.user) for _each in range(2))

    typed(
        client, sheet_url(farm, SheetNumber("S", storm.pk, teo.pk)),
        {
            f"task-{done.pk}": {"outcome": "done", "at": "0:01", "minutes": "9", "by": other.user_id},
            f"task-{stuck.pk}": {"outcome": "cannot", "note": "the cord is torn"},
        },
    )  # fmt: skip

    done.refresh_from_db()
    stuck.refresh_from_db()
    assert (done.state, done.done_by, done.minutes_spent) == ("done", other.user, 9)
    assert done.done_at.astimezone(farm.zone).time() == time(0, 1)
    assert (stuck.state, stuck.reason, stuck.done_by) == ("cannot", "the cord is torn", teo.user)


def test_a_job_that_cannot_be_done_stays_with_the_reason(client, farm, job, teo, today):
    typed(client, sheet_url(farm, card_of("P", teo.pk, today)), {f"job-{job.pk}": {"outcome": "cannot", "note": "mud"}})

    job.refresh_from_db()
    assert job.state == "open"
    assert JobEvent.objects.get(job=job).note == "cannot be done: mud"


def test_what_a_phone_entered_meanwhile_is_shown_and_not_overwritten(client, farm, job, teo, today):
    url = sheet_url(farm, card_of("P", teo.pk, today))
    nonce = client.get(url).context["head"]["nonce"].value()
    other = make_member(farm, "crew").user
    working.finish(job=loaded(job), by=other, now=timezone.now(), on=today, minutes=5, note="from the phone")

    answer = client.post(url, {
        "row": [f"job-{job.pk}"], "head-on": today.isoformat(), "head-by": teo.user_id, "head-nonce": nonce,
        f"job-{job.pk}-outcome": "done", f"job-{job.pk}-minutes": "25",
    })  # fmt: skip

    job.refresh_from_db()
    assert (job.minutes_spent, job.note) == (5, "from the phone")
    assert JobEvent.objects.filter(job=job, kind="done").get().by == other
    assert f"done on {today} by {other.username}" in said(answer)
    kept = FieldEntry.objects.get()
    assert (kept.state, kept.payload["minutes"], kept.by) == ("beside", 25, teo.user)
    shown = client.get(url)
    assert shown.context["rows"][0].row.standing == f"done on {today} by {other.username}"
    assert f'name="job-{job.pk}-outcome"' not in shown.content.decode()


def test_a_storm_task_ticked_meanwhile_stays_as_it_was_ticked(client, farm, teo):
    storm = make_storm(farm)
    task = make_task(storm, assigned_to=teo.user)
    url = sheet_url(farm, SheetNumber("S", storm.pk, teo.pk))
    nonce = client.get(url).context["head"]["nonce"].value()
    ticking.tick(task=task, by=teo.user, now=timezone.now(), minutes=4, works_out=False)

    client.post(url, {
        "row": [f"task-{task.pk}"], "head-on": timezone.localdate().isoformat(), "head-by": teo.user_id,
        "head-nonce": nonce, f"task-{task.pk}-outcome": "cannot", f"task-{task.pk}-note": "torn",
    })  # fmt: skip

    task.refresh_from_db()
    assert (task.state, task.minutes_spent, task.reason) == ("done", 4, "")


def test_one_row_that_cannot_be_keeps_all_back_with_what_was_typed(client, farm, job, teo, today, opening):
    other = due_job(opening, today, assigned_to=teo.user)

    answer = typed(client, sheet_url(farm, card_of("P", teo.pk, today)), {
        f"job-{job.pk}": {"outcome": "done", "at": "25:00", "note": "kept words"},
        f"job-{other.pk}": {"outcome": "done", "minutes": "12"},
    })  # fmt: skip

    assert "is no time" in marked(answer, f"job-{job.pk}")
    text = answer.content.decode()
    assert 'value="kept words"' in text
    assert 'value="25:00"' in text
    assert 'value="12"' in text
    assert set(Job.objects.values_list("state", flat=True)) == {"open"}


def test_a_refusal_of_the_work_itself_keeps_all_back(client, farm, job, teo, today, opening):
    first = due_job(opening, today)
    job.waits_for.add(first)
    other = due_job(opening, today, assigned_to=teo.user)

    answer = typed(client, sheet_url(farm, card_of("P", teo.pk, today)), {
        f"job-{other.pk}": {"outcome": "done"}, f"job-{job.pk}": {"outcome": "done"},
    })  # fmt: skip

    assert "First comes" in marked(answer, f"job-{job.pk}")
    assert set(Job.objects.values_list("state", flat=True)) == {"open"}
    assert not FieldEntry.objects.exists()


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"outcome": "cannot"}, "Write why it cannot be done"),
        ({"minutes": "5"}, "Say whether it was done"),
        ({"note": "loose"}, "Say whether it was done"),
        ({"outcome": "done", "minutes": "-1"}, "greater than or equal to 0"),
        ({"outcome": "done", "minutes": "99999"}, "from 0 to"),
        ({"outcome": "vanished"}, "valid choice"),
        ({"outcome": "done", "by": "999999"}, "valid choice"),
    ],
)
def test_a_row_that_cannot_be_says_what_to_do(client, farm, job, teo, today, given, words):
    answer = typed(client, sheet_url(farm, card_of("P", teo.pk, today)), {f"job-{job.pk}": given})

    assert words in marked(answer, f"job-{job.pk}")


@pytest.mark.parametrize(
    ("written", "hour", "minute"),
    [("9", 9, 0), ("0905", 9, 5), ("9.05", 9, 5), ("9:05 am", 9, 5), ("12:10 am", 0, 10), ("9h05", 9, 5)],
)
def test_times_are_read_as_people_write_them(client, farm, job, teo, today, written, hour, minute):
    day = today - timedelta(days=1)
    Job.objects.filter(pk=job.pk).update(opened_at=timezone.now() - timedelta(days=2), due_on=day)

    typed(client, sheet_url(farm, card_of("P", teo.pk, day)), {f"job-{job.pk}": {"outcome": "done", "at": written}})

    at = JobEvent.objects.get(kind="done").at
    assert at == datetime.combine(day, time(hour, minute), tzinfo=farm.zone)


def test_a_form_sent_twice_is_kept_once(client, farm, job, teo, today):
    url = sheet_url(farm, card_of("P", teo.pk, today))
    nonce = client.get(url).context["head"]["nonce"].value()
    data = {"row": [f"job-{job.pk}"], "head-on": today.isoformat(), "head-by": teo.user_id, "head-nonce": nonce,
            f"job-{job.pk}-outcome": "done"}  # fmt: skip

    for _time in range(2):
        client.post(url, data)

    assert (FieldEntry.objects.get().state, JobEvent.objects.filter(kind="done").count()) == ("taken", 1)


def test_screws_are_typed_by_their_numbers(client, farm, opening, teo, today):
    earlier = due_job(opening, today, answer="screws", due_on=today - timedelta(days=5))
    for spot in ("left 1", "left 2", "left 3"):
        ScrewCheck.objects.create(farm=farm, opening=opening, job=earlier, spot=spot, outcome="tight", on=today)
    job = due_job(opening, today, answer="screws", assigned_to=teo.user)
    url = sheet_url(farm, card_of("P", teo.pk, today))
    spots = client.get(url).context["rows"][0].row.spots

    wrong = typed(client, url, {f"job-{job.pk}": {"outcome": "done", "screws": "9s"}})
    typed(client, url, {f"job-{job.pk}": {"outcome": "done", "screws": "2s, 3 u"}})

    assert "up to 3" in marked(wrong, f"job-{job.pk}")
    found = dict(ScrewCheck.objects.filter(job=job).values_list("spot", "outcome"))
    assert found == dict(zip(spots, ("tight", "spun", "turned"), strict=True))


def test_parts_come_out_of_the_store_once(client, farm, opening, teo, today):
    bolt = make_material(farm, kind="fastener", code="bolt-x")
    job = due_job(opening, today, assigned_to=teo.user, parts=[{"material": "bolt-x", "quantity": 4}])
    url = sheet_url(farm, card_of("P", teo.pk, today))

    for _time in range(2):
        typed(client, url, {f"job-{job.pk}": {"outcome": "done", "part_0": "3"}})

    assert StockMove.objects.of(farm).balances()[bolt.pk] == Decimal(-3)


def test_a_new_part_is_asked_for_on_its_own_page(client, farm, opening, teo, today):
    job = due_job(opening, today, assigned_to=teo.user, answer="replaced")

    text = client.get(sheet_url(farm, card_of("P", teo.pk, today))).content.decode()

    assert reverse("job-done", args=[farm.slug, job.pk]) in text
    assert f'name="job-{job.pk}-outcome"' not in text


def test_a_day_and_a_person_find_the_rows_without_a_number(client, farm, job, teo, today, opening):
    due_job(opening, today)
    url = reverse("paper", args=[farm.slug])

    everybody = client.get(url, {"day": today.isoformat()}).context["rows"]
    own = client.get(url, {"day": today.isoformat(), "person": teo.pk}).context["rows"]
    late = client.get(url, {"day": (today + timedelta(days=9)).isoformat()})

    assert len(everybody) == 2
    assert [form.row.key for form in own] == [f"job-{job.pk}"]
    assert "has not come yet" in late.context["which"].errors["day"][0]


def loaded(job: Job) -> Job:
    return Job.objects.for_list().select_related("farm").get(pk=job.pk)
