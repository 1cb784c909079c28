"""A lesson as a page of benches and text: what is left out of it, what is put in."""

from pathlib import Path
from types import SimpleNamespace

import nbformat
import pytest

from lessons.benchonly import require_voila, settings_files
from lessons.benchpage import HOW_TO, links, without_jupyterlab, without_network
from lessons.catalogue import shipped_lessons
from lessons.errors import ServerError

LESSON = "06-two-circuits-in-one-can"


def page_of(lesson: str, folder: Path, theme: str = "light") -> nbformat.NotebookNode:
    source = shipped_lessons()[lesson]
    request = SimpleNamespace(
        settings={"server_root_dir": str(folder)},
        xsrf_token=b"",
        get_argument=lambda _name, _default: theme,
    )
    notebook = nbformat.read(source / f"{lesson}.ipynb", as_version=4)
    return without_jupyterlab(request, notebook, lesson)


@pytest.mark.parametrize("lesson", shipped_lessons())
def test_nothing_on_a_page_asks_for_jupyterlab(lesson: str, tmp_path: Path) -> None:
    whole = nbformat.read(shipped_lessons()[lesson] / f"{lesson}.ipynb", as_version=4).cells
    assert sum(len(HOW_TO.findall(cell.source)) for cell in whole) == 1
    cells = page_of(lesson, tmp_path).cells
    text = "\n".join(cell.source for cell in cells)
    for word in ("Run All Cells", "three dots", "Write your answer here", "hand_in()"):
        assert word not in text
    assert "halfsplit learn" in cells[-1].source
    left_out = {"why-not-the-relay", "hand-in", "hand-in-button"}
    kept = {cell.id for cell in cells}
    if lesson == LESSON:
        assert {cell.id for cell in whole} - kept == left_out
    assert {cell.id for cell in whole if "open_case(" in cell.source} <= kept


def test_the_other_lessons_are_a_click_away(tmp_path: Path) -> None:
    beside = tmp_path / "02-of-ours"
    beside.mkdir()
    cell = nbformat.v4.new_markdown_cell("# Ours *too*\n\nText.")
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), beside / "02-of-ours.ipynb")
    last = page_of(LESSON, tmp_path, "dark").cells[-1].source
    assert "- [Ours *too*](../02-of-ours/02-of-ours.ipynb?theme=dark)" in last
    assert "(../a%20b/a%20b.ipynb?theme=light)" in links({"a b": "A"}, "<script>")


def test_nothing_comes_from_the_network() -> None:
    text = "\n".join(settings_files().values())
    assert "://" not in text
    page = without_network({"fullMathjaxUrl": "somewhere", "appVersion": "1"})
    assert page == {"fullMathjaxUrl": "", "mathjaxConfig": "", "appVersion": "1"}


def test_without_voila_one_line_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    require_voila()
    monkeypatch.setattr("lessons.benchonly.find_spec", lambda _name: None)
    with pytest.raises(ServerError, match=r"needs voila.*'\.\[shop\]'$"):
        require_voila()
