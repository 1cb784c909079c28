"""`nbgrader export`: nbgrader's own CSV with one more column, `problem`.

So that a zero which was earned can be told from one that has a cause: nothing handed in, a record
that was edited, a damaged zip.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from nbgrader.api import MissingEntry
from nbgrader.plugins import ExportPlugin

from grader.gradebook.courseside import LessonSide, course_directory
from grader.gradebook.problems import read_problems
from grader.gradebook.results import ENDING, read_result_problems

COLUMNS = (
    "assignment",
    "duedate",
    "timestamp",
    "student_id",
    "last_name",
    "first_name",
    "email",
    "raw_score",
    "late_submission_penalty",
    "score",
    "max_score",
    "needs_manual_grade",
    "problem",
)


class CsvWithProblems(ExportPlugin):
    """Exports every student and lesson of the gradebook."""

    def export(self, gradebook: Any) -> None:  # noqa: ANN401 -- nbgrader's Gradebook has no types
        """Write the CSV file."""
        target = self.to or "grades.csv"
        self.log.info("Exporting grades to %s", target)
        students = {str(name) for name in self.student}
        lessons = {str(name) for name in self.assignment}
        with Path(target).open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
            writer.writeheader()
            for row in rows(gradebook, course_directory(self)):
                if (not students or row["student_id"] in students) and (
                    not lessons or row["assignment"] in lessons
                ):
                    writer.writerow(row)


def rows(gradebook: Any, directory: Any) -> list[dict[str, str]]:  # noqa: ANN401 -- as above
    """Return a row for every lesson and student: what the gradebook and the results say."""
    return [
        row(gradebook, LessonSide(directory, str(lesson.name)), lesson, student)
        for lesson in gradebook.assignments
        for student in gradebook.students
    ]


def row(gradebook: Any, side: LessonSide, lesson: Any, student: Any) -> dict[str, str]:  # noqa: ANN401 -- as above
    """Return one student's row of one lesson."""
    values: dict[str, Any] = {
        "assignment": lesson.name,
        "duedate": lesson.duedate,
        "student_id": student.id,
        "last_name": student.last_name,
        "first_name": student.first_name,
        "email": student.email,
        "max_score": lesson.max_score,
        "raw_score": 0.0,
        "late_submission_penalty": 0.0,
        "score": 0.0,
        "needs_manual_grade": False,
    }
    graded = True
    try:
        submission = gradebook.find_submission(lesson.name, student.id)
    except MissingEntry:
        graded = False
    else:
        penalty = submission.late_submission_penalty or 0.0
        values |= {
            "timestamp": submission.timestamp,
            "raw_score": submission.score,
            "late_submission_penalty": penalty,
            "score": max(0.0, submission.score - penalty),
            "needs_manual_grade": submission.needs_manual_grade,
        }
    values["problem"] = problem_text(side, str(student.id), graded=graded)
    return {name: safe(values.get(name)) for name in COLUMNS}


def problem_text(side: LessonSide, student: str, *, graded: bool) -> str:
    """Return every named problem of a student's hand-in in one line; empty if there is none."""
    folder = side.autograded(student)
    if graded and any(folder.glob(f"*{ENDING}")):
        return "; ".join(map(str, read_result_problems(folder)))
    handed_in = side.submitted(student)
    if not handed_in.is_dir():
        return "nothing handed in"
    before = [str(problem) for problem in read_problems(handed_in)]
    if not any(handed_in.glob("*.ipynb")):
        return "; ".join([*before, "no notebook: handed in without one, so it is not graded"])
    return "; ".join([*before, "not graded: run `nbgrader autograde` and read what it says"])


def safe(value: object) -> str:
    """Return a value as text that no spreadsheet takes for a formula."""
    text = "" if value is None else str(value)
    return f"'{text}" if text[:1] in ("=", "@", "\t", "\r") else text
