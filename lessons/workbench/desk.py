"""The desk behind a bench on the screen: messages in, one polite line out.

Everything is decided here; the browser draws and sends. A message is one of

    {"do": {...}}                          an action as it stands in a record, or {"ask": QUESTION}
    {"choose": {...}}                      place, instrument, lead, points (see `hands`)
    {"strike": [...], "reason": TEXT}      {"restore": [...]}
    {"note": TEXT, "step": NUMBER}         a note beside a line of the evidence
    {"call": {"unit", "cause", "option"}}  {"close": true}  {"hint": true}
    {"predict": TEXT, "do": {...}}         a prediction, then its reading
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from grader.attempt import Attempt, step_data
from grader.errors import AttemptError, GraderError
from grader.hints import next_hint
from grader.outcomes import Progress
from grader.prepared import Prepared, prepare
from grader.reasonwords import percent_words
from grader.record import Entry
from lessons.workbench.hands import hands_at
from lessons.workbench.kit import kit
from lessons.workbench.standing import Standing, first_standing
from lessons.workbench.steps import check_reason
from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.errors import ActionError, SimError
from sim.language import ENGLISH, say, spoken
from sim.situation import Situation


class Desk(ABC):
    """One bench and what is chosen at it.

    Attributes
    ----------
    hands : Hands
    notice : str
        One line about what could not be done; empty if all went well.
    stuck : str
        Why nothing more can be done until the case is opened again; empty if it can.
    doing : str
        What is being worked out, where that takes a while; empty if it is nothing out of the way.
    """

    def __init__(self) -> None:
        self.hands = hands_at(self.circuit, self.situation, self.entries)
        self.notice = self.stuck = self.doing = ""

    @property
    @abstractmethod
    def circuit(self) -> Circuit:
        """The vehicle as its papers have it, without its fault."""

    @property
    @abstractmethod
    def situation(self) -> Situation:
        """How the bench stands."""

    @property
    @abstractmethod
    def entries(self) -> Sequence[Entry]:
        """What was done, in order."""

    @property
    @abstractmethod
    def first(self) -> Standing:
        """How the bench stood at hand-over."""

    @property
    @abstractmethod
    def minutes(self) -> float:
        """Labour so far."""

    @abstractmethod
    def jobs(self) -> Mapping[str, Callable[[Mapping[str, Any]], None]]:
        """Return what can be asked of this desk, by the message's first key."""

    def handle(self, message: object) -> None:
        """Do what a message says; what cannot be done changes nothing and becomes `notice`."""
        self.notice = self.stuck
        if self.stuck:
            return
        try:
            self._handle(message)
        except (SimError, GraderError) as error:
            self.notice = str(error)
        except OSError as error:
            self.notice = self.stuck = say(
                "the record cannot be written ({why}); see to the disk, then run this "
                "cell again: everything up to the last line is kept",
                why=error.strerror,
            )
        self.hands = self.hands.within(self.circuit, self.situation)

    def _handle(self, message: object) -> None:
        jobs = {**self.jobs(), "choose": self.choose}
        if isinstance(message, Mapping):
            for key, job in jobs.items():
                if key in message:
                    job(message)
                    return
        raise ActionError(f"message {message!r}: expected one of {', '.join(jobs)}")

    def choose(self, message: Mapping[str, Any]) -> None:
        """Choose without doing."""
        wanted = _mapping(message, "choose")
        self.hands = self.hands.choose(self.circuit, self.situation, wanted)


class CaseDesk(Desk):
    """A work order: the bench of an attempt, and its record."""

    def __init__(self, attempt: Attempt, *, predict: bool = False) -> None:
        self.attempt, self.predict = attempt, predict
        self.ready: Prepared | None = None  # made when a hint is first asked for
        self.told: dict[tuple[int, str], str] = {}  # hints said again, by entry and language
        super().__init__()
        self._let_go_if_closed()

    @property
    def circuit(self) -> Circuit:
        """The vehicle as its papers have it."""
        return self.attempt.case.circuit

    @property
    def situation(self) -> Situation:
        """How the bench stands."""
        return self.attempt.vehicle.bench.situation

    @property
    def entries(self) -> Sequence[Entry]:
        """The record."""
        return self.attempt.writer.entries

    @property
    def first(self) -> Standing:
        """The bench at hand-over."""
        return first_standing(self.circuit, self.attempt.case.start)

    @property
    def minutes(self) -> float:
        """Labour, questions, parts and repairs so far."""
        return self.situation.minutes + self.attempt.vehicle.extra_minutes

    def jobs(self) -> Mapping[str, Callable[[Mapping[str, Any]], None]]:
        """Return what can be asked of a work order's desk."""
        return {
            "do": self.do,
            "strike": self.strike,
            "restore": self.restore,
            "note": self.note,
            "call": self.call,
            "close": self.close,
            "hint": self.hint,
        }

    def do(self, message: Mapping[str, Any]) -> None:
        """Do something at the bench, or ask the customer."""
        do = _mapping(message, "do")
        expected = prediction_in(message, do, asked=self.predict)
        if expected:
            self.attempt.predict(do, expected)
        self.attempt.act(do)
        self.hands = self.hands.after(do, self.situation)

    def strike(self, message: Mapping[str, Any]) -> None:
        """Strike suspects off."""
        reason = str(message.get("reason", "")).strip()
        check_reason(reason, self.entries)
        self.attempt.strike(_names(message, "strike"), reason)

    def restore(self, message: Mapping[str, Any]) -> None:
        """Take suspects back in."""
        self.attempt.restore(_names(message, "restore"))

    def note(self, message: Mapping[str, Any]) -> None:
        """Write a note beside a line of the evidence; the line's number stands before it."""
        number = message.get("step")
        acts = {entry.number for entry in self.entries if entry.kind in ("act", "call")}
        if number not in acts:
            raise AttemptError(
                say("note: got line {number}; choose a line of the evidence", number=repr(number))
            )
        self.attempt.note(f"{number}: {str(message['note']).strip()}")

    def call(self, message: Mapping[str, Any]) -> None:
        """Name the cause and have its unit repaired."""
        wanted = _mapping(message, "call")
        unit, cause, option = (str(wanted.get(key, "")) for key in ("unit", "cause", "option"))
        self.attempt.call(unit, cause, option)

    def hint(self, _message: Mapping[str, Any]) -> None:
        """Ask for the next hint; it is worked out from the record alone, and stands in it."""
        if self.attempt.case.hint_points is None:
            raise AttemptError(say("this case gives no hints; look at the suspects that are left"))
        self.doing = say(
            "Working out the hint. The first one of a work order takes the longest, up to a minute "
            "on a slow computer."
        )
        try:
            if self.ready is None:
                self.ready = prepare(self.attempt.case, tell=self._tried)
            self.attempt.hint(self.ready)
        finally:
            self.doing = ""

    def _tried(self, progress: Progress) -> None:
        """Say how far the readings have been tried on all suspects, in tenths."""
        share = percent_words(10 * progress.done // progress.of / 10)
        self.doing = say("Working out the hint: {share} of the readings are tried.", share=share)

    def hint_text(self, entry: Entry) -> str:
        """Return a hint of the record in the language now spoken: worked out as it was then."""
        if spoken() == ENGLISH:
            return str(entry.data["text"])
        key = (entry.number, spoken())
        if key not in self.told:
            before = self.entries[: self.entries.index(entry)]
            self.ready = self.ready or prepare(self.attempt.case)
            self.told[key] = next_hint(self.ready, self.attempt.drawn.cause, before).text
        return self.told[key]

    def close(self, _message: Mapping[str, Any]) -> None:
        """Close the work order."""
        self.attempt.close()
        self._let_go_if_closed()

    def _let_go_if_closed(self) -> None:
        """Give the record free for others once nothing more can be written to it."""
        if self.attempt.progress.closed:
            self.attempt.__exit__(None, None, None)


class TrialDesk(Desk):
    """A demonstration: a bench without work order, record and score."""

    def __init__(self, bench: Bench, circuit: Circuit, *, predict: bool = False) -> None:
        self.bench, self._circuit, self.predict = bench, circuit, predict
        self.lines: list[Entry] = []
        self._first = first_standing(circuit, bench.situation.controls)
        super().__init__()

    @property
    def circuit(self) -> Circuit:
        """The vehicle as its papers have it."""
        return self._circuit

    @property
    def situation(self) -> Situation:
        """How the bench stands."""
        return self.bench.situation

    @property
    def entries(self) -> Sequence[Entry]:
        """What was done since the bench was opened."""
        return self.lines

    @property
    def first(self) -> Standing:
        """The bench as the lesson set it up."""
        return self._first

    @property
    def minutes(self) -> float:
        """Labour so far."""
        return self.situation.minutes

    def jobs(self) -> Mapping[str, Callable[[Mapping[str, Any]], None]]:
        """Return what can be asked of a demonstration."""
        return {"do": self.do}

    def do(self, message: Mapping[str, Any]) -> None:
        """Do something; where the lesson asks for it, only after a prediction."""
        do = _mapping(message, "do")
        expected = prediction_in(message, do, asked=self.predict)
        data = step_data(self.bench.do(action_from_json(do)))
        self.lines.append(Entry(len(self.lines), "act", {**data, "expected": expected}))
        self.hands = self.hands.after(do, self.situation)


def prediction_in(message: Mapping[str, Any], do: Mapping[str, Any], *, asked: bool) -> str:
    """Return the prediction that a message brings; empty where none is asked for.

    Raises
    ------
    ActionError
        It is about a reading, the lesson asks for a prediction, and there is none.
    """
    expected = str(message.get("predict", "")).strip()
    reads = any(verb in do and not tool.has("tips") for verb, tool in kit().items())
    if asked and not expected and reads:
        raise ActionError(say("say first what you expect; then take the reading"))
    return expected if reads else ""


def _mapping(message: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    value = message[key]
    if not isinstance(value, Mapping):
        raise ActionError(f"{key}: expected an object, got {value!r}")
    return value


def _names(message: Mapping[str, Any], key: str) -> list[str]:
    value = message[key]
    if not isinstance(value, list) or not value or not all(isinstance(n, str) for n in value):
        raise AttemptError(f"{key}: expected names of suspects, got {value!r}")
    return value
