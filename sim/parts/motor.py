"""Permanent-magnet DC motor with its load: fan, pump, wiper, window.

Stalled, ``I = V / R``; turning, it carries its load, ``I = i0 + b E + q E^2`` with the back-EMF ``E
= V - R I`` (OpenStax College Physics 2e, back EMF; see `sim.solver.laws`). From rated voltage V,
rated current I and stall current Is at the rated voltage:

    R = V / Is,   E = V - R I,   i0 = s I,   b = l I / E,   q = r I / E^2

where the shares s + l + r = 1 say what the load is: dry friction, viscous friction, air (torque of
a fan goes with the square of its speed: the affinity law). The shares of `LOADS` are ours. With
torque T = k I and speed w = E / k, fewer turns (k shrinks by 1 - x, as does R) draw i0 / (1 - x),
b / (1 - x)^2 and q / (1 - x)^3 for the same load.

Inertia J shows as C = J / k^2 across the back-EMF, ``C dE/dt = (V - E) / R - i0 - b E - q E^2``. C
is chosen so that E gets to 95 % of its end within the run-up time; integrated in closed form, with
g = 1 / R and without inductance,

    t = C ln(20 (g + b + 1.95 q E) / (g + b + q E)) / (g + b + 2 q E)

A suppression capacitor lies across the terminals, as in most car motors; it also takes the
armature's current when the feed is cut.

Values are those of a warm motor; its resistance does not change with temperature here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import (
    Element,
    Family,
    Law,
    Motion,
    Parameter,
    Trigger,
    Way,
    conductance,
    joint,
    joint_ways,
)

#: Shares of the rated current: dry friction, viscous friction, air.
LOADS = {
    "fan": (0.1, 0.0, 0.9),
    "pump": (0.4, 0.6, 0.0),
    "friction": (0.6, 0.4, 0.0),
    "window": (0.75, 0.25, 0.0),
}
STALL_TIMES = 6.0  # times the rated current where no stall current is given; common practice
INSULATION = 1e-9  # S of the capacitor; ours
OUT_OF_REACH = 1e3  # times the stall current: a seized motor never starts
SETTLED = 0.95  # share of the final speed that ends the run-up


@dataclass(frozen=True, slots=True)
class Machine:
    """What a motor is: armature resistance in ohm and its load ``i0 + b E + q E^2`` in A."""

    ohms: float
    start: float
    b: float
    q: float

    def with_fewer_turns(self, share: float) -> Machine:
        """Return the motor with a share of its turns shorted, on the same load."""
        left = 1.0 - share
        return Machine(self.ohms * left, self.start / left, self.b / left**2, self.q / left**3)

    def with_load(self, times: float) -> Machine:
        """Return the motor with a load that is so many times as heavy."""
        return Machine(self.ohms, self.start * times, self.b * times, self.q * times)

    def inertia(self, volts: float, seconds: float) -> float:
        """Return C in F that lets it run up at a voltage within a time; 0 if it never starts."""
        g = 1.0 / self.ohms
        beyond = volts - self.start * self.ohms
        if beyond <= 0.0:
            return 0.0
        linear = g + self.b
        root = math.sqrt(linear * linear + 4.0 * self.q * g * beyond)
        bend = self.q * 2.0 * g * beyond / (linear + root)  # q E at full speed
        logarithm = math.log((linear + (1 + SETTLED) * bend) / (linear + bend) / (1 - SETTLED))
        return seconds * (linear + 2.0 * bend) / logarithm


def machine(volts: float, amps: float, stall: float, shares: tuple[float, float, float]) -> Machine:
    """Return the motor that takes `amps` at `volts`, and `stall` when it cannot turn."""
    ohms = volts / stall
    back = volts - ohms * amps
    dry, viscous, air = shares
    return Machine(ohms, dry * amps, viscous * amps / back, air * amps / back**2)


def armature(part: Part, name: str, a: str, b: str, sound: Machine) -> Element:
    """Return a motor with the part's faults: dead spot, shorted turns, stiff, seized, worn."""
    worn = sound.with_fewer_turns(part.severity("shorted turns") or 0.0)
    worn = worn.with_load(1.0 + (part.severity("stiff") or 0.0))
    ohms = worn.ohms + (part.severity("worn brushes") or 0.0)
    seized = part.has("seized")
    start = OUT_OF_REACH * part.number("voltage") / ohms if seized else worn.start
    siemens = 0.0 if part.has("open") else conductance(ohms)
    dead = part.has("dead spot")
    turns = 1.0 - (part.severity("shorted turns") or 0.0)
    inertia = sound.inertia(part.number("voltage"), part.number("run-up")) / turns**2
    return Element(
        name,
        a,
        b,
        0.0 if dead else siemens,
        law=Law.MOTOR,
        shape=(start, worn.b, worn.q),
        other=siemens,
        trigger=Trigger.VIBRATION if dead else Trigger.NEVER,
        motion=Motion(part.number("inductance") * turns**2, inertia),
    )


def armature_ways(sound: Machine) -> tuple[Way, ...]:
    """Return how a motor fails inside."""
    brushes = tuple(float(f"{sound.ohms * times:.2g}") for times in (1.5, 6.0))
    return (
        Way("open", None, (), 1.0),
        Way("worn brushes", None, brushes, 1.5),
        Way("dead spot", None, (), 0.7),
        Way("seized", None, (), 0.7, seen="the shaft cannot be turned by hand"),
        Way("stiff", None, (0.5, 1.5), 1.0, "fraction", "the shaft turns heavily by hand"),
        Way("shorted turns", None, (0.3,), 0.3, "fraction", most=0.9),
    )


def stall_current(part: Part) -> float:
    """Return the stall current in A at the rated voltage.

    Raises
    ------
    QuantityError
        It is not above the rated current.
    """
    amps = part.number("current")
    stall = part.number("stall current") or STALL_TIMES * amps
    if stall <= amps:
        raise QuantityError(
            f"{part.name}: stall current must be above the rated {amps:g} A, got {stall:g} A"
        )
    return stall


def sound(part: Part) -> Machine:
    """Return the motor of a part as its values have it, without faults."""
    shares = LOADS[str(part.values["load"])]
    return machine(part.number("voltage"), part.number("current"), stall_current(part), shares)


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    one, two = f"{name}.1b", f"{name}.2b"
    inside = armature(part, f"{name} armature", one, two, sound(part))
    suppressor = Element(
        f"{name} capacitor",
        one,
        two,
        INSULATION,
        motion=Motion(capacitance=part.number("capacitor")),
    )
    return (joint(part, "1"), inside, suppressor, joint(part, "2"))


def _ways(part: Part) -> tuple[Way, ...]:
    return (*armature_ways(sound(part)), *joint_ways("1"), *joint_ways("2"))


FAMILY = Family(
    "motor",
    {
        "voltage": Parameter("voltage", 12.0),
        "current": Parameter("current"),
        "stall current": Parameter("current", 0.0),
        "load": Parameter("text", "fan", tuple(LOADS)),
        "inductance": Parameter("inductance", 2e-4),
        "run-up": Parameter("time", 0.5),
        "capacitor": Parameter("capacitance", 220e-9),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=lambda part: part.number("voltage") * part.number("current"),
    load="armature",
)
