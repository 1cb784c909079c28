"""Three-wire actuator: supply, ground, command; the power stage sits inside, beside its motor.

    M5: {kind: actuator, current: 20 A, command: PWM, active: low, open command: off, at: cowl}

How it hears its command stands in `sim.parts.orders`. The stage is a series regulator, as that of
many blowers (common practice, no source): closed while it runs, and across it lies the part of the
rated voltage that the order keeps from the motor, as a diode with an EMF, so that it drops volts,
turns them into heat and can feed nothing. The motor is that of `sim.parts.motor`. Awake it takes
`quiescent` besides. Its rules are built in; their contacts are ``M5 stage`` and ``M5 awake``, its
source ``M5 drop``.

It fails by running with no command (the stage has broken down: full), by ignoring the command (its
input is open inside: it does what an open wire makes it do), dead, in the motor and in its
terminals.
"""

from __future__ import annotations

from types import MappingProxyType

from sim.circuit import Part
from sim.modules.behaviour import Behaviour, Output
from sim.modules.pins import TARGET, PinWords
from sim.parts import motor
from sim.parts.controlunit import AWAKE
from sim.parts.family import (
    Element,
    Family,
    Law,
    Parameter,
    Ruled,
    Way,
    conductance,
    joint,
    joint_ways,
)
from sim.parts.orders import ORDER, PARAMETERS, command_pulls, order_of
from sim.parts.relay import STUCK_OPEN

STAGE_RESISTANCE = 0.02  # ohm; ours
DROP = (1e-9, 9.65e-3, 0.0)  # A, V: 0.23 V at 20 A; from memory
PINS = ("30", "31", "C")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    plus, minus, stage, shaft = f"{name}.30b", f"{name}.31b", f"{name} fed", f"{name} driven"
    dead = part.has("dead")
    stuck = STUCK_OPEN if dead else 0.0
    through = conductance(STAGE_RESISTANCE) if part.has("runs with no command") else 0.0
    volts, ohms = part.number("voltage"), conductance(STAGE_RESISTANCE)
    quiescent = part.number("quiescent") / volts
    return (
        *(joint(part, pin) for pin in PINS),
        *command_pulls(part, f"{name}.Cb", plus, minus),
        _contact(name, AWAKE, plus, minus, quiescent, stuck),
        _contact(name, "stage", plus, stage, ohms, stuck),
        Element(
            f"{name} drop",
            stage,
            shaft,
            1.0,
            0.0,  # volts: the rules'
            Law.DIODE,
            DROP,
            relay=f"{name} drop",
        ),
        Element(f"{name} breakdown", plus, shaft, through),
        motor.armature(part, f"{name} armature", shaft, minus, motor.sound(part)),
    )


def _contact(name: str, what: str, a: str, b: str, siemens: float, stuck: float) -> Element:
    shape = (0.0, stuck, 0.0)
    return Element(
        f"{name} {what}", a, b, siemens, law=Law.CONTACT, shape=shape, relay=f"{name} {what}"
    )


def _driven(part: Part) -> dict[str, PinWords]:
    volts = part.number("voltage")
    return {"stage": PinWords("stage"), "drop": PinWords(TARGET, span=(volts, 0.0))}


def _behaviour(part: Part) -> Behaviour:
    order = order_of(part, "C")
    outputs = (Output("stage", order.follows), Output("drop", order.follows))
    works = part.number("works from")
    return Behaviour(
        part.name, "30", "31", works, (order.item,), order.decisions, order.levels, outputs
    )


def _ways(part: Part) -> tuple[Way, ...]:
    return (
        Way("runs with no command", None, (), 0.5),
        Way("ignores the command", None, (), 0.6),
        Way("dead", None, (), 0.8),
        *motor.armature_ways(motor.sound(part)),
        *(way for pin in PINS for way in joint_ways(pin, likelihood=0.4)),
    )


FAMILY = Family(
    "actuator",
    {
        "voltage": Parameter("voltage", 12.0),
        "current": Parameter("current"),
        "stall current": Parameter("current", 0.0),
        "load": Parameter("text", "fan", tuple(motor.LOADS)),
        "inductance": Parameter("inductance", 2e-4),
        "run-up": Parameter("time", 0.5),
        "quiescent": Parameter("current", 0.01),
        "works from": Parameter("voltage", 6.0),
        **PARAMETERS,
    },
    lambda _part: PINS,
    _elements,
    _ways,
    separable=True,
    nominal_power=lambda part: part.number("voltage") * part.number("current"),
    load="armature",
    ruled=Ruled(_driven, _behaviour, MappingProxyType({"C": ORDER})),
)
