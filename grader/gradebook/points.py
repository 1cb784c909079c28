"""Points of a case from its record, put where nbgrader looks for them.

nbgrader takes partial credit from the output of a graded cell: a plain number between 0 and the
cell's points. Nothing is run; the number and the score sheet are written there as if it had been.
"""

from __future__ import annotations

import ast
from pathlib import Path
from typing import Any

from nbformat import NotebookNode
from nbformat.v4 import new_output
from nbgrader.preprocessors import NbGraderPreprocessor
from nbgrader.utils import is_grade, is_solution

from grader.gradebook.answers import PROBLEMS
from grader.gradebook.courseside import LessonSide, course_directory
from grader.gradebook.marking import RECORD_ENDING, Outcome, mark_record
from grader.gradebook.problems import Problem, from_json, read_problems
from grader.gradebook.results import CaseResult, Result, write_result
from grader.gradebook.sheetpage import page
from grader.gradebook.waivers import waived_steps

CASE_POINTS = "case_points"


class PointsFromRecords(NbGraderPreprocessor):
    """Marks every case of a notebook by the record that was handed in with it."""

    def preprocess(
        self, nb: NotebookNode, resources: dict[str, Any]
    ) -> tuple[NotebookNode, dict[str, Any]]:
        """Give every graded code cell its output, and keep the result beside the notebook."""
        names = resources["nbgrader"]
        lesson = LessonSide(course_directory(self), names["assignment"])
        student, notebook = names["student"], names["notebook"]
        handed_in = lesson.submitted(student)
        problems = list(read_problems(handed_in))
        problems += from_json(nb.metadata.pop(PROBLEMS, None))
        cases: list[CaseResult] = []
        for cell in nb.cells:
            if cell.cell_type != "code" or not is_grade(cell) or is_solution(cell):
                continue
            name = cell.metadata.nbgrader["grade_id"]
            case = case_of(cell.source)
            if case is None:
                cell.outputs = []
                text = f"cell {name!r} would have to be run; mark it by hand"
                problems.append(Problem("not run", text))
                continue
            outcome = outcome_of(lesson, handed_in, student, case)
            most = float(cell.metadata.nbgrader["points"])
            cases.append(CaseResult(name, outcome.share * most, most, outcome))
            cell.outputs = outputs(cases[-1])
        result = Result(lesson.lesson, student, notebook, tuple(problems), tuple(cases))
        for problem in result.all_problems:
            self.log.warning("%s, %s: %s", student, lesson.lesson, problem)
        write_result(lesson.autograded(student), result)
        return nb, resources


def outcome_of(lesson: LessonSide, handed_in: Path, student: str, case: str) -> Outcome:
    """Mark a student's record of a case."""
    record = handed_in / f"{case}{RECORD_ENDING}"
    waived = waived_steps(lesson.root, lesson.lesson, student, case)
    return mark_record(record, student, lesson.case(case), lesson.key(), waived)


def case_of(source: str) -> str | None:
    """Return the case that a cell asks the points of; None if it does anything else."""
    try:
        body = ast.parse(source).body
    except (SyntaxError, ValueError):
        return None
    calls = [node.value for node in body if isinstance(node, ast.Expr)]
    if len(body) != 1 or len(calls) != 1 or not isinstance(calls[0], ast.Call):
        return None
    call = calls[0]
    arguments = [item.value for item in call.args if isinstance(item, ast.Constant)]
    if not isinstance(call.func, ast.Name) or call.func.id != CASE_POINTS or call.keywords:
        return None
    named = len(call.args) == len(arguments) == 1 and isinstance(arguments[0], str)
    return str(arguments[0]) if named else None


def outputs(result: CaseResult) -> list[NotebookNode]:
    """Return the points as nbgrader reads them, and the score sheet as people read it."""
    points = min(result.of, max(0.0, float(result.points)))
    number = new_output("execute_result", data={"text/plain": repr(points)}, execution_count=1)
    sheet = new_output("display_data", data={"text/html": page(result)})
    return [number, sheet]
