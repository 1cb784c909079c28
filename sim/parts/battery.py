"""Lead-acid battery: open-circuit voltage by charge, internal resistance by cold-cranking rating.

Open-circuit voltage: linear between the points of the Battery Council International table (charge
0 to 100 %: 11.89, 12.06, 12.24, 12.45, 12.65 V at 26.7 degC). Internal resistance from SAE J537:
at -18 degC the rated cold-cranking current leaves 7.2 V of a full battery, so R(-18 degC) = (12.65
V - 7.2 V) / I. Warm resistance is taken as half of that at 25 degC and interpolated (common
practice, no source).

Charging: with `accepts` above 0 the battery takes that current at 14.4 V and correspondingly less
below (a straight line from its open-circuit voltage; a battery nearly full takes a few amperes,
one half empty some tens: common practice, no source). With 0 it takes charge through its
internal resistance, as easily as it gives, which holds a charging voltage down far too much.
"""

from __future__ import annotations

import numpy as np

from sim.circuit import Part
from sim.parts.family import Element, Family, Law, Parameter, Way, conductance

CHARGE = (0.0, 0.25, 0.5, 0.75, 1.0)
OPEN_CIRCUIT = (11.89, 12.06, 12.24, 12.45, 12.65)  # V
CRANKING_FLOOR = 7.2  # V, SAE J537
COLD = -18.0  # degC, SAE J537
WARM = 25.0  # degC
CHARGING = 14.4  # V at which `accepts` is stated; ours
UNLIMITED = 1e5  # A, more than any battery gives


def open_circuit_voltage(charge: float) -> float:
    """Return the rested voltage in V for a state of charge from 0 to 1."""
    return float(np.interp(charge, CHARGE, OPEN_CIRCUIT))


def internal_resistance(cold_cranking: float, temperature: float) -> float:
    """Return the internal resistance in ohm for a rating in A at a temperature in degC."""
    cold = (OPEN_CIRCUIT[-1] - CRANKING_FLOOR) / cold_cranking
    return float(np.interp(temperature, (COLD, WARM), (cold, cold / 2)))


def _pins(_part: Part) -> tuple[str, ...]:
    return ("+", "-")


def _elements(part: Part, temperature: float) -> tuple[Element, ...]:
    resistance = internal_resistance(part.number("cold cranking"), temperature)
    resistance += part.severity("high resistance") or 0.0
    plus, minus = f"{part.name}.+", f"{part.name}.-"
    emf = open_circuit_voltage(part.number("charge"))
    accepts, giving = part.number("accepts"), conductance(resistance)
    if accepts == 0.0:
        return (Element(part.name, plus, minus, giving, emf),)
    taking = conductance((CHARGING - emf) / accepts + resistance)
    bends = (UNLIMITED, 0.0, taking)  # giving, both slopes together make 1 / R
    return (Element(part.name, plus, minus, giving - taking, emf, Law.LIMITER, bends),)


def _ways(_part: Part) -> tuple[Way, ...]:
    return (Way("high resistance", None, (0.08,), 1.0),)


FAMILY = Family(
    "battery",
    {
        "capacity": Parameter("charge", 70 * 3600.0),
        "cold cranking": Parameter("current", 600.0),
        "charge": Parameter("fraction", 0.85),
        "accepts": Parameter("current", 0.0),
    },
    _pins,
    _elements,
    _ways,
    probing="open",
)
