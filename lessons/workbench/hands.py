"""What the student has chosen but not done yet: which place, which instrument, leads held where.

Choosing costs nothing and is not in the record; doing is. A kernel that starts again takes the
choice up from the last reading in the record. A choice is an object with any of

    {"place": PLACE, "view": VIEW, "part": PART}    what is looked at
    {"instrument": VERB, "knob": {NAME: TEXT}}      what is in the hand, and how it is set
    {"touch": POINT}                                the next lead goes there
    {"red": POINT, ...}  {"lead": END}              a lead goes there; which one is next
    {"wire": WIRE}  {"wires": [WIRE, ...]}          the jaws of the clamp
    {"aim": PART}  {"during": {CONTROL: POSITION}}  a part aimed at; controls operated meanwhile
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from grader.record import Entry
from lessons.workbench.kit import LEADS, TIPS, Held, Tool, kit, taken_up
from sim.access import probe_points
from sim.circuit import Circuit
from sim.errors import ActionError
from sim.language import say, say_in
from sim.situation import Situation

VIEWS = ("place", "diagram", "vehicle", "connectors")
FIRST_TOOL = "measure"


@dataclass(frozen=True, slots=True)
class Hands:
    """What is chosen.

    Attributes
    ----------
    place : str
        The place that is looked at on the screen.
    instrument : str
        Verb of the instrument in the hand, one of `kit`.
    lead : str
        The end that the next click on a point puts down, one of the tool's ends.
    points : mapping
        End -> point, for every end that is not in the air; channel's clamp -> wire.
    wires : tuple of str
        In the jaws of the clamp.
    aim : str
        The part that an instrument without leads is pointed at.
    knobs : mapping
        (verb, knob) -> where it stands, where that is not the first position.
    during : tuple of (control, position)
        Controls to be operated while a reading is taken.
    view : str
        One of `VIEWS`.
    part : str
        The part chosen on the diagram; empty for none.
    """

    place: str = ""
    instrument: str = FIRST_TOOL
    lead: str = "red"
    points: Mapping[str, str] = field(default_factory=dict)
    wires: tuple[str, ...] = ()
    aim: str = ""
    knobs: Mapping[tuple[str, str], str] = field(default_factory=dict)
    during: tuple[tuple[str, str], ...] = ()
    view: str = "place"
    part: str = ""

    @property
    def tool(self) -> Tool:
        """The instrument in the hand."""
        return kit()[self.instrument]

    @property
    def next_end(self) -> str:
        """The end that the next click puts down; empty for an instrument without."""
        ends = self.tool.ends
        return self.lead if self.lead in ends else next(iter(ends), "")

    def knob(self, name: str) -> str:
        """Return where a knob of the instrument in the hand stands."""
        first = next(knob.first for knob in self.tool.knobs if knob.name == name)
        return self.knobs.get((self.instrument, name), first)

    def action(self) -> dict[str, Any] | None:
        """Return what the instrument would do as it is held, None while something is missing."""
        knobs = {knob.name: self.knob(knob.name) for knob in self.tool.knobs}
        return self.tool.action(Held(knobs, self.points, self.wires, self.aim, self.during))

    def choose(self, circuit: Circuit, situation: Situation, wanted: Mapping[str, Any]) -> Hands:
        """Return the hands after a choice.

        Raises
        ------
        ActionError
            There is no such place, instrument, point, wire, part, knob or view.
        """
        hands = self
        for key, value in wanted.items():
            hands = hands._chosen(circuit, situation, key, value)
        return hands

    def _chosen(self, circuit: Circuit, situation: Situation, key: str, value: object) -> Hands:
        if key == "touch":
            return self._touched(circuit, situation, value)
        if key == "knob":
            return self._turned(_object(key, value))
        if key == "during":
            during = tuple((str(c), str(p)) for c, p in _object(key, value).items())
            for control, position in during:
                _among(f"position of {control}", position, _positions(circuit, control))
            return replace(self, during=during)
        if key in ("wire", "wires"):
            wires = [value] if isinstance(value, str) else value
            if not isinstance(wires, list):
                raise ActionError(f"wires: expected names of wires, got {value!r}")
            for wire in wires:
                _among("wire", wire, ("", *clampable(circuit)))
            return replace(self, wires=tuple(dict.fromkeys(wire for wire in wires if wire)))
        if key in all_ends():
            _among(key, value, _points(circuit, situation, key))
            return self.put(key, str(value))
        _among(key, value, _allowed(circuit, self, key))
        hands = replace(self, **{key: value})
        return hands.without_item() if key == "aim" else hands

    def _touched(self, circuit: Circuit, situation: Situation, point: object) -> Hands:
        ends = self.tool.ends
        if not ends:
            raise ActionError(
                say(
                    "{instrument}: it has no leads to put on a point",
                    instrument=say_in("instrument", self.tool.label),
                )
            )
        end = self.next_end
        _among(end, point, _points(circuit, situation, end))
        following = ends[(ends.index(end) + 1) % len(ends)]
        if len(ends) > len(LEADS) and following == ends[0]:
            following = ends[-2]  # the second channel goes on, the first stays where it is
        return replace(self.put(end, str(point)), lead=following)

    def _turned(self, knobs: Mapping[str, Any]) -> Hands:
        known = {knob.name: knob for knob in self.tool.knobs}
        turned = dict(self.knobs)
        for name, text in knobs.items():
            _among("knob", name, tuple(known))
            if not known[name].free:
                _among(name, text, known[name].words)
            turned[self.instrument, name] = str(text).strip()
        hands = replace(self, knobs=turned)
        return hands.without_item() if self.instrument in knobs else hands

    def without_item(self) -> Hands:
        """Return the hands with nothing chosen of what a unit has: another task, another unit."""
        items = {ask.key for ask in self.tool.asks if ask.kind == "item"}
        kept = {k: t for k, t in self.knobs.items() if k[0] != self.instrument or k[1] not in items}
        return replace(self, knobs=kept)

    @property
    def word(self) -> str:
        """What the verb itself says as its knob stands; empty for a verb without words."""
        return self.knob(self.instrument) if self._has_knob(self.instrument) else ""

    def _has_knob(self, name: str) -> bool:
        return any(knob.name == name for knob in self.tool.knobs)

    def put(self, end: str, point: str) -> Hands:
        """Return the hands with an end on a point; a channel has two leads or a clamp."""
        channel, _, kind = end.rpartition(" ")
        others = {e: p for e, p in self.points.items() if e != end}
        if channel and point:
            rivals = LEADS if kind == "clamp" else ("clamp",)
            others = {
                e: p for e, p in others.items() if e not in {f"{channel} {r}" for r in rivals}
            }
        return replace(self, points={**others, **({end: point} if point else {})})

    def after(self, do: Mapping[str, Any], situation: Situation) -> Hands:
        """Return the hands after something was done: leads are held where they rest."""
        if not any(verb in do and one.has("point") for verb, one in kit().items()):
            return self
        return self.put("red", situation.red).put("black", situation.black)

    def within(self, circuit: Circuit, situation: Situation) -> Hands:
        """Return the hands with every lead in the air whose point can no longer be reached."""
        points = probe_points(circuit, situation.apart)
        kept = {
            end: point
            for end, point in self.points.items()
            if point in points or end.endswith(" clamp")
        }
        return self if kept == self.points else replace(self, points=kept)


@cache
def all_ends() -> tuple[str, ...]:
    """Return every end of every instrument; a channel's clamp goes around a wire."""
    scopes = [tool for tool in kit().values() if tool.channels]
    clamps = [f"{name} clamp" for tool in scopes for name in tool.channels]
    return (*LEADS, *TIPS, *(end for tool in scopes for end in tool.ends), *clamps)


def _points(circuit: Circuit, situation: Situation, end: str) -> Sequence[str]:
    if end.endswith(" clamp"):
        return ("", *clampable(circuit))
    return ("", *probe_points(circuit, situation.apart))


def _allowed(circuit: Circuit, hands: Hands, key: str) -> Sequence[str]:
    choices: dict[str, Sequence[str]] = {
        "place": tuple(circuit.places),
        "instrument": tuple(kit()),
        "lead": hands.tool.ends,
        "aim": ("", *parts_named(circuit)),
        "view": VIEWS,
        "part": ("", *parts_named(circuit)),
    }
    if key not in choices:
        keys = ("touch", "knob", "during", "wire", "wires", *choices)
        raise ActionError(f"choice {key!r} unknown; there are {', '.join(keys)}")
    return choices[key]


def _among(what: str, value: object, allowed: Sequence[str]) -> None:
    if value not in allowed:
        known = ", ".join(word for word in allowed if word)
        raise ActionError(f"{what} {value!r} unknown; there are {known}")


def _object(key: str, value: object) -> Mapping[Any, Any]:
    if not isinstance(value, Mapping):
        raise ActionError(f"{key}: expected an object, got {value!r}")
    return value


def _positions(circuit: Circuit, control: str) -> tuple[str, ...]:
    if control not in circuit.controls:
        known = ", ".join(circuit.controls)
        raise ActionError(f"control {control!r} unknown; there are {known}")
    return circuit.controls[control].positions


def parts_named(circuit: Circuit) -> tuple[str, ...]:
    """Return the parts, wires left out."""
    return tuple(name for name, part in circuit.parts.items() if part.kind != "wire")


def clampable(circuit: Circuit) -> tuple[str, ...]:
    """Return the wires that the clamp goes around."""
    return tuple(name for name in circuit.parts if name.startswith("wire "))


def hands_at(circuit: Circuit, situation: Situation, entries: Sequence[Entry]) -> Hands:
    """Return the hands as the last reading of a record left them."""
    place = next(iter(situation.here), next(iter(circuit.places)))
    hands = Hands(place=place).put("red", situation.red).put("black", situation.black)
    for entry in reversed(entries):
        do = entry.data.get("do", {}) if entry.kind == "act" else {}
        for verb, tool in kit().items():
            if verb in do:
                return _held_so(hands, tool, do)
    return hands


def _held_so(hands: Hands, tool: Tool, do: Mapping[str, Any]) -> Hands:
    held = taken_up(tool, do)
    knobs = {(tool.verb, name): text for name, text in held.knobs.items()}
    points = hands.points if tool.has("point") else {**hands.points, **held.points}
    return replace(
        hands,
        instrument=tool.verb,
        knobs=knobs,
        points=points,
        wires=held.wires,
        aim=held.aim,
        during=held.during,
    )
