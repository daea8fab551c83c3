"""The first morning with the upkeep: the manager reads what presses, the crew does it, a sheet is replaced."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlsplit

import pytest
from icalendar import Calendar
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

from tests.browser.screen import DESK, PHONE, Screen, new_context
from tests.system.program import Program, manage

HOME = "/farm/brindlewick/"
DUE = f"{HOME}due/"
TEO, PASSWORD = "teo", "a barn full of rods"
FIRST = "primer reapriete"  # Teo reads Spanish
MONTH = "T12-W, turning bar Tornillos de abrazadera al mes"


def link(page: Page, name: str | re.Pattern[str]) -> Locator:
    return page.get_by_role("main").get_by_role("link", name=name)


def button(page: Page, name: str | re.Pattern[str]) -> Locator:
    return page.get_by_role("main").get_by_role("button", name=name)


def row(page: Page, title: str) -> Locator:
    """Return a line of the list of work by the words of its link."""
    words = re.compile(rf"^\s*{re.escape(title).replace(chr(92) + ' ', chr(92) + 's+')}\s*$")
    return page.get_by_role("main").locator("li").filter(has=page.get_by_role("link", name=words))


def fact(page: Page, name: str) -> Locator:
    """Return what a sheet says beside a name."""
    term = page.locator("dl.particulars > div").filter(has=page.locator("dt", has_text=re.compile(f"^{name}$")))
    return term.locator("dd")


@pytest.fixture
def manager(manager_at: Any) -> Iterator[Page]:
    """Ines at her desk; the browser has nothing to complain about at the end."""
    screen: Screen = manager_at(DESK)
    yield screen.page
    assert screen.complaints == []


@pytest.fixture
def teo(browser: Any, program: Program, address: str) -> Iterator[Page]:
    """Teo with his phone, logged in by the password he was given."""
    give = f"u = User.objects.get(username={TEO!r}); u.set_password({PASSWORD!r}); u.save()"
    given = manage(program.data, "shell", "--no-imports", "-c", f"from django.contrib.auth.models import User; {give}")
    assert given.returncode == 0, given.stderr
    with new_context(browser, PHONE, address, None) as context:
        screen = Screen(context.new_page())
        page = screen.page
        page.goto("/login/")
        page.get_by_label("Username").fill(TEO)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("main").get_by_role("button", name="Log in").tap()
        page.wait_for_url("**/farm/**")
        yield page
        assert [complaint for complaint in screen.complaints if "422" not in complaint] == []  # a form sent back


def test_the_manager_reads_what_presses_and_why(manager):
    manager.goto(HOME)
    manager.get_by_role("link", name="Due", exact=True).click()

    expect(manager.get_by_role("heading", level=1)).to_have_text("What is due")
    sheet = row(manager, "T04 Replace the roof film")
    expect(sheet).to_contain_text("Roof film, in service for 6 years 2 months; rated for 4 years.")
    expect(sheet).to_contain_text(re.compile(r"\d+ days late"))
    expect(sheet.get_by_role("link", name="Done")).to_be_visible()  # it waits for nothing

    screws = row(manager, "T12-W, turning bar Clamp screws: first re-tightening")
    expect(screws).to_contain_text("These screws were fitted 35 days ago")
    expect(screws).to_contain_text("the first re-tightening, due 24 to 72 hours after, was never logged.")

    clamp = row(manager, "T08-W, right jamb, clamp 4 Repair: clamp screw, spins, does not hold")
    expect(clamp).to_contain_text("by Marisol Ibarra. It cannot wait for the next wind. It failed here 4 times in 14")

    events = manager.get_by_role("region", name=re.compile("After weather")).locator("li.work-row")
    critical = events.filter(has_text="It cannot wait for the next wind.")
    assert critical.count() == 5
    expect(events.last).to_contain_text("spring wire, missing")  # it may wait, and stands below those that may not


def test_what_may_wait_opens_at_a_tap_and_is_on_paper(manager):
    manager.goto(DUE)
    later = manager.locator("details.later-band").first
    expect(later.locator("li").first).to_be_hidden()
    paper = PdfReader(io.BytesIO(manager.pdf())).pages
    assert "T09 Replace the roof" in " ".join(" ".join(sheet.extract_text() for sheet in paper).split())

    later.locator("summary").click()

    expect(later.locator("li").first).to_be_visible()


def test_teo_finds_a_screw_that_spins_and_takes_his_report_back(teo):
    page = teo
    page.goto(f"{HOME}")
    page.get_by_text("Sheets", exact=True).tap()
    page.get_by_role("link", name="Due", exact=True).tap()
    job = f"T12-W, turning bar Tornillos de abrazadera: {FIRST}"
    expect(row(page, MONTH)).to_contain_text("Waits for T12-W, turning bar: Tornillos de abrazadera: primer reapriete")
    expect(row(page, MONTH).get_by_role("link", name="Done")).to_have_count(0)

    row(page, job).get_by_role("button", name="I take it").tap()
    expect(row(page, job)).to_contain_text("Teo Lucero")
    row(page, job).get_by_role("link", name=re.compile("Done")).tap()
    page.wait_for_url("**/done/**")
    card = urlsplit(page.url).path.replace("done/", "")
    screws = page.get_by_role("group", name="Each screw", exact=True).get_by_role("group")
    # By hand, from the rule of practice: 271 in between the outer clamps of a 22 ft door, in 19 spaces: 20 clamps on
    # each bar; and two lines for screws that no sheet knows.
    assert screws.count() == 20 + 20 + 2

    screws.filter(has_text="Turning bar, clamp 5").get_by_text("spun", exact=True).tap()
    button(page, "It is done").tap()
    expect(page.get_by_role("alert").filter(has_text="Not answered: Turning bar, clamp 1")).to_be_visible()
    answered = page.get_by_role("group", name="Turning bar, clamp 5").get_by_role("radio", name="spun")
    expect(answered).to_be_checked()  # nothing is lost
    button(page, "All others tight, done").tap()
    expect(page.get_by_role("main")).to_contain_text("Done. Look at it, or take it back")

    page.goto(card)
    found = page.get_by_role("region", name="What was found and used")
    expect(found.get_by_role("listitem").filter(has_text="tight")).to_have_count(39)
    expect(found.get_by_role("listitem").filter(has_text="Turning bar, clamp 5")).to_contain_text("spun")
    page.goto(DUE)
    fault = row(page, "T12-W, Turning bar, clamp 5 Repair: clamp screw, spins, does not hold")
    expect(fault).to_contain_text("by Teo Lucero.")
    expect(row(page, job)).to_have_count(0)
    expect(row(page, MONTH)).not_to_contain_text("Waits for")
    expect(row(page, MONTH).get_by_role("link", name=re.compile("Done"))).to_be_visible()

    page.goto(card)
    button(page, re.compile("Take back")).tap()
    expect(page.get_by_role("main")).to_contain_text("32 days late")
    page.goto(DUE)
    expect(fault).to_have_count(0)
    expect(row(page, job)).to_contain_text("was never logged")
    expect(row(page, MONTH)).to_contain_text("Waits for")
    page.goto(f"{HOME}repairs/?state=all")
    expect(page.get_by_role("main")).not_to_contain_text("Turning bar, clamp 5")


def sheets_in_store(page: Page) -> float:
    """Return how many sheets of the roof's film the store says it has."""
    page.goto(f"{HOME}store/")
    line = page.get_by_role("row").filter(has_text="Greenhouse film, 6 mil")
    return float(line.first.locator("[data-label='Lies there']").inner_text())


def read_calendar(page: Page) -> dict[str, list[Any]]:
    """Make an address for a calendar, fetch what is there, and return its events by their summary."""
    page.goto(f"{HOME}reminders/")
    button(page, "Make an address").click()
    address = page.get_by_label("Address of the calendar").input_value()
    answer = page.request.get(urlsplit(address).path, headers={"Cookie": ""})
    assert answer.status == 200
    assert answer.headers["content-type"].startswith("text/calendar")
    events: dict[str, list[Any]] = {}
    for event in Calendar.from_ical(answer.body()).walk("VEVENT"):
        events.setdefault(str(event["SUMMARY"]), []).append(event)
    return events


def test_the_manager_replaces_the_oldest_sheet(manager):
    page = manager
    before = read_calendar(page)
    (planned,) = before["Replace the roof film, T04"]
    assert str(planned["LOCATION"]) == "T04"
    assert planned["STATUS"] == "CONFIRMED"
    assert "New film: first re-tightening, T04" not in before
    lying = sheets_in_store(page)
    assert lying == 2  # the new sheets of T04, one for each layer

    page.goto(DUE)
    row(page, "T04 Check connections while the film is off").get_by_role("button", name=re.compile("Done")).click()
    row(page, "T04 Replace the roof film").get_by_role("link", name=re.compile("Done")).click()
    day = date.fromisoformat(page.get_by_label("Done on").input_value())
    page.get_by_label("Why the old one came out").select_option(label="worn or aged")
    page.get_by_label("How it failed").select_option(label="torn")
    page.get_by_label("Cause").select_option(label="age and sun")
    assert page.get_by_label("Quantity").input_value() == "2"
    page.get_by_label("Roll or lot number").fill("R-118")
    page.get_by_label("Taken out of the store").fill("2")
    button(page, "It is done").click()
    expect(page.get_by_role("main")).to_contain_text("T04: Replace the roof film. Done.")

    assert sheets_in_store(page) == lying - 2
    page.goto(DUE)
    expect(row(page, "T04 Replace the roof film")).to_have_count(0)

    page.goto(f"{HOME}tunnels/")
    link(page, "T04").first.click()
    link(page, "Roof film").first.click()
    expect(fact(page, "Fitted on")).to_have_text(day.isoformat())
    expect(fact(page, "Roll or lot number")).to_have_text("R-118")
    life = page.get_by_role("region", name="Its life")
    predecessor = life.get_by_role("link", name=re.compile("The one fitted on"))
    fitted = predecessor.inner_text().removeprefix("The one fitted on ")
    assert 6.1 < (day - date.fromisoformat(fitted)).days / 365.25 < 6.3  # 6.2 years, as the story tells
    expect(fact(page, "In place of")).to_have_text(f"the one of {fitted}")
    predecessor.click()
    expect(fact(page, "How it failed")).to_have_text("torn")
    expect(fact(page, "Cause of the failure")).to_have_text("age and sun")
    expect(fact(page, "Removed on")).to_have_text(f"{day.isoformat()}: worn or aged")
    expect(fact(page, "In its place now")).to_have_text(f"the one of {day.isoformat()}")

    after = read_calendar(page)
    (tightening,) = after["New film: first re-tightening, T04"]
    # 24 to 72 hours after it was fitted, and the end of an event's days is excluded (RFC 5545, 3.6.1).
    assert tightening["DTSTART"].dt == day + timedelta(days=1)
    assert tightening["DTEND"].dt == day + timedelta(days=4)
    assert tightening["STATUS"] == "TENTATIVE"
    assert "Replace the roof film, T04" not in after


def test_a_door_is_one_tap_from_its_work_its_parts_and_a_fault(manager_at):
    page = manager_at(PHONE).page
    for name, heading, said in (
        ("What is due at T08", "What is due", "T08-W, right jamb, clamp 4"),
        ("Parts here", "Parts in service", "On T08-W."),
    ):
        page.goto(f"{HOME}doors/")
        link(page, "T08-W").first.tap()
        link(page, name).tap()
        expect(page.get_by_role("heading", level=1)).to_have_text(heading)
        expect(page.get_by_role("main")).to_contain_text(said)

    page.goto(f"{HOME}doors/")
    link(page, "T08-W").first.tap()
    link(page, "Report a fault").tap()

    expect(page.get_by_label("Where", exact=False).first.locator("option:checked")).to_contain_text("T08-W")
