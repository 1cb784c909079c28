"""Judged path -> score sheet: five lines, each naming step and reason, the same every time.

What is charged is the path's regret beyond the tolerance of `grader.efficiency`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from grader.alternatives import opinions
from grader.efficiency import charged_of, share_kept
from grader.judge import Judge, Judged, undoing_minutes
from grader.marks import (
    Mark,
    Path,
    call_mark,
    checked_mark,
    efficiency_mark,
    reasoning_mark,
    safety_mark,
)
from grader.policy import Bounds
from grader.prepared import Prepared
from grader.record import Entry
from grader.skill import Standing, counted
from grader.suspects import play
from sim.action import Action
from sim.language import msg

FORMAT, VERSION = "score-sheet", 1
FOR_THE_CUSTOMER = msg("to show the customer")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A score sheet.

    Attributes
    ----------
    marks : tuple of Mark
    steps : tuple of Judged
    value : float
        V at the start, minutes.
    par : float
        Expected minutes of the best path, confirming, repairing and verifying included.
    charged : float
        Regret beyond the tolerance, minutes.
    given : float
        All regret given away by choice, minutes, the tolerance included.
    luck : float
        Minutes the path took more (or less) than V and its regret explain.
    interval : tuple of two floats
        Points, with the solver's gap taken against and for the student.
    closed : bool
        Whether the work order was closed.
    """

    marks: tuple[Mark, ...]
    steps: tuple[Judged, ...]
    value: float
    par: float
    charged: float
    given: float
    luck: float
    interval: tuple[float, float]
    closed: bool

    @property
    def points(self) -> float:
        """All points."""
        return sum(mark.points for mark in self.marks)

    @property
    def found(self) -> bool:
        """Whether the right call was made."""
        return any(step.kind == "call" and step.right for step in self.steps)

    @property
    def standing(self) -> Standing:
        """What this one case says of whoever worked it."""
        return Standing.of([self.counted])

    @property
    def counted(self) -> tuple[float, float]:
        """Minutes given away and V, as the case counts among others."""
        return counted(self.given, self.value, found=self.found)

    def to_json(self) -> dict[str, Any]:
        """Return the sheet as plain data, numbers rounded as they are shown."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "marks": [
                {
                    "line": mark.line,
                    "points": round(mark.points, 2),
                    "of": mark.of,
                    "step": mark.step,
                    "reason": mark.reason,
                }
                for mark in self.marks
            ],
            "points": round(self.points, 2),
            "par": round(self.par, 2),
            "value": round(self.value, 3),
            "regret": [round(step.regret, 3) for step in self.steps],
            "charged": round(self.charged, 3),
            "given": round(self.given, 3),
            "found": self.found,
            "luck": round(self.luck, 3),
            "interval": [round(bound, 2) for bound in self.interval],
        }


def score(
    prepared: Prepared,
    truth: str,
    entries: Sequence[Entry],
    waived: Mapping[int, str] | None = None,
) -> Sheet:
    """Return the score sheet of a record that has been replayed without a mismatch.

    Parameters
    ----------
    truth : str
        Name of the suspect that is the cause.
    entries : sequence of Entry
        The whole record, the opening line included.
    waived : mapping of int to str, optional
        Entries whose regret the instructor does not charge, and why.
    """
    let_pass = {**shown_to_customer(entries), **(waived or {})}
    sheets = [_sheet(opinion, truth, entries, let_pass) for opinion in opinions(prepared)]
    best = max(sheets, key=lambda sheet: sheet.marks[0].points)  # the author's where it is equal
    return replace(best, value=sheets[0].value, par=sheets[0].par)


def shown_to_customer(entries: Sequence[Entry]) -> dict[int, str]:
    """Return the one step that was for the customer: what came before the first note that says so.

    A note that begins with "to show the customer", right after a step, marks it.
    """
    last = None
    for entry in entries:
        if entry.kind == "act":
            last = entry.number
        if entry.kind == "note" and last is not None:
            text = str(entry.data["text"]).strip().lower()
            if text.startswith(FOR_THE_CUSTOMER):
                return {last: FOR_THE_CUSTOMER}
    return {}


def _waive(steps: Sequence[Judged], waived: Mapping[int, str]) -> list[Judged]:
    """Return the steps, with those free that hold a waived entry."""
    found = []
    for step in steps:
        reason = next((waived[number] for number in step.numbers if number in waived), "")
        found.append(replace(step, free=reason) if reason and not step.free else step)
    return found


def _sheet(
    prepared: Prepared, truth: str, entries: Sequence[Entry], waived: Mapping[int, str]
) -> Sheet:
    judge = Judge(prepared, truth)
    start = judge.value(judge.possible, judge.situation)
    path = Path.walk(judge, entries)
    path = replace(path, steps=_waive(path.steps, waived))
    gap = start.upper - start.lower
    raw = sum(step.charged for step in path.steps)
    charged = charged_of(raw, start)
    weights = prepared.case.weights
    marks = (
        efficiency_mark(path, weights.efficiency, start.upper, charged),
        call_mark(path, weights.right_call),
        reasoning_mark(path, weights.reasoning),
        safety_mark(path, weights.safe_work),
        checked_mark(path, weights.checked),
    )
    total = sum(mark.points for mark in marks)
    interval = (total, total)
    if path.right is not None:
        rest = total - marks[0].points
        low, high = (
            rest + weights.efficiency * share_kept(start.upper, charged + way)
            for way in (gap, -gap)
        )
        interval = (low, high)
    return Sheet(
        marks=marks,
        steps=tuple(path.steps),
        value=start.upper,
        par=par_minutes(prepared, start),
        charged=charged,
        given=raw,
        luck=luck_minutes(path, start),
        interval=interval,
        closed=entries[-1].kind == "close",
    )


def par_minutes(prepared: Prepared, start: Bounds) -> float:
    """Return the expected minutes of the best path: confirm, V, repair with its way, verify."""
    case = prepared.case
    repair = sum(
        float(chance)
        * (
            suspect.unit.labour_minutes
            + suspect.unit.cheapest.price / case.rate
            + max((case.circuit.places[p].reach_minutes for p in suspect.unit.places), default=0.0)
        )
        for chance, suspect in zip(prepared.likelihoods(), prepared.lineup.suspects, strict=True)
    )
    watching = [Action("watch", effect) for effect, _answer in case.confirm.sees]
    verifying = [action for check in case.verify for action in (*check.doing, check.action)]
    fleet = prepared.healthy
    actions = [*case.confirm.doing, *watching, *verifying]
    situation, _memory, _seen = play(fleet, prepared.start, prepared.healthy_memory(), actions)
    return start.upper + repair + situation.minutes


def luck_minutes(path: Path, start: Bounds) -> float:
    """Return realised excess minutes less V and regret; 0 without the right repair.

    Whatever was apart at the right call had to be put back; its handling counts as spent.
    """
    if path.right is None:
        return 0.0
    judge, case = path.judge, path.judge.lineup.case
    repairs = {e.number: float(e.data["minutes"]) for e in path.entries if e.kind == "call"}
    spent = undoing_minutes(judge.prepared, judge.situation)
    for step in path.steps:
        if step.kind in ("test", "handling"):
            spent += step.minutes
        elif step.kind == "call":
            spent += step.minutes - repairs[step.numbers[-1]]  # handling before it
            spent += 0.0 if step.right else case.minutes_of(case.unit(step.unit))
    there = set(judge.situation.reached) & set(judge.truth.unit.places)
    spent -= sum(case.circuit.places[place].reach_minutes for place in there)
    return spent - start.upper - sum(step.regret for step in path.steps if step.kind != "ask")
