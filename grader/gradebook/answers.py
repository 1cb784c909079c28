"""The released notebook with the student's written answers in it, and nothing else of theirs.

Cells that were deleted or changed are as they were released; cells of the student's own stay as
plain text and plain code without outputs. Markup in what the student wrote is shown, not obeyed:
the grading page is a page of the instructor's own JupyterLab.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable
from typing import Any

import nbformat
from nbformat import NotebookNode
from nbformat.v4 import new_code_cell, new_markdown_cell
from nbgrader.preprocessors import NbGraderPreprocessor

from grader.gradebook.courseside import LessonSide, course_directory
from grader.gradebook.problems import Problem, to_json

#: What could act on the page: the begin of a tag, of a link or picture, and a formula's own links.
ACTIVE = re.compile(r"<(?=[A-Za-z/!?])|\[|\\(?=(?:href|require|style|class|cssId)\b)")
PASSIVE = {"<": "&lt;", "[": "&#91;", "\\": "\\ "}
LONGEST_CELL, MOST_CELLS = 100_000, 500
PROBLEMS = "halfsplit_problems"


class KeepAnswers(NbGraderPreprocessor):
    """First step of cleaning a notebook that was handed in."""

    def preprocess(
        self, nb: NotebookNode, resources: dict[str, Any]
    ) -> tuple[NotebookNode, dict[str, Any]]:
        """Return the released notebook with the answers put in."""
        names = resources["nbgrader"]
        lesson = LessonSide(course_directory(self), names["assignment"])
        file = lesson.release / f"{names['notebook']}.ipynb"
        if not file.is_file():
            lesson.released()  # says what to do
            return nb, resources
        released = nbformat.read(file, as_version=4)
        return graft(released, nb), resources


def graft(released: NotebookNode, handed_in: NotebookNode) -> NotebookNode:
    """Put the answers, and the student's own cells, into a copy of the released notebook."""
    known = {grade_id(cell) for cell in released.cells} - {None}
    answers, own = _sort_out(handed_in.cells, known)
    made = copy.deepcopy(released)
    cells, problems = [*own.pop(None, [])], []
    for cell in made.cells:
        name = grade_id(cell)
        marks = cell.metadata.get("nbgrader", {})
        if marks.get("solution") and name in answers:
            cell.source = shown(answers[name], cell.cell_type)
        elif name not in answers and (marks.get("grade") or marks.get("solution")):
            problems.append(Problem("deleted cell", f"cell {name!r} is missing; it was put back"))
        cells += [cell, *own.pop(name, [])] if name is not None else [cell]
    made.cells = cells
    made.metadata[PROBLEMS] = to_json(problems)
    return made


def _sort_out(
    cells: Iterable[NotebookNode], known: set[str | None]
) -> tuple[dict[str | None, str], dict[str | None, list[NotebookNode]]]:
    """Return the text of every known cell, and the student's own cells by the one they follow."""
    answers: dict[str | None, str] = {}
    own: dict[str | None, list[NotebookNode]] = {}
    last, count = None, 0
    for cell in list(cells)[:MOST_CELLS]:
        name = grade_id(cell)
        if name in known:
            answers[name] = str(cell.source)[:LONGEST_CELL]  # the last of several counts
            last = name
        elif str(cell.source).strip():
            count += 1
            own.setdefault(last, []).append(_plain(cell, count))
    return answers, own


def _plain(cell: NotebookNode, number: int) -> NotebookNode:
    """Return a student's own cell without metadata and outputs."""
    text = shown(str(cell.source)[:LONGEST_CELL], cell.cell_type)
    name = f"student-cell-{number}"
    kept: NotebookNode = new_markdown_cell(text, id=name)
    if cell.cell_type == "code":
        kept = new_code_cell(text, id=name)
    return kept


def grade_id(cell: NotebookNode) -> str | None:
    """Return the name that nbgrader knows a cell by, if it has one."""
    marks = cell.metadata.get("nbgrader")
    name = marks.get("grade_id") if isinstance(marks, dict) else None
    return name if isinstance(name, str) else None


def shown(text: str, cell_type: str) -> str:
    """Return a text whose markup is shown as it was typed."""
    return text if cell_type == "code" else ACTIVE.sub(lambda m: PASSIVE[m[0]], text)
