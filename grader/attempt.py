"""One student on one case: bench + record. Act, write, then show; the only writer.

Opening an attempt again replays its record, so that bench, evidence and strikes stand as they were.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from grader.casefile import Case
from grader.draw import Draw, clean_student, drawn_circuit, sound_circuit
from grader.errors import AttemptError, GraderError
from grader.hints import next_hint
from grader.prepared import Prepared
from grader.record import FORMAT, VERSION, Entry, Writer
from grader.suspects import Lineup, start_situation
from sim.action import action_from_json
from sim.bench import Bench, Step
from sim.errors import SimError
from sim.language import ENGLISH, say, speaking

MADE_BY = "0.1.0"


@dataclass(slots=True)
class Progress:
    """What an attempt has come to: strikes, answers, calls, and whether it is closed."""

    struck: set[str] = field(default_factory=set)
    asked: list[str] = field(default_factory=list)
    calls: list[str] = field(default_factory=list)
    mended: bool = False
    closed: bool = False

    def check_open(self) -> None:
        """Refuse whatever comes after the end."""
        if self.closed:
            raise AttemptError(say("this work order is closed; its score sheet is final"))


class Attempt:
    """An attempt that is being worked on. Use as a context manager."""

    def __init__(self, lineup: Lineup, drawn: Draw, student: str, path: Path) -> None:
        self.lineup, self.drawn = lineup, drawn
        self.student = clean_student(student)
        self.writer = Writer(path)
        self.vehicle = Vehicle(lineup, drawn)
        self.progress = self.vehicle.progress

    @property
    def case(self) -> Case:
        """The case."""
        return self.lineup.case

    def __enter__(self) -> Self:
        """Open the record; begin it, or take up where it stopped."""
        self.writer.__enter__()
        try:
            if self.writer.entries:
                check_opening(self.lineup, self.drawn, self.student, self.writer.entries[0].data)
                for entry in self.writer.entries[1:]:
                    self._repeat(entry)
            else:
                self.writer.append("open", opening(self.lineup, self.drawn, self.student))
        except BaseException:
            self.writer.__exit__(None, None, None)
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the record."""
        self.writer.__exit__(kind, error, trace)

    def _repeat(self, entry: Entry) -> None:
        try:
            self.vehicle.repeat(entry)
        except (SimError, GraderError, KeyError, TypeError, ValueError) as error:
            raise AttemptError(
                f"{self.writer.path.name}: entry {entry.number} cannot be done again ({error}); "
                "rename the record to keep it, and open the case again to start over"
            ) from error

    def act(self, do: Mapping[str, Any]) -> Entry:
        """Do something at the bench or ask the customer; the entry is on disk when this returns."""
        self.progress.check_open()
        return self.writer.append("act", self.vehicle.act(do))

    def strike(self, suspects: list[str], reason: str = "") -> Entry:
        """Strike suspects off, singly or a whole section."""
        self.progress.check_open()
        self.vehicle.check_suspects(suspects)
        entry = self.writer.append("strike", {"suspects": suspects, "reason": reason})
        self.progress.struck.update(suspects)
        return entry

    def restore(self, suspects: list[str]) -> Entry:
        """Take suspects back in."""
        self.progress.check_open()
        self.vehicle.check_suspects(suspects)
        entry = self.writer.append("restore", {"suspects": suspects})
        self.progress.struck.difference_update(suspects)
        return entry

    def note(self, text: str) -> Entry:
        """Write a note beside the evidence."""
        self.progress.check_open()
        return self.writer.append("note", {"text": text})

    def predict(self, do: Mapping[str, Any], expect: str) -> Entry:
        """Say what an action will show, before it is done."""
        self.progress.check_open()
        return self.writer.append("predict", prediction(do, expect))

    def hint(self, prepared: Prepared) -> Entry:
        """Ask for the next hint; it is on disk, with its price, when this returns.

        A record is English, whoever works; `lessons.workbench.desk` says a hint again.
        """
        self.progress.check_open()
        with speaking(ENGLISH):
            given = next_hint(prepared, self.drawn.cause, self.writer.entries)
        return self.writer.append("hint", {"level": given.level, "text": given.text})

    def call(self, unit: str, cause: str, option: str = "") -> Entry:
        """Name the cause and have its unit repaired."""
        self.progress.check_open()
        return self.writer.append("call", self.vehicle.call(unit, cause, option))

    def close(self) -> Entry:
        """Close the work order."""
        self.progress.check_open()
        entry = self.writer.append("close", {})
        self.progress.closed = True
        return entry


def prediction(do: Mapping[str, Any], expect: str) -> dict[str, Any]:
    """Return what stands in the record about a prediction.

    Raises
    ------
    AttemptError
        It says nothing.
    ActionError
        It is about no action.
    """
    if not expect.strip():
        raise AttemptError(say("a prediction needs words or a number; say what you expect"))
    return {"do": dict(action_from_json(do).to_json()), "expect": expect.strip()}


def opening(lineup: Lineup, drawn: Draw, student: str) -> dict[str, Any]:
    """Return the opening line of a record, without what `Writer` adds."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "case": lineup.case.name,
        "case_sha256": lineup.case.sha256,
        "circuit_sha256": lineup.case.circuit.sha256,
        "student": student,
        "draw": drawn.tag,
        "made_by": MADE_BY,
    }


def check_opening(lineup: Lineup, drawn: Draw, student: str, data: Mapping[str, Any]) -> None:
    """Refuse a record of another case, version, student or draw, and say which.

    Raises
    ------
    AttemptError
        One line that names the difference.
    """
    wanted = opening(lineup, drawn, student)
    words = {
        "case": "another case's record",
        "case_sha256": "made with another version of the case",
        "circuit_sha256": "made with another version of the circuit",
        "student": "another student's record",
        "draw": "another draw: the course or the student's id differs",
    }
    for key, meaning in words.items():
        if data.get(key) != wanted[key]:
            raise AttemptError(f"{meaning}: {key} is {data.get(key)!r}, expected {wanted[key]!r}")


class Vehicle:
    """The student's vehicle with everything that has been done to it; used live and in replay."""

    def __init__(self, lineup: Lineup, drawn: Draw) -> None:
        self.lineup, self.drawn = lineup, drawn
        circuit, start = drawn_circuit(lineup.case, lineup, drawn), start_situation(lineup.case)
        self.bench = Bench(circuit, lineup.fleet.solver, start)
        self.progress = Progress()
        self.extra_minutes = 0.0

    def act(self, do: Mapping[str, Any]) -> dict[str, Any]:
        """Do one thing and return what stands in the record about it."""
        if "ask" in do:
            return self._ask(do)
        step = self.bench.do(action_from_json(do))
        return step_data(step)

    def _ask(self, do: Mapping[str, Any]) -> dict[str, Any]:
        questions = {q.ask: q for q in self.lineup.case.questions}
        question = questions.get(str(do["ask"]))
        if question is None or len(do) > 1:
            raise AttemptError(f"question {do['ask']!r} unknown; ask {' | '.join(questions)}")
        self.progress.asked.append(question.ask)
        self.extra_minutes += question.minutes
        return {
            "do": dict(do),
            "minutes": f"{question.minutes:g}",
            "clock": f"{self.bench.situation.clock / 60 + self.extra_minutes:.1f}",
            "shown": {"words": question.answer},
            "harm": [],
        }

    def check_suspects(self, names: list[str]) -> None:
        """Refuse suspects that this case does not have."""
        known = [suspect.name for suspect in self.lineup.suspects]
        for name in names:
            if name not in known:
                raise AttemptError(f"suspect {name!r} unknown; suspects are {', '.join(known)}")

    def call(self, unit: str, cause: str, option: str) -> dict[str, Any]:
        """Repair a unit; the complaint is gone only if it held the cause."""
        case = self.lineup.case
        if self.progress.mended:
            raise AttemptError(
                say("the fault is mended; verify the repair and close the work order")
            )
        names = [u.name for u in case.units]
        if unit not in names:
            raise AttemptError(f"unit {unit!r} unknown; units are {', '.join(names)}")
        self.check_suspects([cause])
        chosen = case.unit(unit)
        if self.lineup.suspects[self.lineup.index(cause)].unit.name != unit:
            raise AttemptError(
                say(
                    "cause {cause} is not in {unit}; choose a cause of that unit",
                    cause=repr(cause),
                    unit=repr(unit),
                )
            )
        options = {o.name: o for o in chosen.options}
        picked = options.get(option or chosen.cheapest.name)
        if picked is None:
            raise AttemptError(f"option {option!r} unknown; {unit} offers {', '.join(options)}")
        truth = self.lineup.suspects[self.lineup.index(self.drawn.cause)]
        minutes = chosen.labour_minutes + picked.price / case.rate
        self.extra_minutes += minutes
        self.progress.calls.append(unit)
        if truth.unit.name == unit:
            self.progress.mended = True
            self.bench.mend(truth.mended(self.bench.circuit, sound_circuit(case, self.drawn)))
        return {
            "unit": unit,
            "cause": cause,
            "option": picked.name,
            "minutes": f"{minutes:g}",
            "clock": f"{self.bench.situation.clock / 60 + self.extra_minutes:.1f}",
        }

    def repeat(self, entry: Entry) -> dict[str, Any] | None:
        """Do again what a line of a record says; return what would be written now."""
        data, progress = entry.data, self.progress
        progress.check_open()
        if entry.kind == "act":
            return self.act(data["do"])
        if entry.kind == "call":
            return self.call(str(data["unit"]), str(data["cause"]), str(data["option"]))
        if entry.kind in ("strike", "restore"):
            self.check_suspects(data["suspects"])
        if entry.kind == "strike":
            progress.struck.update(data["suspects"])
        elif entry.kind == "restore":
            progress.struck.difference_update(data["suspects"])
        elif entry.kind == "predict":
            prediction(data["do"], str(data["expect"]))
        elif entry.kind == "close":
            progress.closed = True
        return None


def step_data(step: Step) -> dict[str, Any]:
    """Return what stands in a record about a step at the bench."""
    data: dict[str, Any] = {
        "do": step.action.to_json(),
        "minutes": f"{step.minutes:g}",
        "clock": f"{step.clock / 60:.1f}",
        "harm": list(step.harm),
    }
    if step.reading is not None:
        data["shown"] = step.reading.to_json()
    return data
