"""Lead-acid battery: open-circuit voltage by charge, internal resistance by cold-cranking rating.

Open-circuit voltage, rested: linear between the points of the Battery Council International table
(charge 0 to 100 %: 11.89, 12.06, 12.24, 12.45, 12.65 V, flooded, at 26.7 degC), taken at 20 degC,
where it is 8 mV lower (the table's own spread is 50 mV), and 0.2 mV/K for each of six cells (from
memory). An AGM battery lies 0.15 V above a flooded one (common practice, no source).

Internal resistance: a full battery at -18 degC gives its rated cold-cranking current I at the
voltage of its standard (`FLOORS`), so ``R(-18 degC) = (V_full(-18 degC) - floor) / I``. At 25 degC
it is half of that (common practice, no source). It grows as the battery is discharged
(`RESISTANCE_SHARE`, ours): an empty one still shows 11.9 V and cannot crank.

Charging: with `accepts` above 0 the battery takes that current at 14.4 V and correspondingly less
below (a straight line from its open-circuit voltage; a battery nearly full takes a few amperes,
one half empty some tens: common practice, no source). With 0 it takes charge through its
internal resistance, as easily as it gives, which holds a charging voltage down far too much.

A dead cell takes its sixth out of the voltage. Charge is counted in coulombs: ``charge - Q / C``;
self-discharge and the loss of capacity at high current are left out.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import overload

import numpy as np
import numpy.typing as npt

from sim.circuit import AMBIENT, Part
from sim.parts.family import (
    Element,
    Family,
    Law,
    Parameter,
    Way,
    conductance,
    passing,
)

Floats = npt.NDArray[np.float64]

CHARGE = (0.0, 0.25, 0.5, 0.75, 1.0)
OPEN_CIRCUIT = (11.89, 12.06, 12.24, 12.45, 12.65)  # V
CELLS = 6
COEFFICIENT = 0.2e-3 * CELLS  # V/K, about AMBIENT
ABOVE_FLOODED = MappingProxyType({"flooded": 0.0, "AGM": 0.15})  # V
#: Voltage that the rated current leaves at -18 degC: SAE J537 after 30 s, EN 50342-1 after 10 s,
#: DIN 43539 part 2 after 30 s, IEC 60095-1 after 60 s.
FLOORS = MappingProxyType({"SAE": 7.2, "EN": 7.5, "DIN": 9.0, "IEC": 8.4})
COLD = -18.0  # degC
WARM = 25.0  # degC
WARM_SHARE = 0.5  # of the cold resistance; common practice, no source
AMBIENT_SHARE = 1 - 0.5 * (AMBIENT - COLD) / (WARM - COLD)  # of (V_full(20 degC) - floor) / I
DISCHARGED = (0.0, 0.1, 0.2, 0.5, 0.7, 1.0)  # charge; ours, as is the next line
RESISTANCE_SHARE = (10.0, 4.0, 2.0, 1.2, 1.0, 1.0)
DEEP_DISCHARGE = 10.5  # V, below it a battery is damaged (US Army TM 9-6140-200-14, para 2-4)
CHARGING = 14.4  # V at which `accepts` is stated; ours
UNLIMITED = 1e5  # A, more than any battery gives
RESERVE_CURRENT = 25.0  # A, SAE J537 (from memory)


@overload
def open_circuit_voltage(charge: float, temperature: float = ..., kind: str = ...) -> float: ...
@overload
def open_circuit_voltage(charge: Floats, temperature: float = ..., kind: str = ...) -> Floats: ...
def open_circuit_voltage(
    charge: float | Floats, temperature: float = AMBIENT, kind: str = "flooded"
) -> float | Floats:
    """Return the rested voltage in V for a state of charge from 0 to 1.

    Parameters
    ----------
    charge : float or array
    temperature : float
        degC.
    kind : str
        A key of `ABOVE_FLOODED`.
    """
    shift = ABOVE_FLOODED[kind] + COEFFICIENT * (temperature - AMBIENT)
    volts = np.interp(charge, CHARGE, OPEN_CIRCUIT) + shift
    return volts if isinstance(charge, np.ndarray) else float(volts)


@overload
def charge_after(charge: float, capacity: float, coulombs: float) -> float: ...
@overload
def charge_after(
    charge: float | Floats, capacity: float, coulombs: float | Floats
) -> float | Floats: ...
def charge_after(
    charge: float | Floats, capacity: float, coulombs: float | Floats
) -> float | Floats:
    """Return the state of charge, from 0 to 1, after coulombs have been drawn (negative: put in).

    Parameters
    ----------
    charge : float or array
    capacity : float
        C.
    coulombs : float or array
        Current out of the positive terminal times time.
    """
    left = np.clip(np.subtract(charge, np.divide(coulombs, capacity)), 0.0, 1.0)
    arrays = isinstance(charge, np.ndarray) or isinstance(coulombs, np.ndarray)
    return left if arrays else float(left)


def internal_resistance(
    cold_cranking: float,
    temperature: float,
    charge: float = 1.0,
    kind: str = "flooded",
    standard: str = "SAE",
) -> float:
    """Return the internal resistance in ohm for a rating in A at a temperature in degC.

    Linear between -18, 20 and 25 degC, constant outside.
    """
    floor = FLOORS[standard]
    cold = (open_circuit_voltage(1.0, COLD, kind) - floor) / cold_cranking
    ambient = AMBIENT_SHARE * (open_circuit_voltage(1.0, AMBIENT, kind) - floor) / cold_cranking
    full = np.interp(temperature, (COLD, AMBIENT, WARM), (cold, ambient, WARM_SHARE * cold))
    return float(full * np.interp(charge, DISCHARGED, RESISTANCE_SHARE))


def reserve_charge(minutes: float) -> float:
    """Return the charge in C that a reserve capacity in minutes stands for, at 25 A to 10.5 V."""
    return RESERVE_CURRENT * 60.0 * minutes


def _pins(_part: Part) -> tuple[str, ...]:
    return ("+", "-")


def _text(part: Part, key: str, default: str) -> str:
    return str(part.values.get(key, default))


def _elements(part: Part, temperature: float) -> tuple[Element, ...]:
    found = part.severity("discharged")
    charge = part.number("charge") if found is None else found
    kind, standard = _text(part, "type", "flooded"), _text(part, "standard", "SAE")
    rating = part.number("cold cranking")
    resistance = internal_resistance(rating, temperature, charge, kind, standard)
    for way in ("high resistance", "sulphated"):
        resistance += part.severity(way) or 0.0
    emf = open_circuit_voltage(charge, temperature, kind)
    if part.has("cell dead"):
        emf *= (CELLS - 1) / CELLS
    return (_cells(part, emf, resistance),)


def _cells(part: Part, emf: float, resistance: float) -> Element:
    """Return the battery as one element between its terminals; EMF in V, resistance in ohm."""
    giving, law, bends = conductance(resistance), Law.LINEAR, (0.0, 0.0, 0.0)
    accepts = part.number("accepts")
    if accepts > 0.0:
        taking = conductance((CHARGING - emf) / accepts + resistance)
        giving, law = giving - taking, Law.LIMITER  # giving, both slopes together make 1 / R
        bends = (UNLIMITED, 0.0, taking)
    now, other, trigger = passing(part, None, giving)
    plus, minus = f"{part.name}.+", f"{part.name}.-"
    return Element(
        part.name, plus, minus, now, emf, law=law, shape=bends, other=other, trigger=trigger
    )


def _ways(_part: Part) -> tuple[Way, ...]:
    loose = "a clamp can be turned by hand"
    return (
        Way("high resistance", None, (0.08,), 1.0),
        Way("sulphated", None, (0.02, 0.05), 0.0),
        Way("cell dead", None, (), 0.0),
        Way("discharged", None, (0.05, 0.3), 0.0, "fraction", most=1.0),
        Way("open on vibration", None, (), 0.0, seen=loose),
    )


FAMILY = Family(
    "battery",
    {
        "capacity": Parameter("charge", 70 * 3600.0),
        "cold cranking": Parameter("current", 600.0),
        "charge": Parameter("fraction", 0.85),
        "accepts": Parameter("current", 0.0),
        "type": Parameter("text", "flooded", tuple(ABOVE_FLOODED)),
        "standard": Parameter("text", "SAE", tuple(FLOORS)),
    },
    _pins,
    _elements,
    _ways,
    probing="open",
)
