"""The curved laws: filament lamp and diode, as current and slope at a voltage.

Lamp: ``I = V / (c + k |V|^beta)`` (see `sim.parts.lamp`). Diode: ``I = Is (exp(V / (n Vt)) - 1) +
V Gmin``, Shockley's equation with the shunt of 1 pS that circuit simulators add.
"""

from __future__ import annotations

import math

from sim.compiled import compiled

GMIN = 1e-12  # S


@compiled
def lamp_current(volts: float, cold: float, k: float, beta: float) -> tuple[float, float]:
    """Return (I in A, dI/dV in S) of a filament."""
    bend = k * abs(volts) ** beta
    resistance = cold + bend
    return volts / resistance, (cold + (1.0 - beta) * bend) / (resistance * resistance)


@compiled
def diode_current(volts: float, saturation: float, slope: float) -> tuple[float, float]:
    """Return (I in A, dI/dV in S) of a diode, anode at the first end."""
    grown = math.exp(min(volts / slope, 200.0))
    current = saturation * (grown - 1.0) + GMIN * volts
    return current, saturation * grown / slope + GMIN


@compiled
def limited_diode_step(new: float, old: float, saturation: float, slope: float) -> float:
    """Limit a diode's voltage step through its current (pn limiting: Nagel, SPICE2, 1975)."""
    critical = slope * math.log(slope / (math.sqrt(2.0) * saturation))
    if new <= critical or abs(new - old) <= 2.0 * slope:
        return new
    if old <= 0.0:
        return slope * math.log(new / slope)
    grown = 1.0 + (new - old) / slope
    if grown > 0.0:
        return old + slope * math.log(grown)
    return critical
