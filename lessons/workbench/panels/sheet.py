"""The score sheet: marks with reasons, the own path step by step, suspects, the best path.

It comes when the work order is closed, so it may tell the cause.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from grader.attempt import Attempt
from grader.besttree import best_tree, condition_words
from grader.case import Case
from grader.errors import GraderError
from grader.explain import explain
from grader.judge import Judged
from grader.prepared import Prepared, prepare
from grader.reasonwords import luck_words
from grader.record import Entry
from grader.score import Sheet, score
from grader.suspectwords import suspect_words
from lessons.workbench.panels.diagram import drawing
from lessons.workbench.panels.paths import step_rows, tree_view
from lessons.workbench.panels.replay import replay_frames
from lessons.workbench.standing import first_standing, standings
from lessons.workbench.steps import step_numbers
from lessons.workbench.words import capital, in_shop_words, minutes_text
from sim.circuit import Circuit
from sim.errors import SimError
from sim.language import msg, say

WAITING = msg(
    "Working out the best path, to hold yours against it. The first time this takes a good ten "
    "seconds; your record is safe on the disk."
)


def waiting_sheet() -> dict[str, Any]:
    """Return what is shown while the best path is worked out."""
    return {"state": "working", "text": say(WAITING)}


def failed_sheet(error: BaseException) -> dict[str, Any]:
    """Return what is shown where a sheet cannot be worked out."""
    reason = str(error) if isinstance(error, (GraderError, SimError)) else repr(error)
    text = say(
        "The score sheet could not be worked out: {reason}. Your record is whole; hand it in.",
        reason=reason,
    )
    return {"state": "failed", "text": text}


def sheet_of(attempt: Attempt) -> dict[str, Any]:
    """Work out the sheet of a closed attempt; takes seconds the first time."""
    prepared = prepare(attempt.case)
    entries = list(attempt.writer.entries)
    sheet = score(prepared, attempt.drawn.cause, entries)
    spent = attempt.vehicle.bench.situation.minutes + attempt.vehicle.extra_minutes
    view = sheet_view(prepared, sheet, entries, attempt.drawn.cause, spent)
    return {**view, "replay": replay_frames(attempt, drawing(attempt.case.circuit))}


def sheet_view(
    prepared: Prepared, sheet: Sheet, entries: Sequence[Entry], truth: str, spent: float
) -> dict[str, Any]:
    """Return a sheet as it is drawn; `spent` is in minutes."""
    numbers, circuit = step_numbers(entries), prepared.case.circuit
    reasons = explain(prepared, entries, sheet.steps)
    apart = apart_by_step(prepared.case, entries)
    return {
        "state": "ready",
        "order": prepared.case.order,
        "points": f"{sheet.points:.0f}",
        "of": f"{sum(mark.of for mark in sheet.marks):g}",
        "headline": in_shop_words(circuit, headline(sheet, truth)),
        "cause": in_shop_words(circuit, suspect_words(truth)),
        "minutes": minutes_text(spent),
        "par": minutes_text(sheet.par),
        "charged": minutes_text(sheet.charged),
        "luck": luck_words(sheet.luck),
        "standing": sheet.standing.words(),
        "marks": [
            {
                "line": capital(say(mark.line)),
                "points": f"{mark.points:.1f}".removesuffix(".0"),
                "of": f"{mark.of:g}",
                "share": round(mark.points / mark.of, 3) if mark.of else 1.0,
                **where(mark.step, entries, numbers),
                "reason": in_shop_words(circuit, mark.reason),
            }
            for mark in sheet.marks
        ],
        "steps": [
            all_in_shop_words(circuit, row, apart[row["n"]])
            for row in step_rows(prepared, sheet.steps, entries, reasons)
        ],
        "matrix": matrix(prepared, sheet.steps, entries, numbers),
        "tree": tree_view(prepared, best_tree(prepared), truth),
        "conditions": condition_words(prepared),
    }


def apart_by_step(case: Case, entries: Sequence[Entry]) -> dict[int, tuple[str, ...]]:
    """Return what was apart at each step of the evidence, once it was done."""
    stood = standings(first_standing(case.circuit, case.start), entries)
    numbers = step_numbers(entries)
    return {numbers[e.number]: s.apart for e, s in zip(entries, stood, strict=True)}


def all_in_shop_words(circuit: Circuit, view: Any, apart: Sequence[str]) -> Any:  # noqa: ANN401 -- JSON
    """Return a piece of a view, every text in it with points named as at the bench."""
    if isinstance(view, str):
        return in_shop_words(circuit, view, apart)
    if isinstance(view, Mapping):
        return {key: all_in_shop_words(circuit, one, apart) for key, one in view.items()}
    if isinstance(view, list):
        return [all_in_shop_words(circuit, one, apart) for one in view]
    return view


def where(
    number: int | None, entries: Sequence[Entry], numbers: Mapping[int, int]
) -> dict[str, Any]:
    """Return the step of the evidence that a mark speaks of; a strike is made `after` a step.

    What is struck before the first step is after step 0.
    """
    if number is None:
        return {"step": None, "after": False}
    struck = any(entry.number == number and entry.kind == "strike" for entry in entries)
    return {"step": numbers[number] - struck, "after": struck}


def headline(sheet: Sheet, truth: str) -> str:
    """Return the outcome in one sentence."""
    cause = suspect_words(truth)
    calls = [step for step in sheet.steps if step.kind == "call"]
    right = next((step for step in calls if step.right), None)
    if right is None:
        return say("Not found. The cause was: {cause}.", cause=cause)
    wrong = len(calls) - 1
    if wrong:
        return say(
            "Right call after {n} in vain: {unit}. The cause was: {cause}.",
            n=wrong,
            unit=right.unit,
            cause=cause,
        )
    return say("Right call: {unit}. The cause was: {cause}.", unit=right.unit, cause=cause)


def _weight(suspects: int, chances: Sequence[float]) -> float:
    return float(sum(p for k, p in enumerate(chances) if suspects >> k & 1))


def matrix(
    prepared: Prepared,
    steps: Sequence[Judged],
    entries: Sequence[Entry],
    numbers: Mapping[int, int],
) -> dict[str, Any]:
    """Return how likely every unit still was after each step that showed something.

    A cell is ``[likelihood, sign]``; the sign is ``struck`` where the student had struck all of the
    unit, ``early`` where that was before the evidence allowed it, else empty.
    """
    told = [s for s in steps if s.kind == "call" or (s.kind == "test" and s.before != s.after)]
    moments = [(0, prepared.policy().everything)]
    moments += [(step.numbers[-1], step.after) for step in told]
    struck = [struck_by(entries, _end_of(entries, moments, k)) for k in range(len(moments))]
    units = list(dict.fromkeys(suspect.unit.name for suspect in prepared.lineup.suspects))
    chances = prepared.likelihoods(_questions(entries))
    return {
        "columns": [say("start"), *(str(numbers[number]) for number, _possible in moments[1:])],
        "rows": [
            {
                "unit": unit,
                "cells": [
                    _cell(prepared, chances, unit, possible, out)
                    for (_number, possible), out in zip(moments, struck, strict=True)
                ],
            }
            for unit in units
        ],
    }


def _questions(entries: Sequence[Entry]) -> list[str]:
    acts = (entry.data["do"] for entry in entries if entry.kind == "act")
    return [str(do["ask"]) for do in acts if "ask" in do]


def _end_of(entries: Sequence[Entry], moments: Sequence[tuple[int, int]], index: int) -> int:
    """Return the entry before which a moment of the matrix ends."""
    return moments[index + 1][0] if index + 1 < len(moments) else len(entries)


def struck_by(entries: Sequence[Entry], end: int) -> set[str]:
    """Return the suspects struck before an entry."""
    struck: set[str] = set()
    for entry in entries:
        if entry.number < end and entry.kind == "strike":
            struck.update(entry.data["suspects"])
        elif entry.number < end and entry.kind == "restore":
            struck.difference_update(entry.data["suspects"])
    return struck


def _cell(
    prepared: Prepared, chances: Sequence[float], unit: str, possible: int, struck: set[str]
) -> list[Any]:
    held = [(k, s.name) for k, s in enumerate(prepared.lineup.suspects) if s.unit.name == unit]
    left = [(k, name) for k, name in held if possible >> k & 1]
    share = sum(chances[k] for k, _name in left) / (_weight(possible, chances) or 1.0)
    if not all(name in struck for _k, name in held):
        return [round(float(share), 3), ""]
    return [round(float(share), 3), "early" if left else "struck"]
