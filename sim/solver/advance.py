"""One stage of a time step: elimination, branches with a memory, Newton on the curved ones.

Time is stepped by TR-BDF2 (Bank, Coughran, Fichtner, Grosse, Rose & Smith, IEEE Trans. Electron
Devices 32(10), 1985; Hosea & Shampine, Appl. Numer. Math. 20, 1996): a trapezoidal stage to ``t +
(2 - sqrt 2) h`` and a second-order backward difference to t + h. After an event, whose slopes from
before mean nothing, one step is Alexander's SDIRK method of two stages (SIAM J. Numer. Anal. 14,
1977). Both are L-stable, of second order, and have the same ``D = 1 - 1 / sqrt 2``: each stage
solves ``y = past + D h y'``, so a step has one matrix.

Series branch (R = 1/g, L): ``v = R i + L di/dt + emf(t)``, a Thevenin source of resistance ``R +
L / (D h)`` and EMF ``emf - L / (D h) past``. Capacitance: conductance ``C / (D h)``, EMF `past`.
Motor of inertia C: in a stage ``e = past + D h / C (i - load(e))``, load ``i0 + b e + q e^2``
against the turning, is a quadratic in e; at rest (e = 0) i0 takes up to its own size, like dry
friction. Lamp of heat capacity C: `sim.solver.filament`.
"""

from __future__ import annotations

import math

from sim.compiled import inlined
from sim.network import Floats, Ints
from sim.solver.filament import warming_lamp
from sim.solver.laws import (
    diode_critical,
    diode_current,
    lamp_current,
    limited_bend_step,
    limited_diode_step,
    limiter_current,
    motor_current,
)
from sim.solver.waveplan import EDGE

LAMP, DIODE, MOTOR = 1, 2, 6


@inlined
def eliminate(
    first: int,
    last: int,
    start: Ints,
    pair_start: Ints,
    pair_edge: Ints,
    g: Floats,
    j: Floats,
    share: Floats,
) -> None:
    """Eliminate nodes first to last-1; `share` keeps 1 / S of each."""
    for k in range(first, last):
        begin, end, pair = start[k], start[k + 1], pair_start[k]
        total = 0.0
        for one in range(begin, end):
            total += g[one]
        inverse = 1.0 / total
        share[k] = inverse
        for one in range(begin, end - 1):
            gi, ji = g[one] * inverse, j[one] * inverse
            for two in range(one + 1, end):
                at = pair_edge[pair]
                pair += 1
                g[at] += gi * g[two]
                j[at] += ji * g[two] - gi * j[two]


@inlined
def eliminate_sources(
    first: int,
    last: int,
    start: Ints,
    pair_start: Ints,
    pair_edge: Ints,
    g: Floats,
    j: Floats,
    share: Floats,
) -> None:
    """Do the same for j alone, where g and `share` are those of last time."""
    for k in range(first, last):
        begin, end, pair = start[k], start[k + 1], pair_start[k]
        inverse = share[k]
        for one in range(begin, end - 1):
            gi, ji = g[one] * inverse, j[one] * inverse
            for two in range(one + 1, end):
                j[pair_edge[pair]] += ji * g[two] - gi * j[two]
                pair += 1


@inlined
def go_back(
    first: int,
    last: int,
    start: Ints,
    pair_start: Ints,
    pair_edge: Ints,
    g: Floats,
    j: Floats,
    share: Floats,
    d: Floats,
) -> None:
    """Fill in the drops across the edges of nodes last-1 down to first."""
    for k in range(last - 1, first - 1, -1):
        begin, end, pair = start[k], start[k + 1], pair_start[k]
        source = 0.0
        for one in range(begin, end):
            source += j[one]
            d[one] = 0.0
        for one in range(begin, end - 1):
            for two in range(one + 1, end):
                between = d[pair_edge[pair]]
                pair += 1
                d[one] += g[two] * between
                d[two] -= g[one] * between
        for one in range(begin, end):
            d[one] = (d[one] + source) * share[k]


@inlined
def moving_motor(
    volts: float, g: float, per_amp: float, past: float, start: float, b: float, q: float
) -> tuple[float, float, float]:
    """Return (I in A, dI/dV in S, back-EMF in V) at the end of a stage.

    Parameters
    ----------
    volts : float
        Across resistance and back-EMF.
    g : float
        Conductance of the windings, S.
    per_amp : float
        ``D h / C``, V per A of current beyond the load.
    past : float
        Back-EMF that it would have without current and load.
    start, b, q : float
        Load i0 + b e + q e^2.
    """
    stalled = g * volts
    driven = past + per_amp * stalled
    beyond = abs(driven) - per_amp * start
    if beyond <= 0.0:
        return stalled, g, 0.0
    linear = 1.0 + per_amp * (b + g)
    root = math.sqrt(linear * linear + 4.0 * q * per_amp * beyond)
    back = math.copysign(2.0 * beyond / (linear + root), driven)
    return g * (volts - back), g * (1.0 - per_amp * g / root), back


@inlined
def evaluate(
    law: int,
    volts: float,
    g: float,
    one: float,
    two: float,
    three: float,
    k: float,
    past: float,
    guess: float,
) -> tuple[float, float, float]:
    """Return (I in A, dI/dV in S, memory) of a curved branch.

    `one` to `three` are the constants of its law. The memory is a motor's back-EMF in V or a lamp's
    temperature in K: k is V per A of the motor's inertia in this stage, or K per W of the lamp's
    heat capacity (0: none), `past` the memory without current and load, `guess` about what it is.
    """
    if law == LAMP and k > 0.0:
        return warming_lamp(volts, one, two, three, k, past, guess)
    if law == LAMP:
        amps, slope = lamp_current(volts, one, two, three)
    elif law == DIODE:
        amps, slope = diode_current(volts, one, two)
    elif law == MOTOR and k > 0.0:
        return moving_motor(volts, g, k, past, one, two, three)
    elif law == MOTOR:
        amps, slope = motor_current(volts, g, one, two, three)
    else:
        amps, slope = limiter_current(volts, g, one, two, three)
    return amps, slope, 0.0


@inlined
def limited(law: int, g: float, one: float, two: float, new: float, old: float) -> float:
    """Return the point to go to where going all the way would be too far."""
    if law == DIODE:
        return float(limited_diode_step(new, old, diode_critical(one, two), two))
    if law == LAMP:
        return new
    if law == MOTOR:
        return float(limited_bend_step(new, old, one / g, one / g))
    return float(limited_bend_step(new, old, one / g, two / g))


@inlined
def put_moving(
    moving: int,
    core: int,
    bent: int,
    start: Ints,
    pair_start: Ints,
    pair_edge: Ints,
    branches: Ints,
    real: Floats,
    kept_g: Floats,
    kept_j: Floats,
    g: Floats,
    j: Floats,
    share: Floats,
    renewed: bool,  # noqa: FBT001 -- compiled code takes what it is given
) -> None:
    """Put the branches in series and beside onto the still network; eliminate down to the core.

    Parameters
    ----------
    branches, real : arrays
        As in `sim.solver.stage`.
    renewed : bool
        Whether conductances differ from last time's.
    """
    first, end = start[moving], len(j)
    for edge in range(first, end):
        j[edge] = kept_j[edge]
    for b in range(bent):
        j[branches[EDGE, b]] += real[0, b] * real[1, b] * real[2, b]
    if renewed:
        for edge in range(first, end):
            g[edge] = kept_g[edge]
        for b in range(bent):
            g[branches[EDGE, b]] += real[1, b]
        eliminate(moving, core, start, pair_start, pair_edge, g, j, share)
    else:
        eliminate_sources(moving, core, start, pair_start, pair_edge, g, j, share)
