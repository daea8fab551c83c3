"""Everybody's storm sheet prints on one page, whatever paper there is."""

from __future__ import annotations

import io
from typing import Any

import pytest
from pypdf import PdfReader

from tests.browser.screen import DESK, new_context


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_sheet_is_one_page(browser: Any, address: str, cookies: list[Any], paper: str) -> None:
    with new_context(browser, DESK, address, cookies) as context:
        page = context.new_page()
        page.goto("/farm/brindlewick/storms/1/plan/")
        sheets = page.locator("a[href*='sheet/?person']").evaluate_all("all => all.map(a => a.getAttribute('href'))")
        pages = []
        for sheet in sheets:
            page.goto(sheet)
            pages.append(len(PdfReader(io.BytesIO(page.pdf(format=paper))).pages))

    assert pages == [1, 1, 1, 1]  # the demo farm's crew of four
