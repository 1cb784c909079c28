"""Splice: wires crimped or welded together under tape, n of them, with nothing to probe.

Every branch has 0.5 mohm from its wire to the middle of the splice (common practice, no source).
Water creeps along the strands: a corroded branch has a high resistance, for good or only in the
wet.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import Element, Family, Parameter, Trigger, Way, conductance, passing

BRANCH = 0.0005  # ohm
CORRODED = (0.4, 2.0)  # ohm, ours
SEEN = "green corrosion under the tape"


def _pins(part: Part) -> tuple[str, ...]:
    return tuple(str(number + 1) for number in range(int(part.number("pins"))))


def _branch(part: Part, pin: str) -> Element:
    resistance = BRANCH + (part.severity("corroded", pin) or 0.0)
    whole = 0.0 if part.has("open", pin) else conductance(resistance)
    now, other, trigger = passing(part, pin, whole)
    wet = part.severity("corroded in the wet", pin)
    if wet is not None and whole > 0.0:
        other, trigger = conductance(resistance + wet), Trigger.MOISTURE
    name, middle = f"{part.name}.{pin}", f"{part.name} middle"
    return Element(name, name, middle, now, other=other, trigger=trigger)


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    return tuple(_branch(part, pin) for pin in _pins(part))


def _ways(part: Part) -> tuple[Way, ...]:
    ways: list[Way] = []
    for pin in _pins(part):
        ways += [
            Way("open", pin, (), 0.3),
            Way("corroded", pin, CORRODED, 0.6, seen=SEEN),
            Way("corroded in the wet", pin, CORRODED, 0.0, seen=SEEN),
            Way("open on vibration", pin, (), 0.0),
            Way("open on heat", pin, (), 0.0),
        ]
    return tuple(ways)


FAMILY = Family(
    "splice",
    {"pins": Parameter("number", 3.0)},
    _pins,
    _elements,
    _ways,
    probing="hidden",
)
