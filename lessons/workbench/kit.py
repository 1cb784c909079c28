"""The instruments that are held, from the one list of instruments: what each has to be told.

A verb says what its action says (`sim.instruments.form.Ask`); from that follow its leads, knobs,
jaws and channels, and how they become an action. So an instrument that is new in the list has its
controls here without a line of its own; only its name on the button may be given.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from sim.instruments.form import Ask
from sim.instruments.registry import INSTRUMENTS
from sim.instruments.verb import Instrument, Verb
from sim.language import msg_in

#: Instruments that are part of the body, or act on a part where it is: used at the part itself.
AT_THE_PART = ("hands", "eyes", "ears", "hand", "nose", "known-good part", "stress")
#: Verb -> what its button says; one that is not here says the instrument's own name.
LABELS = {
    "measure": msg_in("instrument", "Multimeter"),
    "lamp": msg_in("instrument", "Test lamp"),
    "bridge": msg_in("instrument", "Jumper"),
    "clamp": msg_in("instrument", "Clamp"),
    "led": msg_in("instrument", "LED lamp"),
    "load": msg_in("instrument", "Load"),
    "conductance": msg_in("instrument", "Battery tester"),
    "temperature": msg_in("instrument", "Thermometer"),
    "scope": msg_in("instrument", "Oscilloscope"),
    "scan": msg_in("instrument", "Scan tool"),
}
#: Verb and key -> where the knob stands first, if not at its first word.
FIRST = {
    ("scope", "time"): "100 ms",
    ("load", "load"): "20 A",
    ("conductance", "conductance"): "450 A",
}
POINTED = ("point", "tips", "wires", "channel")
LEADS, TIPS = ("red", "black"), ("one", "other")
TRIGGER = ("trigger channel", "trigger level", "trigger slope")


@dataclass(frozen=True, slots=True)
class Knob:
    """One thing to set: its name in a choice, the words it has (or usual sizes), where it stands.

    `free` says that sizes beside the usual ones can be written.
    """

    name: str
    words: tuple[str, ...]
    first: str
    free: bool = False


@dataclass(frozen=True, slots=True)
class Held:
    """What an action is made of: knobs, points by end, wires in the jaws, the part aimed at."""

    knobs: Mapping[str, str]
    points: Mapping[str, str]
    wires: tuple[str, ...] = ()
    aim: str = ""
    during: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Tool:
    """An instrument in the hand.

    Attributes
    ----------
    verb : str
    label : str
    asks : tuple of Ask
    extras : tuple of str
        Verbs of the same instrument that set it: its zero, its jacks.
    """

    verb: str
    label: str
    asks: tuple[Ask, ...]
    extras: tuple[str, ...] = ()

    def has(self, kind: str) -> bool:
        """Tell whether an action of it says something of this kind."""
        return any(ask.kind == kind for ask in self.asks)

    @property
    def channels(self) -> tuple[str, ...]:
        """Names of the channels, first one first."""
        return tuple(ask.key for ask in self.asks if ask.kind == "channel")

    @property
    def ends(self) -> tuple[str, ...]:
        """What clicks on points put down, one after the other."""
        if self.has("tips"):
            return TIPS
        if self.channels:
            return tuple(f"{name} {lead}" for name in self.channels for lead in LEADS)
        return LEADS if self.has("point") else ()

    @property
    def knobs(self) -> tuple[Knob, ...]:
        """What can be set."""
        found: list[Knob] = []
        for ask in self.asks:
            name = ask.key or self.verb
            if ask.kind == "item":
                found.append(Knob(name, (), "", free=True))
            elif ask.kind in ("word", "size"):
                words = ask.words if ask.needed else ("", *ask.words)
                first = FIRST.get((self.verb, name), words[0])
                found.append(Knob(name, words, first, free=ask.kind == "size"))
            elif ask.kind == "trigger":
                half = len(ask.words) - 2
                found.append(Knob(TRIGGER[0], ("", *ask.words[:half]), ""))
                found.append(Knob(TRIGGER[1], ("1 V", "6 V", "10 V"), "6 V", free=True))
                found.append(Knob(TRIGGER[2], ask.words[half:], ask.words[half]))
        return tuple(found)

    def wanted(self, word: str) -> tuple[Ask, ...]:
        """Return what its action says where the verb itself says this word."""
        return tuple(ask for ask in self.asks if not ask.only or word in ask.only)

    def action(self, held: Held) -> dict[str, Any] | None:
        """Return what it would do as it is held, None while something is missing."""
        said: dict[str, Any] = {self.verb: True}
        channels: dict[str, Any] = {}
        for ask in self.wanted(held.knobs.get(self.verb, "")):
            value = _value(self, ask, held)
            if value is None and ask.needed:
                return None
            if value is not None and ask.kind == "channel":
                channels[ask.key] = value
            elif value is not None:
                said[ask.key or self.verb] = value
        return {**said, self.verb: channels} if channels else said


def _value(tool: Tool, ask: Ask, held: Held) -> object:  # noqa: PLR0911 -- one return a kind
    name = ask.key or tool.verb
    if ask.kind in ("word", "size", "item"):
        return held.knobs[name] or None
    if ask.kind == "point":
        return held.points.get(ask.key) or None
    if ask.kind == "tips":
        tips = [held.points.get(end, "") for end in TIPS]
        return tips if all(tips) else None
    if ask.kind == "wires":
        return held.wires[0] if len(held.wires) == 1 else list(held.wires) or None
    if ask.kind == "channel":
        return _channel(ask.key, held)
    if ask.kind == "trigger":
        keys = ("channel", "level", "slope")
        trigger = {key: held.knobs[name] for key, name in zip(keys, TRIGGER, strict=True)}
        return trigger if trigger["channel"] else None
    if ask.kind == "while":
        return dict(held.during) or None
    return held.aim or None  # a name, or a unit


def _channel(name: str, held: Held) -> list[str] | dict[str, str] | None:
    around = held.points.get(f"{name} clamp")
    if around:
        return {"clamp": around}
    ends = [held.points.get(f"{name} {lead}", "") for lead in LEADS]
    return ends if all(ends) else None


@cache
def kit() -> dict[str, Tool]:
    """Return verb -> instrument in the hand, in the order of their buttons."""
    found = [tool for instrument in INSTRUMENTS for tool in _tools(instrument)]
    order = {tool.verb: place for place, tool in enumerate(found)}
    order["clamp"] = order["bridge"] + 0.5 if "bridge" in order else 0
    return {tool.verb: tool for tool in sorted(found, key=lambda one: order[one.verb])}


def _tools(instrument: Instrument) -> list[Tool]:
    if instrument.name in AT_THE_PART:
        return []
    pointed = [verb for verb, one in instrument.verbs.items() if _points(one)]
    held = pointed or [verb for verb, one in instrument.verbs.items() if one.form.asks]
    extras = tuple(
        verb for verb, one in instrument.verbs.items() if verb not in held and one.form.asks
    )
    return [
        Tool(
            verb,
            LABELS.get(verb, instrument.name[:1].upper() + instrument.name[1:]),
            instrument.verbs[verb].form.asks,
            extras,
        )
        for verb in held
    ]


def _points(verb: Verb) -> bool:
    return any(ask.kind in POINTED for ask in verb.form.asks)


def taken_up(tool: Tool, do: Mapping[str, Any]) -> Held:
    """Return how a tool was held for an action that is in a record."""
    knobs = {knob.name: str(do.get(knob.name, knob.first)) for knob in tool.knobs}
    points: dict[str, str] = {}
    own = do[tool.verb]
    if tool.has("point"):
        points = {end: str(do[end]) for end in LEADS}
    if tool.has("tips"):
        points = dict(zip(TIPS, own, strict=True))
    for name in tool.channels:
        what = own.get(name, {})
        if isinstance(what, list):
            points |= {f"{name} {lead}": str(at) for lead, at in zip(LEADS, what, strict=True)}
        elif what:
            points[f"{name} clamp"] = str(what["clamp"])
    trigger = do.get("trigger", {})
    knobs |= {f"trigger {key}": str(text) for key, text in trigger.items()}
    aim = str(do.get("unit", "")) if tool.has("unit") else str(own) if tool.has("name") else ""
    wires = (own,) if isinstance(own, str) else tuple(own) if isinstance(own, list) else ()
    return Held(
        knobs,
        points,
        wires if tool.has("wires") else (),
        aim,
        tuple(do.get("while", {}).items()),
    )
