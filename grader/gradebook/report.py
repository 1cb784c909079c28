"""A course's standing: lesson, student, points, problem; and what all cases say of each student."""

from __future__ import annotations

from pathlib import Path

from nbgrader.api import Gradebook
from nbgrader.coursedir import CourseDirectory
from traitlets.config import Config
from traitlets.config.loader import PyFileConfigLoader

from grader.errors import GradebookError
from grader.gradebook.courseside import LessonSide
from grader.gradebook.export import rows
from grader.gradebook.problems import read_problems
from grader.gradebook.results import read_cases
from grader.skill import Standing

CONFIG_FILE = "nbgrader_config.py"


def report(root: Path) -> list[dict[str, str]]:
    """Return a row for every lesson and student, and one for every file that is nobody's.

    Parameters
    ----------
    root : Path
        The course folder.

    Raises
    ------
    GradebookError
        It is no course folder.
    """
    if not (root / CONFIG_FILE).is_file():
        raise GradebookError(
            f"{root}: no course folder: it has no {CONFIG_FILE}; "
            "make one with `halfsplit course new`"
        )
    directory = _directory(root)
    with Gradebook(directory.db_url, directory.course_id) as gradebook:
        found = rows(gradebook, directory)
        lessons = [str(lesson.name) for lesson in gradebook.assignments]
    for lesson in lessons:
        for problem in read_problems(root / "downloaded" / lesson):
            found.append({"assignment": lesson, "student_id": "", "problem": str(problem)})
    return found


def standings(root: Path) -> dict[str, Standing]:
    """Return what all marked cases of a course say of each student who has one; see `report`."""
    directory, cases = _directory(root), dict[str, list[tuple[float, float]]]()
    with Gradebook(directory.db_url, directory.course_id) as gradebook:
        lessons = [str(lesson.name) for lesson in gradebook.assignments]
        students = [str(student.id) for student in gradebook.students]
    for student in students:
        for lesson in lessons:
            folder = LessonSide(directory, lesson).autograded(student)
            cases.setdefault(student, []).extend(read_cases(folder))
    return {student: Standing.of(mine) for student, mine in cases.items() if mine}


def _directory(root: Path) -> CourseDirectory:
    config = PyFileConfigLoader(CONFIG_FILE, path=str(root)).load_config()
    return CourseDirectory(config=Config(config), root=str(root.resolve()))
