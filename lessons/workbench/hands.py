"""What the student has chosen but not done yet: which place, which instrument, leads held where.

Choosing costs nothing and is not in the record; doing is. A kernel that starts again takes the
choice up from the last reading in the record.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from grader.record import Entry
from sim.access import probe_points
from sim.circuit import Circuit
from sim.errors import ActionError
from sim.situation import Situation

LEADS = ("red", "black")
INSTRUMENTS = ("volts", "ohms", "amps", "continuity", "diode", "lamp", "clamp", "jumper")
VIEWS = ("place", "diagram")


@dataclass(frozen=True, slots=True)
class Hands:
    """What is chosen.

    Attributes
    ----------
    place : str
        The place that is looked at on the screen.
    instrument : str
        One of `INSTRUMENTS`.
    lead : str
        The lead (or jumper end) that the next click on a point puts down: red or black.
    red, black : str
        Points for the leads; empty for a lead in the air.
    one, other : str
        Points for the ends of the jumper.
    wire : str
        The wire for the clamp; empty for none.
    view : str
        One of `VIEWS`.
    """

    place: str = ""
    instrument: str = "volts"
    lead: str = "red"
    red: str = ""
    black: str = ""
    one: str = ""
    other: str = ""
    wire: str = ""
    view: str = "place"

    @property
    def ends(self) -> tuple[str, str]:
        """The fields that a click on a point fills with this instrument: first, then second."""
        return ("one", "other") if self.instrument == "jumper" else LEADS

    def action(self) -> dict[str, Any] | None:
        """Return what the instrument would do as it is held, None while something is missing."""
        if self.instrument == "clamp":
            return {"clamp": self.wire} if self.wire else None
        first, second = (getattr(self, end) for end in self.ends)
        if not first or not second:
            return None
        if self.instrument == "jumper":
            return {"bridge": [first, second]}
        if self.instrument == "lamp":
            return {"lamp": True, "red": first, "black": second}
        return {"measure": self.instrument, "red": first, "black": second}

    def choose(self, circuit: Circuit, situation: Situation, wanted: Mapping[str, Any]) -> Hands:
        """Return the hands after a choice.

        Raises
        ------
        ActionError
            There is no such place, instrument, point, wire or view.
        """
        hands = self
        for key, value in wanted.items():
            if key == "touch":
                end = hands.ends[LEADS.index(hands.lead)]
                other = "black" if hands.lead == "red" else "red"
                hands = hands.choose(circuit, situation, {end: value, "lead": other})
                continue
            allowed = _allowed(circuit, situation, key)
            if value not in allowed:
                text = f"{key} {value!r} unknown; there are {', '.join(a for a in allowed if a)}"
                raise ActionError(text)
            hands = replace(hands, **{key: value})
        return hands

    def after(self, do: Mapping[str, Any], situation: Situation) -> Hands:
        """Return the hands after something was done: leads are held where they rest."""
        if "measure" in do or "lamp" in do:
            return replace(self, red=situation.red, black=situation.black)
        return self

    def within(self, circuit: Circuit, situation: Situation) -> Hands:
        """Return the hands with every lead in the air whose point can no longer be reached."""
        points = probe_points(circuit, situation.apart)
        gone = {
            end: ""
            for end in (*LEADS, "one", "other")
            if (point := getattr(self, end)) and point not in points
        }
        return replace(self, **gone)


def _allowed(circuit: Circuit, situation: Situation, key: str) -> Sequence[str]:
    if key in (*LEADS, "one", "other"):
        return ("", *probe_points(circuit, situation.apart))
    choices: dict[str, Sequence[str]] = {
        "place": tuple(circuit.places),
        "instrument": INSTRUMENTS,
        "lead": LEADS,
        "wire": ("", *clampable(circuit)),
        "view": VIEWS,
    }
    if key not in choices:
        text = f"choice {key!r} unknown; there are touch, {', '.join(choices)}"
        raise ActionError(text)
    return choices[key]


def clampable(circuit: Circuit) -> tuple[str, ...]:
    """Return the wires that the clamp goes around."""
    return tuple(name for name in circuit.parts if name.startswith("wire "))


def hands_at(circuit: Circuit, situation: Situation, entries: Sequence[Entry]) -> Hands:
    """Return the hands as the last reading of a record left them."""
    place = next(iter(situation.here), next(iter(circuit.places)))
    hands = Hands(place=place, red=situation.red, black=situation.black)
    for entry in reversed(entries):
        do = entry.data.get("do", {}) if entry.kind == "act" else {}
        for key in ("measure", "lamp", "clamp"):
            if key in do:
                instrument = str(do[key]) if key == "measure" else key
                wire = str(do[key]) if key == "clamp" else ""
                return replace(hands, instrument=instrument, wire=wire)
    return hands
