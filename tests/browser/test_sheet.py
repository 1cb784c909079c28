"""The score sheet as it is read on the page."""

import re
from pathlib import Path

from playwright.sync_api import Page

from lessons.workbench.desk import Desk
from tests.browser.bench_page import show
from tests.browser.test_panels import (
    CALL,
    VERIFY,
    at_rest,  # noqa: F401 -- benches are put to rest
    desk_in,
)


def closed(folder: Path, *messages: dict) -> Desk:
    """Give a desk of the state "hinge" that goes on with some messages, is called and closed."""
    desk = desk_in("hinge", folder)
    for message in [*messages, CALL, *({"do": do} for do in VERIFY), {"close": True}]:
        desk.handle(message)
        assert desk.notice == ""
    return desk


def test_a_sheet_is_in_words(page: Page, tmp_path: Path) -> None:
    early = {"strike": ["C41.1=high resistance:0.8 ohm"], "reason": "a guess"}
    desk = closed(tmp_path, {"do": {"look": "fuse panel"}}, early)
    show(page, desk, tmp_path)
    sheet = page.locator(".hs-sheet")
    marked = sheet.locator(".hs-mark-reason").all_inner_texts()[2]
    assert marked.startswith("After step 4: C41 pin 1 high resistance, 0.8 Ω was struck before")
    text = sheet.inner_text()
    assert "?:" not in text
    assert re.findall(r"\d%", text) == []
    assert "0.0 min" not in re.findall(r"luck: [+-](.*)\.", text)
