"""The what-if panel of a door in the wind: it works the door out in place, and its address can be shared."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.screen import SIZES

by_size = pytest.mark.parametrize("size", SIZES, ids=str)
FIRST_LINE = re.compile(r"expected to stand gusts up to (\d+) mph")


@pytest.fixture(scope="module")
def door(browser: Any, address: str, cookies: list[Any]) -> str:
    """The wind page of a demo door, found by its links as a reader finds it."""
    context = browser.new_context(base_url=address, service_workers="block")
    context.add_cookies(cookies)
    page = context.new_page()
    page.goto("/farm/brindlewick/")
    page.locator("a[href*='/openings/']").filter(has_text="T02-W").first.click()
    page.get_by_role("link", name="What the wind does").click()
    page.wait_for_url("**/wind/")
    url = page.url
    context.close()
    return url


def limit(page: Page) -> int:
    """Return up to which gust the first line says the door stands. [mph]"""
    found = FIRST_LINE.search(page.get_by_label("What it stands").inner_text())
    assert found
    return int(found[1])


@by_size
def test_what_if_is_worked_out_in_place(size, door, manager_at):
    screen = manager_at(size)
    page = screen.page
    page.goto(door)
    before, heading = limit(page), page.get_by_role("heading", level=1)
    heading.evaluate("one => { window.sameDocument = true }")

    page.get_by_label("Anti-billow tubes in the ground").fill("4 ft")
    page.get_by_label("Anti-billow tubes in the ground").press("Tab")
    expect(page.get_by_label("What it stands")).to_contain_text("Nothing is saved")

    assert limit(page) > before
    assert page.evaluate("window.sameDocument")  # nothing was loaded anew
    assert page.evaluate("document.activeElement.name") == "soil"  # the reader goes on where he was
    assert page.url == f"{door}?embedment=4+ft"
    assert screen.overflow() == []
    assert screen.complaints == []


@by_size
def test_address_of_a_what_if_shows_it_to_somebody_else(size, door, manager_at):
    page = manager_at(size).page
    page.goto(f"{door}?embedment=4+ft&gust=40")
    shared = limit(page)

    page.reload()

    assert limit(page) == shared
    assert page.get_by_label("Gust at the door, mph").input_value() == "40"
    page.get_by_role("link", name="The door as it is").click()
    page.wait_for_url(door)
    assert limit(page) < shared


def test_panel_works_without_scripts(browser, door, address, cookies):
    context = browser.new_context(base_url=address, java_script_enabled=False)
    context.add_cookies(cookies)
    page = context.new_page()
    page.goto(door)
    before = limit(page)

    page.get_by_label("Anti-billow tubes in the ground").fill("4 ft")
    page.get_by_role("button", name="Work it out").click()

    assert "embedment=4+ft" in page.url
    assert limit(page) > before
    context.close()


@by_size
def test_what_cannot_be_read_is_said_without_losing_it(size, door, manager_at):
    page = manager_at(size).page
    page.goto(door)

    field = page.get_by_label("Hold-downs, apart")
    field.fill("wide")
    field.press("Tab")

    expect(page.get_by_text("“wide” is not a length.")).to_be_visible()
    assert page.get_by_label("Hold-downs, apart").input_value() == "wide"
    assert limit(page) > 0
