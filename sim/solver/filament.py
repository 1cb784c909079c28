"""Filaments that warm up and cool: what a lamp takes before it is as hot as its voltage makes it.

A filament's resistance is that of tungsten, which goes about as the power 1.2 of its temperature
(CRC Handbook of Chemistry and Physics, from memory: at 1000, 2000 and 3000 K 4.40, 10.03 and 16.29
times that at 300 K): ``R = R_cold (T / 293 K)^1.2``. It takes ``V^2 / R`` and gives off what would
hold it at T in a steady state, ``P(T) = w^2 / R``, w being the voltage at which the steady law of
`sim.solver.laws` has that R: ``w = ((R - R_cold) / k)^(1 / beta)``. With the heat capacity C in
J/K,

    C dT/dt = V^2 / R - P(T)

comes to rest on the steady law, whatever C is. Hot, P grows as T^4.1, as light and heat do (Stefan
and Boltzmann's T^4, more or less emissivity). Nearly cold it gives off less than a real one, whose
gas and supports cool it: within a curve its last hundreds of kelvin take too long (ours).

In a stage of `sim.solver.advance` ``T = past + D h / C (V^2 / R - P(T))``. The hotter, the less it
takes and the more it gives off, so that one T solves this, between room temperature or `past`,
whichever is lower, and where the whole ``V^2 / R_cold`` would get it.
"""

from __future__ import annotations

from sim.compiled import Number, compilable, compiled
from sim.solver.elementary import power

ROOM = 293.15  # K at which filaments have their cold resistance
GROWTH = 1.2  # exponent of T in tungsten's resistance
MOST_TRIES = 60
CLOSE = 1e-6  # of T, the last of Newton's steps; what is left is about the square of it
LEAST_SLOPE = 0.05  # of 1 / R; a step far too long could find less, and is made again


@compilable
def steady_kelvin(volts: Number, cold: Number, k: Number, beta: Number) -> Number:
    """Return the temperature in K of a filament that has long been at a voltage."""
    return ROOM * power(1.0 + k * power(volts, beta) / cold, 1.0 / GROWTH)


@compiled
def given_off(ohms: float, cold: float, k: float, beta: float) -> tuple[float, float]:
    """Return what a filament gives off in W, and by what exponent that grows with R."""
    bend = ohms - cold
    if bend <= 0.0:
        return 0.0, 0.0
    held = power(bend / k, 1.0 / beta)
    return held * held / ohms, 2.0 * ohms / (beta * bend) - 1.0


@compiled
def warming_lamp(
    volts: float,
    cold: float,
    k: float,
    beta: float,
    per_watt: float,
    past: float,
    guess: float,
) -> tuple[float, float, float]:
    """Return (I in A, dI/dV in S, T in K) at the end of a stage.

    Parameters
    ----------
    volts : float
        Across the filament.
    cold, k, beta : float
        Its steady law ``R = cold + k |V|^beta`` in ohm.
    per_watt : float
        ``D h / C``, K per W that it takes beyond what it gives off.
    past : float
        Temperature that it would have without either, K.
    guess : float
        Temperature to begin with; any number.
    """
    square = volts * volts
    low, high = min(past, ROOM), max(past, ROOM) + per_watt * square / cold
    kelvin = guess if low <= guess <= high else past
    ohms, won, bend, steep = cold, 0.0, 0.0, 1.0
    for _ in range(MOST_TRIES):
        hot = max(kelvin, ROOM)
        bend = GROWTH / hot if kelvin >= ROOM else 0.0  # of ln R with T
        ohms = cold * power(hot / ROOM, GROWTH)
        won = square / ohms
        lost, exponent = given_off(ohms, cold, k, beta)
        missing = kelvin - past - per_watt * (won - lost)
        if missing > 0.0:
            high = kelvin
        else:
            low = kelvin
        steep = 1.0 + per_watt * bend * (won + exponent * lost)
        new = kelvin - missing / steep
        if not low <= new <= high:
            new = 0.5 * (low + high)
        change = new - kelvin
        kelvin = new
        ohms += ohms * bend * change
        if abs(change) <= CLOSE * kelvin:
            break
    slope = 1.0 - 2.0 * per_watt * bend * won / steep
    return volts / ohms, max(slope, LEAST_SLOPE) / ohms, kelvin
