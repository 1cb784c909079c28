"""What nbgrader saves of a graded notebook; a code cell that was not run is left to a person."""

from __future__ import annotations

from typing import Any

from nbformat import NotebookNode
from nbgrader.preprocessors import SaveAutoGrades
from nbgrader.utils import is_solution


class SaveGrades(SaveAutoGrades):
    """Saves points; leaves a code cell without output to the instructor.

    Stock nbgrader gives full points to a graded code cell that shows nothing.
    """

    def _add_score(self, cell: NotebookNode, resources: dict[str, Any]) -> None:
        super()._add_score(cell, resources)
        if cell.cell_type == "code" and not is_solution(cell) and not cell.outputs:
            grade = self.gradebook.find_grade(
                cell.metadata["nbgrader"]["grade_id"],
                self.notebook_id,
                self.assignment_id,
                self.student_id,
            )
            grade.auto_score = None
            grade.needs_manual_grade = True
            self.gradebook.db.commit()
