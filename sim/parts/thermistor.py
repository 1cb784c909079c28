"""Thermistor: resistance that falls with temperature, after published tables.

Steinhart & Hart (Deep-Sea Research 15, 1968): ``1 / T = A + B ln R + C (ln R)^3``, solved for R in
closed form. Types:

- ``10 kohm``: a maker's NTC M8 data sheet, 10 kohm at 25 degC; A, B, C from its points at -20, 25
  and 100 degC; within 0.1 degC of the table from -35 to 150 degC.
- ``15 kohm``: the 15 kohm version's sheet, from its points at -20, 25 and 100 degC.
- ``10 kohm B3977``: a component maker's NTC with B(25/85) = 3977 K, by its own equation ``R = R25
  exp(A + B/T + C/T^2 + D/T^3)`` (coefficients from memory, checked against the sheet's inverse).

The positions of its control are temperatures; without one it has the parameter's temperature, by
default that of the vehicle. One that is ``warmed by`` a control goes towards ``warm`` while the
control is away from its first position, with the time constants ``warming`` and ``cooling``, by the
bench's clock (`sim.slowtemperature`; 4 and 40 min are ours). A drift is a share by which the
resistance is too high (it reads too cold); a wrong part is the other of the first two types.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from sim.circuit import Part
from sim.parts.family import Element, Family, Parameter, Way, conductance, joint, joint_ways
from sim.parts.positions import stands
from sim.quantity import ZERO_CELSIUS

SHORTED = 1.0  # ohm, ours
AMBIENT_WORD = "ambient"
ROOM = 25.0  # degC, at which thermistors are rated


def steinhart_hart(a: float, b: float, c: float, celsius: float) -> float:
    """Return R in ohm: the real root of ``A + B x + C x^3 = 1 / T`` with x = ln R (Cardano)."""
    half = (a - 1.0 / (celsius + ZERO_CELSIUS)) / (2.0 * c)
    root = math.sqrt((b / (3.0 * c)) ** 3 + half * half)
    return math.exp(math.cbrt(root - half) - math.cbrt(root + half))


def constants(points: tuple[tuple[float, float], ...]) -> tuple[float, float, float]:
    """Return A, B, C of Steinhart & Hart through three points of (degC, ohm)."""
    (x1, y1), (x2, y2), (x3, y3) = (
        (math.log(ohms), 1.0 / (celsius + ZERO_CELSIUS)) for celsius, ohms in points
    )
    slope2, slope3 = (y2 - y1) / (x2 - x1), (y3 - y1) / (x3 - x1)
    c = (slope3 - slope2) / (x3 - x2) / (x1 + x2 + x3)
    b = slope2 - c * (x1 * x1 + x1 * x2 + x2 * x2)
    return y1 - (b + c * x1 * x1) * x1, b, c


def ten_kohm(celsius: float) -> float:
    """Return ohm of the 10 kohm type."""
    return steinhart_hart(
        *constants(((-20.0, 71_668.0), (25.0, 10_000.0), (100.0, 946.6))), celsius
    )


def fifteen_kohm(celsius: float) -> float:
    """Return ohm of the 15 kohm type."""
    return steinhart_hart(
        *constants(((-20.0, 145_880.0), (25.0, 15_000.0), (100.0, 945.0))), celsius
    )


def component_maker(celsius: float) -> float:
    """Return ohm of the 10 kohm type with B = 3977 K."""
    kelvin = celsius + ZERO_CELSIUS
    return 1e4 * math.exp(
        -14.6337 + 4791.842 / kelvin - 115334.0 / kelvin**2 - 3.730535e6 / kelvin**3
    )


TYPES: dict[str, Callable[[float], float]] = {
    "10 kohm": ten_kohm,
    "15 kohm": fifteen_kohm,
    "10 kohm B3977": component_maker,
}


def resistance(part: Part, celsius: float) -> float:
    """Return the resistance in ohm that the part has, faults included, but for an open."""
    if part.has("shorted"):
        return SHORTED
    written = str(part.values["type"])
    fitted = written
    if part.has("wrong part"):
        fitted = "10 kohm" if written == "15 kohm" else "15 kohm"
    return TYPES[fitted](celsius) * (1.0 + (part.severity("drift") or 0.0))


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def standing_temperature(part: Part, ambient: float) -> float:
    """Return the temperature in degC that the part has at hand-over, unless a control sets it."""
    written = part.values["temperature"]
    return ambient if written == AMBIENT_WORD else float(written)


def _elements(part: Part, temperature: float) -> tuple[Element, ...]:
    name, standing = part.name, standing_temperature(part, temperature)
    beads = [
        Element(
            f"{name} bead{stand.label}",
            f"{name}.1b",
            f"{name}.2b",
            0.0 if part.has("open") else conductance(resistance(part, stand.value)),
            positions=stand.gate,
        )
        for stand in stands(part, "temperature", standing)
    ]
    return (joint(part, "1"), *beads, joint(part, "2"))


def _ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 1.0),
        Way("shorted", None, (), 0.4),
        Way("drift", None, (0.5, 2.0), 0.6, "fraction"),
        Way("wrong part", None, (), 0.1, seen="the number on the sensor differs from the list"),
        *joint_ways("1"),
        *joint_ways("2"),
    )


FAMILY = Family(
    "thermistor",
    {
        "type": Parameter("text", "10 kohm", tuple(TYPES)),
        "temperature": Parameter("temperature", AMBIENT_WORD),
        "warmed by": Parameter("text", ""),
        "warm": Parameter("temperature", 90.0),
        "warming": Parameter("time", 240.0),
        "cooling": Parameter("time", 2400.0),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    setting="temperature",
)
