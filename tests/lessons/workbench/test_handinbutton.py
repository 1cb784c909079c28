"""The button waits for a whole page; its front end stays out of the workbench's."""

import re
from pathlib import Path

from lessons.workbench.front import script
from lessons.workbench.handinbutton import is_whole


def test_the_workbench_is_one_module_with_one_export() -> None:
    assert re.findall(r"^export .*", script(), re.MULTILINE) == [
        "export default { render: module_main.render };"
    ]


def test_a_page_that_is_just_being_written_is_not_whole(tmp_path: Path) -> None:
    page = tmp_path / "page.ipynb"
    text = '{"cells": [], "nbformat": 4}\n'
    for length in range(len(text.strip())):
        page.write_text(text[:length], encoding="utf-8")
        assert not is_whole(page)
    page.write_text(text, encoding="utf-8")
    assert is_whole(page)
