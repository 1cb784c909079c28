"""The instructor's side of a lesson: secret, released notebooks, cases made ready.

Nothing here comes from what a student hands in.
"""

from __future__ import annotations

import functools
import hashlib
from pathlib import Path
from typing import Any

from grader.casefile import CIRCUITS, read_case
from grader.draw import lesson_key
from grader.errors import GradebookError
from grader.prepared import Prepared, prepare

SECRET_FILE = "course.secret"  # noqa: S105 -- the name of a file
CASE_ENDING = ".case.yaml"


def course_directory(piece: Any) -> Any:  # noqa: ANN401 -- nbgrader's CourseDirectory has no types
    """Return the course directory that a piece of nbgrader works in: its own or its parents'.

    Raises
    ------
    GradebookError
        It was started outside nbgrader.
    """
    while piece is not None:
        directory = getattr(piece, "coursedir", None)
        if directory is not None:
            return directory
        piece = getattr(piece, "parent", None)
    raise GradebookError("no course directory: run this by nbgrader's own commands")


class LessonSide:
    """A lesson as the instructor has it.

    Parameters
    ----------
    directory : nbgrader.coursedir.CourseDirectory
    lesson : str
        The lesson's id, which is nbgrader's assignment.
    """

    def __init__(self, directory: Any, lesson: str) -> None:  # noqa: ANN401 -- as above
        self.lesson = lesson
        self.root = Path(directory.root)
        self.source = self._step(directory, directory.source_directory, ".")
        self.release = self._step(directory, directory.release_directory, ".")
        self._directory = directory

    def _step(self, directory: Any, step: str, student: str) -> Path:  # noqa: ANN401 -- as above
        return Path(directory.format_path(step, student, self.lesson))

    def submitted(self, student: str) -> Path:
        """Return the folder of what a student handed in."""
        return self._step(self._directory, self._directory.submitted_directory, student)

    def autograded(self, student: str) -> Path:
        """Return the folder of a student's graded notebook."""
        return self._step(self._directory, self._directory.autograded_directory, student)

    def released(self) -> list[Path]:
        """Return the notebooks as they were released.

        Raises
        ------
        GradebookError
            There are none.
        """
        notebooks = sorted(self.release.glob("*.ipynb"))
        if not notebooks:
            raise GradebookError(
                f"{self.release}: no released notebook; "
                f"run `nbgrader generate_assignment {self.lesson}` first"
            )
        return notebooks

    def key(self) -> bytes:
        """Return the lesson's key, made from the course's secret.

        Raises
        ------
        GradebookError
            There is no secret.
        """
        return lesson_key(read_secret(self.root / SECRET_FILE), self.lesson)

    def case(self, name: str) -> Prepared:
        """Return a case made ready for judging.

        Raises
        ------
        GradebookError
            The lesson has no such case.
        CaseFileError
            It has a mistake.
        """
        file = self.source / f"{name}{CASE_ENDING}"
        if not file.is_file():
            raise GradebookError(f"{file}: no such case; put it back into the course's source")
        return _ready(file, _digest(file, self.root))


def read_secret(file: Path) -> bytes:
    """Return a course's secret.

    Raises
    ------
    GradebookError
        The file is missing or empty.
    """
    try:
        secret = file.read_bytes().strip()
    except OSError as error:
        raise GradebookError(
            f"{file}: the course's secret cannot be read ({error.strerror}); "
            "put it back from your backup: no record can be graded without it"
        ) from error
    if not secret:
        raise GradebookError(f"{file}: empty; put the course's secret back from your backup")
    return secret


def _digest(file: Path, root: Path) -> str:
    """Return what changes with a case or a circuit, so that a long-running server sees it."""
    digest = hashlib.sha256(file.read_bytes())
    for folder in (file.parent, file.parent.parent, root):
        for circuit in sorted((folder / CIRCUITS).glob("*.yaml")):
            digest.update(circuit.read_bytes())
    return digest.hexdigest()


@functools.lru_cache(maxsize=8)
def _ready(file: Path, _digest: str) -> Prepared:
    return prepare(read_case(file))
