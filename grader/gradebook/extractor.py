"""`nbgrader zip_collect`, first half: zips in `downloaded/LESSON/archive` -> one folder a student.

Of several zips of one student the newest whole one counts. A zip that has to be refused still
gives a folder, with the released notebook and the named problem in it, so that the student stands
in the gradebook and the rest of the class is collected.
"""

from __future__ import annotations

from pathlib import Path

from nbgrader.plugins import ExtractorPlugin

from grader.errors import GradebookError, HandInZipError
from grader.gradebook.courseside import LessonSide, course_directory
from grader.gradebook.names import TIME, HandInName, read_name
from grader.gradebook.notebooks import make_gradable
from grader.gradebook.problems import FILE, Problem, add_problems
from grader.gradebook.zips import read_handin

Dated = list[tuple[HandInName, Path]]


class SafeExtractor(ExtractorPlugin):
    """Unpacks hand-ins without trusting them."""

    def extract(self, archive_path: str, extracted_path: str) -> None:
        """Unpack every student's newest whole hand-in."""
        directory = course_directory(self)
        lesson = LessonSide(directory, directory.assignment_id)
        try:
            released = lesson.released()
        except GradebookError as error:
            self.parent.fail(str(error))
        students, unknown = self._sort_out(Path(archive_path), lesson.lesson)
        for student in sorted(students):
            self._take(students[student], Path(extracted_path), released)
        if not students:
            self.log.warning("No hand-ins found in %s", archive_path)
        self._report(Path(extracted_path).parent, unknown)

    def _sort_out(self, archive: Path, lesson: str) -> tuple[dict[str, Dated], list[Problem]]:
        """Return every student's files, and problems with files that are nobody's."""
        students: dict[str, Dated] = {}
        unknown: list[Problem] = []
        for path in sorted(archive.rglob("*")):
            if path.is_dir() or (path.name.startswith(".") and path.suffix != ".zip"):
                continue
            name = read_name(path.stem)
            if name is None:
                text = (
                    f"{path.name}: expected STUDENT--LESSON--TIME.zip; rename it and collect again"
                )
                unknown.append(Problem("nobody's file", text))
            elif name.lesson != lesson:
                text = f"{path.name}: of lesson {name.lesson!r}; put it into that lesson's archive"
                unknown.append(Problem("other lesson", text))
            else:
                students.setdefault(name.student, []).append((name, path))
        return students, unknown

    def _take(self, handed_in: Dated, target: Path, released: list[Path]) -> None:
        """Unpack the newest whole zip of a student into a folder of its own."""
        newest = sorted(handed_in, key=lambda item: (item[0].time, item[1].name), reverse=True)
        name, files, problems = newest_whole(newest)
        for problem in problems:
            self.log.error("%s", problem)
        folder = target / f"{name.student}--{name.lesson}--{name.time.strftime(TIME)}"
        folder.mkdir(parents=True, exist_ok=True)
        for file, content in files.items():
            (folder / file).write_bytes(content)
        add_problems(folder, [*problems, *make_gradable(folder, released)])
        self.log.info("Unpacked %s", folder.name)

    def _report(self, folder: Path, unknown: list[Problem]) -> None:
        """Keep what could not be given to anybody, for the report."""
        (folder / FILE).unlink(missing_ok=True)
        for problem in unknown:
            self.log.error("%s", problem)
        add_problems(folder, unknown)


def newest_whole(newest: Dated) -> tuple[HandInName, dict[str, bytes], list[Problem]]:
    """Return the first zip that can be read, and a problem for each that had to be refused.

    If none can, the name is the first one's and there are no files.
    """
    problems: list[Problem] = []
    for name, path in newest:
        try:
            return name, read_handin(path), problems
        except (HandInZipError, OSError) as error:
            problems.append(Problem("refused zip", f"{path.name}: {error}"))
    return newest[0][0], {}, problems
