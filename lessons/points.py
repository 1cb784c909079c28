"""A case's sheet and points, worked out from its record: what the notebook's marked cell shows."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from grader.errors import RecordError
from grader.prepared import prepare
from grader.record import read_record
from grader.replay import replay
from grader.score import Sheet, score
from lessons.course import case_setup, record_of
from lessons.errors import FolderError
from lessons.folder import home_of
from lessons.handin import is_closed


def case_points(case: str, folder: Path | None = None) -> float:
    """Return the points of a case, from 0 to 100: a plain number, as nbgrader wants it.

    Not begun or not closed gives 0. The student is the one whose folder this is, or, in a folder of
    collected work, the one the record names; whether that is right is for the gradebook to check.

    Parameters
    ----------
    case : str
        Id of the case.
    folder : Path, optional
        The lesson's folder; the working directory if not given.

    Raises
    ------
    RecordError
        The record has been edited, or is not what the simulator would have written.
    AttemptError
        It is another student's, another case's, another draw's.
    """
    worked = worked_case(case, folder)
    if worked is None:
        return 0.0
    return min(100.0, max(0.0, float(worked.sheet.points)))


@dataclass(frozen=True, slots=True)
class Worked:
    """A case that is closed: its sheet, and how many hints were taken."""

    sheet: Sheet
    hints: int


def worked_case(case: str, folder: Path | None = None) -> Worked | None:
    """Return a case that has been closed, None for one that has not; see `case_points`."""
    lesson = (folder or Path.cwd()).resolve()
    path = record_of(lesson, case)
    if not path.is_file() or not path.stat().st_size:
        return None
    entries = read_record(path)
    if not is_closed(entries):
        return None
    student = _student(lesson) or str(entries[0].data.get("student", ""))
    setup = case_setup(lesson, case, student)
    played = replay(setup.lineup, setup.drawn, setup.student, entries)
    if played.mismatches:
        first = played.mismatches[0]
        raise RecordError(f"{path.name}: entry {first.line}: {first.text}")
    sheet = score(prepare(setup.case), setup.drawn.cause, entries)
    return Worked(sheet, sum(entry.kind == "hint" for entry in entries))


def _student(lesson: Path) -> str | None:
    try:
        return home_of(lesson).student
    except FolderError:
        return None
