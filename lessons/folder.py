"""A student's folder: whose it is, which lessons it holds, and what was put there.

`halfsplit.json` at its top says whose folder it is and keeps the SHA-256 of every file as it was
put there, so that a file the student has changed can be told from one that is merely old.
`last-student.json` in `~/halfsplit` says which folder was used last, so that the id is asked for
once.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from grader.draw import clean_student
from grader.errors import DrawError
from lessons.errors import FolderError

HOME_FILE, FORMAT, VERSION = "halfsplit.json", "student-folder", 1
LAST_FILE, LAST_FORMAT, LAST_VERSION = "last-student.json", "last-student", 1
#: Names that Windows keeps for devices.
KEPT_BY_WINDOWS = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?")


@dataclass(frozen=True, slots=True)
class Home:
    """A student's folder.

    Attributes
    ----------
    folder : Path
    student : str
        Id in its one spelling.
    released : mapping
        Path below the folder, with slashes -> SHA-256 of the file as it was put there.
    """

    folder: Path
    student: str
    released: Mapping[str, str] = field(default_factory=dict)

    @property
    def settings(self) -> Path:
        """Where JupyterLab keeps what it remembers about this folder."""
        return self.folder / ".halfsplit"


def usual_folder(student: str) -> Path:
    """Return where a student's folder is made: `~/halfsplit/ID`."""
    return course_folder() / file_name(student)


def course_folder() -> Path:
    """Return the folder that holds every student's folder on this machine."""
    return Path.home() / "halfsplit"


def file_name(student: str) -> str:
    """Return a student's id as a name that every file system takes."""
    name = re.sub(r"[^\w.@+-]+", "-", student).strip(".-") or "student"
    return f"{name}-" if KEPT_BY_WINDOWS.fullmatch(name) else name


def home_of(place: Path) -> Home:
    """Return the student's folder that a place lies in.

    Raises
    ------
    FolderError
        There is none, so nobody knows whose work this is.
    """
    for folder in (place, *place.parents):
        if (folder / HOME_FILE).is_file():
            return read_home(folder)
    raise FolderError(
        f"{place}: no student id yet: there is no {HOME_FILE} here or above; "
        "run `halfsplit learn`, and keep the lesson inside the folder it makes"
    )


def read_home(folder: Path) -> Home:
    """Read whose folder it is.

    Raises
    ------
    FolderError
        Its file is missing, damaged, too old or too new.
    """
    file = folder / HOME_FILE
    data = _read(file, FORMAT, VERSION, {"student", "released"})
    released = data["released"]
    if not isinstance(released, dict) or not all(isinstance(v, str) for v in released.values()):
        raise FolderError(_damaged(file, "'released' is no list of files"))
    return Home(folder, _student(data["student"], file), released)


def write_home(home: Home) -> None:
    """Write whose folder it is, making it if need be."""
    data = {"student": home.student, "released": dict(sorted(home.released.items()))}
    _write(home.folder / HOME_FILE, FORMAT, VERSION, data)


def read_last() -> tuple[str, Path] | None:
    """Return the student and folder used last, or None before the first time."""
    file = course_folder() / LAST_FILE
    if not file.is_file():
        return None
    data = _read(file, LAST_FORMAT, LAST_VERSION, {"student", "folder"})
    return _student(data["student"], file), Path(str(data["folder"]))


def write_last(home: Home) -> None:
    """Remember a student and folder for the next time."""
    data = {"student": home.student, "folder": str(home.folder)}
    _write(course_folder() / LAST_FILE, LAST_FORMAT, LAST_VERSION, data)


def meant_folder(given: Path | None, which: str) -> Path:
    """Return the folder given, or the student's folder one is in, or the one used last.

    Parameters
    ----------
    which : str
        What is asked for, in words.

    Raises
    ------
    FolderError
        There is no such folder.
    """
    if given is not None:
        if not given.is_dir():
            raise FolderError(f"{given}: no such folder; give {which}")
        return given.resolve()
    here = Path.cwd()
    if any((place / HOME_FILE).is_file() for place in (here, *here.parents)):
        return here
    last = read_last()
    if last is None or not last[1].is_dir():
        raise FolderError(f"{here}: not in a student's folder; give {which}")
    return last[1]


def file_hash(file: Path) -> str:
    """Return the SHA-256 of a file's bytes."""
    return hashlib.sha256(file.read_bytes()).hexdigest()


def _student(value: object, file: Path) -> str:
    try:
        return clean_student(str(value))
    except DrawError as error:
        raise FolderError(_damaged(file, str(error))) from error


def _read(file: Path, kind: str, version: int, keys: set[str]) -> dict[str, Any]:
    """Return the object in a small JSON file of ours."""
    try:
        data: Any = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise FolderError(f"{file}: cannot be read ({error.strerror}); check the folder") from error
    except (ValueError, RecursionError):
        raise FolderError(_damaged(file, "it is not JSON")) from None
    if not isinstance(data, dict) or data.get("format") != kind:
        raise FolderError(_damaged(file, f"its format is not {kind!r}"))
    found = data.get("version")
    if found != version or found is True:
        newer = isinstance(found, int) and found > version
        word = "new: update halfsplit" if newer else f"old: {REMEDY}"
        raise FolderError(f"{file}: {kind} version {found!r} is too {word} (reads {version})")
    odd = set(data) ^ (keys | {"format", "version"})
    if odd:
        raise FolderError(_damaged(file, f"missing or unknown: {', '.join(sorted(odd))}"))
    return data


REMEDY = "delete this one file and run `halfsplit learn` again; your work stays"


def _damaged(file: Path, why: str) -> str:
    return f"{file}: damaged: {why}; {REMEDY}"


def _write(file: Path, kind: str, version: int, data: Mapping[str, Any]) -> None:
    text = json.dumps({"format": kind, "version": version, **data}, indent=1, ensure_ascii=False)
    partial = file.with_name(f"{file.name}.{os.getpid()}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        partial.write_text(text + "\n", encoding="utf-8")
        partial.replace(file)
    except OSError as error:
        with suppress(OSError):
            partial.unlink()
        raise FolderError(
            f"{file}: cannot be written ({error.strerror}); choose another place with --folder"
        ) from error
