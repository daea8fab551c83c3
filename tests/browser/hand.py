"""A person at a screen, counted: what is read, tapped and typed, and how long it would take somebody new."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from playwright.sync_api import Locator, Page

SECONDS_TO_READ_A_PAGE: Final = 5.0
SECONDS_FOR_A_TAP: Final = 2.0
SECONDS_FOR_A_KEY: Final = 0.3


@dataclass  # no slots: Playwright hangs its own names on what listens
class Hand:
    """Points, taps and types on one page; a page loaded anew is a page read anew."""

    page: Page
    is_phone: bool
    pages: int = 0
    taps: int = 0
    keys: int = 0

    def __post_init__(self) -> None:
        self.page.on("load", self._loaded)

    def _loaded(self, _: Page) -> None:
        self.pages += 1

    def tap(self, target: Locator) -> None:
        """Tap or click something; it must be there without any trick."""
        self.taps += 1
        target.tap() if self.is_phone else target.click()

    def follow(self, target: Locator) -> None:
        """Tap something that leads to another page, and wait for it."""
        with self.page.expect_event("load"):
            self.tap(target)

    def write(self, label: str, text: str) -> None:
        """Tap a field by its label and type, key by key."""
        field = self.page.get_by_role("textbox", name=label, exact=True)
        self.tap(field)
        field.press_sequentially(text)
        self.keys += len(text)

    def choose(self, label: str, option: str) -> None:
        """Open a list by its label and tap a line of it."""
        self.page.get_by_role("combobox", name=label, exact=True).select_option(label=option)
        self.taps += 2

    @property
    def seconds(self) -> float:
        """What the walk would take a person."""
        return (
            self.pages * SECONDS_TO_READ_A_PAGE + self.taps * SECONDS_FOR_A_TAP + self.keys * SECONDS_FOR_A_KEY
        )  # fmt: skip

    def __str__(self) -> str:
        return f"{self.pages} pages, {self.taps} taps, {self.keys} keys: about {self.seconds:.0f} s"
