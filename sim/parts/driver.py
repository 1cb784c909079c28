"""Low side and high side driver: a transistor that switches a load to ground, or to supply.

The input is a coil in the solver's sense (`Law.COIL`): a resistance whose current, above a
threshold, closes the switch, and a diode in series: a coil has no polarity, an input has one.
MOSFET: the gate's pull-down with a diode of 0.1 V; on, a resistance; its body diode conducts
backwards. Bipolar: base resistor and base-emitter diode; on, about 0.2 V at 1 A, as a diode with a
hard knee (no EMF, so that it can never feed anything); nothing backwards. A clamp across the
switch takes the kick of an inductive load: a diode that conducts beyond `clamp`.

Driven by its input, it is on for the share `duty` of every period of `frequency`; driven by a
control, for the share that the position says ("40 %", "on", "off"): SWITCHED in a waveform; a
steady state sees it on, or off at 0 %.

Defaults are those of a small protected switch's data sheet: 50 mohm, threshold 2 V (logic level),
clamp 40 V (from memory). A driver is soldered in: its terminals are those of the unit's plug.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import (
    STILL,
    Element,
    Family,
    Law,
    Motion,
    Parameter,
    Wave,
    Way,
    conductance,
    joint,
    joint_ways,
)
from sim.parts.positions import stands
from sim.parts.relay import DIODE_SATURATION, DIODE_SLOPE, STUCK_CLOSED, STUCK_OPEN

SILICON = (DIODE_SATURATION, DIODE_SLOPE, 0.0)
SATURATED = (1e-9, 9.65e-3, 0.0)  # A, V: 0.2 V at 1 A, next to nothing backwards; from memory
#: Knee in V and diode of the input: a base takes 0.6 to 0.7 V (from memory), a gate next to none.
INPUTS = {"MOSFET": (0.12, SATURATED), "bipolar": (0.65, (1e-14, 0.026, 0.0))}
LEAST_INPUT = 0.1  # V across the input's resistance; ours
CLAMP = (1e-14, 0.026, 0.0)  # A, V: 0.8 V beyond its voltage at 0.5 A; from memory
SHORTED = 0.03  # ohm, ours
OFF = 10e6  # ohm of a switch that is off, 1 uA at 12 V; common practice, no source
RELEASES = 0.8  # share of the threshold at which it switches off; ours
WORDS = {"on": 1.0, "off": 0.0}


def switched(siemens: float, share: float, frequency: float) -> tuple[float, Motion]:
    """Return (conductance in S, motion) of a switch that is on for a share of every period."""
    if share <= 0.0:
        return 0.0, STILL
    if share >= 1.0:
        return siemens, STILL
    return siemens, Motion(wave=Wave.SWITCHED, amplitude=share, frequency=frequency)


def _input(part: Part) -> list[Element]:
    """Return the input: a coil and a diode, so that nothing negative switches it on."""
    name, ohms = part.name, part.number("input resistance")
    knee, shape = INPUTS[str(part.values["transistor"])]
    amps = max(part.number("threshold") - knee, LEAST_INPUT) / ohms
    middle = f"{name} base"
    siemens = 0.0 if part.has("input open") else conductance(ohms)
    coil = Element(
        f"{name} input",
        f"{name}.inb",
        middle,
        siemens,
        law=Law.COIL,
        shape=(amps, RELEASES * amps, 0.0),
        relay=name,
    )
    return [coil, Element(middle, middle, f"{name}.31b", 1.0, law=Law.DIODE, shape=shape)]


def _contact(part: Part, siemens: float, a: str, b: str) -> Element:
    stuck = STUCK_CLOSED if part.has("stuck on") else 0.0
    if part.has("stuck off"):
        stuck = STUCK_OPEN
    whole, motion = switched(siemens, part.number("duty"), part.number("frequency"))
    return Element(
        f"{part.name} switch",
        a,
        b,
        siemens if part.has("stuck on") else whole,
        law=Law.CONTACT,
        shape=(0.0, stuck, 0.0),
        relay=part.name,
        motion=STILL if part.has("stuck on") else motion,
    )


def _switch(part: Part, a: str, b: str) -> list[Element]:
    """Return everything between the two ends of the switch; current flows from a to b."""
    name, bipolar = part.name, part.values["transistor"] == "bipolar"
    foot = f"{name} foot" if bipolar else b
    whole = conductance(part.number("on resistance") + (part.severity("high resistance") or 0.0))
    leak = SHORTED if part.has("stuck on") else part.severity("leaky") or OFF
    elements = [
        _contact(part, whole, a, foot),
        Element(f"{name} leak", a, b, conductance(leak)),
        Element(f"{name} clamp", a, b, 1.0, part.number("clamp"), law=Law.DIODE, shape=CLAMP),
    ]
    if bipolar:
        elements.append(Element(f"{name} foot", foot, b, 1.0, law=Law.DIODE, shape=SATURATED))
    else:
        elements.append(Element(f"{name} body diode", b, a, 1.0, law=Law.DIODE, shape=SILICON))
    if not part.settings:
        return elements
    for stand in stands(part, "fraction", 0.0, WORDS):
        siemens, motion = switched(whole, stand.value, part.number("frequency"))
        elements.append(
            Element(
                f"{name} switch{stand.label}",
                a,
                foot,
                0.0 if part.has("stuck off") else siemens,
                positions=stand.gate,
                motion=motion,
            )
        )
    return elements


def _low_pins(_part: Part) -> tuple[str, ...]:
    return ("in", "out", "31")


def _low_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    joints = [joint(part, pin) for pin in ("out", "in", "31")]
    return (*joints, *_input(part), *_switch(part, f"{part.name}.outb", f"{part.name}.31b"))


def _high_pins(_part: Part) -> tuple[str, ...]:
    return ("in", "30", "out", "31")


def _high_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    joints = [joint(part, pin) for pin in ("out", "in", "30", "31")]
    return (*joints, *_input(part), *_switch(part, f"{part.name}.30b", f"{part.name}.outb"))


def _inside() -> tuple[Way, ...]:
    return (
        Way("stuck on", None, (), 0.6),
        Way("stuck off", None, (), 1.0),
        Way("leaky", None, (1000.0,), 0.2),
        Way("high resistance", None, (0.5, 2.0), 0.4),
        Way("input open", None, (), 0.2),
    )


def _low_ways(part: Part) -> tuple[Way, ...]:
    joints = [way for pin in _low_pins(part) for way in joint_ways(pin, likelihood=0.3)]
    return (*_inside(), *joints)


def _high_ways(part: Part) -> tuple[Way, ...]:
    joints = [way for pin in _high_pins(part) for way in joint_ways(pin, likelihood=0.3)]
    return (*_inside(), *joints)


_PARAMETERS = {
    "transistor": Parameter("text", "MOSFET", ("MOSFET", "bipolar")),
    "on resistance": Parameter("resistance", 0.05),
    "input resistance": Parameter("resistance", 10e3),
    "threshold": Parameter("voltage", 2.0),
    "clamp": Parameter("voltage", 40.0),
    "duty": Parameter("fraction", 1.0),
    "frequency": Parameter("frequency", 100.0),
}
LOW = Family(
    "low side driver",
    _PARAMETERS,
    _low_pins,
    _low_elements,
    _low_ways,
    separable=True,
    setting="fraction",
)
HIGH = Family(
    "high side driver",
    _PARAMETERS,
    _high_pins,
    _high_elements,
    _high_ways,
    separable=True,
    setting="fraction",
)
