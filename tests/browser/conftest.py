"""A real browser on the real program, started with the demo farm as a newcomer starts it."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.browser.screen import CHROMIUM, DESK, QUIET, Screen, Size, new_context
from tests.system.program import Program

At = Callable[[Size], Screen]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """A farm of its own for each module: what one changes, another never sees."""
    with Program(tmp_path_factory.mktemp("farm") / "data") as program:
        yield program.wait_until_up()


@pytest.fixture(scope="module")
def address(program: Program) -> str:
    return f"http://127.0.0.1:{program.port}"


@pytest.fixture(scope="module")
def cookies(browser: Browser, program: Program, address: str) -> list[Any]:
    """The manager's cookies, after the one log-in that the printed link is good for."""
    with new_context(browser, DESK, address, None) as context:
        page = context.new_page()
        page.goto(program.link())
        page.get_by_role("main").get_by_role("button", name="Log in").click()
        page.wait_for_url("**/farm/**")
        return list(context.cookies())


@pytest.fixture
def stranger_at(browser: Browser, address: str) -> Iterator[At]:
    """Open a screen for somebody who is not logged in."""
    yield from _screens(browser, address, None)


@pytest.fixture
def manager_at(browser: Browser, address: str, cookies: list[Any]) -> Iterator[At]:
    """Open a screen for the manager."""
    yield from _screens(browser, address, cookies)


def _screens(browser: Browser, address: str, cookies: list[Any] | None) -> Iterator[At]:
    contexts = []

    def open_screen(size: Size) -> Screen:
        contexts.append(new_context(browser, size, address, cookies))
        return Screen(contexts[-1].new_page())

    yield open_screen
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def shots() -> Path | None:
    """The folder for pictures of the pages; none are taken where it is not named."""
    if "GABLEKEEP_SHOTS" not in os.environ:
        return None
    folder = Path(os.environ["GABLEKEEP_SHOTS"])
    folder.mkdir(parents=True, exist_ok=True)
    return folder
