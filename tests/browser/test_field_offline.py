"""Nothing that a crew taps is lost or told twice: no network, no log-in, a server that fails, a reply that is lost."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, expect

from tests.browser.phone import BASE, PATIENT, Phone, Rows, set_up
from tests.browser.wire import Wire
from tests.system.program import Program, eventually

ENTRIES, PHOTOS, TOKEN = "/field/entries/$", "/field/photos/$", "/field/token/$"
JSON = "application/json"


@pytest.fixture(scope="module")
def known(program: Program) -> dict[str, Any]:
    return set_up(program.data)


@pytest.fixture(scope="module")
def door(known: dict[str, Any]) -> int:
    return int(known["door"])


@pytest.fixture(scope="module")
def rows(program: Program) -> Rows:
    return Rows(program.data)


@pytest.fixture
def wire(program: Program) -> Iterator[Wire]:
    with Wire(program.port) as wire:
        yield wire


@pytest.fixture
def phone(browser: Browser, wire: Wire, known: dict[str, Any], tmp_path: Path) -> Iterator[Phone]:
    phone = Phone(browser, wire, tmp_path / "memory")
    yield phone
    phone.switch_off()
    assert phone.complaints == []


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A picture as a phone's camera takes it: large, on its side, with a note of where and when."""
    path = tmp_path_factory.mktemp("camera") / "camera.jpg"
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned by a quarter
    exif[0x0132] = "2026:11:25 12:00:00"
    Image.effect_noise((3000, 2000), 40).convert("RGB").save(path, exif=exif, quality=92)
    return path


def sent_over(wire: Wire) -> list[str]:
    """Return the number of each entry as often as it went over the line."""
    return [one["id"] for each in wire.sent(ENTRIES) for one in json.loads(each.body)["entries"]]


def test_a_day_without_signal(phone, wire, rows, door, picture):
    phone.carry()
    before = rows.entries()
    phone.out_of_reach()

    phone.page.goto("/q/t08w/")  # what the phone's camera opens
    expect(phone.page.get_by_role("heading", name="T08-W", level=1)).to_be_visible(timeout=PATIENT)
    repaired = phone.log(door, "needs_part", picture)
    phone.go("storm")
    phone.page.get_by_role("button", name="Done").first.tap()
    phone.expect_unsent(3)
    waiting = phone.waits()
    phone.switch_off()

    phone.switch_on()  # still without any way
    phone.page.goto(BASE)
    phone.expect_unsent(3)
    assert phone.waits() == waiting
    phone.back()
    phone.expect_all_sent()

    new = {number: row for number, row in rows.entries().items() if number not in before}
    assert {number.replace("-", "") for number in waiting["entries"]} == set(new)
    assert sorted(new.values()) == [("needs_part", "taken", "teo"), ("secured", "taken", "teo")]
    assert rows.pictures(repaired) == 1
    ticked = next(number for number, row in new.items() if row[0] == "secured")
    task = "select t.state from maintenance_stormtask t join maintenance_fieldentry e on e.task_id = t.id"
    assert rows.ask(f"{task} where e.id = ?", ticked) == [("done",)]
    assert sorted(sent_over(wire)) == sorted(waiting["entries"])
    assert phone.waits()["entries"] == phone.waits()["photos"] == []


def test_a_picture_is_small_upright_and_says_nothing_of_the_camera(phone, wire, door, picture):
    phone.carry()

    phone.log(door, "needs_part", picture)
    phone.send()
    phone.expect_all_sent()

    [sent] = wire.sent(PHOTOS)
    start = sent.body.index(b"\xff\xd8\xff")
    seen = Image.open(io.BytesIO(sent.body[start:]))
    assert seen.size == (1067, 1600)
    assert dict(seen.getexif()) == {}
    assert len(sent.body) < 900_000 < picture.stat().st_size


def test_the_session_has_run_out_meanwhile(phone, wire, rows, door, picture):
    phone.carry()
    phone.out_of_reach()
    number = phone.log(door, "needs_part", picture)
    rows.end_sessions()

    phone.back()
    expect(phone.page.get_by_text("Sign in to send. Nothing is lost.")).to_be_visible(timeout=PATIENT)
    assert phone.waits()["entries"] == [number]
    assert len(phone.waits()["photos"]) == 1
    assert wire.sent(ENTRIES) == []

    way_in = phone.page.locator(".notice").get_by_role("link", name="Sign in").get_attribute("href")
    assert str(way_in).startswith("/crew/brindlewick/?next=")
    phone.sign_in("teo")
    phone.expect_all_sent()

    assert rows.entries()[number.replace("-", "")] == ("needs_part", "taken", "teo")
    assert rows.pictures(number) == 1
    assert len(wire.sent(ENTRIES)) == 1


def test_the_token_was_changed_between_asking_and_sending(phone, wire, rows, door, picture):
    phone.carry()
    wire.rule("POST", ENTRIES, "spoils the token", times=1)
    wire.rule("POST", PHOTOS, "spoils the token", times=1)

    number = phone.log(door, "needs_part", picture)
    phone.send()
    phone.expect_all_sent()

    assert [one.status for one in wire.sent(ENTRIES)] == [403, 200]
    assert [one.status for one in wire.sent(PHOTOS)] == [403, 200]
    assert rows.entries()[number.replace("-", "")] == ("needs_part", "taken", "teo")
    assert rows.pictures(number) == 1


def test_a_log_in_in_another_tab_changed_the_token(phone, rows, door):
    phone.carry()
    phone.out_of_reach()
    number = phone.log(door, "needs_part")
    first = phone.page
    phone.wire.mend()
    phone.context.set_offline(False)
    other = phone.context.new_page()
    phone.page = other
    phone.sign_in("teo")
    phone.page = first

    phone.expect_all_sent()

    assert rows.entries()[number.replace("-", "")] == ("needs_part", "taken", "teo")


@pytest.mark.parametrize("where", [TOKEN, ENTRIES, PHOTOS], ids=["token", "entries", "photos"])
def test_a_server_that_fails_and_then_works(phone, wire, rows, door, picture, where):
    phone.carry()
    failing = wire.rule("GET" if where == TOKEN else "POST", where, status=500)

    number = phone.log(door, "needs_part", picture)
    phone.send()
    expect(phone.page.get_by_text("The farm's computer did not take it.").first).to_be_visible(timeout=PATIENT)
    held = phone.waits()
    assert len(held["photos"]) == 1
    assert held["entries"] == ([] if where == PHOTOS else [number])
    failing.times = 0
    phone.send()
    phone.expect_all_sent()

    assert rows.entries()[number.replace("-", "")] == ("needs_part", "taken", "teo")
    assert rows.pictures(number) == 1


REFUSALS = {
    "logged out": {"status": 401, "kind": JSON, "body": '{"error": "Sign in.", "login": "/login/"}'},
    "not allowed": {"status": 403, "kind": JSON, "body": '{"error": "Not yours."}'},
    "clash": {"status": 409, "kind": JSON, "body": '{"error": "Somebody else."}'},
    "too big": {"status": 413, "kind": JSON, "body": '{"error": "Too big."}'},
    "bad": {"status": 400, "kind": JSON, "body": '{"error": "Bad."}'},
    "a page": {"status": 200, "kind": "text/html", "body": "<h1>Welcome to the guest network</h1>"},
    "other JSON": {"status": 200, "kind": JSON, "body": '{"ok": true}'},
    "empty answer": {"status": 200, "kind": JSON, "body": '{"entries": []}'},
    "somebody else's key": {"status": 200, "kind": JSON, "body": '{"key": "x", "entries": [{"id": "x"}]}'},
    "moved": {"status": 302, "headers": {"Location": "/login/"}},
    "proxy": {"status": 502},
}  # fmt: skip


@pytest.mark.parametrize("refusal", REFUSALS.values(), ids=REFUSALS)
def test_no_answer_but_its_own_key_deletes_anything(phone, wire, rows, door, picture, refusal):
    phone.carry()
    on_entries = wire.rule("POST", ENTRIES, **refusal)
    on_photos = wire.rule("POST", PHOTOS, **refusal)

    number = phone.log(door, "needs_part", picture)
    phone.send()
    eventually(lambda: wire.sent(ENTRIES), within=20)
    phone.page.wait_for_timeout(500)
    assert phone.waits()["entries"] == [number]
    phone.expect_unsent(2)
    on_entries.times = 0
    phone.page.evaluate("Field.page.send(true)")
    eventually(lambda: wire.sent(PHOTOS), within=20)
    phone.page.wait_for_timeout(500)
    assert phone.waits()["entries"] == []
    assert len(phone.waits()["photos"]) == 1
    on_photos.times = 0
    phone.page.evaluate("Field.page.send(true)")
    phone.expect_all_sent()

    assert rows.entries()[number.replace("-", "")] == ("needs_part", "taken", "teo")
    assert rows.pictures(number) == 1


def test_the_reply_is_lost_after_the_server_took_it(phone, wire, rows, door, picture):
    phone.carry()
    of_entry = wire.rule("POST", ENTRIES, "loses the reply")
    of_photo = wire.rule("POST", PHOTOS, "loses the reply")

    number = phone.log(door, "needs_part", picture)
    phone.send()
    eventually(lambda: number.replace("-", "") in rows.entries(), within=20)
    expect(phone.page.get_by_text("No signal. It goes by itself later.").first).to_be_visible(timeout=PATIENT)
    assert phone.waits()["entries"] == [number]
    of_entry.times = 0
    phone.send()
    eventually(lambda: rows.pictures(number), within=20)
    phone.page.wait_for_timeout(500)
    assert phone.waits()["entries"] == []
    assert len(phone.waits()["photos"]) == 1
    of_photo.times = 0
    phone.send()
    phone.expect_all_sent()

    assert len(sent_over(wire)) >= 2
    assert set(sent_over(wire)) == {number}
    assert rows.entries()[number.replace("-", "")] == ("needs_part", "taken", "teo")
    assert len(wire.sent(PHOTOS)) >= 2
    assert rows.pictures(number) == 1


def test_an_entry_goes_only_under_the_log_in_of_its_person(phone, wire, rows, door):
    phone.carry("teo")
    phone.out_of_reach()
    number = phone.log(door, "needs_part")
    rows.end_sessions()
    phone.back()

    phone.sign_in("marisol")
    phone.go("unsent")
    expect(phone.page.get_by_text("Made by Teo Lucero.")).to_be_visible(timeout=PATIENT)
    assert phone.waits()["entries"] == [number]
    assert wire.sent(ENTRIES) == []
    phone.sign_in("teo")
    phone.expect_all_sent()

    assert rows.entries()[number.replace("-", "")] == ("needs_part", "taken", "teo")


@pytest.mark.parametrize("where", ["the crew's page", "another sheet"])
def test_a_log_out_forgets_the_farm_and_keeps_what_is_unsent(phone, wire, rows, door, where):
    phone.carry()
    failing = wire.rule("POST", ENTRIES, status=500)
    number = phone.log(door, "needs_part")

    if where == "another sheet":
        phone.page.goto("/farm/brindlewick/repairs/")
        expect(phone.page.get_by_role("link", name="One entry on this phone is not sent.")).to_be_visible(
            timeout=PATIENT
        )
        phone.page.locator(".zones-phone summary").click()
    else:
        phone.go("")
    phone.page.get_by_role("button", name="Log out").first.click()
    phone.page.locator("[name=username], [name=short_name]").first.wait_for()
    failing.times = 0
    phone.page.goto("/static/none/")  # a page of the same origin without any script of ours
    held = phone.page.evaluate("""() => new Promise((resolve) => {
        indexedDB.open("gablekeep-field").onsuccess = (event) => {
          const base = event.target.result;
          const change = base.transaction(["entries", "bundle", "sent"]);
          const asked = ["entries", "bundle", "sent"].map((name) => change.objectStore(name).getAllKeys());
          change.oncomplete = () => resolve(asked.map((one) => one.result));
        };
    })""")

    assert held == [[number], [], []]
    phone.sign_in("teo")
    phone.expect_all_sent()
    assert rows.entries()[number.replace("-", "")][0] == "needs_part"


def test_what_is_taken_back_in_time_never_leaves(phone, wire, rows, door, picture):
    phone.carry()
    before = rows.entries()

    phone.log(door, "secured", picture)
    phone.page.get_by_role("button", name="Undo").tap()
    phone.expect_all_sent()

    assert phone.waits()["entries"] == phone.waits()["photos"] == []
    assert wire.sent(ENTRIES) == []
    assert rows.entries() == before


def test_what_waits_for_more_than_a_day_is_warned_of(phone, door):
    phone.carry()
    phone.out_of_reach()
    number = phone.log(door, "needs_part")

    phone.page.evaluate(
        """async (number) => {
        const row = await Field.store.get("entries", number);
        await Field.store.put("entries", { ...row, made_at: new Date(Date.now() - 25 * 3600 * 1000).toISOString() });
    }""",
        number,
    )

    expect(phone.page.get_by_role("link", name="1 entry waits for more than a day.")).to_be_visible(timeout=PATIENT)


def test_two_tabs_send_each_entry_once(phone, wire, rows, door):
    phone.carry()
    phone.out_of_reach()
    numbers = [phone.log(door, "needs_part") for _ in range(3)]
    other = phone.context.new_page()
    other.goto(BASE)
    expect(other.locator(".bar-unsent")).to_have_text("3 not sent", timeout=PATIENT)

    phone.back()
    phone.expect_all_sent()
    expect(other.locator(".bar-unsent")).to_have_text("All sent", timeout=PATIENT)

    assert sorted(sent_over(wire)) == sorted(numbers)


def test_danger_goes_at_once_and_marks_the_place(phone, wire, rows, door):
    phone.carry()

    number = phone.log(door, "danger")
    phone.expect_all_sent()  # nothing is held back, nothing has to be pressed
    phone.go("")

    panel = phone.page.locator(".danger").filter(has_text="T08-W")
    expect(panel.first).to_be_visible(timeout=PATIENT)
    assert rows.entries()[number.replace("-", "")] == ("danger", "taken", "teo")
    repair = "select r.is_danger, r.is_critical, r.state from maintenance_repair r"
    joined = f"{repair} join maintenance_fieldentry e on e.repair_id = r.id where e.id = ?"
    assert rows.ask(joined, number.replace("-", "")) == [(1, 1, "open")]


def test_a_near_miss_without_a_name_carries_none(phone, wire, rows):
    phone.carry()
    phone.go("miss")
    phone.page.get_by_label("What nearly happened?").fill("The bar hit a crate.")
    phone.page.get_by_role("button", name="Save").tap()
    phone.page.get_by_role("heading", name="Saved").wait_for()
    phone.send()
    phone.expect_all_sent()

    [sent] = wire.sent(ENTRIES)
    [entry] = json.loads(sent.body)["entries"]
    assert entry["anonymous"] is True
    assert set(entry) == {"id", "made_at", "kind", "text", "anonymous"}
    assert rows.entries()[entry["id"].replace("-", "")] == ("near_miss", "taken", "")
    assert "crate" not in json.dumps(phone.page.evaluate("Field.store.all('sent')"))


def test_details_afterwards_reach_what_they_are_about(phone, wire, rows, door):
    phone.carry()
    phone.out_of_reach()
    number = phone.log(door, "needs_part")
    phone.page.locator("details.more > summary").tap()
    phone.page.locator("label.tile").filter(has_text="spins, does not hold").tap()
    phone.page.get_by_label("Minutes it took").fill("20")
    phone.page.get_by_label("In your words").fill("The wood is soft.")
    phone.page.get_by_role("button", name="Speak").tap()
    phone.page.wait_for_timeout(1200)
    phone.page.get_by_role("button", name="Stop").tap()
    expect(phone.page.get_by_text("Spoken note, ")).to_be_visible(timeout=PATIENT)
    phone.page.get_by_role("button", name="Save the details").tap()
    expect(phone.page.locator("main").get_by_text("The details are saved.")).to_be_visible(timeout=PATIENT)

    phone.back()
    phone.expect_all_sent()

    repair = "select r.mode, r.note, r.minutes from maintenance_repair r"
    [(mode, note, _minutes)] = rows.ask(
        f"{repair} join maintenance_fieldentry e on e.repair_id = r.id where e.id = ?", number.replace("-", "")
    )
    assert mode == "spun"
    assert "The wood is soft." in note
    assert rows.ask("select count(*) from maintenance_voicenote where entry_id = ?", number.replace("-", "")) == [(1,)]
