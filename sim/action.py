"""What can be done at the bench, and what it shows: frozen, and the same thing in JSON.

::

    {"set": {"key": "run", "heater switch": "on"}}   operate controls
    {"measure": "volts", "red": P, "black": P}       a function of the multimeter
    {"lamp": true, "red": P, "black": P}             test lamp between two points
    {"clamp": "wire 8"}                              current clamp around a wire
    {"look": PLACE}                                  eyes, everything in sight at a place
    {"feel": PART}                                   hand
    {"listen": RELAY, "set": {...}}                  ears, while a control is operated
    {"watch": EFFECT}                                does the vehicle do what it should?
    {"unplug": PART}  {"plug": PART}                 a connector or a part's plug
    {"pull": PART}  {"insert": PART}                 a fuse or relay out of its holder
    {"renew": FUSE}                                  a new fuse of the right rating
    {"swap": [K3, K5]}                               exchange two like parts (again: back)
    {"bridge": [P, P]}  {"unbridge": true}           fused jumper between two points
    {"wait": "5 min"}                                let time pass

P is a point: `F7.2`, `C41.1a`, `body`, or a rail's number such as `30`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sim.errors import ActionError
from sim.quantity import parse

FUNCTIONS = ("volts", "ohms", "amps", "continuity", "diode")
PART_VERBS = ("unplug", "plug", "pull", "insert", "renew", "feel", "look", "watch", "clamp")
VERBS = ("set", "measure", "lamp", "listen", "swap", "bridge", "unbridge", "wait", *PART_VERBS)


@dataclass(frozen=True, slots=True)
class Action:
    """One thing done at the bench.

    Attributes
    ----------
    verb : str
        One of `VERBS`.
    target : str
        Part, place, effect or wire the verb needs; the meter's function for `measure`.
    red, black : str
        Points of the leads (measure, lamp), or the two ends of a jumper, or two parts to swap.
    settings : tuple of (control, position)
        For set and listen.
    seconds : float
        For wait.
    """

    verb: str
    target: str = ""
    red: str = ""
    black: str = ""
    settings: tuple[tuple[str, str], ...] = ()
    seconds: float = 0.0

    def to_json(self) -> dict[str, Any]:  # noqa: PLR0911 -- one return a kind of verb
        """Return the action as it stands in a record."""
        if self.verb == "set":
            return {"set": dict(self.settings)}
        if self.verb in ("measure", "lamp"):
            value = self.target if self.verb == "measure" else True
            return {self.verb: value, "red": self.red, "black": self.black}
        if self.verb == "listen":
            return {"listen": self.target, "set": dict(self.settings)}
        if self.verb in ("swap", "bridge"):
            return {self.verb: [self.red, self.black]}
        if self.verb == "unbridge":
            return {"unbridge": True}
        if self.verb == "wait":
            return {"wait": f"{self.seconds:.17g} s"}  # all digits: it is read back
        return {self.verb: self.target}


@dataclass(frozen=True, slots=True)
class Reading:
    """What was shown: a number as displayed (`value`, `unit`, `range`) or `words`.

    `steady` is False where the last digits wander because a lead touches nothing that leads
    anywhere. Everything is text, exactly as the student saw it.
    """

    value: str = ""
    unit: str = ""
    range: str = ""
    words: str = ""
    steady: bool = True

    def to_json(self) -> dict[str, Any]:
        """Return the reading as it stands in a record; empty fields are left out."""
        shown: dict[str, Any] = {
            key: text for key in ("value", "unit", "range", "words") if (text := getattr(self, key))
        }
        if not self.steady:
            shown["steady"] = False
        return shown

    @classmethod
    def from_json(cls, shown: Mapping[str, Any]) -> Reading:
        """Read back what `to_json` wrote."""
        return cls(**{str(key): value for key, value in shown.items()})

    def text(self) -> str:
        """Return the reading as one short text."""
        if self.words:
            return self.words
        return f"{self.value} {self.unit}" + ("" if self.steady else ", wandering")


def action_from_json(data: Mapping[str, Any]) -> Action:
    """Read an action.

    Raises
    ------
    ActionError
        Unknown verb, missing or superfluous keys, values of the wrong kind.
    """
    verbs = [key for key in data if key in VERBS and not (key == "set" and "listen" in data)]
    if len(verbs) != 1:
        message = f"action {dict(data)!r}: expected exactly one of {', '.join(VERBS)}"
        raise ActionError(message)
    verb = verbs[0]
    extra = set(data) - {verb} - _also(verb)
    if extra:
        message = f"action {verb!r}: unknown key {min(extra)!r}"
        raise ActionError(message)
    return _BUILD.get(verb, _part_action)(verb, data)


def _also(verb: str) -> set[str]:
    return {"measure": {"red", "black"}, "lamp": {"red", "black"}, "listen": {"set"}}.get(
        verb, set()
    )


def _text(data: Mapping[str, Any], key: str) -> str:
    value = data.get(key)
    if not isinstance(value, str) or not value:
        message = f"action {dict(data)!r}: {key!r} must be a name, got {value!r}"
        raise ActionError(message)
    return value


def _settings(data: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    value = data.get("set")
    if not isinstance(value, Mapping) or not value:
        message = f"action {dict(data)!r}: 'set' must give a control and its position"
        raise ActionError(message)
    return tuple((str(control), str(position)) for control, position in value.items())


def _part_action(verb: str, data: Mapping[str, Any]) -> Action:
    return Action(verb, _text(data, verb))


def _set(verb: str, data: Mapping[str, Any]) -> Action:
    return Action(verb, settings=_settings(data))


def _listen(verb: str, data: Mapping[str, Any]) -> Action:
    return Action(verb, _text(data, "listen"), settings=_settings(data))


def _leads(verb: str, data: Mapping[str, Any]) -> Action:
    target = ""
    if verb == "measure":
        target = _text(data, "measure")
        if target not in FUNCTIONS:
            message = f"measure: got {target!r}, the meter has {', '.join(FUNCTIONS)}"
            raise ActionError(message)
    return Action(verb, target, _text(data, "red"), _text(data, "black"))


def _pair(verb: str, data: Mapping[str, Any]) -> Action:
    pair = data[verb]
    names = isinstance(pair, list) and all(isinstance(name, str) for name in pair)
    if not names or len(set(pair)) != 2:  # noqa: PLR2004 -- two ends
        message = f"{verb}: expected two different names, got {pair!r}"
        raise ActionError(message)
    return Action(verb, red=pair[0], black=pair[1])


def _unbridge(verb: str, _data: Mapping[str, Any]) -> Action:
    return Action(verb)


def _wait(verb: str, data: Mapping[str, Any]) -> Action:
    seconds = parse(_text(data, "wait"), "time")
    if not 0 < seconds <= LONGEST_WAIT:
        message = f"wait: got {data['wait']!r}, allowed above 0 and up to 24 h"
        raise ActionError(message)
    return Action(verb, seconds=seconds)


LONGEST_WAIT = 24 * 3600.0
_BUILD = {
    "set": _set,
    "listen": _listen,
    "measure": _leads,
    "lamp": _leads,
    "swap": _pair,
    "bridge": _pair,
    "unbridge": _unbridge,
    "wait": _wait,
}
