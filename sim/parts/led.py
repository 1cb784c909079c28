"""LED lamp: a string of light-emitting diodes with a resistor or a linear driver; 1 is plus.

The string of n has ``V = n m Vt ln(I / Is + 1)`` with m = 2 (common practice, no source), so that
each has its forward voltage at the rated current P / V. `driver: resistor` puts the rest of the
rated voltage across a resistor; `driver: constant current` is a linear regulator: 0.5 V at rated
current (ours) until it holds the current at the rated one. Backwards nothing flows but leakage. A
switching driver, which takes constant power, is left out.

Default 2.2 V: a red LED at its rated current (common practice, no source).
"""

from __future__ import annotations

import math

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import (
    Element,
    Family,
    Law,
    Parameter,
    Trigger,
    Way,
    conductance,
    joint,
    joint_ways,
)

EMISSION = 2.0 * 0.0257  # V, m Vt at 25 degC
DROPOUT = 0.5  # V, ours
BEYOND = 1e-6  # S, of a driver above its limit; ours
DRIVER_SHORTED = 0.2  # ohm, ours
LEAST = 0.1  # of one LED, what is left of a string that is shorted from end to end; ours


def rated_current(part: Part) -> float:
    """Return the rated current in A."""
    return part.number("power") / part.number("voltage")


def string_shape(part: Part) -> tuple[float, float, float]:
    """Return the constants of the string as one diode; shorted ones take no voltage."""
    alive = part.number("leds") - (part.severity("LED shorted") or 0.0)
    grown = math.exp(part.number("forward voltage") / EMISSION) - 1.0
    return rated_current(part) / grown, max(alive, LEAST) * EMISSION, 0.0


def _regulator(part: Part, a: str, b: str) -> Element:
    """Return what keeps the string's current down."""
    amps = rated_current(part)
    rest = part.number("voltage") - part.number("leds") * part.number("forward voltage")
    if rest <= 0.0:
        raise QuantityError(f"{part.name}: the LEDs together need more than the rated voltage")
    name = f"{part.name} driver"
    if part.values["driver"] == "resistor":
        siemens = 0.0 if part.has("driver open") else amps / rest
        if part.has("driver shorted"):
            siemens = conductance(DRIVER_SHORTED)
        return Element(name, a, b, siemens)
    siemens, high = amps / DROPOUT, amps
    if part.has("driver shorted"):
        siemens, high = conductance(DRIVER_SHORTED), 1e3 * amps
    if part.has("driver open"):
        siemens = 0.0
    return Element(name, a, b, siemens, law=Law.LIMITER, shape=(high, high, BEYOND))


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    anode, whole = f"{name} anode", float(not part.has("open"))
    hot = part.has("open on heat")
    string = Element(
        f"{name} LEDs",
        anode,
        f"{name}.2b",
        whole,
        law=Law.DIODE,
        shape=string_shape(part),
        trigger=Trigger.HEAT if hot else Trigger.NEVER,
    )
    return (joint(part, "1"), _regulator(part, f"{name}.1b", anode), string, joint(part, "2"))


def _ways(part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 1.0),
        Way("open on heat", None, (), 0.0),
        Way("LED shorted", None, (1.0,), 0.3, "number", most=part.number("leds")),
        Way("driver open", None, (), 0.8),
        Way("driver shorted", None, (), 0.2),
        *joint_ways("1"),
        *joint_ways("2"),
    )


def _string_power(part: Part) -> float:
    return rated_current(part) * part.number("leds") * part.number("forward voltage")


FAMILY = Family(
    "LED lamp",
    {
        "voltage": Parameter("voltage", 12.0),
        "power": Parameter("power"),
        "leds": Parameter("number", 3.0),
        "forward voltage": Parameter("voltage", 2.2),
        "driver": Parameter("text", "resistor", ("resistor", "constant current")),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=_string_power,
    load="LEDs",
)
