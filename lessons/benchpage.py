"""What becomes of a lesson's notebook when it is shown as a page of text and benches.

Voila calls this in the server, before it runs a notebook. The notebook on disk stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import quote

import nbformat
from nbformat import NotebookNode
from traitlets.config import Config

from lessons.benchonly import FRAME, THEMES

#: Parts of JupyterLab that a page needs: those that draw widgets.
NEEDED = [
    "anywidget",
    "@jupyter-widgets/jupyterlab-manager",
    "@voila-dashboards/widgets-manager8",
]
#: The paragraph that tells how to run a notebook, and what stands in its place.
HOW_TO = re.compile(r"^\*\*How to use this page\.\*\*[^\n]*$", re.MULTILINE)
INSTEAD = (
    "**How to use this page.** Work at the benches between the paragraphs. What you do is kept: "
    "you can close the page and go on another day."
)
#: Cells, by their names in every lesson, that need a page which can be written in and saved.
IN_JUPYTERLAB = {"hand-in", "hand-in-button"}
ELSEWHERE = (
    "*Answers are written, and the lesson is handed in, in JupyterLab: type `halfsplit learn` "
    "without `--bench-only`.*"
)


def configure(config: Config) -> None:
    """Set up Voila; its settings file calls this."""
    config.VoilaConfiguration.update(
        {
            "template": FRAME,
            "prelaunch_hook": without_jupyterlab,
            "page_config_hook": without_network,
            "extension_allowlist": NEEDED,
        }
    )


def without_network(page: Mapping[str, Any], **_rest: object) -> dict[str, Any]:
    """Return a page's settings without the typesetter of formulas, which no lesson needs."""
    return {**page, "fullMathjaxUrl": "", "mathjaxConfig": ""}


def without_jupyterlab(request: Any, notebook: NotebookNode, cwd: str) -> NotebookNode:  # noqa: ANN401 -- Voila's own
    """Return a lesson without what needs JupyterLab, and with the way to the other lessons.

    Parameters
    ----------
    request : VoilaHandler
    notebook : NotebookNode
        As it stands on disk; it is changed here, not there.
    cwd : str
        Folder of the notebook, below the student's folder.
    """
    # Asking for it sets the cookie without which the page may not end its kernel when it is closed.
    _ = request.xsrf_token
    kept = [cell for cell in notebook.cells if not _needs_jupyterlab(cell)]
    for cell in kept:
        if cell.cell_type == "markdown":
            cell.source = HOW_TO.sub(INSTEAD, cell.source)
    if len(kept) < len(notebook.cells):
        kept.append(nbformat.v4.new_markdown_cell(ELSEWHERE))
    here = Path(request.settings["server_root_dir"]).expanduser() / cwd
    others = lessons_beside(here)
    if others:
        text = links(others, request.get_argument("theme", THEMES[0]))
        kept.append(nbformat.v4.new_markdown_cell(text))
    notebook.cells = kept
    return notebook


def _needs_jupyterlab(cell: NotebookNode) -> bool:
    marked = cell.metadata.get("nbgrader", {})
    return bool(marked.get("solution")) or marked.get("grade_id") in IN_JUPYTERLAB


def lessons_beside(lesson: Path) -> dict[str, str]:
    """Return the titles of the other lessons in a student's folder, by id."""
    found = {}
    for file in sorted(lesson.parent.glob("*/*.ipynb")):
        if file.stem == file.parent.name != lesson.name:
            first = nbformat.read(file, as_version=4).cells[0].source
            found[file.stem] = first.partition("\n")[0].lstrip("# ")
    return found


def links(lessons: Mapping[str, str], theme: str) -> str:
    """Return a list of lessons, each with the way there from the page of one beside it."""
    theme = theme if theme in THEMES else THEMES[0]
    lines = [
        f"- [{title}](../{quote(name)}/{quote(name)}.ipynb?theme={theme})"
        for name, title in lessons.items()
    ]
    return "\n".join(["## Other lessons", "", *lines])
