"""Steps that an instructor lets pass: `waivers.json` in the course folder, if there is one.

    {"06-two-circuits-in-one-can": {"kim": {"foggy-window": {"7": "I asked for it"}}}}

Lesson, student as in the gradebook, case, number of an entry of the record, and the reason, which
is shown on the score sheet. A step that holds the entry is not charged.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from grader.errors import GradebookError

WAIVERS_FILE = "waivers.json"
SHAPE = '{"LESSON": {"STUDENT": {"CASE": {"ENTRY": "reason"}}}}'


def waived_steps(root: Path, lesson: str, student: str, case: str) -> dict[int, str]:
    """Return entry -> reason of what is waived on a student's record of a case.

    Raises
    ------
    GradebookError
        The file cannot be read, or says something else than entries and reasons.
    """
    file = root / WAIVERS_FILE
    if not file.is_file():
        return {}
    try:
        found: object = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise GradebookError(f"{WAIVERS_FILE}: cannot be read ({error}); write {SHAPE}") from error
    for key in (lesson, student, case):
        if not isinstance(found, Mapping):
            raise GradebookError(f"{WAIVERS_FILE}: got {found!r} around {key!r}; write {SHAPE}")
        found = found.get(key, {})
    if not isinstance(found, Mapping):
        raise GradebookError(f"{WAIVERS_FILE}: got {found!r} for {case!r}; write {SHAPE}")
    return dict(_step(entry, reason) for entry, reason in found.items())


def _step(entry: str, reason: object) -> tuple[int, str]:
    if not entry.isdecimal() or not isinstance(reason, str) or not reason.strip():
        raise GradebookError(
            f"{WAIVERS_FILE}: entry {entry!r}: {reason!r}; a step is waived by its number, with a "
            "reason"
        )
    return int(entry), f"waived: {reason.strip()}"
