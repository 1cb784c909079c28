"""What the commands about a case share: find it, prepare it, recompute a student's draw."""

from __future__ import annotations

import argparse
from pathlib import Path

from grader.casefile import Case, read_case
from grader.draw import Draw, clean_student, draw, lesson_key
from grader.errors import DrawError
from grader.record import read_record
from grader.replay import Replayed, replay
from grader.suspects import Lineup
from lessons.catalogue import CIRCUITS, case_path
from lessons.course import PRACTICE_SECRET, SEAL_FILE, read_seal


def add_case(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that name a case and a course."""
    parser.add_argument("case", metavar="CASE", help="id of a shipped case, or a case file")
    parser.add_argument(
        "--secret-file",
        metavar="FILE",
        type=Path,
        help="the course's secret, from which every student's cause follows (default: the sealed "
        "key beside the case, or else practice)",
    )


def add_record(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that name a record of a case."""
    add_case(parser)
    parser.add_argument("record", type=Path, metavar="RECORD")
    parser.add_argument("--student", metavar="ID", help="whose record it should be")


def played_record(arguments: argparse.Namespace, lineup: Lineup) -> tuple[Replayed, Draw]:
    """Read the record that the arguments name and play it again on its student's draw."""
    entries = read_record(arguments.record)
    student = clean_student(arguments.student or str(entries[0].data.get("student", "")))
    drawn = student_draw(arguments, lineup, student)
    return replay(lineup, drawn, student, entries), drawn


def load_case(arguments: argparse.Namespace) -> Case:
    """Read the case that the arguments name."""
    return case_at(case_path(arguments.case))


def case_at(path: Path) -> Case:
    """Read a case file, with its circuit from near it, or else a shipped one."""
    return read_case(path, CIRCUITS)


def student_draw(arguments: argparse.Namespace, lineup: Lineup, student: str) -> Draw:
    """Recompute what a student was given in this lesson."""
    return draw(lineup, case_key(arguments), student)


def case_key(arguments: argparse.Namespace) -> bytes:
    """Return the lesson key of a case: of the course named, of its release, or for practice.

    The lesson is the one whose sealed key lies beside the case, else the case's folder.
    """
    folder = case_path(arguments.case).resolve().parent
    lesson, key = folder.name, None
    if (folder / SEAL_FILE).is_file():
        lesson, key = read_seal(folder)
    if arguments.secret_file is not None:
        return lesson_key(course_secret(arguments.secret_file), lesson)
    return key or lesson_key(PRACTICE_SECRET, lesson)


def course_secret(file: Path) -> bytes:
    """Read a course's secret.

    Raises
    ------
    DrawError
        The file cannot be read or is empty.
    """
    try:
        secret = file.read_bytes().strip()
    except OSError as error:
        raise DrawError(f"{file}: cannot be read ({error.strerror}); check the name") from error
    if not secret:
        raise DrawError(f"{file}: empty; a course secret has at least one byte")
    return secret
