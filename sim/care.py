"""The cautions themselves, each with its source, and the rules that say where they apply.

Which instrument has which caution stands with the instrument. The wording is ours. On a real
vehicle the maker's procedure, local rules and a qualified person come first.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from sim.circuit import BODY, Circuit, Part
from sim.language import msg
from sim.situation import Situation


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution: its text, and whether the action goes against it."""

    text: str
    breached: bool = False


#: NEETS Module 1 (NAVEDTRA 14173): take the power off before an ohmmeter goes on.
OHMS_LIVE = msg(
    "Ohms, continuity and diode test only with the key off, and all else that was switched on: the "
    "meter is its own source."
)
#: Common practice, no source.
AMPS_ACROSS = msg(
    "The ammeter goes in series with a load, never across the supply: it is almost a short."
)
#: Battery-charger manuals; US Army SS0713: rings and watches off.
RINGS = msg("Rings and watch off: a short across battery cables welds metal to skin.")
#: Common practice, no source.
HOT_JOINT = msg("A bad joint under load can be hot enough to burn.")
FUSED = msg("A jumper always has its own fuse, and never feeds a module's output.")
SAME_RATING = msg(
    "A new fuse has the same rating, never a larger one; find out why the old one blew."
)
LIVE_PLUG = msg("Switch the load off before a plug comes apart: the arc burns the terminals.")
JACK = msg("Put the lead back into the volts jack at once: in the amps jack the meter is a short.")
LAMP_ON_MODULE = msg(
    "No test lamp on a module's output or a sensor's wire: its current can kill them."
)
#: TM 9-6140-200-14 p. 4-12: an explosive mixture in and near the cells even when not charging.
HYDROGEN = msg("Hydrogen stands over every battery: air it, no flame, no spark at the posts.")
#: 29 CFR 1917.157(f): ground lead away from the battery, loads off first.
LAST_CONNECTION = msg(
    "Loads off; connect plus first, and make and break the last contact off the posts."
)
#: Common practice, no source; TM 9-2350-287-20-2 for goggles and gloves at batteries.
LOAD_HEAT = msg(
    "A load tester gets red hot: goggles on, 15 s at a time, and let it cool before the next."
)
#: US Army TM 10-3930-671-24: 30 s at the most, then 2 min of rest.
CRANKING = msg("Crank for 30 s at the most, then let the starter cool for 2 min.")
#: Common practice; the idea of 29 CFR 1910.147 (lock-out), from memory.
FANS = msg("Electric fans and pumps can start with the key off: hands clear, or unplug them first.")
#: Common practice, no source.
ENGINE = msg(
    "Engine running: belts and fans turn, exhaust and coolant are hot, never run it indoors."
)
#: Universal in makers' texts, not quoted; HSE HSG261 (2009) covers air bags.
RESTRAINT = msg("No ohmmeter, test lamp or jumper on air bags or belt tensioners: they fire.")
#: Ontario Firefighter Guidance Note 6-19; HSE on electric and hybrid vehicles.
HIGH_VOLTAGE = msg(
    "Orange cables are for qualified people only: up to 650 V, and charged when all is off."
)
#: Common practice, no source.
NOSE = msg("Smell from a step away: do not lean over a battery or over what smokes.")
#: Common practice, no source.
COMMANDED = msg(
    "What a scan tool commands may start at once: hands clear, and nobody under the bonnet."
)
#: Common practice, no source.
CLEARING = msg("Clearing wipes codes and freeze frames for good: read and note them first.")
LIFTED = msg("A lifted vehicle stands on stands before anybody reaches under it.")
#: NEETS Module 1: 0.1 A can kill; every live circuit is a hazard.
LIVE = msg("Twelve volts start fires and burn; treat every live circuit as a hazard.")
#: Common practice, no source.
HOT_AIR = msg(
    "Hot air softens insulation and trim: keep it moving, and away from fuel and batteries."
)
#: Common practice, no source.
WATER = msg("Water where rain would go, never into open plugs, restraints or high-voltage parts.")
#: Every caution there is, for a page that lists them.
ALL = (
    HOT_AIR,
    WATER,
    OHMS_LIVE,
    AMPS_ACROSS,
    RINGS,
    HOT_JOINT,
    FUSED,
    SAME_RATING,
    LIVE_PLUG,
    JACK,
    LAMP_ON_MODULE,
    HYDROGEN,
    LAST_CONNECTION,
    LOAD_HEAT,
    CRANKING,
    FANS,
    ENGINE,
    RESTRAINT,
    HIGH_VOLTAGE,
    NOSE,
    COMMANDED,
    CLEARING,
    LIFTED,
    LIVE,
)

TURNING = ("motor", "starter", "actuator")  # kinds whose works can start under a hand
RUNNING_WORDS = ("running", "idle", "rpm")  # words in a control's position that mean an engine runs
#: Kinds whose terminals are a control module's or an electronic driver's own.
MODULES = (
    "low side driver",
    "high side driver",
    "sleeping unit",
    "CAN transceiver",
    "control unit",
    "bus unit",
    "actuator",
    "commanded alternator",
)
#: Their feeds, where a lamp proves the supply under load (DIN 72552 and signs), and words for them.
FEEDS, FEED_WORDS = ("30", "31", "15", "+", "-", "B+"), ("supply", "ground")
#: First positions of controls in which nothing is fed.
RESTING = ("off", "released", "closed")
#: Kinds whose wires are a module's inputs and its 5 V.
SENSORS = ("thermistor", "potentiometer", "pressure sensor", "Hall sensor", "reluctance sensor")


def key_is_on(circuit: Circuit, situation: Situation) -> bool:
    """Tell whether any key switch stands in another than its first position."""
    for control in circuit.controls.values():
        keys = [name for name in control.sets if circuit.parts[name].kind == "key switch"]
        if keys and situation.position(circuit, control.name) != control.positions[0]:
            return True
    return False


def switched_on(circuit: Circuit, situation: Situation) -> bool:
    """Tell whether the key is on or, on a vehicle drawn without one, a switch that feeds a load.

    A control that only chooses, such as dipped or main beam, has no position that is off.
    """
    kinds = {
        circuit.parts[name].kind for control in circuit.controls.values() for name in control.sets
    }
    if "key switch" in kinds:
        return key_is_on(circuit, situation)
    return any(
        control.positions[0] in RESTING
        and situation.position(circuit, control.name) != control.positions[0]
        for control in circuit.controls.values()
    )


def engine_runs(circuit: Circuit, situation: Situation) -> bool:
    """Tell whether a control stands in a position whose words mean a running engine."""
    standing = (situation.position(circuit, name).split() for name in circuit.controls)
    return any(word in RUNNING_WORDS for words in standing for word in words)


def at_battery(circuit: Circuit, ends: set[str]) -> bool:
    """Tell whether one of the points is a battery's post or its link."""
    kinds = {"battery", "fusible link"}
    owners = {end.partition(".")[0] for end in ends} - {BODY}
    return any(circuit.parts[name].kind in kinds for name in owners if name in circuit.parts)


def on_module(circuit: Circuit, ends: set[str], apart: Collection[str] = ()) -> bool:
    """Tell whether one of the points is a terminal of a control module or a driver.

    Its own supply and ground are none of those, nor is a plug that has been taken off it.
    """
    return any(
        part.kind in MODULES
        and part.name not in apart
        and pin not in FEEDS
        and str(part.values.get(f"pin {pin}", "")).partition(",")[0] not in FEED_WORDS
        for part, pin in _terminals(circuit, ends)
    )


def on_sensor(circuit: Circuit, ends: set[str]) -> bool:
    """Tell whether one of the points is a sensor's; its wires go to a module, plugged or not."""
    return any(part.kind in SENSORS for part, _pin in _terminals(circuit, ends))


def _terminals(circuit: Circuit, ends: set[str]) -> Iterator[tuple[Part, str]]:
    """Yield the parts that points are terminals of, with the terminals' names."""
    for end in ends - {BODY}:
        name, _dot, pin = end.partition(".")
        if name in circuit.parts:
            yield circuit.parts[name], pin


def across_supply(circuit: Circuit, ends: set[str]) -> bool:
    """Tell whether the points lie between the supply and ground with no load between."""
    supply = {circuit.point(rail) for rail in circuit.rails} - {BODY}
    grounds = {BODY}
    for part in circuit.parts.values():
        if part.kind == "battery":
            supply.add(f"{part.name}.+")
            grounds.add(f"{part.name}.-")
    return bool(ends & supply) and bool(ends & grounds)


def flagged_part(circuit: Circuit, ends: set[str], flag: str) -> str:
    """Return the part with ``flag: yes`` that one of the points is on or is wired to, or "".

    Wires, connectors and splices lead on; nothing else does, and the body is everybody's.
    """
    if not any(part.values.get(flag) is True for part in circuit.parts.values()):
        return ""
    seen, edge = set[str](), {end for end in ends if end != BODY}
    while edge:
        seen |= edge
        for point in sorted(edge):
            part = circuit.parts.get(point.partition(".")[0])
            if part is not None and part.values.get(flag) is True:
                return part.name
        edge = {other for point in edge for other in _led_on(circuit, point)} - seen - {BODY}
    return ""


def _led_on(circuit: Circuit, point: str) -> list[str]:
    """Return the points that wires and the two halves of connectors join to a point."""
    owner = point.partition(".")[0]
    kind = circuit.parts[owner].kind if owner in circuit.parts else ""
    found = []
    if kind == "connector":
        found.append(point[:-1] + ("b" if point.endswith("a") else "a"))
    elif kind == "splice":
        found += [end for pair in _wires(circuit) for end in pair if end.startswith(f"{owner}.")]
    for one, other in _wires(circuit):
        if point in (one, other):
            found.append(other if point == one else one)
    return found


def _wires(circuit: Circuit) -> list[tuple[str, str]]:
    return [
        (circuit.point(str(part.values["from"])), circuit.point(str(part.values["to"])))
        for part in circuit.parts.values()
        if part.kind == "wire"
    ]
