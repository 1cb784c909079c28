"""Before `nbgrader autograde` reads a hand-in: there has to be a notebook it can read.

Hand-ins that came by the exchange have not been through our extractor. nbgrader hands the hook its
own list of the notebooks it found, and goes on with whatever stands in it afterwards.
"""

from __future__ import annotations

from pathlib import Path

from nbgrader.coursedir import CourseDirectory
from traitlets.config import Config

from grader.gradebook.courseside import LessonSide
from grader.gradebook.notebooks import make_gradable
from grader.gradebook.problems import add_problems


class HandInMender:
    """The hook, with the course's configuration."""

    def __init__(self, config: Config) -> None:
        self.config = config

    def __call__(self, *, assignment: str, notebooks: list[str], **_student: str) -> None:
        """Make one hand-in gradable."""
        folder = Path(notebooks[0]).parent
        lesson = LessonSide(CourseDirectory(config=self.config), assignment)
        add_problems(folder, make_gradable(folder, lesson.released()))
        released = {path.name for path in lesson.released()}
        there = {Path(name).name for name in notebooks}
        if not there & released or any(not Path(name).is_file() for name in notebooks):
            notebooks[:] = sorted(str(path) for path in folder.glob("*.ipynb"))
