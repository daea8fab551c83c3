"""The manager drags a task to another place in the crew's plan: with a mouse, and with a finger."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.screen import DESK, PHONE, new_context

PLAN = "/farm/brindlewick/storms/1/plan/"


def tasks(page: Page, number: int) -> list[str]:
    """Return the tasks of one person's list, in their order."""
    found = page.locator("[data-order]").nth(number).locator("[data-task]")
    return [str(text) for text in found.evaluate_all("all => all.map(one => one.dataset.task)")]


def middle(page: Page, selector: str) -> tuple[float, float]:
    box = page.locator(selector).first.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def top(page: Page, task: str) -> tuple[float, float]:
    box = page.locator(f"[data-task='{task}']").first.bounding_box()
    assert box
    return box["x"] + 20, box["y"] + 4


def drag(page: Page, task: str, before: str, how: str) -> None:
    """Drag a task by its grip to just above another."""
    grip = f"[data-task='{task}'] [data-grip]"
    page.locator(f"[data-task='{before}']").first.evaluate("one => one.scrollIntoView({block: 'center'})")
    start, goal = middle(page, grip), top(page, before)
    if how == "mouse":
        page.mouse.move(*start)
        page.mouse.down()
        page.mouse.move(*goal, steps=8)
        page.wait_for_selector(".plan-line")
        with page.expect_navigation():
            page.mouse.up()
        return
    finger = page.context.new_cdp_session(page)
    points = [(start[0] + (goal[0] - start[0]) * part / 8, start[1] + (goal[1] - start[1]) * part / 8)
              for part in range(9)]  # fmt: skip
    for kind, (x, y) in zip(["touchStart", *["touchMove"] * 8], points, strict=True):
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
    page.wait_for_selector(".plan-line")
    with page.expect_navigation():
        finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


@pytest.mark.parametrize(("size", "how"), [(DESK, "mouse"), (PHONE, "touch")], ids=str)
def test_a_task_is_dragged_up_and_stays(browser: Any, address: str, cookies: list[Any], size: Any, how: str) -> None:
    with new_context(browser, size, address, cookies) as context:
        page = context.new_page()
        page.goto(PLAN)
        first, _second, third, *_rest = tasks(page, 0)

        drag(page, third, first, how)

        assert tasks(page, 0)[0] == third
        assert page.locator(f"[data-task='{third}']").first.get_by_text("placed by hand").count() == 1


def test_escape_puts_it_back(browser: Any, address: str, cookies: list[Any]) -> None:
    with new_context(browser, DESK, address, cookies) as context:
        page = context.new_page()
        page.goto(PLAN)
        before = tasks(page, 0)
        page.mouse.move(*middle(page, f"[data-task='{before[2]}'] [data-grip]"))
        page.mouse.down()
        page.mouse.move(*top(page, before[0]), steps=4)
        page.wait_for_selector(".plan-line")

        page.keyboard.press("Escape")
        page.mouse.up()

        assert page.locator(".plan-line").count() == 0
        assert tasks(page, 0) == before
