"""Wires, connectors and ground studs: resistance where there should be next to none.

A wire of cross-section A and length l has ``R20 = l / (58 m/(ohm mm2) A)``, the standard annealed
copper of IEC 60028, and ``R(T) = R20 (1 + 0.00393 (T - 20))`` (same standard). It has a middle,
where a chafed wire touches the body.
"""

from __future__ import annotations

from sim.circuit import AMBIENT, BODY, Part
from sim.parts.family import (
    CONTACT_RESISTANCE,
    Element,
    Family,
    Parameter,
    Way,
    conductance,
    joint,
    joint_ways,
)

CONDUCTIVITY = 58e6  # S/m, IEC 60028
COEFFICIENT = 0.00393  # 1/K at 20 degC, IEC 60028


def wire_resistance(area: float, length: float, temperature: float = AMBIENT) -> float:
    """Return the resistance in ohm of a copper wire; area in m2, length in m, degC."""
    return length / (CONDUCTIVITY * area) * (1 + COEFFICIENT * (temperature - AMBIENT))


def _wire_pins(_part: Part) -> tuple[str, ...]:
    return ()


def _wire_elements(part: Part, temperature: float) -> tuple[Element, ...]:
    half = wire_resistance(part.number("area"), part.number("length"), temperature) / 2
    far = half + (part.severity("high resistance") or 0.0)
    middle = f"{part.name} middle"
    short = part.severity("short to ground")
    return (
        Element(f"{part.name} first half", str(part.values["from"]), middle, conductance(half)),
        Element(f"{part.name} chafe", middle, BODY, 0.0 if short is None else conductance(short)),
        Element(
            f"{part.name} second half",
            middle,
            str(part.values["to"]),
            0.0 if part.has("open") else conductance(far),
        ),
    )


def _wire_ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 0.4),
        Way("high resistance", None, (1.0,), 0.2),
        Way("short to ground", None, (0.1,), 0.1),
    )


def _connector_pins(part: Part) -> tuple[str, ...]:
    return tuple(str(number + 1) for number in range(int(part.number("pins"))))


def _connector_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    return tuple(joint(part, pin, outer="a") for pin in _connector_pins(part))


def _connector_ways(part: Part) -> tuple[Way, ...]:
    return tuple(way for pin in _connector_pins(part) for way in joint_ways(pin, likelihood=1.0))


def _stud_pins(_part: Part) -> tuple[str, ...]:
    return ("ring",)


def _stud_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    resistance = CONTACT_RESISTANCE + (part.severity("high resistance") or 0.0)
    siemens = 0.0 if part.has("open") else conductance(resistance)
    return (Element(part.name, f"{part.name}.ring", BODY, siemens),)


def _stud_ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 0.6, seen="the nut is missing and the ring is loose"),
        Way("high resistance", None, (0.4, 1.2), 1.5, seen="green and white crust under the ring"),
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
STUD = Family("ground stud", {}, _stud_pins, _stud_elements, _stud_ways, probing="open")
