"""A crew's phone: a browser with a memory of its own that can be closed, opened again, and taken out of reach."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.screen import CHROMIUM, PHONE, QUIET
from tests.browser.wire import Wire
from tests.system.program import manage

BASE: Final = "/farm/brindlewick/field/"
PATIENT: Final = 20_000  # ms
# Two of the crew with a password, both in English, and a label at one door. Prints what the tests want to know.
SET_UP: Final = """
import json
from django.contrib.auth.models import User
from django.utils import timezone
from farm.models import Membership, Opening
from maintenance.models import Label
for name in ("teo", "marisol"):
    user = User.objects.get(username=name)
    user.set_password(f"pw-{name}")
    user.save()
    Membership.objects.filter(user=user).update(language="en")
door = Opening.objects.get(code="T08-W")
Label.objects.filter(opening=door).delete()
Label.objects.create(farm=door.farm, token="t08w", opening=door, made_at=timezone.now())
print("known", json.dumps({"door": door.pk}))
"""


def set_up(data: Path) -> dict[str, Any]:
    """Give the crew passwords and a door its label; return what stands where."""
    done = manage(data, "shell", "-c", SET_UP)
    assert "known {" in done.stdout, done.stdout + done.stderr
    found: dict[str, Any] = json.loads(done.stdout.split("known ", 1)[1].splitlines()[0])
    return found


class Rows:
    """What the farm's computer holds, read beside the program."""

    def __init__(self, data: Path) -> None:
        self.path = data / "gablekeep.sqlite3"

    def ask(self, query: str, *values: Any) -> list[tuple[Any, ...]]:
        """Return rows."""
        with sqlite3.connect(self.path, timeout=20) as base:
            return base.execute(query, values).fetchall()

    def change(self, query: str, *values: Any) -> None:
        """Change rows."""
        with sqlite3.connect(self.path, timeout=20) as base:
            base.execute(query, values)

    def entries(self) -> dict[str, tuple[str, str, str]]:
        """Return kind, state and who, by the number that the phone gave."""
        rows = self.ask(
            "select e.id, e.kind, e.state, u.username from maintenance_fieldentry e"
            " left join auth_user u on u.id = e.by_id"
        )
        return {number.replace("-", ""): (kind, state, who or "") for number, kind, state, who in rows}

    def pictures(self, number: str) -> int:
        """Return how many pictures an entry has."""
        return int(self.ask("select count(*) from maintenance_photo where entry_id = ?", number.replace("-", ""))[0][0])

    def end_sessions(self) -> None:
        """Let every log-in run out."""
        self.change("delete from farm_loginsession")


class Phone:
    """One phone. ``out_of_reach`` takes its network away and stops the farm's computer as well."""

    def __init__(self, browser: Browser, wire: Wire, memory: Path) -> None:
        self.browser, self.wire, self.memory = browser, wire, memory
        self.context: BrowserContext
        self.page: Page
        self.is_away = False
        self.complaints: list[str] = []
        self.switch_on()

    def switch_on(self) -> None:
        """Open the browser with what it remembers."""
        self.context = self.browser.browser_type.launch_persistent_context(
            self.memory, executable_path=CHROMIUM, base_url=self.wire.address, locale="en-US",
            args=[*QUIET, "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"],
            viewport={"width": PHONE.width, "height": PHONE.height}, is_mobile=True, has_touch=True,
        )  # fmt: skip
        self.context.set_offline(self.is_away)
        self.page = self.context.pages[0] if self.context.pages else self.context.new_page()
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("dialog", lambda dialog: dialog.accept())

    def switch_off(self) -> None:
        """Close the browser."""
        self.context.close()

    def out_of_reach(self) -> None:
        """Take the network away, and stop the farm's computer too."""
        self.is_away = True
        self.wire.cut()
        self.context.set_offline(True)

    def back(self) -> None:
        """Come back to where there is a way."""
        self.wire.mend()
        self.is_away = False
        self.context.set_offline(False)

    def sign_in(self, name: str) -> None:
        """Log in by password, and open the crew's page."""
        self.page.goto(f"/login/?next={BASE}")
        self.page.locator("[name=username]").fill(name)
        self.page.locator("[name=password]").fill(f"pw-{name}")
        self.page.get_by_role("main").get_by_role("button", name="Log in").click()
        self.page.wait_for_url(f"**{BASE}**")

    def carry(self, name: str = "teo") -> None:
        """Sign in and wait until the page works without signal."""
        self.sign_in(name)
        expect(self.page.get_by_text("Works without signal.")).to_be_visible(timeout=PATIENT)
        expect(self.page.locator(".storm-card")).to_be_visible(timeout=PATIENT)

    def go(self, place: str) -> None:
        """Follow an address inside the crew's page."""
        self.page.evaluate("place => { location.hash = place; }", place)

    def log(self, door: int, kind: str, picture: Path | None = None) -> str:
        """Say something of a door in two taps from its page; return the entry's number."""
        self.go(f"door/{door}")
        self.page.locator(f"a.what-{kind}").tap()
        if picture is None:
            self.page.get_by_role("button", name="No photo").tap()
        else:
            with self.page.expect_file_chooser() as chooser:
                self.page.get_by_role("button", name="Photo", exact=True).tap()
            chooser.value.set_files(picture)
        self.page.get_by_role("heading", name="Saved").wait_for()
        if picture is not None:
            expect(self.page.get_by_text("1 photo")).to_be_visible(timeout=PATIENT)
        return str(self.page.evaluate("location.hash.split('/')[1]"))

    def send(self) -> None:
        """Press the button that sends."""
        self.go("unsent")
        self.page.get_by_role("button", name="Send now").tap()

    def waits(self) -> dict[str, list[str]]:
        """Return the numbers of what the phone still holds."""
        found: dict[str, list[str]] = self.page.evaluate("""async () => {
            const held = {};
            for (const name of ["entries", "photos", "voices", "bundle"]) {
              held[name] = (await Field.store.all(name)).map((row) => row.id || row.key || row.base);
            }
            return held;
        }""")
        return found

    def expect_all_sent(self) -> None:
        """Wait until the bar says so."""
        expect(self.page.locator(".bar-unsent")).to_have_text("All sent", timeout=PATIENT)

    def expect_unsent(self, count: int) -> None:
        """Wait until the bar says how many wait."""
        text = "1 not sent" if count == 1 else f"{count} not sent"
        expect(self.page.locator(".bar-unsent")).to_have_text(text, timeout=PATIENT)
