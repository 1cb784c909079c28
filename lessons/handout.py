"""A released lesson, put into a student's folder without ever overwriting the student's work.

Records and notebooks that are there are never touched. Case, circuit and key are brought up to date
only while the student has neither changed them nor begun a case: a record fits the files it was
begun with. Only files of the kinds a release has are taken from it.
"""

from __future__ import annotations

import hashlib
import json
import re
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

from grader.draw import lesson_key
from lessons.catalogue import CIRCUIT_ENDING
from lessons.course import (
    PRACTICE_SECRET,
    RECORD_ENDING,
    RELEASED,
    SEAL_FILE,
    read_seal,
    release_lesson,
)
from lessons.errors import FolderError, ReleaseError
from lessons.folder import Home, file_hash

LARGEST = 50_000_000  # bytes a release may unpack to
LESSON_ID = re.compile(r"\w[\w.-]*")


@dataclass(slots=True)
class Report:
    """What was done with a lesson: names of files; for those that were kept also why."""

    lesson: str
    added: list[str] = field(default_factory=list)
    updated: list[str] = field(default_factory=list)
    kept: dict[str, str] = field(default_factory=dict)

    def lines(self) -> list[str]:
        """Return the report as lines to print."""
        counts = [
            f"{len(names)} files {word}"
            for names, word in ((self.added, "added"), (self.updated, "brought up to date"))
            if names
        ]
        first = f"{self.lesson}: {', '.join(counts) or 'nothing new'}"
        return [first, *(f"  kept {name}: {why}" for name, why in self.kept.items())]


@contextmanager
def released_lessons(path: Path) -> Iterator[list[Path]]:
    """Give the folders of the lessons in a release: a zip, a lesson's folder, or one above.

    Raises
    ------
    ReleaseError
        It cannot be read, unpacks to too much, or holds no lesson.
    """
    with tempfile.TemporaryDirectory() as place:
        root = path if path.is_dir() else _unpacked(path, Path(place))
        seals = [*root.glob(SEAL_FILE), *root.glob(f"*/{SEAL_FILE}")]
        if not seals:
            raise ReleaseError(
                f"{path}: no lesson in it: a release holds {SEAL_FILE}; "
                "give the zip as you got it from your instructor"
            )
        yield sorted(seal.parent for seal in seals)


def _unpacked(path: Path, place: Path) -> Path:
    try:
        with zipfile.ZipFile(path) as archive:
            size = sum(item.file_size for item in archive.infolist())
            if size > LARGEST:
                raise ReleaseError(f"{path}: unpacks to {size} bytes, at most {LARGEST} allowed")
            archive.extractall(place)
    except OSError as error:
        raise ReleaseError(f"{path}: cannot be read ({error}); check the name") from error
    except (zipfile.BadZipFile, RuntimeError, EOFError, ValueError) as error:
        raise ReleaseError(f"{path}: no whole zip ({error}); get it again") from error
    return place


@contextmanager
def practice_release(source: Path) -> Iterator[Path]:
    """Give a shipped lesson as released for practice, without an instructor."""
    with tempfile.TemporaryDirectory() as place:
        target = Path(place) / source.name
        release_lesson(source, target, PRACTICE_SECRET)
        yield target


def hand_out(release: Path, home: Home) -> tuple[Home, Report]:
    """Put a released lesson into a student's folder.

    Returns
    -------
    Home, Report
        The folder with its new list of files (not yet written), and what was done.

    Raises
    ------
    FolderError
        The lesson was begun with another course's key.
    ReleaseError, SealError
        The release is none.
    """
    lesson, key = read_seal(release)
    _check_lesson(release, lesson)
    target = home.folder / lesson
    report = Report(lesson)
    other = _has_other_key(target, key)
    if other and key == lesson_key(PRACTICE_SECRET, lesson):
        report.kept[lesson] = "it came from your instructor; practice does not replace it"
        return home, report
    if other:
        _refuse_if_begun(home, target)
    released = dict(home.released)
    for name, content in _files(release):
        file = target / name
        below = f"{lesson}/{name}"
        why = "" if other or not file.exists() else _why_keep(home, file, below, content)
        if why is None:
            continue
        if why:
            report.kept[name] = why
            continue
        (report.updated if file.exists() else report.added).append(name)
        _put(file, content)
        released[below] = file_hash(file)
    return replace(home, released=released), report


def _put(file: Path, content: bytes) -> None:
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
    except OSError as error:
        raise FolderError(
            f"{file}: cannot be written ({error.strerror}); check the disk, or use --folder"
        ) from error


def _check_lesson(release: Path, lesson: str) -> None:
    if not LESSON_ID.fullmatch(lesson):
        raise ReleaseError(f"{release}: lesson id {lesson!r}: letters, digits, dots, dashes only")
    if not (release / f"{lesson}.ipynb").is_file():
        raise ReleaseError(f"{release}: its notebook {lesson}.ipynb is missing; get it again")


def _has_other_key(target: Path, key: bytes) -> bool:
    """Tell whether the lesson is there already, from another course."""
    return (target / SEAL_FILE).is_file() and read_seal(target)[1] != key


def is_begun(target: Path) -> bool:
    """Tell whether a case of a lesson has been begun."""
    return any(path.stat().st_size for path in target.glob(f"*{RECORD_ENDING}"))


def _refuse_if_begun(home: Home, target: Path) -> None:
    notebook = target / f"{target.name}.ipynb"
    below = f"{target.name}/{notebook.name}"
    changed = notebook.is_file() and file_hash(notebook) != home.released.get(below)
    if changed or is_begun(target):
        raise FolderError(
            f"{target}: you have worked here with another course's lesson; rename this folder to "
            "keep that work, and run the same line again"
        )


def _why_keep(home: Home, file: Path, below: str, content: bytes) -> str | None:
    """Return why a file stays as it is: None if there is nothing to say, "" if it may go."""
    old = file.read_bytes()
    if old == content:
        return None
    put = home.released.get(below)
    if file.suffix == ".ipynb":
        same = put == _hash(content)
        return None if same else "it is yours; the course has another version of this notebook"
    if put is None or file_hash(file) != put:
        return "you changed it"
    if is_begun(home.folder / below.partition("/")[0]):
        return "you have begun a case with it; the newer version would not fit your record"
    return ""


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _files(release: Path) -> Iterator[tuple[str, bytes]]:
    """Give names and contents of what a student gets of a release."""
    paths = [p for p in release.iterdir() if p.name.endswith(RELEASED) or p.name == SEAL_FILE]
    paths += (release / "circuits").glob(f"*{CIRCUIT_ENDING}")
    for path in sorted(path for path in paths if path.is_file()):
        content = path.read_bytes()
        if path.suffix == ".ipynb":
            content = locked(content, path.name)
        yield path.relative_to(release).as_posix(), content


def locked(notebook: bytes, name: str) -> bytes:
    """Return a notebook whose text cannot be changed or deleted by a slip of the hand.

    Cells that nbgrader's metadata call `locked` become read-only; answers can be written but not
    deleted.

    Raises
    ------
    ReleaseError
        It is no notebook.
    """
    try:
        data = json.loads(notebook)
        cells = [(cell["metadata"], cell["metadata"].get("nbgrader", {})) for cell in data["cells"]]
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise ReleaseError(f"{name}: damaged: not a notebook; get the lesson again") from error
    for metadata, graded in cells:
        if graded:
            metadata["deletable"] = False
        if graded.get("locked"):
            metadata["editable"] = False
    return (json.dumps(data, indent=1, ensure_ascii=False) + "\n").encode()
