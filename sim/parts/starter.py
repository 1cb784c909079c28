"""Starter with solenoid: 30 battery, 50 start signal, ring 31 ground (DIN 72552).

From 50 the pull-in winding runs to the motor and the hold-in winding to ground; the plunger closes
30 to the motor. Both windings have the same turns, so the pull of the plunger goes with the sum
of their currents, which is the current at 50: the plunger moves in at the current that the pull-in
voltage makes with the contact open, and out at the current that the drop-out voltage makes in
the hold-in winding alone. Three things follow by themselves: with the contact closed the pull-in
winding is bridged; with the key released the two carry opposite currents and the plunger drops;
with the hold-in winding open it chatters, which has no steady state. It chatters too where the
motor pulls the voltage at 50 below the drop-out voltage; that is set low, 1.5 V, so that a weak
battery or a bad ground gives one clunk and a motor that does not turn (ours).

The motor is that of `sim.parts.motor`, on 31, with the engine's drag as friction. Defaults: 165 A
at 10.5 V, the middle of the 150 to 185 A that a textbook gives for four cylinders where no data
are at hand; locked rotor 480 A (common practice, no source); pull-in 0.32 ohm, hold-in 1.1 ohm
(from memory). Not engaged it spins free on about a third of the current.

The drag of a cold engine is not modelled; lower `current` stands for a warm or a smaller one.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import (
    Element,
    Family,
    Law,
    Motion,
    Parameter,
    Way,
    conductance,
    joint,
    joint_ways,
)
from sim.parts.motor import Machine, armature, machine, stall_current
from sim.parts.relay import STUCK_CLOSED, STUCK_OPEN
from sim.parts.ring import ring, ring_ways

DRAG = (0.65, 0.35, 0.0)  # dry and viscous friction of a warm engine, as in motor.LOADS; ours
FREE = (0.3, 0.0, 0.05)  # the same for a pinion that spins free; ours
CONTACT = 3e-4  # ohm, 50 mV at 165 A; common practice, no source
PLUNGER = 5e-3  # ohm, the lead from 50 to the windings; ours
WINDING_INDUCTANCE = 2e-3  # H, ours


def _pins(_part: Part) -> tuple[str, ...]:
    return ("30", "50", "31")


def _motor(part: Part) -> Machine:
    shares = FREE if part.has("not engaging") else DRAG
    volts, amps = part.number("voltage"), part.number("current")
    sound = machine(volts, amps, stall_current(part), DRAG)
    if not part.has("not engaging"):
        return sound
    free = machine(volts, amps, stall_current(part), shares)
    return Machine(sound.ohms, free.start, free.b, free.q)


def _thresholds(part: Part, motor_ohms: float) -> tuple[float, float]:
    """Return the currents at 50 in A at which the plunger moves in and out."""
    pulling, holding = part.number("pull-in winding"), part.number("hold-in winding")
    path = 1.0 / (pulling + motor_ohms) + 1.0 / holding
    moves_in = part.number("pull-in") / (PLUNGER + 1.0 / path)
    moves_out = part.number("drop-out") / (PLUNGER + holding)
    if moves_out >= moves_in:
        raise QuantityError(f"{part.name}: drop-out must lie below pull-in")
    return moves_in, moves_out


def _contact(part: Part) -> Element:
    stuck = STUCK_CLOSED if part.has("stuck closed") else 0.0
    if part.has("contact open"):
        stuck = STUCK_OPEN
    resistance = CONTACT + (part.severity("contact burnt") or 0.0)
    return Element(
        f"{part.name} contact",
        f"{part.name}.30b",
        f"{part.name} motor lead",
        conductance(resistance),
        law=Law.CONTACT,
        shape=(0.0, stuck, 0.0),
        relay=part.name,
    )


def _winding(part: Part, label: str, b: str) -> Element:
    siemens = 0.0 if part.has(f"{label} open") else conductance(part.number(f"{label} winding"))
    a = f"{part.name} windings"
    motion = Motion(inductance=WINDING_INDUCTANCE)
    return Element(f"{part.name} {label}", a, b, siemens, motion=motion)


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, sound = part.name, _motor(part)
    lead, ground = f"{name} motor lead", f"{name}.31b"
    moves = (*_thresholds(part, sound.ohms), 0.0)
    plunger = Element(
        f"{name} plunger",
        f"{name}.50b",
        f"{name} windings",
        0.0 if part.has("solenoid open") else conductance(PLUNGER),
        law=Law.COIL,
        shape=moves,
        relay=name,
    )
    return (
        ring(part, "30"),
        joint(part, "50"),
        plunger,
        _winding(part, "pull-in", lead),
        _winding(part, "hold-in", ground),
        _contact(part),
        armature(part, f"{name} motor", lead, ground, sound),
        ring(part, "31"),
    )


def _ways(part: Part) -> tuple[Way, ...]:
    brushes = tuple(float(f"{_motor(part).ohms * times:.2g}") for times in (1.0, 4.0))
    return (
        Way("solenoid open", None, (), 0.8),
        Way("pull-in open", None, (), 0.4),
        Way("hold-in open", None, (), 0.0),
        Way("contact burnt", None, (0.02, 0.1), 1.2),
        Way("contact open", None, (), 0.6),
        Way("stuck closed", None, (), 0.1),
        Way("open", None, (), 0.4),
        Way("worn brushes", None, brushes, 1.0),
        Way("dead spot", None, (), 0.6),
        Way("seized", None, (), 0.3),
        Way("stiff", None, (0.5, 1.5), 0.4, "fraction"),
        Way("shorted turns", None, (0.3,), 0.2, "fraction", most=0.9),
        Way("not engaging", None, (), 0.4),
        *ring_ways("30"),
        *ring_ways("31"),
        *joint_ways("50"),
    )


FAMILY = Family(
    "starter",
    {
        "voltage": Parameter("voltage", 10.5),
        "current": Parameter("current", 165.0),
        "stall current": Parameter("current", 480.0),
        "pull-in winding": Parameter("resistance", 0.32),
        "hold-in winding": Parameter("resistance", 1.1),
        "pull-in": Parameter("voltage", 7.0),
        "drop-out": Parameter("voltage", 1.5),
        "inductance": Parameter("inductance", 5e-5),
        "run-up": Parameter("time", 0.2),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    load="motor",
    probing="open",
    nominal_power=lambda part: part.number("voltage") * part.number("current"),
)
