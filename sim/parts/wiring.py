"""Wires, connectors and ground studs: resistance where there should be next to none.

What a wire of a cross-section and a length has in ohms: `sim.parts.copper`. A wire has a middle,
where a chafed one touches the body, or a wire that lies beside it in the loom. What it can touch
the circuit file says: `beside` names wires (`wire 9|wire 12`; both wires of a pair may name each
other, the element belongs to the one that comes first), `supply beside` a point that is live.

Broken strands leave a resistance that is ten times as large while the wire is shaken (ours); a
leak through wet insulation is there only in the wet.
"""

from __future__ import annotations

import re

from sim.circuit import BODY, Part
from sim.parts.copper import wire_resistance
from sim.parts.family import (
    CONTACT_RESISTANCE,
    JOINT_SEVERITIES,
    Element,
    Family,
    Parameter,
    Trigger,
    Way,
    conductance,
    joint,
    joint_ways,
    passing,
    passing_ways,
)

SHAKEN = 10.0  # times the resistance of broken strands at rest, ours
SHORT = (0.1,)  # ohm, ours


def _in_order(name: str) -> str:
    """Return a key by which wire 9 comes before wire 12."""
    return re.sub(r"\d+", lambda number: number[0].zfill(8), name)


def neighbours(part: Part) -> tuple[str, ...]:
    """Return the wires in the same loom that come after this one, in order."""
    written = str(part.values.get("beside", ""))
    names = {name.strip() for name in written.split("|") if name.strip()}
    after = (name for name in names if _in_order(name) > _in_order(part.name))
    return tuple(sorted(after, key=_in_order))


def _shorted(part: Part, way: str) -> float:
    """Return the conductance in S of a short, 0 where there is none."""
    severity = part.severity(way)
    return 0.0 if severity is None else conductance(severity)


def _chafe(part: Part, middle: str) -> Element:
    """Return what lies between the middle of a wire and the body."""
    now, other, trigger = _shorted(part, "short to ground"), 0.0, Trigger.NEVER
    for way, when in (
        ("short to ground on vibration", Trigger.VIBRATION),
        ("leakage in the wet", Trigger.MOISTURE),
    ):
        if part.has(way):
            other, trigger = _shorted(part, way), when
    name = f"{part.name} chafe"
    return Element(name, middle, BODY, now, other=other, trigger=trigger)


def _far_half(part: Part, middle: str, half: float) -> Element:
    """Return the half of a wire in which it breaks; `half` is its resistance in ohm."""
    strands = part.severity("broken strands")
    far = half + (part.severity("high resistance") or 0.0)
    whole = 0.0 if part.has("open") else conductance(far)
    now, other, trigger = passing(part, None, whole)
    if strands is not None and whole > 0.0:
        now, trigger = conductance(far + strands), Trigger.VIBRATION
        other = conductance(far + SHAKEN * strands)
    name, b = f"{part.name} second half", str(part.values["to"])
    return Element(name, middle, b, now, other=other, trigger=trigger)


def _wire_pins(_part: Part) -> tuple[str, ...]:
    return ()


def _wire_elements(part: Part, temperature: float) -> tuple[Element, ...]:
    half = wire_resistance(part.number("area"), part.number("length"), temperature) / 2
    middle = f"{part.name} middle"
    near = Element(f"{part.name} first half", str(part.values["from"]), middle, conductance(half))
    touching = [
        Element(f"{part.name} to {other}", middle, f"{other} middle", _shorted(part, way))
        for other, way in ((other, f"short to {other}") for other in neighbours(part))
    ]
    live = str(part.values.get("supply beside", ""))
    if live:
        siemens = _shorted(part, "short to supply")
        touching.append(Element(f"{part.name} to supply", middle, live, siemens))
    return (near, _chafe(part, middle), _far_half(part, middle, half), *touching)


def _wire_ways(part: Part) -> tuple[Way, ...]:
    bare = "the insulation is rubbed through to bare copper"
    ways = [
        Way("open", None, (), 0.4),
        Way("high resistance", None, (1.0,), 0.2),
        Way("short to ground", None, SHORT, 0.1),
        Way("short to ground on vibration", None, SHORT, 0.0, seen=bare),
        Way("leakage in the wet", None, (100.0, 2000.0), 0.0),
        Way("broken strands", None, (0.3, 1.0), 0.0),
        *passing_ways(None)[:-1],
    ]
    ways += [Way(f"short to {other}", None, SHORT, 0.0, seen=bare) for other in neighbours(part)]
    if part.values.get("supply beside", ""):
        ways.append(Way("short to supply", None, SHORT, 0.0, seen=bare))
    return tuple(ways)


def _connector_pins(part: Part) -> tuple[str, ...]:
    return tuple(str(number + 1) for number in range(int(part.number("pins"))))


def _connector_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    return tuple(joint(part, pin, outer="a") for pin in _connector_pins(part))


def _connector_ways(part: Part) -> tuple[Way, ...]:
    return tuple(way for pin in _connector_pins(part) for way in joint_ways(pin, likelihood=1.0))


def _stud_pins(_part: Part) -> tuple[str, ...]:
    return ("ring",)


def _stud_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    sound = float(part.values.get("contact", CONTACT_RESISTANCE))
    resistance = sound + (part.severity("high resistance") or 0.0)
    siemens = 0.0 if part.has("open") else conductance(resistance)
    now, other, trigger = passing(part, None, siemens)
    loose = part.severity("loose")
    if loose is not None and siemens > 0.0:
        other, trigger = conductance(resistance + loose), Trigger.VIBRATION
    ring = f"{part.name}.ring"
    return (Element(part.name, ring, BODY, now, other=other, trigger=trigger),)


def _stud_ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 0.6, seen="the nut is missing and the ring is loose"),
        Way("high resistance", None, (0.4, 1.2), 1.5, seen="green and white crust under the ring"),
        Way("loose", None, JOINT_SEVERITIES, 0.0, seen="the ring can be turned by hand"),
        *passing_ways(None)[:-1],
    )


WIRE = Family(
    "wire",
    {
        "from": Parameter("text"),
        "to": Parameter("text"),
        "colour": Parameter("text"),
        "area": Parameter("area"),
        "length": Parameter("length"),
        "beside": Parameter("text", ""),
        "supply beside": Parameter("text", ""),
    },
    _wire_pins,
    _wire_elements,
    _wire_ways,
)
CONNECTOR = Family(
    "connector",
    {"pins": Parameter("number"), "flexes": Parameter("flag", default=False)},
    _connector_pins,
    _connector_elements,
    _connector_ways,
    separable=True,
)
STUD = Family(
    "ground stud",
    {"contact": Parameter("resistance", CONTACT_RESISTANCE)},
    _stud_pins,
    _stud_elements,
    _stud_ways,
    probing="open",
)
