"""A page as a person has it before them, at a desk or in the hand, and what goes wrong on it."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Response

CHROMIUM: Final = shutil.which("chromium")  # None: the one that Playwright brings
QUIET: Final = (  # nothing of its own on the network
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
REPORT_POLICY: Final = """
addEventListener('securitypolicyviolation',
  e => console.error(`policy ${e.violatedDirective} refused ${e.blockedURI || e.sourceFile}`))
"""


@dataclass(frozen=True, slots=True)
class Size:
    """A screen: its width and height in CSS pixels, and whether a finger or a mouse points."""

    name: str
    width: int
    height: int
    is_phone: bool

    def __str__(self) -> str:
        return self.name


DESK: Final = Size("desk-1280", 1280, 900, is_phone=False)
PHONE: Final = Size("phone-390", 390, 844, is_phone=True)
SIZES: Final = (DESK, PHONE)


def new_context(browser: Browser, size: Size, address: str, cookies: list[dict[str, object]] | None) -> BrowserContext:
    """Return a browser without history; with cookies, somebody who is logged in."""
    context = browser.new_context(
        base_url=address,
        viewport={"width": size.width, "height": size.height},
        device_scale_factor=2 if size.is_phone else 1,
        is_mobile=size.is_phone,
        has_touch=size.is_phone,
        service_workers="block",
        locale="en-US",
    )
    context.add_init_script(REPORT_POLICY)
    if cookies:
        context.add_cookies(cookies)  # type: ignore[arg-type]
    return context


class Screen:
    """A page that notes every complaint of the browser and every byte that came."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.complaints: list[str] = []
        self.transferred_bytes = 0
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.complaints.append(f"script: {error}"))
        page.on("requestfailed", lambda request: self.complaints.append(f"failed: {request.url}"))
        page.on("response", self._answered)
        network = page.context.new_cdp_session(page)
        network.send("Network.enable")
        network.on("Network.loadingFinished", self._arrived)

    def _heard(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(f"console: {message.text}")

    def _answered(self, response: Response) -> None:
        if response.status >= 400:
            self.complaints.append(f"{response.status}: {response.url}")

    def _arrived(self, event: dict[str, float]) -> None:
        self.transferred_bytes += int(event["encodedDataLength"])

    def overflow(self) -> list[str]:
        """Return what sticks out of the screen sideways, if the page as a whole scrolls sideways."""
        found: list[str] = self.page.evaluate("""() => {
            const root = document.documentElement, wide = root.scrollWidth - root.clientWidth;
            if (wide <= 0) return [];
            const out = [...document.querySelectorAll('body *')].filter(
                e => e.getBoundingClientRect().right > root.clientWidth + 0.5);
            return [`${wide} px too wide`, ...out.slice(0, 5).map(
                e => `${e.tagName.toLowerCase()}.${e.className} ${(e.textContent || '').trim().slice(0, 40)}`)];
        }""")
        return found

    def shoot(self, folder: Path | None, name: str) -> None:
        """Keep a picture of the whole page, where a folder for it was given."""
        if folder is not None:
            self.page.screenshot(path=folder / f"{name}.png", full_page=True)
