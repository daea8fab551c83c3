"""Every page of the farm at a desk and in the hand: it opens clean, it fits, everybody can use it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import resolve
from playwright.sync_api import Page

from doors.urls import farm_pages
from maintenance.urls import farm_pages as upkeep_pages
from tests.browser.screen import DESK, SIZES, new_context
from tests.system.program import UP, Program, manage

HOME = "/farm/brindlewick/"
# Routes, and of pages that look different from door to door the link that leads to each kind of them.
SAMPLES = {
    "tunnel": ("T01", "T05", "T12"),
    "opening": ("T01-W", "T05-E", "T10-E", "T12-W"),
    "job": ("T04 Replace the roof film", "T12-W, turning bar Clamp screws: first re-tightening"),
}
GROUPINGS = ("place", "person")  # of what is due, beside that by week
# What only takes answers, or shows them again after a mistake.
NOT_PAGES = {
    "job-change", "repair-mend", "repair-reopen", "sun-measured", "reminders-change", "push-device", "calendar-feed",
    "weather-station", "storm-task", "storm-close", "photo", "aftermath-begin", "aftermath-gust", "aftermath-finding",
    "event-zip", "factor-reset", "minutes-accept",
    "field",  # the crew's page has tests of its own
}  # fmt: skip
PAGES = [
    *((route.name, text) for route in (*farm_pages, *upkeep_pages) for text in SAMPLES.get(str(route.name), ("",))
      if route.name not in NOT_PAGES),
    *(("due", grouping) for grouping in GROUPINGS),
]  # fmt: skip
# WCAG 2.2 AA, what axe-core holds for good practice, and the contrast of 7:1 that glare in a field asks for.
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "rules": {"color-contrast-enhanced": {"enabled": True}},
    "resultTypes": ["violations"],
}
GRAVE = {"serious", "critical"}
MOST_BYTES = 100_000  # of the first page, with nothing kept from before

# A storm that is over, with what was known of it, what was done, and what is to be looked at now.
STORM = """
from datetime import timedelta
from decimal import Decimal
from django.contrib.auth.models import User
from django.utils import timezone
from farm.models import Farm, Opening
from maintenance.aftermath.findings import open_findings
from tests.storm_rows import make_look, make_storm, make_task, picture
farm, hour = Farm.objects.get(slug="brindlewick"), timedelta(hours=1)
began = timezone.now() - 60 * hour
doors = list(Opening.objects.filter(end_wall__farm=farm, code__endswith="-W").order_by("code"))
tunnels = [picture(door.end_wall.tunnel, limit=20 + number) for number, door in enumerate(doors)]
storm = make_storm(
    farm, opened_at=began - 40 * hour, begins_at=began, ends_at=began + 8 * hour, peak_at=began + 3 * hour,
    deadline_at=began - 2 * hour, start_by_at=began - 6 * hour, assessed_at=began + 8 * hour,
    facts={"tunnels": tunnels}, actual_gust_m_s=Decimal("27.5"),
)
make_look(storm)
for door in doors:
    make_task(storm, door, state="done", done_at=began - 4 * hour, done_by=User.objects.get(username="teo"))
assert open_findings(storm=storm, now=timezone.now())
"""

by_page = pytest.mark.parametrize(("route", "text"), PAGES, ids=lambda value: str(value))
by_size = pytest.mark.parametrize("size", SIZES, ids=str)


@pytest.fixture(scope="module")
def found(browser: Any, program: Program, address: str, cookies: list[Any]) -> dict[tuple[str, str], str]:
    """Walk the links from the plan, one page of each kind, and return where every kind of page was found."""
    made = manage(program.data, "shell", "-c", STORM)
    assert made.returncode == 0, made.stderr
    found: dict[tuple[str, str], str] = {}
    with new_context(browser, DESK, address, cookies) as context:
        page = context.new_page()
        waiting = [HOME]
        for path in waiting:
            page.goto(path)
            links = page.locator("a[href]").evaluate_all("all => all.map(a => [a.getAttribute('href'), a.textContent])")
            for key, link in _new(links, found):
                found[key] = link
                waiting.append(link)
        found["import-preview", ""] = _look_at_a_file(page, found["import", ""])
        found |= {("due", grouping): f"{found['due', '']}?group={grouping}" for grouping in GROUPINGS}
        found |= dict(_of_the_oldest_film(page, found["job", SAMPLES["job"][0]]))
    return found


def _of_the_oldest_film(page: Page, job: str) -> Iterable[tuple[tuple[str, str], str]]:
    """Yield the sheet of a job's part, and where it is replaced, taken out and taken down for the season."""
    page.goto(job)
    sheet = str(page.get_by_role("main").get_by_role("link", name="Roof film", exact=True).get_attribute("href"))
    yield ("component", ""), sheet
    page.goto(sheet)
    for route, name in (
        ("component-replace", "Replace"), ("component-remove", "Take out"),
        ("component-lay-up", "Take down for the season"),
    ):  # fmt: skip
        yield (route, ""), str(page.get_by_role("link", name=name, exact=True).get_attribute("href"))


def _look_at_a_file(page: Page, path: str) -> str:
    """Choose a file with a good row and a bad one, and return where its rows are looked at."""
    page.goto(path)
    template = page.get_by_role("listitem").filter(has_text="Tunnels").get_by_role("link", name="CSV")
    rows = page.request.get(str(template.get_attribute("href"))).text()
    columns = rows.splitlines()[0].count(",") + 1
    table = rows + ",".join(["wide"] * columns) + "\r\n"
    page.get_by_label("File").set_input_files({"name": "two.csv", "mimeType": "text/csv", "buffer": table.encode()})
    page.get_by_role("button", name="Look at the rows").click()
    page.get_by_role("heading", name="Cells to correct").wait_for()
    return page.url


def _new(links: list[tuple[str, str]], found: dict[tuple[str, str], str]) -> Iterable[tuple[tuple[str, str], str]]:
    """Yield the links that lead to a kind of page not found before."""
    for href, text in links:
        path = urlsplit(href).path
        route = str(resolve(path).url_name) if path.startswith(HOME) else ""
        if route in ("", "import-preview", *NOT_PAGES):  # the links to the preview give empty tables
            continue
        for sample in SAMPLES.get(route, ("",)):
            if (route, sample) not in found and re.search(rf"{sample}(\s|$)", " ".join(text.split())):
                yield (route, sample), path


def test_every_page_is_reached_by_links(found):
    assert [page for page in PAGES if page not in found] == []


@by_size
@by_page
def test_the_page_opens_clean_and_fits_the_screen(route, text, size, found, manager_at, shots):
    screen = manager_at(size)

    answer = screen.page.goto(found[route, text])
    screen.page.evaluate("new Promise(requestAnimationFrame)")  # what the scripts did is drawn, and told

    assert answer is not None
    assert answer.status == 200
    screen.shoot(shots, re.sub(r"\W+", "-", f"{route}{text and '-'}{text}-{size}"))
    assert screen.complaints == []
    assert screen.overflow() == []
    assert screen.page.get_by_role("heading", level=1).count() == 1


@by_size
@by_page
def test_nothing_grave_stands_in_the_way_of_anybody(route, text, size, found, manager_at):
    page = manager_at(size).page
    page.goto(found[route, text])
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true })")

    found_faults = Axe().run(page, options=RULES).response["violations"]

    faults = [
        f"{fault['id']}: {node['html'][:160]}"
        for fault in found_faults
        if fault["impact"] in GRAVE
        for node in fault["nodes"]
    ]
    assert faults == []


@by_size
def test_the_first_page_is_light(size, manager_at):
    screen = manager_at(size)

    screen.page.goto(HOME, wait_until="networkidle")

    assert 0 < screen.transferred_bytes < MOST_BYTES


@by_size
def test_the_plan_shows_every_tunnel_and_door_and_names_the_warned(size, manager_at):
    page = manager_at(size).page

    page.goto(HOME)

    drawing = page.locator("figure svg")
    tunnels = drawing.get_by_role("link")
    names = [str(name) for name in tunnels.evaluate_all("all => all.map(a => a.getAttribute('aria-label'))")]
    assert sorted(name[:3] for name in names) == [f"T{number:02d}" for number in range(1, 13)]
    assert drawing.locator(".mark").count() == 30
    assert drawing.locator(".mark-warn").count() == 6
    assert [name[:3] for name in sorted(names) if "warnings" in name] == ["T05", "T09", "T10", "T11", "T12"]
    for code in ("T05-W", "T09-W", "T10-W", "T11-W", "T12-E", "T12-W"):
        assert page.get_by_role("link", name=re.compile(rf"warnings:\s*{code}")).is_visible()


@by_size
@pytest.mark.parametrize("path", ["/login/", "/farm/nobodys/", "/password/"])
def test_pages_outside_the_farm_fit_the_screen_too(path, size, manager_at, stranger_at, shots):
    screen = (stranger_at if path == "/login/" else manager_at)(size)

    screen.page.goto(path)

    screen.shoot(shots, f"{path.strip('/').replace('/', '-')}-{size}")
    missing = [complaint for complaint in screen.complaints if "404" in complaint]
    assert screen.complaints == missing
    assert bool(missing) == (path == "/farm/nobodys/")
    assert screen.overflow() == []
    faults = Axe().run(screen.page, options=RULES).response["violations"]
    assert [fault["id"] for fault in faults if fault["impact"] in GRAVE] == []


def test_the_browser_is_told_of_every_breach_of_the_policy(manager_at):
    """What the tests above rely on: an inline script and a foreign host are refused, and reported."""
    screen = manager_at(DESK)
    screen.page.goto(HOME)

    screen.page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img src=x onerror=alert(1)>')")
    screen.page.wait_for_timeout(200)

    assert any("policy script-src" in complaint or "policy default-src" in complaint for complaint in screen.complaints)


def test_a_page_too_wide_is_noticed(manager_at):
    screen = manager_at(DESK)
    screen.page.goto(HOME)
    assert screen.overflow() == []

    screen.page.evaluate("document.querySelector('h1').style.width = '3000px'")

    assert screen.overflow() != []


def test_the_program_went_through_all_of_this_without_a_word(program: Program):
    assert program.process.poll() is None, program.output
    assert program.output.endswith(f"{UP}\n")
