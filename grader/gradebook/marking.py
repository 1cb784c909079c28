"""A record that was handed in -> points, and every problem by its name.

=====================  ========================================  ==========
kind                   when                                      points
=====================  ========================================  ==========
no record              nothing, or an empty file                 0
not closed             no closing line                           as earned
edited                 broken chain or line, lines missing       0
other version          case, circuit or record of other version  0
other student          another student's record                  0
other case             another case's record                     0
other draw             another course's                          0
does not replay        a reading the simulator would not give    0
too long               more lines than anybody works             0
not graded             anything unforeseen; the log has it       0
=====================  ========================================  ==========

A torn last line is normal. A true zero has no problem beside it.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from grader.draw import Draw, draw
from grader.errors import DrawError, GraderError, RecordError
from grader.gradebook.names import gradebook_name
from grader.gradebook.problems import Problem
from grader.prepared import Prepared
from grader.record import VERSION, Entry, read_record
from grader.replay import replay
from grader.score import Sheet, score
from sim.errors import SimError

MOST_ENTRIES = 5000
RECORD_ENDING = ".record.jsonl"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a record is worth.

    Attributes
    ----------
    case : str
    share : float
        Of all points of the sheet, between 0 and 1.
    problems : tuple of Problem
    sheet : Sheet or None
        None where the record could not be judged.
    cause : str
        The student's hidden cause; empty where it is not known whose it is.
    """

    case: str
    share: float
    problems: tuple[Problem, ...]
    sheet: Sheet | None = None
    cause: str = ""


def mark_record(
    file: Path,
    student: str,
    ready: Prepared,
    key: bytes,
    waived: Mapping[int, str] | None = None,
) -> Outcome:
    """Return what a student's record of a case is worth; never raises because of the record.

    Parameters
    ----------
    file : Path
        The record; may be missing.
    student : str
        The student's id in the gradebook.
    ready : Prepared
        The instructor's own copy of the case.
    key : bytes
        The lesson's key.
    waived : mapping of int to str, optional
        Entries that the instructor lets pass, and why.
    """
    case = ready.case.name
    try:
        return _mark(file, student, ready, key, waived or {})
    except (SimError, GraderError) as error:
        return _refused(case, "not graded", str(error))
    except Exception as error:  # one record must not stop the class
        logging.getLogger(__name__).exception("%s, case %s: not graded", student, case)
        return _refused(case, "not graded", f"{type(error).__name__}: {error}")


def _refused(case: str, kind: str, text: str) -> Outcome:
    return Outcome(case, 0.0, (Problem(kind, text),))


def _mark(
    file: Path, student: str, ready: Prepared, key: bytes, waived: Mapping[int, str]
) -> Outcome:
    case = ready.case.name
    if not file.is_file() or not file.stat().st_size:
        return _refused(case, "no record", f"{file.name} was not handed in; case not begun?")
    try:
        entries = read_record(file)
    except RecordError as error:
        return _refused(case, kind_of(error), str(error))
    if len(entries) > MOST_ENTRIES:
        text = f"{len(entries)} lines, at most {MOST_ENTRIES} are graded"
        return _refused(case, "too long", text)
    drawn, foreign = whose(ready, key, student, entries[0].data)
    if foreign is not None or drawn is None:
        return Outcome(case, 0.0, (foreign,) if foreign else ())
    return _judged(ready, drawn, entries, waived)


def kind_of(error: RecordError) -> str:
    """Return the kind of problem that an unreadable record is."""
    text = str(error)
    if f"(reads {VERSION})" in text:
        return "other version"
    return "edited" if "edited" in text or "lines missing" in text else "no record"


def whose(
    ready: Prepared, key: bytes, student: str, opening: Mapping[str, Any]
) -> tuple[Draw | None, Problem | None]:
    """Return the draw of the student a record names, or why the record is not this student's."""
    case = ready.case
    if opening.get("case") != case.name:
        text = f"the record is of case {opening.get('case')!r}, not {case.name!r}"
        return None, Problem("other case", text)
    for name, now in (("case", case.sha256), ("circuit", case.circuit.sha256)):
        if opening.get(f"{name}_sha256") != now:
            text = f"made with another version of the {name}; not edited, but it cannot be replayed"
            return None, Problem("other version", text)
    named = opening.get("student")
    try:
        own = isinstance(named, str) and gradebook_name(named) == gradebook_name(student)
        drawn = draw(ready.lineup, key, str(named)) if own else None
    except DrawError:
        drawn = None
    if drawn is None:
        text = f"the record names student {named!r}, handed in by {student!r}"
        return None, Problem("other student", text)
    if opening.get("draw") != drawn.tag:
        text = "the record was made with another course's lesson, so with another hidden cause"
        return None, Problem("other draw", text)
    return drawn, None


def _judged(
    ready: Prepared, drawn: Draw, entries: Sequence[Entry], waived: Mapping[int, str]
) -> Outcome:
    case = ready.case.name
    played = replay(ready.lineup, drawn, str(entries[0].data["student"]), entries)
    if played.mismatches:
        first, more = played.mismatches[0], len(played.mismatches) - 1
        text = f"entry {first.line}: {first.text}"
        text += f" (and {more} more)" if more else ""
        return _refused(case, "does not replay", text)
    sheet = score(ready, drawn.cause, entries, waived)
    of = sum(mark.of for mark in sheet.marks)
    share = min(1.0, max(0.0, float(sheet.points / of))) if of > 0 else 0.0
    closed = any(entry.kind == "close" for entry in entries)
    text = "the work order was not closed; marked as far as it goes"
    problems = () if closed else (Problem("not closed", text),)
    return Outcome(case, share, problems, sheet, drawn.cause)
