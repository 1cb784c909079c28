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
    {"try": PART}  {"untry": PART}                   a known-good part on the plug, and back
    {"shake": PART}  {"warm": PART}  {"wet": PART}   make it fail; PART may be "everything"
    {"leave": PART}                                  and leave it alone again
    {"led": true, "red": P, "black": P}              LED test lamp
    {"load": "55 W", "red": P, "black": P}           a load: the bulb, or "100 A" of carbon pile
    {"conductance": "640 A", "red": P, "black": P}   battery tester, against a rating
    {"temperature": PART}                            thermometer
    {"smell": PLACE}  {"touch": PART}                nose, fingers
    {"zero": "leads"}  {"jack": "10 A"}              the meter's zero, its red lead's jack
    {"scope": {"A": [P, P]}, "time": "100 ms"}       oscilloscope, see `instruments.oscilloscope`
    {"scan": "codes", "unit": PART}                  scan tool, see `instruments.scanning`

The meter's volts and amps, the fingers and the oscilloscope take ``"while": {"key": "crank"}``:
what controls are operated meanwhile, and put back. The clamp takes a list of wires, and ``"of":
"AC"``; the jumper ``"fuse": "5 A"``.

P is a point: `F7.2`, `C41.1a`, `body`, or a rail's number such as `30`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sim.doing import Doing
from sim.errors import ActionError
from sim.instruments.metering import FUNCTIONS as METER_FUNCTIONS
from sim.instruments.registry import NAMING
from sim.instruments.registry import VERBS as BY_NAME
from sim.reading import Reading

__all__ = ["FUNCTIONS", "PART_VERBS", "VERBS", "Action", "Reading", "action_from_json"]

FUNCTIONS = tuple(METER_FUNCTIONS)
PART_VERBS = NAMING
VERBS = tuple(BY_NAME)


@dataclass(frozen=True, slots=True)
class Action(Doing):
    """One thing done at the bench; see `Doing` for what it holds."""

    def to_json(self) -> dict[str, Any]:
        """Return the action as it stands in a record."""
        return BY_NAME[self.verb].form.write(self)


def action_from_json(data: Mapping[str, Any]) -> Action:
    """Read an action.

    Raises
    ------
    ActionError
        Unknown verb, missing or superfluous keys, values of the wrong kind.
    """
    verbs = [key for key in data if key in BY_NAME and not (key == "set" and "listen" in data)]
    if len(verbs) != 1:
        message = f"action {dict(data)!r}: expected exactly one of {', '.join(VERBS)}"
        raise ActionError(message)
    verb = verbs[0]
    form = BY_NAME[verb].form
    extra = set(data) - {verb} - set(form.keys)
    if extra:
        message = f"action {verb!r}: unknown key {min(extra)!r}"
        raise ActionError(message)
    return Action(verb, **form.read(verb, data))
