"""Entries of phones: what each kind does, each once, and what happens where the farm has moved on meanwhile."""

from __future__ import annotations

import json
import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core import serializers
from django.utils import translation

from doors.models import StockMove
from farm.models import Membership
from maintenance.field import acting, taking
from maintenance.field.beside import rows_to_settle, settle
from maintenance.field.clocks import moment_of, skew_text
from maintenance.field.dangers import dangers_of
from maintenance.field.pictures import NoEntryError, TooManyError, keep_picture, keep_voice, kind_of
from maintenance.models import (
    FieldEntry,
    Job,
    NearMiss,
    Photo,
    Reminder,
    Repair,
    ScrewCheck,
    StormTask,
    VoiceNote,
)
from maintenance.work import faults, working
from tests.factories import make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.field_rows import MINUTE, NOON, entry, row, send, states
from tests.hands_rows import make_storm, make_task, picture_file
from tests.messages import make_person
from tests.upkeep_rows import loaded, make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db
DAY = date(2026, 11, 25)
WEBM = (
    b"\x1a\x45\xdf\xa3\x9f\x42\x86\x81\x01\x42\xf7\x81\x01\x42\xf2\x81\x04\x42\xf3\x81\x08\x42\x82\x84webm" + b"\0" * 40
)


@pytest.fixture
def farm():
    return make_farm(language="en")


@pytest.fixture
def manager(farm):
    return make_person(farm, "manager")


@pytest.fixture
def teo(farm):
    return speaking(make_person(farm), "es")


@pytest.fixture
def hanna(farm):
    return make_person(farm)


@pytest.fixture
def door(farm):
    return make_opening(make_wall(make_tunnel(farm, code="T08")), code="T08-W")


@pytest.fixture
def task(farm, door):
    return make_task(make_storm(farm), opening=door)


def fault(farm, door, **values):
    given = {"part": "clamp", "mode": "loose", "found_on": DAY - timedelta(days=3), "by": None, "now": NOON}
    return faults.log_fault(farm=farm, place=door, **{**given, **values})


def speaking(member, language):
    Membership.objects.filter(pk=member.pk).update(language=language)
    member.refresh_from_db(fields=["language"])
    return member


def stock_of(material):
    return sum(move.quantity for move in StockMove.objects.filter(material=material))


# Before a storm ------------------------------------------------------------------------


def test_a_secured_door_ticks_its_open_task(teo, door, task):
    sent = entry("secured", door=door.pk, minutes=9)

    assert states(send(teo, sent)) == ["taken"]

    task.refresh_from_db()
    assert (task.state, task.done_by, task.minutes_spent) == ("done", teo.user, 9)
    assert task.done_at == NOON - 5 * MINUTE
    assert row(sent).task == task


def test_a_door_is_secured_without_a_storm_as_a_note(teo, door):
    sent = entry("secured", door=door.pk)

    assert states(send(teo, sent)) == ["taken"]
    assert (row(sent).opening, row(sent).tunnel, row(sent).task) == (door, door.end_wall.tunnel, None)


def test_the_task_of_a_fault_at_the_door_is_not_meant(farm, teo, door, task):
    mending = make_task(task.storm, kind="repair", opening=door, repair=fault(farm, door), position=0)

    send(teo, entry("secured", door=door.pk))

    mending.refresh_from_db(), task.refresh_from_db()
    assert (mending.state, task.state) == ("open", "done")


def test_of_a_tunnel_with_several_tasks_nobody_knows_which_is_meant(farm, teo):
    storm, tunnel = make_storm(farm), make_tunnel(farm)
    tasks = [make_task(storm, tunnel=tunnel, kind=kind) for kind in ("walk", "side")]

    answers = send(teo, entry("secured", tunnel=tunnel.pk), entry("secured", task=tasks[1].pk),
                   entry("secured", tunnel=tunnel.pk))  # fmt: skip

    assert states(answers) == ["beside", "taken", "taken"]  # after the second only one is left
    assert {task.state for task in StormTask.objects.all()} == {"done"}


def test_the_second_to_secure_a_door_stands_beside_the_first(teo, hanna, door, task):
    first, second = entry("secured", task=task.pk), entry("secured", task=task.pk)
    send(hanna, first)

    [answer] = send(teo, second)

    task.refresh_from_db()
    assert answer.state == "beside"
    assert hanna.user.username in answer.reason
    assert task.done_by == hanna.user


def test_saying_the_same_again_is_no_disagreement(teo, task):
    send(teo, entry("secured", task=task.pk))

    assert states(send(teo, entry("secured", task=task.pk))) == ["taken"]


def test_what_comes_after_the_storm_is_closed_stands_beside(teo, task):
    type(task.storm).objects.update(state="closed")

    assert states(send(teo, entry("secured", task=task.pk))) == ["beside"]
    task.refresh_from_db()
    assert task.state == "open"


def test_what_cannot_be_done_is_told_to_the_managers_at_once(manager, teo, task):
    sent = entry("cannot", task=task.pk, reason="falta una pieza o herramienta")

    assert states(send(teo, sent)) == ["taken"]

    task.refresh_from_db()
    reminder = Reminder.objects.get()
    assert (task.state, task.reason) == ("cannot", "a part or tool is missing")  # in the farm's language
    assert (reminder.membership, reminder.not_before) == (manager, NOON)
    assert "a part or tool is missing" in reminder.body


def test_what_cannot_be_done_without_a_reason_is_not_understood(teo, task):
    assert states(send(teo, entry("cannot", task=task.pk))) == ["unread"]


def test_without_a_storm_a_manager_is_told_too(manager, teo, door):
    assert states(send(teo, entry("cannot", door=door.pk, reason="it takes two"))) == ["taken"]

    assert "it takes two" in Reminder.objects.get().body


def test_a_second_person_looks_at_what_was_done(teo, hanna, task):
    send(teo, entry("secured", task=task.pk))

    own = send(teo, entry("checked", task=task.pk))
    other = send(hanna, entry("checked", door=task.opening_id))

    task.refresh_from_db()
    assert (states(own), states(other)) == (["beside"], ["taken"])
    assert (task.checked_by, task.checked_at) == (hanna.user, NOON - 5 * MINUTE)


# Faults ------------------------------------------------------------------------


def test_a_named_fault_is_mended_with_its_job_and_its_parts(farm, teo, door):
    repair, clamp = fault(farm, door), make_material(farm)
    sent = entry("fixed", repair=repair.pk, minutes=20, text="bigger screw",
                 parts=[{"material": clamp.pk, "quantity": "2"}])  # fmt: skip

    assert states(send(teo, sent)) == ["taken"]

    repair.refresh_from_db()
    assert (repair.state, repair.mended_on, repair.minutes) == ("done", DAY, 20)
    assert Job.objects.get(pk=repair.job_id).state == "done"
    assert stock_of(clamp) == -2


def test_a_fault_mended_meanwhile_stands_as_it_was(farm, teo, hanna, door):
    repair = fault(farm, door)
    send(hanna, entry("fixed", repair=repair.pk))

    [answer] = send(teo, entry("fixed", repair=repair.pk, minutes=90))

    repair.refresh_from_db()
    assert answer.state == "beside"
    assert (repair.mended_by, repair.minutes) == (hanna.user.username, None)
    assert rows_to_settle(farm, NOON)[0].entry.repair == repair


def test_a_fault_found_and_mended_in_one_go_is_written_down(teo, door):
    assert states(send(teo, entry("fixed", door=door.pk, part="clamp", mode="loose"))) == ["taken"]

    repair = Repair.objects.get()
    assert (repair.opening, repair.part, repair.mode, repair.state) == (door, "clamp", "loose", "done")
    assert repair.found_at == NOON - 5 * MINUTE


def test_a_needed_part_opens_a_repair_with_its_job(teo, door):
    sent = entry("needs_part", door=door.pk, part="crank", mode="a kind of later days")

    assert states(send(teo, sent)) == ["taken"]

    repair = Repair.objects.get()
    assert (repair.state, repair.part, repair.mode, repair.note) == ("open", "other", "other", "A part is needed.")
    assert row(sent).repair == repair
    assert repair.job.state == "open"


def test_danger_marks_the_place_and_tells_every_manager_in_their_language(farm, manager, teo, door):
    jefa = speaking(make_person(farm, "manager"), "es")
    with translation.override("en"):
        assert states(send(teo, entry("danger", door=door.pk, text="bar hangs by one end"))) == ["taken"]

    repair = Repair.objects.get()
    told = {one.membership_id: one for one in Reminder.objects.all()}
    assert (repair.is_danger, repair.is_critical, repair.state) == (True, True, "open")
    assert [one.place for one in dangers_of(farm)] == ["T08-W"]
    assert told.keys() == {manager.pk, jefa.pk}
    assert "keep out of T08-W" in told[manager.pk].subject
    assert "bar hangs by one end" in told[jefa.pk].body
    assert told[manager.pk].not_before == NOON  # it does not wait for the end of quiet hours


def test_a_danger_ends_with_its_repair(farm, teo, door):
    send(teo, entry("danger", door=door.pk))

    send(teo, entry("fixed", repair=Repair.objects.get().pk))

    assert dangers_of(farm) == []


def test_a_danger_at_an_unknown_place_is_kept_and_told_all_the_same(farm, manager, teo):
    [answer] = send(teo, entry("danger", door=999_999, text="come quick"))

    assert answer.state == "unread"
    assert "come quick" in Reminder.objects.get(membership=manager).body


# Jobs ------------------------------------------------------------------------


def test_a_job_is_ended_with_ticks_minutes_and_parts(farm, teo, door):
    routine = make_routine(farm, checklist={"en": ["Look", "Touch", "Turn"]})
    job, clamp = make_job(make_plan(routine, door)), make_material(farm)

    answers = send(teo, entry("job_done", job=job.pk, ticks=[2, 0], minutes=12, text="all well",
                              parts=[{"material": clamp.pk, "quantity": 1.5}]))  # fmt: skip

    job.refresh_from_db()
    assert states(answers) == ["taken"]
    assert (job.state, job.ended_on, job.ticks, job.minutes_spent, job.note) == ("done", DAY, [0, 2], 12, "all well")
    assert stock_of(clamp) == Decimal("-1.5")


def test_the_screws_of_a_job_are_answered_one_by_one(farm, teo, door):
    job = make_job(make_plan(make_routine(farm, answer="screws"), door))
    screws = [{"spot": "clamp 1", "outcome": "tight"}, {"spot": "clamp 4", "outcome": "spun"}]

    unsaid, said = entry("job_done", job=job.pk), entry("job_done", job=job.pk, screws=screws)

    assert states(send(teo, unsaid, said)) == ["beside", "taken"]
    assert sorted(ScrewCheck.objects.values_list("spot", "outcome")) == [("clamp 1", "tight"), ("clamp 4", "spun")]
    assert Repair.objects.get().mode == "spun"


def test_a_job_somebody_else_finished_says_who(farm, teo, hanna, door):
    job = make_job(make_plan(make_routine(farm), door))
    working.finish(job=loaded(job), by=hanna.user, now=NOON, on=DAY)

    [answer] = send(teo, entry("job_done", job=job.pk))

    assert answer.state == "beside"
    assert hanna.user.username in answer.reason
    assert hanna.user.username in rows_to_settle(farm, NOON)[0].stands


# Details ------------------------------------------------------------------------


@pytest.mark.parametrize("is_first", [True, False], ids=["details first", "details second"])
def test_details_reach_the_fault_and_the_store_once_in_any_order(farm, teo, door, is_first):
    clamp = make_material(farm, price=Decimal("2.50"), price_per="each")
    parent = entry("needs_part", door=door.pk)
    details = entry("details", parent=parent["id"], mode="bent", part="clamp", minutes=15, text="both ends",
                    parts=[{"material": clamp.pk, "quantity": "3"}])  # fmt: skip
    order = [details, parent] if is_first else [parent, details]

    for _again in range(3):
        for one in order:
            assert states(send(teo, one)) == ["taken"]

    repair = Repair.objects.get()
    assert (repair.mode, repair.part, repair.minutes) == ("bent", "clamp", 15)
    assert repair.note == "A part is needed.\nboth ends"
    assert repair.cost == Decimal("7.50")
    assert stock_of(clamp) == -3
    assert row(details).parent_id == uuid.UUID(parent["id"])
    assert "bent" in repair.job.plan.what


def test_details_of_a_finished_job_go_back_with_it(farm, teo, door):
    job, clamp = make_job(make_plan(make_routine(farm), door)), make_material(farm)
    done = entry("job_done", job=job.pk, text="tightened")
    send(teo, done, entry("details", parent=done["id"], minutes=30, text="two were loose",
                          parts=[{"material": clamp.pk, "quantity": "2"}]))  # fmt: skip
    job.refresh_from_db()
    before = (job.minutes_spent, job.note, stock_of(clamp))

    working.take_back(job=loaded(job), by=teo.user, now=NOON)

    assert before == (30, "tightened\ntwo were loose", -2)
    assert stock_of(clamp) == 0


def test_details_of_a_secured_door_take_their_parts_from_the_store(farm, teo, door, task):
    rope, done = make_material(farm), entry("secured", door=door.pk)

    send(teo, done, entry("details", parent=done["id"], minutes=11, parts=[{"material": rope.pk, "quantity": "1"}]))

    task.refresh_from_db()
    assert (task.minutes_spent, stock_of(rope)) == (11, -1)


def test_details_of_what_stands_beside_stand_beside_too(farm, teo, hanna, door):
    repair, rope = fault(farm, door), make_material(farm)
    send(hanna, entry("fixed", repair=repair.pk))
    late = entry("fixed", repair=repair.pk)

    answers = send(teo, late, entry("details", parent=late["id"], parts=[{"material": rope.pk, "quantity": "1"}]))

    assert states(answers) == ["beside", "beside"]
    assert stock_of(rope) == 0


def test_details_nobody_came_for_are_shown_after_a_day(farm, teo):
    send(teo, entry("details", parent=str(uuid.uuid4()), minutes=4))

    assert rows_to_settle(farm, NOON + timedelta(hours=23)) == []
    assert len(rows_to_settle(farm, NOON + timedelta(hours=25))) == 1


def test_somebody_elses_entry_is_no_parent(teo, hanna, door):
    parent = entry("needs_part", door=door.pk)
    send(hanna, parent)

    send(teo, entry("details", parent=parent["id"], mode="bent"))

    assert Repair.objects.get().mode == "other"


# Near misses ------------------------------------------------------------------------


def test_a_near_miss_with_a_name_keeps_it(teo, door):
    send(teo, entry("near_miss", door=door.pk, text="the bar hit a crate"))

    found = NearMiss.objects.get()
    assert (found.on, found.what, found.by, found.opening) == (DAY, "the bar hit a crate", teo.user, door)


@pytest.mark.parametrize("flag", [True, "yes", 1])
def test_a_near_miss_without_a_name_leaves_no_way_to_the_person(farm, teo, door, flag):
    told = entry("near_miss", door=door.pk, text="lifted off my feet", anonymous=flag, person=teo.user.pk, phone="Teo")
    details = entry("details", parent=told["id"], text="at the west end", anonymous=flag)
    picture = picture_file()
    send(teo, entry("secured", door=door.pk), told, details, sent_at=NOON + timedelta(seconds=77))
    photo = keep_picture(
        farm=farm, user=teo.user, key=uuid.uuid4(), entry=told["id"], upload=picture, moment="", taken_at=NOON, now=NOON
    )

    text = serializers.serialize("json", [row(told), row(details), NearMiss.objects.get(), photo])
    midnight = NOON.replace(hour=0).isoformat()
    for fields in (one["fields"] for one in json.loads(text)):
        assert fields["by"] is None
        assert fields.get("phone") is None
        assert fields.get("skew_s") is None
        for name in ("made_at", "received_at", "taken_at"):
            assert fields.get(name) in (None, midnight.replace("+00:00", "Z"))
    for trace in (teo.user.username, "Teo", "11:55", "12:0", '"person"'):
        assert trace not in text
    assert NearMiss.objects.get().what == "lifted off my feet\nat the west end"


def test_a_near_miss_without_a_name_is_taken_once_as_well(teo, door):
    told = entry("near_miss", door=door.pk, text="slipped", anonymous=True)

    answers = [send(teo, told) for _again in range(3)]

    assert answers[0] == answers[1] == answers[2]
    assert NearMiss.objects.count() == 1


def test_details_that_came_before_a_nameless_near_miss_lose_their_name(teo, door):
    told = entry("near_miss", door=door.pk, text="slipped", anonymous=True)
    details = entry("details", parent=told["id"], text="on the ice")

    send(teo, details)
    send(teo, told)

    assert (row(details).by, row(details).payload.get("made_at")) == (None, None)
    assert NearMiss.objects.get().what == "slipped\non the ice"


def test_a_near_miss_that_fails_says_nothing_of_the_person_in_the_logs(teo, door, caplog, monkeypatch):
    def fail(_deed):
        raise RuntimeError(f"for {teo.user.username}")

    monkeypatch.setitem(acting.ACTIONS, "near_miss", fail) if isinstance(acting.ACTIONS, dict) else None
    told = entry("near_miss", door=door.pk, text="slipped", anonymous=True)

    [answer] = send(teo, told)

    assert answer.state == "unread"
    assert row(told).payload["text"] == "slipped"
    assert teo.user.username not in caplog.text


# Once ------------------------------------------------------------------------


def test_the_second_answer_equals_the_first_whatever_happened_since(farm, teo, hanna, door, task):
    sent = [entry("secured", task=task.pk), entry("secured", door=999_999), entry("needs_part", door=door.pk),
            entry("fixed", repair=fault(farm, door).pk), {"kind": "danger"}, "rubbish", None]  # fmt: skip
    first = send(teo, *sent)
    for waiting in rows_to_settle(farm, NOON):
        settle(entry=waiting.entry, now=NOON)
    before = serializers.serialize("json", [*FieldEntry.objects.order_by("pk"), *Repair.objects.order_by("pk")])

    second = send(teo, *reversed(sent), now=NOON + timedelta(days=2))

    assert second == list(reversed(first))
    assert serializers.serialize(
        "json", [*FieldEntry.objects.order_by("pk"), *Repair.objects.order_by("pk")]
    ) == before  # fmt: skip
    assert states(first) == ["taken", "unread", "taken", "taken", "taken", "unread", "unread"]


def test_another_persons_number_is_answered_like_any_other_and_shows_nothing(teo, hanna, door):
    theirs = entry("needs_part", door=door.pk, text="Hanna's secret")
    ours = {**entry("secured", door=door.pk), "id": theirs["id"]}
    fresh = send(teo, entry("secured", door=door.pk))
    send(hanna, theirs)

    answers = [send(teo, ours) for _again in range(2)]

    assert answers[0] == answers[1]
    assert (answers[0][0].state, answers[0][0].reason) == (fresh[0].state, fresh[0].reason)
    assert row(theirs).by == hanna.user
    assert FieldEntry.objects.filter(by=teo.user, kind="secured").count() == 2  # nothing of Teo's was lost


def test_another_farms_number_is_answered_like_any_other(teo, door):
    stranger = make_member(make_farm(), "crew")
    theirs = entry("near_miss", text="not yours")
    send(stranger, theirs)

    [answer] = send(teo, {**entry("needs_part", door=door.pk), "id": theirs["id"]})

    assert (answer.id, answer.state, answer.reason) == (theirs["id"], "taken", "")
    assert Repair.objects.get().farm == teo.farm


def test_another_farms_rows_are_not_there(teo):
    other = make_opening()
    repair = fault(other.farm, other)
    job = make_job(make_plan(make_routine(other.farm), other))
    material = make_material(other.farm)
    task = make_task(make_storm(other.farm), opening=other)

    answers = send(
        teo, entry("secured", door=other.pk), entry("secured", tunnel=other.end_wall.tunnel_id),
        entry("secured", task=task.pk), entry("fixed", repair=repair.pk), entry("job_done", job=job.pk),
        entry("needs_part", parts=[{"material": material.pk, "quantity": "1"}]),
    )  # fmt: skip

    assert states(answers) == ["unread"] * 6
    assert Repair.objects.exclude(pk=repair.pk).count() == 0
    assert stock_of(material) == 0


def test_what_fails_in_the_middle_leaves_only_its_row(farm, manager, teo, door, monkeypatch):
    def fail(*_args, **_kwargs):
        raise RuntimeError("a fault of the program")

    monkeypatch.setattr(acting, "tell_of_danger", fail)

    [answer] = send(teo, entry("danger", door=door.pk))

    assert answer.state == "unread"
    assert Repair.objects.count() == 0
    assert Reminder.objects.get(membership=manager)  # a danger is told, whatever else goes wrong


@pytest.mark.parametrize(
    "odd",
    [
        {"minutes": -1}, {"minutes": 10**9}, {"minutes": "12"}, {"door": "1"}, {"door": 2**70}, {"door": True},
        {"parts": {}}, {"parts": [{"material": 1}]}, {"parts": [{"material": 1, "quantity": "NaN"}]},
        {"parts": [{"material": 1, "quantity": "1e9"}]}, {"ticks": ["a"]}, {"screws": [{"spot": "", "outcome": "x"}]},
        {"screws": [{"spot": "a", "outcome": []}]}, {"parent": 7}, {"kind": "teleported"}, {"kind": None},
        {"text": 5}, {"critical": "yes"}, {"parts": [["material", "quantity"]]},
    ],
    ids=str,
)  # fmt: skip
def test_what_cannot_be_read_is_kept_as_it_came(teo, odd):
    sent = entry("needs_part") | odd

    assert states(send(teo, sent)) == ["unread"]
    assert row(sent).payload == sent
    assert row(sent).reason
    assert Repair.objects.count() == 0


def test_text_that_a_database_cannot_hold_is_made_fit(teo, door):
    sent = entry("needs_part", door=door.pk, text="one\x00two \ud800 three", later={"a\x00": ["\udfff"]})

    assert states(send(teo, sent)) == ["taken"]
    assert Repair.objects.get().note == "onetwo ? three"
    assert row(sent).payload["later"] == {"a": ["?"]}


# Clocks ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ahead", "made", "acted"),
    [
        (timedelta(0), -60 * MINUTE, -60 * MINUTE),
        (timedelta(hours=3), 120 * MINUTE, -60 * MINUTE),  # a clock three hours fast: made an hour ago by ours
        (timedelta(hours=-3), -240 * MINUTE, -60 * MINUTE),
        (timedelta(0), 10 * MINUTE, timedelta(0)),  # never later than it came
        (timedelta(0), timedelta(days=-5000), timedelta(0)),  # a clock that was never set
    ],
)
def test_both_times_are_kept_and_ours_is_acted_on(teo, task, ahead, made, acted):
    sent = entry("secured", task=task.pk, made_at=NOON + made)

    send(teo, sent, sent_at=NOON + ahead)

    task.refresh_from_db()
    assert task.done_at == NOON + acted
    assert row(sent).made_at == NOON + made
    assert row(sent).skew_s == ahead.total_seconds()
    assert row(sent).received_at == NOON


def test_without_a_time_it_is_done_when_it_comes(teo, task):
    sent = entry("secured", task=task.pk, made_at="half past nine")

    send(teo, sent)

    task.refresh_from_db()
    assert task.done_at == NOON


def test_a_wrong_clock_is_said_in_words():
    assert skew_text(30.0) == ""
    assert skew_text(3 * 3600.0) == "The phone's clock was 3 hours ahead."
    assert skew_text(-20 * 60.0) == "The phone's clock was 20 minutes behind."
    assert skew_text(None)
    assert moment_of(None, None, NOON) == NOON


# Pictures and voices ------------------------------------------------------------------------


def test_a_picture_is_kept_once_beside_what_its_entry_made(farm, teo, door):
    sent, key = entry("danger", door=door.pk), uuid.uuid4()
    send(teo, sent)
    given = {"farm": farm, "user": teo.user, "key": key, "entry": sent["id"], "moment": "before", "taken_at": NOON}

    photos = {keep_picture(**given, upload=picture_file(), now=NOON + MINUTE).pk for _again in range(3)}

    photo = Photo.objects.get()
    assert photos == {photo.pk}
    assert (photo.repair, photo.entry_id, photo.moment) == (Repair.objects.get(), uuid.UUID(sent["id"]), "before")
    assert (photo.by, photo.taken_at, photo.key) == (teo.user, NOON, key)


def test_a_picture_with_another_persons_key_is_kept_all_the_same(farm, teo, hanna, door):
    key, sent = uuid.uuid4(), [entry("needs_part", door=door.pk), entry("needs_part", door=door.pk)]
    for member, one in zip((hanna, teo), sent, strict=True):
        send(member, one)
        for _again in range(2):
            keep_picture(farm=farm, user=member.user, key=key, entry=one["id"], upload=picture_file(), moment="",
                         taken_at=None, now=NOON)  # fmt: skip

    assert sorted(Photo.objects.values_list("by", flat=True)) == sorted([hanna.user.pk, teo.user.pk])


def test_pictures_belong_to_an_entry_that_came_and_to_its_person(farm, teo, hanna):
    sent = entry("secured")
    send(hanna, sent)

    for name in (sent["id"], str(uuid.uuid4()), "", "rubbish"):
        with pytest.raises(NoEntryError):
            keep_picture(farm=farm, user=teo.user, key=uuid.uuid4(), entry=name, upload=picture_file(), moment="",
                         taken_at=None, now=NOON)  # fmt: skip


def test_an_entry_has_at_most_twelve_pictures(farm, teo):
    sent = entry("secured")
    send(teo, sent)
    given = {"farm": farm, "user": teo.user, "entry": sent["id"], "moment": "", "taken_at": None, "now": NOON}
    for _one in range(12):
        keep_picture(key=uuid.uuid4(), upload=picture_file(), **given)

    with pytest.raises(TooManyError, match="12"):
        keep_picture(key=uuid.uuid4(), upload=picture_file(), **given)


def test_a_voice_is_kept_once_by_what_it_is_and_not_by_what_it_says_it_is(farm, teo, door):
    sent, key = entry("danger", door=door.pk), uuid.uuid4()
    send(teo, sent)
    upload = picture_file()
    upload.file.seek(0), upload.file.truncate(), upload.file.write(WEBM), upload.file.seek(0)
    upload.size, upload.content_type = len(WEBM), "text/html"

    first = keep_voice(farm=farm, user=teo.user, key=key, entry=sent["id"], upload=upload, made_at=NOON, now=NOON)
    again = keep_voice(farm=farm, user=teo.user, key=key, entry=sent["id"], upload=upload, made_at=NOON, now=NOON)

    assert first == again == VoiceNote.objects.get()
    assert (first.media_type, first.repair) == ("audio/webm", Repair.objects.get())


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (WEBM, "audio/webm"),  # RFC 8794
        (b"OggS\x00\x02" + b"\0" * 20, "audio/ogg"),  # RFC 3533, 6
        (b"\x00\x00\x00\x1cftypM4A \x00\x00\x00\x00", "audio/mp4"),  # ISO/IEC 14496-12, 4.3
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", "audio/wav"),  # Multimedia Programming Interface 1.0, 3
        (b"\xff\xf1\x50\x80\x02\x1f\xfc\x00", "audio/aac"),  # ISO/IEC 14496-3, 1.A.2
        (b"<html><script>alert(1)</script>", None),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 20, None),
        (b"\xff\xd8\xff\xe0" + b"\0" * 20, None),  # JPEG
        (b"\x1a\x45\xdf\xa3" + b"\0" * 80, None),  # EBML of some other kind
        (b"", None),
    ],
)
def test_a_recording_is_known_by_its_first_octets(head, kind):
    found = kind_of(head)

    assert (found and found[0]) == kind


def test_retrying_gives_up_with_the_error_of_the_database(monkeypatch):
    calls = []

    def busy():
        calls.append(1)
        raise taking.OperationalError("database is locked")

    monkeypatch.setattr(taking.time, "sleep", lambda _seconds: None)
    monkeypatch.setattr(type(taking.connection), "in_atomic_block", False, raising=False)
    with pytest.raises(taking.OperationalError):
        taking.retried(busy)
    assert calls
