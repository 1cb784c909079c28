"""What grading a hand-in gave, kept beside the graded notebook as JSON."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from grader.gradebook.marking import Outcome
from grader.gradebook.problems import Problem, from_json, to_json
from grader.skill import counted

FORMAT, VERSION = "hand-in-result", 1
ENDING = ".result.json"


@dataclass(frozen=True, slots=True)
class CaseResult:
    """Points of one graded cell, of how many, and what they come from."""

    cell: str
    points: float
    of: float
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Result:
    """One notebook of one student.

    Attributes
    ----------
    lesson, student, notebook : str
    problems : tuple of Problem
        Of the hand-in as a whole.
    cases : tuple of CaseResult
    """

    lesson: str
    student: str
    notebook: str
    problems: tuple[Problem, ...]
    cases: tuple[CaseResult, ...]

    @property
    def all_problems(self) -> tuple[Problem, ...]:
        """Problems of the hand-in and of its records."""
        return self.problems + tuple(p for case in self.cases for p in case.outcome.problems)


def write_result(folder: Path, result: Result) -> None:
    """Write a result into the folder of the graded notebook."""
    data = {
        "format": FORMAT,
        "version": VERSION,
        "lesson": result.lesson,
        "student": result.student,
        "notebook": result.notebook,
        "problems": to_json(result.problems),
        "cases": [
            {
                "cell": case.cell,
                "case": case.outcome.case,
                "points": case.points,
                "of": case.of,
                "problems": to_json(case.outcome.problems),
                "sheet": case.outcome.sheet.to_json() if case.outcome.sheet else None,
            }
            for case in result.cases
        ],
    }
    file = folder / f"{result.notebook}{ENDING}"
    folder.mkdir(parents=True, exist_ok=True)
    file.unlink(missing_ok=True)
    text = json.dumps(data, indent=1, ensure_ascii=False) + "\n"
    file.write_text(text, encoding="utf-8", newline="\n")


def read_cases(folder: Path) -> tuple[tuple[float, float], ...]:
    """Return of every marked case of a graded hand-in what was given away, and V, in minutes.

    Of one whose cause was not found: what such a case counts as. A damaged file, or one of before
    these stood in it, counts nothing; `read_result_problems` names it.
    """
    found: list[tuple[float, float]] = []
    for file in _files(folder):
        sheets = (case["sheet"] for case in (_read(file) or {"cases": ()})["cases"])
        found += [
            counted(sheet["given"], sheet["value"], found=sheet["found"])
            for sheet in filter(None, sheets)
            if "given" in sheet
        ]
    return tuple(found)


def read_result_problems(folder: Path) -> tuple[Problem, ...]:
    """Return every problem named in the results of a graded hand-in."""
    found: list[Problem] = []
    for file in _files(folder):
        data = _read(file)
        if data is None:
            text = f"{file.name} cannot be read; grade this hand-in again with --force"
            found.append(Problem("damaged result", text))
            continue
        found += from_json(data["problems"])
        for case in data["cases"]:
            found += from_json(case["problems"])
    return tuple(dict.fromkeys(found))


def _files(folder: Path) -> list[Path]:
    return sorted(folder.glob(f"*{ENDING}"))


def _read(file: Path) -> dict[str, Any] | None:
    """Return a result as it was written, None for one that is damaged."""
    try:
        data = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    whole = isinstance(data, dict) and data.get("format") == FORMAT
    return data if whole and {"problems", "cases"} <= set(data) else None
