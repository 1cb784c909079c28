"""The curved laws: lamp, diode, motor and limiter, as current and slope at a voltage.

Lamp: ``I = V / (c + k |V|^beta)`` (see `sim.parts.lamp`). Diode: ``I = Is (exp(V / (n Vt)) - 1) +
V Gmin``, Shockley's equation with the shunt of 1 pS that circuit simulators add.

Motor of conductance g = 1/R: stalled, ``I = g V``, until it takes the current i0 that starts it;
turning, it carries its load, ``I = i0 + b E + q E^2``, with the back-EMF ``E = V - R I`` (OpenStax
College Physics 2e, back EMF: I = (V - E) / R). b stands for viscous friction, q for a fan, both
over the motor's constant. Backwards the same. Limiter: ``I = g V`` kept from -low to high, plus
r V.
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


@compiled
def motor_current(volts: float, g: float, start: float, b: float, q: float) -> tuple[float, float]:
    """Return (I in A, dI/dV in S) of a motor that carries its load."""
    beyond = abs(volts) - start / g
    if beyond <= 0.0:
        return g * volts, g
    linear = 1.0 + b / g
    root = math.sqrt(linear * linear + 4.0 * q / g * beyond)
    back = 2.0 * beyond / (linear + root)
    amps = start + (b + q * back) * back
    return math.copysign(amps, volts), g * (1.0 - 1.0 / root)


@compiled
def limiter_current(
    volts: float, g: float, low: float, high: float, beyond: float
) -> tuple[float, float]:
    """Return (I in A, dI/dV in S) of a resistor that carries no more than its limits."""
    amps = g * volts
    if amps > high:
        return high + beyond * volts, beyond
    if amps < -low:
        return -low + beyond * volts, beyond
    return amps + beyond * volts, g + beyond


@compiled
def limited_bend_step(new: float, old: float, low: float, high: float) -> float:
    """Stop a step that would jump across the middle, from -low to high, of a law with two bends.

    From outside it goes to the near edge of the middle first: Newton's steps on such a law would
    otherwise swing from one side to the other for ever.
    """
    if old > high and new < high:
        return high
    if old < -low and new > -low:
        return -low
    return new
