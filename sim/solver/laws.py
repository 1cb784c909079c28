"""The curved laws: lamp, diode, motor and limiter, as current and slope at a voltage.

Lamp: ``I = V / (c + k |V|^beta)`` (see `sim.parts.lamp`). Diode: ``I = Is (exp(V / (n Vt)) - 1) +
V Gmin``, Shockley's equation with the shunt of 1 pS that circuit simulators add.

Motor of conductance g = 1/R: stalled, ``I = g V``, until it takes the current i0 that starts it;
turning, it carries its load, ``I = i0 + b E + q E^2``, with the back-EMF ``E = V - R I`` (OpenStax
College Physics 2e, back EMF: I = (V - E) / R). b stands for viscous friction, q for a fan, both
over the motor's constant. Backwards the same. Limiter: ``I = g V`` kept from -low to high, plus
r V.

Every current rises with its voltage, so that a network of such laws has one operating point. Each
function takes numbers or arrays and gives the same bits for either, compiled or not.
"""

from __future__ import annotations

import numpy as np

from sim.compiled import Number, choose, compilable
from sim.solver.elementary import exp, log, power

GMIN = 1e-12  # S; also the least slope a law is straightened with
LINEAR, LAMP, DIODE, CONTACT, FUSE, COIL, MOTOR, LIMITER = 0, 1, 2, 3, 4, 5, 6, 7
SOLVED, NOT_CONVERGED, OSCILLATING = 0, 1, 2  # status of a lane
WORKING = -1  # while it has not settled
ROOT_2 = 1.4142135623730951
MOST_EXPONENT = 200.0


@compilable
def lamp_current(volts: Number, cold: Number, k: Number, beta: Number) -> Number:
    """Return (I in A, dI/dV in S) of a filament."""
    return grown_lamp_current(volts, cold, k, beta, power(volts, beta))


@compilable
def grown_lamp_current(
    volts: Number, cold: Number, k: Number, beta: Number, grown: Number
) -> Number:
    """Return (I in A, dI/dV in S) of a filament of which |V|^beta is known."""
    bend = k * grown
    resistance = cold + bend
    return volts / resistance, (cold + (1.0 - beta) * bend) / (resistance * resistance)


@compilable
def diode_current(volts: Number, saturation: Number, slope: Number) -> Number:
    """Return (I in A, dI/dV in S) of a diode, anode at the first end."""
    return grown_diode_current(volts, saturation, slope, diode_growth(volts, slope))


@compilable
def diode_growth(volts: Number, slope: Number) -> Number:
    """Return exp(V / (n Vt)), within what a double holds."""
    return exp(np.minimum(volts / slope, MOST_EXPONENT))


@compilable
def grown_diode_current(volts: Number, saturation: Number, slope: Number, grown: Number) -> Number:
    """Return (I in A, dI/dV in S) of a diode of which exp(V / (n Vt)) is known."""
    return saturation * (grown - 1.0) + GMIN * volts, saturation * grown / slope + GMIN


@compilable
def diode_critical(saturation: Number, slope: Number) -> Number:
    """Return the voltage at which a diode's characteristic bends most."""
    return slope * log(slope / (ROOT_2 * saturation))


@compilable
def limited_diode_step(new: Number, old: Number, critical: Number, slope: Number) -> Number:
    """Limit a diode's voltage step through its current (pn limiting: Nagel, SPICE2, 1975).

    From below it goes to the bend of its characteristic first (ours; it saves some steps).
    """
    free = (new <= critical) | (np.abs(new - old) <= 2.0 * slope)
    grown = 1.0 + (new - old) / slope
    risen = choose(grown > 0.0, old + slope * log(grown), critical)
    return choose(free, new, choose(old < critical, critical, risen))


@compilable
def motor_current(volts: Number, g: Number, start: Number, b: Number, q: Number) -> Number:
    """Return (I in A, dI/dV in S) of a motor that carries its load."""
    beyond = np.abs(volts) - start / g
    turning = np.maximum(beyond, 0.0)
    viscous, fan = b / g, 4.0 * q / g * turning
    excess = viscous * (2.0 + viscous) + fan
    root = np.sqrt(1.0 + excess)
    back = 2.0 * turning / (1.0 + viscous + root)
    amps = np.copysign(start + (b + q * back) * back, volts)
    stalled = beyond <= 0.0
    slope = choose(stalled, g, g * excess / (root * (root + 1.0)))
    return choose(stalled, g * volts, amps), slope


@compilable
def limiter_current(volts: Number, g: Number, low: Number, high: Number, beyond: Number) -> Number:
    """Return (I in A, dI/dV in S) of a resistor that carries no more than its limits."""
    amps = g * volts
    held = np.minimum(np.maximum(amps, -low), high)
    return held + beyond * volts, choose(held == amps, g + beyond, beyond)


@compilable
def limited_bend_step(new: Number, old: Number, low: Number, high: Number) -> Number:
    """Stop a step that would jump across the middle, from -low to high, of a law with two bends.

    From outside it goes to the near edge of the middle first: Newton's steps on such a law would
    otherwise swing from one side to the other for ever.
    """
    from_above = (old > high) & (new < high)
    from_below = (old < -low) & (new > -low)
    return choose(from_above, high, choose(from_below, -low, new))
