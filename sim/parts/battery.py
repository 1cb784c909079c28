"""Lead-acid battery: open-circuit voltage by charge, internal resistance by cold-cranking rating.

Open-circuit voltage: linear between the points of the Battery Council International table (charge
0 to 100 %: 11.89, 12.06, 12.24, 12.45, 12.65 V at 26.7 degC). Internal resistance from SAE J537:
at -18 degC the rated cold-cranking current leaves 7.2 V of a full battery, so R(-18 degC) = (12.65
V - 7.2 V) / I. Warm resistance is taken as half of that at 25 degC and interpolated (common
practice, no source).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from sim.circuit import Part
from sim.parts.family import Element, Family, Parameter, Way, conductance

CHARGE = (0.0, 0.25, 0.5, 0.75, 1.0)
OPEN_CIRCUIT = (11.89, 12.06, 12.24, 12.45, 12.65)  # V
CRANKING_FLOOR = 7.2  # V, SAE J537
COLD = -18.0  # degC, SAE J537
WARM = 25.0  # degC


def open_circuit_voltage(charge: float | npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the rested voltage in V for states of charge from 0 to 1."""
    rested: npt.NDArray[np.float64] = np.interp(np.asarray(charge), CHARGE, OPEN_CIRCUIT)
    return rested


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
    emf = float(open_circuit_voltage(part.number("charge")))
    return (Element(part.name, plus, minus, conductance(resistance), emf),)


def _ways(_part: Part) -> tuple[Way, ...]:
    return (Way("high resistance", None, (0.08,), 1.0),)


FAMILY = Family(
    "battery",
    {
        "capacity": Parameter("charge", 70 * 3600.0),
        "cold cranking": Parameter("current", 600.0),
        "charge": Parameter("fraction", 0.85),
    },
    _pins,
    _elements,
    _ways,
    probing="open",
)
