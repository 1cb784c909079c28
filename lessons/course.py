"""A lesson as it leaves the instructor, and a case as the student's folder holds it.

Sources contain no solutions, so a release is a copy of the lesson with its circuits and the
lesson's key, sealed:

    06-two-circuits-in-one-can/
        06-two-circuits-in-one-can.ipynb
        foggy-window.case.yaml
        circuits/rear-window-heater.circuit.yaml
        lesson.sealed.json                         see grader/seal.py
        foggy-window.record.jsonl                  comes when the student opens the case

The course secret never leaves the instructor. Who learns without one uses the practice secret,
which everybody has.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from grader.casefile import Case, find_circuit, read_case
from grader.draw import Draw, clean_student, draw, lesson_key
from grader.linedup import lined_up
from grader.record import read_record
from grader.seal import seal, unseal
from grader.suspects import Lineup
from lessons.catalogue import CASE_ENDING, CIRCUIT_ENDING, CIRCUITS
from lessons.errors import FolderError, ReleaseError
from lessons.folder import home_of

PRACTICE_SECRET = b"practice"
SEAL_FILE = "lesson.sealed.json"
RECORD_ENDING = ".record.jsonl"
RELEASED = (".ipynb", CASE_ENDING, ".png", ".svg")


@dataclass(frozen=True, slots=True)
class Setup:
    """A student's case, ready to be worked on.

    Attributes
    ----------
    case : Case
    lineup : Lineup
    drawn : Draw
        This student's hidden cause and values.
    student : str
        Id in its one spelling.
    record : Path
        Where the record stands, or will.
    """

    case: Case
    lineup: Lineup
    drawn: Draw
    student: str
    record: Path


def release_lesson(source: Path, target: Path, secret: bytes) -> None:
    """Copy a lesson to a folder and put its sealed key there.

    Parameters
    ----------
    source : Path
        Folder of the lesson; its name is the lesson's id.
    target : Path
        Folder to make, or to bring up to date.
    secret : bytes
        The course's secret; it is not written anywhere.

    Raises
    ------
    ReleaseError
        The source is no lesson, or a case names a circuit that is nowhere.
    CaseFileError
        A case has a mistake.
    """
    source = source.resolve()
    if not (source / f"{source.name}.ipynb").is_file():
        raise ReleaseError(
            f"{source}: no lesson: a lesson's folder NAME holds NAME.ipynb and its cases"
        )
    if target.resolve() == source:
        raise ReleaseError(f"{source}: a lesson cannot be released onto itself; give a new folder")
    files = {p.name: p for p in sorted(source.iterdir()) if p.name.endswith(RELEASED)}
    for case in [p for name, p in files.items() if name.endswith(CASE_ENDING)]:
        circuit = _circuit_file(case)
        files[f"circuits/{circuit.name}"] = circuit
    (target / "circuits").mkdir(parents=True, exist_ok=True)
    for name, path in files.items():
        shutil.copyfile(path, target / name)
    sealed = seal(lesson_key(secret, source.name), source.name)
    (target / SEAL_FILE).write_text(sealed, encoding="utf-8", newline="\n")


def _circuit_file(case: Path) -> Path:
    """Return the circuit file of a case: beside it, above it, or one that is shipped."""
    name = read_case(case, CIRCUITS).circuit.name
    file = find_circuit(case, name, CIRCUITS)
    if file is None:
        raise ReleaseError(
            f"{case.name}: circuit {name!r} is in a file of another name; "
            f"call the file {name}{CIRCUIT_ENDING}"
        )
    return file


def read_seal(lesson: Path) -> tuple[str, bytes]:
    """Return id and key of the lesson released into a folder.

    Raises
    ------
    FolderError
        There is no sealed key.
    SealError
        It is damaged, too old or too new.
    """
    file = lesson / SEAL_FILE
    try:
        text = file.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        text = ""
    except OSError as error:
        raise FolderError(
            f"{file}: the lesson's key cannot be read ({error.strerror}); "
            "put it back, or run `halfsplit learn` again"
        ) from error
    return unseal(text, str(file))


def cases_in(lesson: Path) -> dict[str, Path]:
    """Return the case files of a lesson's folder, by id."""
    files = sorted(lesson.glob(f"*{CASE_ENDING}"))
    return {file.name.removesuffix(CASE_ENDING): file for file in files}


def record_of(lesson: Path, case: str) -> Path:
    """Return where the record of a case stands."""
    return lesson / f"{case}{RECORD_ENDING}"


def case_setup(folder: Path | None, case: str, student: str | None = None) -> Setup:
    """Return a student's case with its draw.

    Parameters
    ----------
    folder : Path or None
        The lesson's folder; the working directory if not given, which is the notebook's.
    case : str
        Id of the case.
    student : str, optional
        Whose case it is; by default the one whose folder this is.

    Raises
    ------
    FolderError
        No such case here, no student's id, no key, or a record of another version.
    CaseFileError, DrawError, SealError, RecordError
        A file here is damaged.
    """
    lesson = _lesson_folder(folder)
    files = cases_in(lesson)
    if case not in files:
        there = ", ".join(files) or "none at all"
        raise FolderError(
            f"case {case!r} is not in {lesson}; there: {there}; "
            "open the lesson's own notebook, or run `halfsplit learn` again"
        )
    student = clean_student(home_of(lesson).student if student is None else student)
    _lesson, key = read_seal(lesson)
    read = read_case(files[case])
    record = record_of(lesson, case)
    check_version(read, record)
    lineup = lined_up(read)
    return Setup(read, lineup, draw(lineup, key, student), student, record)


def _lesson_folder(folder: Path | None) -> Path:
    try:
        lesson = (Path.cwd() if folder is None else folder).resolve(strict=True)
    except OSError as error:
        raise FolderError(
            f"{folder or 'the notebook'}: its folder has gone or was moved ({error.strerror}); "
            "close JupyterLab and run `halfsplit learn --folder` with where it is now"
        ) from error
    return lesson


def check_version(case: Case, record: Path) -> None:
    """Refuse a record that was begun with other files than those that lie here now.

    Raises
    ------
    FolderError
        With what to do about it.
    RecordError
        It is no record, or has been edited.
    """
    if not record.is_file() or not record.stat().st_size:
        return
    begun = read_record(record)[0].data
    for key, now in (("case_sha256", case.sha256), ("circuit_sha256", case.circuit.sha256)):
        if begun.get(key) != now:
            raise FolderError(
                f"{record}: begun with another version of the {key.partition('_')[0]}, whose "
                "readings would differ; put the old file back to go on, or rename the record to "
                "keep it and open the case again to start over"
            )
