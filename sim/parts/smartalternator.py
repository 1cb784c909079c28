"""Alternator with charge control: an engine's unit says by one wire which voltage it shall hold.

It is the alternator of `sim.parts.alternator` with a fourth terminal, LIN. An order is a level: 0
asks for 10.6 V, 1 for 16 V (the span of a regulator's order of 6 bits in steps of 0.1 V is near
that, from memory), so that a healthy idle may read 12.5 V while the battery is to give, or 15 V
while it is to be filled. Without an order it holds its parameter `voltage`. How an order is heard
stands in `sim.parts.orders`; the regulator listens while its B+ is above 6 V.

It fails like any alternator, and by ignoring the command or by a regulator that is dead to the bus
(the same, to the battery). A regulator that is shorted through holds its own voltage, whatever the
order.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from sim.circuit import Part
from sim.modules.behaviour import Behaviour, Output
from sim.modules.pins import TARGET, PinWords
from sim.parts import alternator
from sim.parts.controlunit import AWAKE
from sim.parts.family import Element, Family, Law, Parameter, Ruled, Way, joint, joint_ways
from sim.parts.orders import LIN, OFF, ORDER, command_pulls, order_of
from sim.parts.relay import STUCK_OPEN

LEAST, MOST = 10.6, 16.0  # V
LISTENS = 0.005  # A at 12 V, what the regulator takes while it listens; ours
PINS = ("B+", "L", "31", "LIN")


def _ordered(part: Part) -> Part:
    """Return the part with what `sim.parts.orders` asks of its parameters."""
    values = {**part.values, "command": LIN, "active": "high", "open command": OFF}
    return replace(part, values=values)


def _elements(part: Part, temperature: float) -> tuple[Element, ...]:
    name = part.name
    plus, minus, target = f"{name}.B+b", f"{name}.31b", f"{name} {TARGET}"
    inside = alternator.alternator_elements(part, temperature)
    alone = part.has("dead to the bus") or part.has("regulator shorted")
    regulated = [one for one in inside if one.name.startswith(f"{name} regulated")]
    deaf = STUCK_OPEN if part.has("dead to the bus") else 0.0
    return (
        *_windings(part, temperature, [one for one in inside if one not in regulated], alone=alone),
        *(_off(one, off=alone, relay=target) for one in regulated),
        *(
            _off(replace(one, name=f"{name} own{one.name[len(name) :]}"), off=not alone)
            for one in regulated
        ),
        joint(part, "LIN"),
        *command_pulls(_ordered(part), f"{name}.LINb", plus, minus),
        Element(
            f"{name} {AWAKE}",
            plus,
            minus,
            LISTENS / 12.0,
            law=Law.CONTACT,
            shape=(0.0, deaf, 0.0),
            relay=f"{name} {AWAKE}",
        ),
    )


def _windings(
    part: Part, temperature: float, inside: list[Element], *, alone: bool
) -> list[Element]:
    """Return elements, the windings with the amplitudes of the least and the most order as shape.

    Rules set the amplitude between them, in a curve in time.
    """
    low, high = (
        {
            one.name: one.motion.amplitude
            for one in alternator.alternator_elements(part, temperature, v)
        }
        for v in (LEAST, MOST)
    )
    return [
        replace(one, shape=_amplitudes(one, low, high, alone=alone), relay=f"{part.name} {TARGET}")
        if " winding" in one.name
        else one
        for one in inside
    ]


def _amplitudes(
    one: Element, low: dict[str, float], high: dict[str, float], *, alone: bool
) -> tuple[float, float, float]:
    own = one.motion.amplitude
    return (own, own, 0.0) if alone else (low[one.name], high[one.name], 0.0)


def _off(regulated: Element, *, off: bool, relay: str = "") -> Element:
    """Return a regulated output that is in circuit or not; with a relay, rules set its voltage."""
    return replace(regulated, conductance=0.0 if off else regulated.conductance, relay=relay)


def _driven(_part: Part) -> dict[str, PinWords]:
    return {TARGET: PinWords(TARGET, span=(LEAST, MOST))}


def _behaviour(part: Part) -> Behaviour:
    without = (part.number("voltage") - LEAST) / (MOST - LEAST)
    order = order_of(_ordered(part), "LIN", without)
    outputs = (Output(TARGET, order.follows),)
    return Behaviour(part.name, "B+", "31", 6.0, (order.item,), (), order.levels, outputs)


def _ways(part: Part) -> tuple[Way, ...]:
    return (
        *alternator.alternator_ways(part),
        Way("ignores the command", None, (), 0.4),
        Way("dead to the bus", None, (), 0.3),
        *joint_ways("LIN"),
    )


FAMILY = Family(
    "commanded alternator",
    {**alternator.FAMILY.parameters, "commanded by": Parameter("text", "")},
    lambda _part: PINS,
    _elements,
    _ways,
    separable=True,
    probing="open",
    setting="rotation",
    ruled=Ruled(_driven, _behaviour, MappingProxyType({"LIN": ORDER})),
)
