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
friction.
"""

from __future__ import annotations

import math

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.laws import (
    diode_current,
    lamp_current,
    limited_bend_step,
    limited_diode_step,
    limiter_current,
    motor_current,
)

LAMP, DIODE, CONTACT, FUSE, MOTOR = 1, 2, 3, 4, 6
SERIES = 0
MAX_NEWTON = 60
AMPS = 1e-5  # A per (1 mA + |I|) by which a law may be missed
VOLTS = 1e-6  # V per (1 V + |V|), the same
CHORD_STEP = 0.3  # relative step above which a lamp is taken as its chord


@compiled
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


@compiled
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


@compiled
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


@compiled
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


@compiled
def evaluate(
    law: int, row: Floats, volts: float, g: float, per_amp: float, past: float
) -> tuple[float, float, float]:
    """Return (I in A, dI/dV in S, back-EMF in V) of a curved branch; per_amp 0: no inertia."""
    if law == LAMP:
        amps, slope = lamp_current(volts, row[2], row[3], row[4])
    elif law == DIODE:
        amps, slope = diode_current(volts, row[2], row[3])
    elif law == MOTOR and per_amp > 0.0:
        return moving_motor(volts, g, per_amp, past, row[2], row[3], row[4])
    elif law == MOTOR:
        amps, slope = motor_current(volts, g, row[2], row[3], row[4])
    else:
        amps, slope = limiter_current(volts, g, row[2], row[3], row[4])
    return amps, slope, 0.0


@compiled
def limited(law: int, row: Floats, g: float, new: float, old: float) -> float:
    """Return the point to go to where going all the way would be too far."""
    if law == DIODE:
        return limited_diode_step(new, old, row[2], row[3])
    if law == LAMP:
        return new
    if law == MOTOR:
        return limited_bend_step(new, old, row[2] / g, row[2] / g)
    return limited_bend_step(new, old, row[2] / g, row[3] / g)


@compiled
def put_moving(
    moving: int,
    core: int,
    start: Ints,
    pair_start: Ints,
    pair_edge: Ints,
    kept_g: Floats,
    kept_j: Floats,
    g: Floats,
    j: Floats,
    share: Floats,
    branch_edge: Ints,
    branch_sign: Ints,
    curved: int,
    siemens: Floats,
    emf: Floats,
    fresh: bool,  # noqa: FBT001 -- compiled code takes what it is given
) -> None:
    """Put the branches in series or beside onto the still network, and eliminate down to the core.

    `fresh` tells that conductances changed since last time.
    """
    first, end = start[moving], len(j)
    for edge in range(first, end):
        j[edge] = kept_j[edge]
    for b in range(curved):
        j[branch_edge[b]] += branch_sign[b] * siemens[b] * emf[b]
    if fresh:
        for edge in range(first, end):
            g[edge] = kept_g[edge]
        for b in range(curved):
            g[branch_edge[b]] += siemens[b]
        eliminate(moving, core, start, pair_start, pair_edge, g, j, share)
    else:
        eliminate_sources(moving, core, start, pair_start, pair_edge, g, j, share)


@compiled
def put_core(
    first: int,
    g: Floats,
    j: Floats,
    work_g: Floats,
    work_j: Floats,
    element: Ints,
    branch_edge: Ints,
    branch_sign: Ints,
    curved: int,
    on: Ints,
    row: Floats,
    emf: Floats,
    point: Floats,
    amps: Floats,
    slope: Floats,
    chord: Ints,
) -> None:
    """Copy the core's edges and add each curved branch, straightened about its point."""
    for edge in range(first, len(g)):
        work_g[edge] = g[edge]
        work_j[edge] = j[edge]
    for b in range(curved, len(element)):
        if on[b] == 0:
            continue
        if chord[b] == 1:
            n, volts = element[b], point[b]
            slope[b] = 1.0 / (row[n, 2] + row[n, 3] * abs(volts) ** row[n, 4])
            amps[b] = slope[b] * volts
        work_g[branch_edge[b]] += slope[b]
        work_j[branch_edge[b]] += branch_sign[b] * (slope[b] * (emf[b] + point[b]) - amps[b])


@compiled
def settle(
    element: Ints,
    branch_edge: Ints,
    branch_sign: Ints,
    curved: int,
    on: Ints,
    laws: Ints,
    row: Floats,
    siemens: Floats,
    emf: Floats,
    per_amp: Floats,
    past: Floats,
    point: Floats,
    amps: Floats,
    slope: Floats,
    back: Floats,
    chord: Ints,
    d: Floats,
) -> bool:
    """Move the curved branches to the straightened solution; True if all obey their laws there.

    `amps` and `slope` belong to `point`, before and after.
    """
    lawful = True
    for b in range(curved, len(element)):
        if on[b] == 0:
            continue
        n, old = element[b], point[b]
        law, g, k = laws[n], siemens[b], per_amp[b]
        new = branch_sign[b] * d[branch_edge[b]] - emf[b]
        flowing = amps[b] + slope[b] * (new - old)
        current, rise, turning = evaluate(law, row[n], new, g, k, past[b, 1])
        missing = abs(flowing - current)
        chord[b] = 0
        if not (
            missing <= AMPS * (1e-3 + abs(current)) and missing <= VOLTS * rise * (1.0 + abs(new))
        ):
            lawful = False
            if law == LAMP:
                chord[b] = 1 if abs(new - old) > CHORD_STEP * abs(new) else 0
            elif k == 0.0:
                near = limited(law, row[n], g, new, old)
                if near != new:
                    new = near
                    current, rise, turning = evaluate(law, row[n], new, g, k, past[b, 1])
        point[b], amps[b], slope[b], back[b] = new, current, rise, turning
    return lawful
