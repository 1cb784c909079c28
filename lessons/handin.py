"""One zip to hand in: the notebook with its written answer, and the records.

    ada--06-two-circuits-in-one-can--20261124T101500Z.zip
        06-two-circuits-in-one-can/06-two-circuits-in-one-can.ipynb
        06-two-circuits-in-one-can/foggy-window.record.jsonl

The time is that of the last change in it, so that the same work gives the same zip, byte for byte.
nbgrader's `zip_collect` finds student, time and file with

    .*/(?P<student_id>[^/]+)--[^/]+--(?P<timestamp>[0-9TZ]+)/(.*/)?(?P<file_id>[^/]+)

(a backslash for a slash on Windows) and needs ".jsonl" in `FileNameCollectorPlugin.valid_ext`.
"""

from __future__ import annotations

import json
import os
import zipfile
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from grader.errors import RecordError
from grader.record import Entry, read_record
from lessons.course import SEAL_FILE, cases_in, read_seal, record_of
from lessons.errors import HandInError
from lessons.folder import file_name, home_of

EARLIEST = (1980, 1, 1, 0, 0, 0)  # what a zip can say at least; the same in every zip of ours
#: Stand in an answer cell until the student writes there: ours, and what nbgrader puts for it.
PLACEHOLDERS = ("Write your answer here", "YOUR ANSWER HERE")
POINTS_CALL = "case_points"
SAVE_FIRST = (
    "the notebook was last saved before your last step at the bench; if you have written something "
    "since, save it (Ctrl-S in JupyterLab) and hand in again"
)


@dataclass(frozen=True, slots=True)
class HandIn:
    """A zip that was made.

    Attributes
    ----------
    path : Path
    missing : tuple of str
        What is missing or not finished, one line each; empty if nothing is.
    advice : str
        What to make sure of, if anything.
    """

    path: Path
    missing: tuple[str, ...]
    advice: str


def make_handin(lesson: Path, target: Path | None = None) -> HandIn:
    """Make the zip of a lesson.

    Parameters
    ----------
    lesson : Path
        The lesson's folder in the student's folder.
    target : Path, optional
        Folder for the zip; the student's folder if not given.

    Raises
    ------
    HandInError
        No notebook, or one that cannot be read: there is nothing to hand in.
    FolderError, SealError
        The folder is damaged.
    """
    home = home_of(lesson.resolve())
    name, _key = read_seal(lesson)
    notebook = lesson / f"{name}.ipynb"
    records = {case: record_of(lesson, case) for case in cases_in(lesson)}
    cells = _read_notebook(notebook)
    missing = (*_about_records(_asked_for(records, cells)), *_about_answers(cells))
    files = [notebook, *(path for path in records.values() if path.is_file())]
    advice = "" if is_saved_last(notebook, files[1:]) else SAVE_FIRST
    changed = max(file.stat().st_mtime for file in files)
    stamp = datetime.fromtimestamp(changed, UTC).strftime("%Y%m%dT%H%M%SZ")
    zipped = (target or home.folder) / f"{file_name(home.student)}--{name}--{stamp}.zip"
    _write_zip(zipped, name, files)
    return HandIn(zipped, missing, advice)


def lesson_to_hand_in(folder: Path) -> Path:
    """Return the lesson meant by a folder: itself, or the only one in a student's folder.

    Raises
    ------
    HandInError
        There is none, or there are several.
    """
    for place in (folder, *folder.parents):
        if (place / SEAL_FILE).is_file():
            return place
    found = sorted(path.parent for path in folder.glob(f"*/{SEAL_FILE}"))
    if len(found) == 1:
        return found[0]
    there = ", ".join(path.name for path in found) or "none"
    raise HandInError(
        f"{folder}: which lesson? lessons here: {there}; "
        "say `halfsplit handin` with the folder of the one you mean"
    )


def _read_notebook(file: Path) -> list[Mapping[str, Any]]:
    """Return the cells of a notebook."""
    try:
        data: Any = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise HandInError(
            f"{file}: the notebook cannot be read ({error.strerror}); "
            "put it back under this name and try again"
        ) from error
    except (ValueError, RecursionError):
        data = None
    cells = data.get("cells") if isinstance(data, dict) else None
    if not isinstance(cells, list) or not all(_is_cell(cell) for cell in cells):
        raise HandInError(
            f"{file}: damaged: not a notebook; open it in JupyterLab, save it and try again"
        )
    return cells


def _is_cell(cell: object) -> bool:
    return (
        isinstance(cell, dict)
        and isinstance(cell.get("metadata"), dict)
        and isinstance(cell["metadata"].get("nbgrader", {}), dict)
        and isinstance(cell.get("source"), str | list)
    )


def _asked_for(records: Mapping[str, Path], cells: Sequence[Mapping[str, Any]]) -> dict[str, Path]:
    """Return the records of cases whose points the notebook asks for; practice is nobody's."""
    text = "".join("".join(cell["source"]) for cell in cells)
    return {case: path for case, path in records.items() if f'{POINTS_CALL}("{case}")' in text}


def _about_records(records: Mapping[str, Path]) -> list[str]:
    remarks = []
    for case, path in records.items():
        if not path.is_file():
            remarks.append(f"case {case}: not begun, so there is no record and it gets no points")
            continue
        try:
            entries = read_record(path)
        except RecordError as error:
            remarks.append(f"case {case}: its record will not be accepted: {error}")
            continue
        if not is_closed(entries):
            remarks.append(f"case {case}: the work order is not closed; close it and hand in again")
    return remarks


def is_closed(entries: list[Entry]) -> bool:
    """Tell whether a record ends with its work order closed."""
    return any(entry.kind == "close" for entry in entries)


def _about_answers(cells: list[Mapping[str, Any]]) -> list[str]:
    remarks = []
    for cell in cells:
        graded = cell["metadata"].get("nbgrader", {})
        source = cell["source"]
        text = source if isinstance(source, str) else "".join(source)
        if graded.get("grade") and graded.get("solution") and is_blank(text):
            remarks.append(f"written answer {graded.get('grade_id')}: still empty")
    return remarks


def is_blank(answer: str) -> bool:
    """Tell whether nothing was written into an answer cell."""
    for placeholder in PLACEHOLDERS:
        answer = answer.replace(placeholder, "")
    return not answer.strip(" \n\t*_.")


def is_saved_last(notebook: Path, records: Sequence[Path]) -> bool:
    """Tell whether the notebook was saved after the last step at the bench."""
    last = max((path.stat().st_mtime for path in records), default=0.0)
    return notebook.stat().st_mtime >= last


def _write_zip(path: Path, lesson: str, files: list[Path]) -> None:
    partial = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with zipfile.ZipFile(partial, "w", zipfile.ZIP_DEFLATED) as archive:
            for file in files:
                item = zipfile.ZipInfo(f"{lesson}/{file.name}", EARLIEST)
                item.compress_type = zipfile.ZIP_DEFLATED
                item.external_attr = 0o644 << 16
                item.create_system = 3  # the same on every system
                archive.writestr(item, file.read_bytes())
        partial.replace(path)
    except OSError as error:
        with suppress(OSError):
            partial.unlink()
        raise HandInError(
            f"{path}: cannot be written ({error.strerror}); check the disk"
        ) from error
