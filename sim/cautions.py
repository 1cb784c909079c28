"""Which caution goes with which action, from what is known at the bench, not the hidden cause.

A caution is *breached* when the action itself goes against it. The wording is ours; sources stand
beside each rule. On a real vehicle the maker's procedure and local rules come first.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.action import Action
from sim.circuit import BODY, Circuit
from sim.situation import Situation


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution: its text, and whether the action goes against it."""

    text: str
    breached: bool


#: NEETS Module 1 (NAVEDTRA 14173): take the power off before an ohmmeter goes on.
OHMS_LIVE = "Ohms, continuity and diode test only with the key off: the meter is its own source."
#: Common practice, no source.
AMPS_ACROSS = (
    "The ammeter goes in series with a load, never across the supply: it is almost a short."
)
#: Battery-charger manuals; US Army SS0713: rings and watches off.
RINGS = "Rings and watch off: a short across battery cables welds metal to skin."
#: Common practice, no source.
HOT_JOINT = "A bad joint under load can be hot enough to burn."
FUSED = "A jumper always has its own fuse, and never feeds a module's output."
SAME_RATING = "A new fuse has the same rating, never a larger one; find out why the old one blew."
LIVE_PLUG = "Switch the load off before a plug comes apart: the arc burns the terminals."


def cautions(circuit: Circuit, situation: Situation, action: Action) -> tuple[Caution, ...]:
    """Return the cautions that go with an action on the bench as it stands."""
    found = []
    live = key_is_on(circuit, situation)
    if action.verb == "measure" and action.target in ("ohms", "continuity", "diode"):
        found.append(Caution(OHMS_LIVE, breached=live))
    if action.verb == "measure" and action.target == "amps":
        found.append(Caution(AMPS_ACROSS, breached=_across_supply(circuit, action)))
    if action.verb in ("measure", "lamp", "bridge") and _at_battery(circuit, action):
        found.append(Caution(RINGS, breached=False))
    if action.verb == "feel" and live:
        found.append(Caution(HOT_JOINT, breached=False))
    if action.verb == "bridge":
        found.append(Caution(FUSED, breached=False))
    if action.verb == "renew":
        found.append(Caution(SAME_RATING, breached=False))
    if action.verb in ("unplug", "pull") and live:
        found.append(Caution(LIVE_PLUG, breached=False))
    return tuple(found)


def key_is_on(circuit: Circuit, situation: Situation) -> bool:
    """Tell whether any key switch stands in another than its first position."""
    for control in circuit.controls.values():
        keys = [name for name in control.sets if circuit.parts[name].kind == "key switch"]
        if keys and situation.position(circuit, control.name) != control.positions[0]:
            return True
    return False


def _ends(circuit: Circuit, action: Action) -> set[str]:
    return {circuit.point(action.red), circuit.point(action.black)}


def _at_battery(circuit: Circuit, action: Action) -> bool:
    kinds = {"battery", "fusible link"}
    owners = {end.partition(".")[0] for end in _ends(circuit, action)} - {BODY}
    return any(circuit.parts[name].kind in kinds for name in owners if name in circuit.parts)


def _across_supply(circuit: Circuit, action: Action) -> bool:
    """Tell whether the leads lie between the supply and ground with no load between."""
    supply = {circuit.point(rail) for rail in circuit.rails} - {BODY}
    grounds = {BODY}
    for part in circuit.parts.values():
        if part.kind == "battery":
            supply.add(f"{part.name}.+")
            grounds.add(f"{part.name}.-")
    ends = _ends(circuit, action)
    return bool(ends & supply) and bool(ends & grounds)
