"""The shipped case, prepared once for a test run, and records of it made without a file."""

from functools import cache
from pathlib import Path

from grader.attempt import Vehicle, opening
from grader.casefile import Case, read_case
from grader.draw import Draw
from grader.prepared import Prepared, prepare
from grader.record import Entry

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


def draw_of(cause: str) -> Draw:
    return Draw(cause, VALUES, "tag")


class Path_:  # noqa: N801 -- `Path` is taken by pathlib
    """A path played on one cause: entries as a record would hold them, without hashes."""

    def __init__(self, cause: str) -> None:
        self.drawn = draw_of(cause)
        self.vehicle = Vehicle(prepared().lineup, self.drawn)
        first = opening(prepared().lineup, self.drawn, "kim")
        self.entries = [Entry(0, "open", {**first, "kind": "open"})]

    def _add(self, kind: str, data: dict) -> dict:
        self.entries.append(Entry(len(self.entries), kind, data))
        return data

    def do(self, **action: object) -> str:
        """Do something at the bench; return what it showed as one word or number."""
        data = self._add(
            "act", self.vehicle.act({k.replace("_", " "): v for k, v in action.items()})
        )
        shown = data.get("shown", {})
        return str(shown.get("words", shown.get("value", "")))

    def volts(self, red: str, black: str = "body") -> float:
        """Measure volts; return them in V."""
        data = self._add("act", self.vehicle.act({"measure": "volts", "red": red, "black": black}))
        shown = data["shown"]
        return float(shown["value"]) * (1e-3 if shown["unit"] == "mV" else 1.0)

    def strike(self, *names: str) -> None:
        self._add("strike", {"suspects": list(names), "reason": ""})

    def call(self, unit: str) -> bool:
        """Call a unit, naming its likeliest cause; True if it was right."""
        suspects = [s for s in prepared().lineup.suspects if s.unit.name == unit]
        cause = max(suspects, key=lambda s: s.likelihood).name
        self._add("call", self.vehicle.call(unit, cause, ""))
        return self.vehicle.progress.mended

    def confirm(self) -> None:
        self.do(set=ON)
        self.do(wait="5 min")
        self.do(watch="rear window clears")
        self.do(watch="switch lamp lights")

    def finish(self) -> list[Entry]:
        """Verify and close."""
        self.do(set=ON)
        self.do(wait="5 min")
        self.do(watch="rear window clears")
        self.do(clamp="wire 8")
        self.do(set={"heater switch": "off"})
        self.do(clamp="wire 8")
        self._add("close", {})
        return self.entries
