"""Case file -> Case: a complaint, the circuit it is about, and what a repair costs.

Grammar and keys are described in DEVELOPERS.md, "How to add a case". Every mistake is one line
that names file and line.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from grader.case import Case, Check, Option, Question, RepairUnit, Sight, Weights
from grader.caseentries import CaseEntry, CheckEntry, QuestionEntry
from grader.errors import CaseFileError
from grader.repairreader import RepairReader
from sim.action import Action
from sim.circuitfile import check_header, read_circuit
from sim.errors import SimError
from sim.mistakes import Mistake, in_order, perhaps
from sim.shapes import shape_mistakes
from sim.yamltext import TextError, read_document

HINTS = {"free": 0.0, "none": None}
HINT_PRICE = re.compile(r"(?P<points>\d+(\.\d+)?) points? each")

Read = TypeVar("Read")

__all__ = ["Case", "Check", "Option", "RepairUnit", "Sight", "read_case", "read_case_through"]

FORMAT, VERSION = "case", 1
CIRCUITS, ENDING = "circuits", ".circuit.yaml"
#: What a reading that checks a repair shows: a quantity, or words where it is empty.
CHECKED = {
    "volts": "voltage",
    "diode": "voltage",
    "ohms": "resistance",
    "amps": "current",
    "clamp": "current",
    **dict.fromkeys(("continuity", "lamp", "look", "feel", "watch"), ""),
}


def reading_of(action: Action) -> str:
    """Return what an action reads, a key of `CHECKED` if a check may ask for it."""
    return action.target if action.verb == "measure" else action.verb


@dataclass(frozen=True, slots=True)
class CaseReading:
    """What a case file says: the case, or the mistakes in it, in the order of the file.

    Where entries have the wrong shape, what they say is looked at when that is mended.
    """

    case: Case | None
    mistakes: tuple[Mistake, ...]


def read_case(path: Path, circuits: Path | None = None) -> Case:
    """Read a case file and the circuit it names.

    Parameters
    ----------
    path : Path
    circuits : Path, optional
        Folder of circuit files, for a circuit that is neither beside the case nor in a `circuits`
        folder there or above.

    Raises
    ------
    CaseFileError
        One line that names file and line, what is wrong and what would be right: the first
        mistake of the file, and how many more there are.
    """
    reading = read_case_through(path, circuits)
    if reading.case is None:
        first, *more = reading.mistakes
        rest = f" (and {len(more)} more: see halfsplit check)" if more else ""
        raise CaseFileError(f"{first}{rest}")
    return reading.case


def read_case_through(path: Path, circuits: Path | None = None) -> CaseReading:
    """Read a case file to its end, whatever is wrong in it; parameters as for `read_case`.

    Raises
    ------
    CaseFileError
        It cannot be read at all, is not YAML, is of another format or version, or its circuit has
        mistakes.
    """
    try:
        document = read_document(path, tolerant=True)
        check_header(document, FORMAT, VERSION)
    except TextError as error:
        raise CaseFileError(str(error)) from error
    entry, wrong, _lost = shape_mistakes(document, CaseEntry)
    mistakes = in_order([*document.mistakes, *wrong])
    if mistakes or entry is None:
        return CaseReading(None, mistakes)
    file = find_circuit(path, entry.circuit, circuits)
    if file is None:
        text = f"circuit {entry.circuit!r} not found: no file {entry.circuit}{ENDING} beside the "
        text += f"case, or in a {CIRCUITS!r} folder there or above"
        return CaseReading(None, (document.mistake(("circuit",), text),))
    try:
        reader = _Reader(document, entry, read_circuit(file))
    except SimError as error:
        raise CaseFileError(str(error)) from error
    case = reader.case()
    if reader.mistakes:
        return CaseReading(None, in_order(reader.mistakes))
    digest = sha256_of(path.read_text(encoding="utf-8"))
    return CaseReading(replace(case, sha256=digest), ())


def sha256_of(text: str) -> str:
    """Return the SHA-256 of a text, whatever its line endings were on disk."""
    return hashlib.sha256(text.replace("\r\n", "\n").encode()).hexdigest()


def find_circuit(case: Path, name: str, circuits: Path | None) -> Path | None:
    """Return the circuit file a case names, looked for in the usual folders."""
    parents = case.resolve().parents
    near = [parents[0], *(parent / CIRCUITS for parent in parents)]
    for folder in [*near, *([circuits] if circuits else [])]:
        file = folder / f"{name}{ENDING}"
        if file.is_file():
            return file
    return None


class _Reader(RepairReader):
    """Turns a validated case file into a Case, keeping hold of the lines for messages."""

    def case(self) -> Case:
        """Return the case, without the entries that have mistakes."""
        entry, read = self.entry, self.read
        resting = {name: control.positions[0] for name, control in self.circuit.controls.items()}
        self.read(self.check_shows)
        shows = [s for i, one in enumerate(entry.shows) for s in read(self.sight, one, "shows", i)]
        start = read(self.settings, entry.start, "start")
        confirm = read(self.sight, entry.confirm, "confirm")
        verify = [c for i, one in enumerate(entry.verify) for c in read(self.check, one, i)]
        asked = [q for i, one in enumerate(entry.questions) for q in read(self.question, one, i)]
        varies = {name: span for name in entry.varies for span in read(self.span, name)}
        return Case(
            name=entry.id,
            order=entry.order,
            circuit=self.circuit,
            complaint=entry.complaint,
            shows=tuple(shows),
            start=tuple((resting | dict(*start)).items()),
            confirm=next(iter(confirm), Sight((), ())),
            verify=tuple(verify),
            questions=tuple(asked),
            units=tuple(unit for name in entry.units for unit in read(self.unit, name)),
            varies=varies,
            assignable=tuple(entry.assignable),
            rate=sum(read(self.rate)),
            dear=sum(read(self.dear)),
            weights=next(iter(read(self.weights)), Weights()),
            hint_points=next(iter(read(self.hint_points)), 0.0),
            alternatives=tuple(a for n in entry.likelihoods for a in read(self.alternative, n)),
            causes=tuple(cause for name in entry.causes for cause in read(self.cause, name)),
        )

    def check_shows(self) -> None:
        if not self.entry.shows or not self.entry.shows[0].set:
            raise self.fail(("shows",), "shows: the first entry must `set` what the customer set")

    def rate(self) -> float:
        return self.amount(self.entry.rate, "number", "rate", least=0.01)

    def dear(self) -> float:
        return self.amount(self.entry.dear, "number", "dear")

    def check(self, entry: CheckEntry, index: int) -> Check:
        where = ("verify", index)
        action = self.action(entry.do, *where, "do")
        reading = reading_of(action)
        if reading not in CHECKED:
            raise self.fail((*where, "do"), f"{reading} shows nothing; use {', '.join(CHECKED)}")
        doing, kind = self.doing(entry.set, entry.wait, *where), CHECKED[reading]
        if not kind:
            if not entry.expect or entry.between:
                raise self.fail(where, f"{reading} shows words: give `expect`, not `between`")
            return Check(doing, action, entry.expect)
        if len(entry.between) != 2 or entry.expect:  # noqa: PLR2004 -- lowest and highest
            raise self.fail(where, f"{reading} shows a {kind}: give `between: [lowest, highest]`")
        low, high = (self.quantity(text, kind, *where, "between") for text in entry.between)
        if low > high:
            raise self.fail((*where, "between"), "between: lowest is above highest")
        return Check(doing, action, between=(low, high))

    def question(self, entry: QuestionEntry, index: int) -> Question:
        where = ("questions", index)
        likelier = self.factors(entry.makes_likelier, *where, "makes likelier")
        minutes = self.amount(entry.minutes, "number", *where, "minutes")
        return Question(entry.ask, minutes, entry.answer, likelier)

    def factors(self, written: dict[str, str], *where: str | int) -> tuple[tuple[str, float], ...]:
        found = []
        for part, factor in written.items():
            if part not in self.circuit.parts and part not in self.entry.causes:
                near = perhaps(part, [*self.circuit.parts, *self.entry.causes])
                raise self.fail(where, f"part {part!r} unknown{near}")
            value = self.quantity(factor, "number", *where, part)
            if value <= 0:
                raise self.fail(where, f"{part}: factor must be above 0")
            found.append((part, value))
        return tuple(found)

    def alternative(self, name: str) -> tuple[str, tuple[tuple[str, float], ...]]:
        return name, self.factors(self.entry.likelihoods[name], "likelihoods", name)

    def hint_points(self) -> float | None:
        text = self.entry.hints
        if text in HINTS:
            return HINTS[text]
        found = HINT_PRICE.fullmatch(text)
        if found is None:
            raise self.fail(("hints",), f"hints: got {text!r}; say free, none or `1 point each`")
        return float(found["points"])

    def span(self, name: str) -> tuple[float, float]:
        where, texts = ("varies", name), self.entry.varies[name]
        if len(texts) != 2:  # noqa: PLR2004 -- lowest and highest
            raise self.fail(where, f"{name}: expected [lowest, highest], got {len(texts)} items")
        low, high = (self.value(name, text, where) for text in texts)
        if low > high:
            raise self.fail(where, f"{name}: lowest is above highest")
        for value in (low, high):
            self.check_vehicle({name: value}, where)
        return low, high

    def weights(self) -> Weights:
        found: dict[str, float] = {}
        for key, text in self.entry.weights.items():
            field_name = key.replace(" ", "_")
            if field_name not in Weights.__dataclass_fields__:
                known = ", ".join(n.replace("_", " ") for n in Weights.__dataclass_fields__)
                raise self.fail(("weights", key), f"weight {key!r} unknown; there are {known}")
            found[field_name] = self.amount(text, "number", "weights", key)
        total = sum(getattr(Weights(**found), name) for name in Weights.__dataclass_fields__)
        if abs(total - 100.0) > 1e-9:  # noqa: PLR2004 -- points of a sheet
            raise self.fail(("weights",), f"weights: sum to {total:g}, must be 100 points together")
        return Weights(**found)
