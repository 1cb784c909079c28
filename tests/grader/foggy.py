"""The shipped case, prepared once for a test run, and people who work it without a file."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

from grader.attempt import Vehicle, opening
from grader.casefile import Case, read_case
from grader.choices import Choice
from grader.draw import Draw
from grader.judge import Judge, undoing_minutes
from grader.prepared import Prepared, prepare
from grader.record import Entry
from grader.score import Sheet, score
from sim.action import Action
from sim.parts import FAMILIES

LESSONS = Path(__file__).parents[2] / "lessons"
FILE = LESSONS / "source" / "06-two-circuits-in-one-can" / "foggy-window.case.yaml"
VALUES = {"B1.charge": 0.85, "temperature": 5.0}
ON = {"key": "run", "heater switch": "on"}
OFF = {"key": "off", "heater switch": "off"}


@cache
def foggy() -> Case:
    return read_case(FILE, LESSONS / "circuits")


@cache
def prepared() -> Prepared:
    return prepare(foggy())


class Worker:
    """Works the case on one cause; what he knows is what the judge's ideal observer knows.

    Entries are as a record would hold them, without hashes.
    """

    def __init__(self, cause: str) -> None:
        lineup = prepared().lineup
        self.drawn = Draw(cause, VALUES, "tag")
        self.vehicle = Vehicle(lineup, self.drawn)
        self.judge = Judge(prepared(), cause)
        first = opening(lineup, self.drawn, "kim")
        self.entries = [Entry(0, "open", {**first, "kind": "open"})]

    def _add(self, kind: str, data: dict) -> dict:
        self.entries.append(Entry(len(self.entries), kind, data))
        return data

    def act(self, action: Action) -> str:
        """Do something at the bench; return what it showed as one word or number."""
        data = self._add("act", self.vehicle.act(action.to_json()))
        shown = data.get("shown", {})
        return str(shown.get("words", shown.get("value", "")))

    def do(self, **action: object) -> str:
        data = self._add("act", self.vehicle.act(action))
        shown = data.get("shown", {})
        return str(shown.get("words", shown.get("value", "")))

    def volts(self, red: str, black: str = "body") -> float:
        """Measure volts; return them in V."""
        data = self._add("act", self.vehicle.act({"measure": "volts", "red": red, "black": black}))
        shown = data["shown"]
        return float(shown["value"]) * (1e-3 if shown["unit"] == "mV" else 1.0)

    def strike(self, *names: str) -> None:
        self._add("strike", {"suspects": list(names), "reason": ""})

    def call(self, unit: str, cause: str = "") -> bool:
        """Call a unit, naming its likeliest cause or this one; True if it was right."""
        suspects = [s for s in prepared().lineup.suspects if s.unit.name == unit]
        likeliest = max(suspects, key=lambda s: s.likelihood).name
        self._add("call", self.vehicle.call(unit, cause or likeliest, ""))
        return self.vehicle.progress.mended

    def confirm(self) -> None:
        self.do(set=ON)
        self.do(wait="5 min")
        self.do(watch="rear window clears")
        self.do(watch="switch lamp lights")

    def put_back(self) -> None:
        """Plug, insert, exchange and unbridge whatever is not as it was."""
        situation = self.vehicle.bench.situation
        for pair in situation.swapped:
            self.do(swap=list(pair))
        if situation.bridge:
            self.do(unbridge=True)
        for name in situation.apart:
            part = foggy().circuit.parts[name]
            self.do(**{"insert" if FAMILIES[part.kind].removable else "plug": name})

    def take(self, choice: Choice) -> None:
        """Take a plain reading: prepare, read, put back."""
        for action in choice.prepare:
            self.act(action)
        self.act(choice.action)
        self.put_back()

    def know(self) -> Judge:
        """Let the judge look at everything since the last time."""
        seen = {number for step in self.judge.judged for number in step.numbers}
        fresh = [e for e in self.entries[1:] if e.number > max(seen, default=0)]
        self.judge.walk(fresh)
        return self.judge

    def go_on_best(self) -> None:
        """Take the best choice until the right unit has been called."""
        while not self.vehicle.progress.mended:
            judge = self.know()
            names = [place.name for place in judge.policy.problem.places]
            situation = judge.situation
            opened = sum(1 << names.index(place) for place in situation.reached)
            here = sum(1 << names.index(place) for place in situation.here)
            choice = judge.policy.best(judge.possible, opened, here, slack=0.0)
            if choice.kind == "test":
                self.take(prepared().space.choices[choice.index])
            else:
                self.call(choice.name or judge.units(judge.possible)[0])

    def finish(self) -> list[Entry]:
        """Verify and close."""
        self.put_back()
        self.do(set=ON)
        self.do(wait="5 min")
        self.do(watch="rear window clears")
        self.do(clamp="wire 8")
        self.do(set={"heater switch": "off"})
        self.do(clamp="wire 8")
        self._add("close", {})
        return self.entries

    def excess_minutes(self) -> float:
        """Work out from the record alone what the path cost beyond the right repair.

        To be asked right after the right call: labour at the bench, what had to be put back, wrong
        repairs; less the way to where the right repair goes anyway.
        """
        case, truth = foggy(), self.judge.truth.unit
        acts = [e for e in self.entries if e.kind == "act"]
        wrong = [e.data["unit"] for e in self.entries if e.kind == "call"][:-1]
        spent = sum(float(e.data["minutes"]) for e in acts)
        spent += sum(case.minutes_of(case.unit(unit)) for unit in wrong)
        situation = self.vehicle.bench.situation
        spent += undoing_minutes(prepared(), situation)
        reached = set(situation.reached) & set(truth.places)
        return spent - sum(case.circuit.places[place].reach_minutes for place in reached)

    def sheet(self) -> Sheet:
        """Score what has been done."""
        return score(prepared(), self.drawn.cause, self.entries)


def expectation(of: Callable[[str], float]) -> float:
    """Return the mean of a function of the cause, weighted by the likelihoods."""
    suspects = prepared().lineup.suspects
    chances = prepared().likelihoods()
    return sum(float(p) * of(s.name) for p, s in zip(chances, suspects, strict=True))
