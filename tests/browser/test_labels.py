"""Labels and the crew's way in, in a real browser: printed ones are read, and whoever reads one ends at the door."""

from __future__ import annotations

import io
import re
from math import ceil
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from tests.browser.screen import DESK, PHONE, Screen, new_context

SHEETS = "/farm/brindlewick/labels/print/"
A_PAGE = {"": 8, "small": 18}


@pytest.mark.parametrize("size", A_PAGE)
def test_every_label_is_read_off_the_sheet_and_fits_it(
    browser: Any, address: str, cookies: list[Any], size: str
) -> None:
    """Read from the page as it goes to the printer, by another library than the one that drew it."""
    with new_context(browser, DESK, address, cookies) as context:
        page = context.new_page()
        page.goto(f"{SHEETS}?size={size}")
        page.emulate_media(media="print")
        wanted = {f"{address}/q/{token}/" for token in page.locator(".label-token").all_inner_texts()}
        read = set()
        for sheet in page.locator(".label-sheet").all():
            picture = Image.open(io.BytesIO(sheet.screenshot()))
            read |= {code.text for code in zxingcpp.read_barcodes(picture)}
        cut_off = page.locator(".label").evaluate_all(
            "all => all.filter(e => e.scrollWidth > e.clientWidth || e.scrollHeight > e.clientHeight).length"
        )
        pages = [len(PdfReader(io.BytesIO(page.pdf(format=paper))).pages) for paper in ("A4", "Letter")]

    assert len(wanted) > 60  # the demo farm's tunnels, walls and doors
    assert read == wanted
    assert cut_off == 0
    assert pages == [ceil(len(wanted) / A_PAGE[size])] * 2


def test_a_new_hand_reads_a_label_types_the_code_and_stands_at_the_door(
    browser: Any, address: str, cookies: list[Any]
) -> None:
    with new_context(browser, DESK, address, cookies) as context:
        page = context.new_page()
        page.goto("/farm/brindlewick/crew/new/")
        page.get_by_label("Name", exact=True).fill("Luz Ortega")
        page.get_by_label("Short name").fill("Luz")
        page.get_by_label("Language").select_option("es")
        page.get_by_role("button", name="Make this person").click()
        code = page.locator(".shown-once .code").inner_text()
        page.goto(SHEETS)
        label = page.locator(".label", has_text="T08-W").filter(has_text="roll-up").locator(".label-token").inner_text()

    with new_context(browser, PHONE, address, None) as context:
        phone = Screen(context.new_page())
        phone.page.goto(f"/q/{label}/")
        assert phone.overflow() == []
        phone.page.get_by_label("Your short name").fill("luz")
        phone.page.get_by_label("Your code").fill(f"{code[:3]} {code[3:]}")
        phone.page.get_by_role("button", name="Come in").click()
        phone.page.wait_for_url(re.compile(r"/farm/brindlewick/field/#door/\d+$"))
        phone.page.wait_for_load_state("networkidle")
        assert phone.page.locator("html").get_attribute("lang") == "es"
        context.clear_cookies(name="gablekeep_session")
        phone.page.goto("/farm/brindlewick/due/")
        assert phone.page.url.endswith("/due/")
        # This browser lets no worker stand between the page and the server, and says so.
        assert [one for one in phone.complaints if "Service Worker registration blocked" not in one] == []


@pytest.mark.parametrize("path", ["/crew/brindlewick/", "/crew/enter/not-a-card/", "/q/NOTALABEL/"])
def test_what_a_finger_meets_is_wide_enough(browser: Any, address: str, path: str) -> None:
    """56 px for gloves; common practice, no source."""
    with new_context(browser, PHONE, address, None) as context:
        phone = Screen(context.new_page())
        phone.page.goto(path)
        small = phone.page.locator(
            "main :is(a, button, input:not([type=hidden], [type=checkbox]), .keep)"
        ).evaluate_all("all => all.filter(e => e.getBoundingClientRect().height < 55.5).map(e => e.outerHTML)")

        assert small == []
        assert phone.overflow() == []
