"""The button at the end of the lesson packs what stands on the page, saved or not."""

import json
import re
import zipfile
from pathlib import Path

from playwright.sync_api import Page, expect

from lessons.server import Server
from tests.browser.conftest import LESSON
from tests.browser.test_workbench import open_lesson, run_cells
from tests.browser.waits import until_says

ANSWER = "The click proves the coil side and nothing else."


def test_the_button_saves_the_written_answer_and_packs_it(
    page: Page, server: Server, school: Path
) -> None:
    open_lesson(page, server, "eve")
    run_cells(page)
    button = page.get_by_role("button", name="Save this page and pack it to hand in")
    button.wait_for()
    page.get_by_role("emphasis").filter(has_text="Write your answer here.").dblclick()
    editor = page.locator(".jp-MarkdownCell .cm-content", has_text="Write your answer here.")
    editor.click()
    expect(editor).to_be_focused()
    page.keyboard.press("Control+a")
    page.keyboard.type(ANSWER)
    button.click()
    said = page.locator(".hs-handin [role=status]")
    until_says(said, "Packed:")
    until_says(said, "Not finished:")  # the work order was never closed
    zipped = Path(re.search(r"Packed: (.+?\.zip)", said.inner_text())[1])
    assert zipped.parent == school / "eve"
    with zipfile.ZipFile(zipped) as archive:
        notebook = json.loads(archive.read(f"{LESSON}/{LESSON}.ipynb"))
    sources = ["".join(cell["source"]) for cell in notebook["cells"]]
    assert ANSWER in sources
