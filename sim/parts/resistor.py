"""Resistor, and the pack of resistors that sets the speed of a blower.

A pack is a chain: its terminal `in`, a thermal fuse, then the steps one after another with a tap
behind each but the last, and `out`. The blower hangs on `out`, the selector feeds `in` for low, a
tap for more, and `out` itself for full. The thermal fuse opens the slowest speed alone, an open
step every speed before it. Thermal fuse 5 mohm (ours).
"""

from __future__ import annotations

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import Element, Family, Parameter, Way, conductance, joint, joint_ways
from sim.quantity import parse

THERMAL_FUSE = 0.005  # ohm, ours


def _resistor_pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _resistor_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, found = part.name, part.severity("wrong value")
    resistance = part.number("resistance") if found is None else found
    resistance *= 1.0 + (part.severity("drift") or 0.0)
    siemens = 0.0 if part.has("open") else conductance(resistance)
    element = Element(f"{name} resistor", f"{name}.1b", f"{name}.2b", siemens)
    return (joint(part, "1"), element, joint(part, "2"))


def _resistor_ways(part: Part) -> tuple[Way, ...]:
    other = tuple(part.number("resistance") * factor for factor in (0.1, 10.0))
    return (
        Way("open", None, (), 1.5, seen="the resistor is burnt black"),
        Way("drift", None, (0.3, 1.0), 0.5, "fraction"),
        Way("wrong value", None, other, 0.2, seen="the rings on the resistor are others"),
        *joint_ways("1", likelihood=0.4),
        *joint_ways("2", likelihood=0.4),
    )


def steps(part: Part) -> tuple[float, ...]:
    """Return the resistances in ohm of a pack, from `in` to `out`.

    Raises
    ------
    QuantityError
        A step that is no resistance above 0.
    """
    found = tuple(
        parse(text.strip(), "resistance") for text in str(part.values["steps"]).split("|")
    )
    if min(found) <= 0.0:
        raise QuantityError(f"{part.name}: steps must be above 0, got {part.values['steps']!r}")
    return found


def _pack_pins(part: Part) -> tuple[str, ...]:
    taps = tuple(str(number) for number in range(1, len(steps(part))))
    return ("in", *taps, "out")


def _pack_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, pins = part.name, _pack_pins(part)
    fuse = 0.0 if part.has("thermal fuse open") else conductance(THERMAL_FUSE)
    before = f"{name} after fuse"
    elements = [joint(part, "in"), Element(f"{name} thermal fuse", f"{name}.inb", before, fuse)]
    for number, (resistance, pin) in enumerate(zip(steps(part), pins[1:], strict=True), start=1):
        siemens = 0.0 if part.has(f"step {number} open") else conductance(resistance)
        elements += [
            Element(f"{name} step {number}", before, f"{name}.{pin}b", siemens),
            joint(part, pin),
        ]
        before = f"{name}.{pin}b"
    return tuple(elements)


def _pack_ways(part: Part) -> tuple[Way, ...]:
    ways = [Way("thermal fuse open", None, (), 2.0)]
    for number in range(1, len(steps(part)) + 1):
        burnt = "a coil of the resistor has burnt through"
        ways.append(Way(f"step {number} open", None, (), 0.8, seen=burnt))
    for pin in _pack_pins(part):
        ways += joint_ways(pin, likelihood=0.4)
    return tuple(ways)


RESISTOR = Family(
    "resistor",
    {"resistance": Parameter("resistance")},
    _resistor_pins,
    _resistor_elements,
    _resistor_ways,
    separable=True,
)
PACK = Family(
    "resistor pack",
    {"steps": Parameter("text", "1.2 ohm|0.6 ohm|0.3 ohm")},
    _pack_pins,
    _pack_elements,
    _pack_ways,
    separable=True,
)
