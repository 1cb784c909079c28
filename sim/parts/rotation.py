"""Sensors of rotation: Hall sensor with open-collector output, and reluctance (inductive) sensor.

Positions of the control are the speed of the shaft that carries the wheel; the frequency is ``f =
z n / 60`` with z teeth and n in rpm.

Hall sensor, + s −: it takes a supply current (a resistance); with at least 3.5 V on + its output
transistor pulls s to − while a tooth stands before it, and lets go over a gap, so the unit it is
wired to must have a pull-up. Standing still, the position says ``tooth`` or ``gap``, else the
parameter `rests at`; turning, s is pulled for half of every period (SWITCHED; a steady state sees
it pulled).

Reluctance sensor, 1 2: a coil with resistance and inductance and an EMF (SINE; a steady state sees
none) whose amplitude goes with the speed: ``E = E_1000 n / 1000`` (Faraday). A wider air gap lets a
share of it through.

Values are typical of sensors on crankshafts and wheels (common practice, no source).
"""

from __future__ import annotations

import math

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
from sim.parts.positions import Stand, stands
from sim.parts.relay import STUCK_CLOSED, STUCK_OPEN

WAKES, FADES = 3.5, 3.0  # V of supply; from memory
TRANSISTOR = 20.0  # ohm, 0.1 V at 5 mA; common practice, no source
WINDING_CAPACITANCE = 1e-9  # F, ours
THOUSAND_RPM = 1000 * 2 * math.pi / 60  # rad/s
HALL_PINS = ("+", "s", "-")


def tooth_frequency(teeth: float, speed: float) -> float:
    """Return the frequency in Hz at a speed in rad/s."""
    return teeth * speed / (2 * math.pi)


def _pulls(part: Part, stand: Stand) -> tuple[bool, Motion]:
    """Tell whether the output transistor conducts, and how it moves."""
    if stand.value > 0.0:
        frequency = tooth_frequency(part.number("teeth"), stand.value)
        return True, Motion(wave=Wave.SWITCHED, amplitude=0.5, frequency=frequency)
    rests = str(part.values["rests at"])
    found = next((word for word in stand.words if word in ("tooth", "gap")), rests)
    return found == "tooth", STILL


def _output(part: Part, stand: Stand) -> Element:
    pulls, motion = _pulls(part, stand)
    stuck = STUCK_CLOSED if part.has("stuck low") else 0.0
    if part.has("stuck high"):
        stuck = STUCK_OPEN
    if part.has("stuck low"):
        pulls, motion = True, STILL
    return Element(
        f"{part.name} output{stand.label}",
        f"{part.name}.sb",
        f"{part.name}.-b",
        conductance(TRANSISTOR) if pulls else 0.0,
        law=Law.CONTACT,
        shape=(0.0, stuck, 0.0),
        relay=part.name,
        positions=stand.gate,
        motion=motion,
    )


def _hall_pins(_part: Part) -> tuple[str, ...]:
    return HALL_PINS


def _hall_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, ohms = part.name, part.number("voltage") / part.number("supply current")
    supply = Element(
        f"{name} supply",
        f"{name}.+b",
        f"{name}.-b",
        0.0 if part.has("supply open") else conductance(ohms),
        law=Law.COIL,
        shape=(WAKES / ohms, FADES / ohms, 0.0),
        relay=name,
    )
    outputs = [_output(part, stand) for stand in stands(part, "rotation", part.number("speed"))]
    return (*(joint(part, pin) for pin in HALL_PINS), supply, *outputs)


def _hall_ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("stuck low", None, (), 0.5),
        Way("stuck high", None, (), 0.8),
        Way("supply open", None, (), 0.3),
        *(way for pin in HALL_PINS for way in joint_ways(pin, likelihood=0.4)),
    )


def _coil(part: Part, stand: Stand) -> Element:
    left = 1.0 - (part.severity("shorted turns") or 0.0)
    volts = part.number("amplitude at 1000 rpm") * stand.value / THOUSAND_RPM
    volts *= left * (part.severity("wide gap") or 1.0)
    frequency = tooth_frequency(part.number("teeth"), stand.value)
    phase = 0.5 if part.has("reversed") else 0.0
    turning = (Wave.SINE, volts, frequency, phase) if volts > 0.0 else (Wave.NONE, 0.0, 0.0, 0.0)
    return Element(
        f"{part.name} coil{stand.label}",
        f"{part.name}.1b",
        f"{part.name}.2b",
        0.0 if part.has("open") else conductance(part.number("resistance") * left),
        positions=stand.gate,
        motion=Motion(part.number("inductance") * left * left, WINDING_CAPACITANCE, *turning),
    )


def _reluctance_pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _reluctance_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    coils = [_coil(part, stand) for stand in stands(part, "rotation", part.number("speed"))]
    return (joint(part, "1"), *coils, joint(part, "2"))


def _reluctance_ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 1.0),
        Way("shorted turns", None, (0.5,), 0.3, "fraction", most=0.9),
        Way("wide gap", None, (0.2,), 0.5, "fraction", "the gap to the wheel is too wide", 1.0),
        Way("reversed", None, (), 0.0),
        *joint_ways("1"),
        *joint_ways("2"),
    )


_TURNING = {"teeth": Parameter("number", 60.0), "speed": Parameter("rotation", 0.0)}
HALL = Family(
    "Hall sensor",
    {
        **_TURNING,
        "rests at": Parameter("text", "gap", ("gap", "tooth")),
        "voltage": Parameter("voltage", 12.0),
        "supply current": Parameter("current", 0.008),
    },
    _hall_pins,
    _hall_elements,
    _hall_ways,
    separable=True,
    setting="rotation",
)
RELUCTANCE = Family(
    "reluctance sensor",
    {
        **_TURNING,
        "resistance": Parameter("resistance", 900.0),
        "inductance": Parameter("inductance", 0.4),
        "amplitude at 1000 rpm": Parameter("voltage", 8.0),
    },
    _reluctance_pins,
    _reluctance_elements,
    _reluctance_ways,
    separable=True,
    setting="rotation",
)
