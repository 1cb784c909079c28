"""A stage of a step: branches with a memory, Newton's method on the curved ones.

See `sim.solver.advance` for the equations. Arrays of a lane, by row:

- `real` (8, B): sign, conductance in the stage, EMF, V per A of a motor's inertia or K per W of a
  lamp's heat, current, slope and point (V beyond the EMF) of the curved, back-EMF or temperature;
- `live` (2, B): 1 for a branch that can carry a current; 1 for a lamp taken as its chord;
- `memory` (8, B, 2): current of a series branch or motor, or voltage of a capacitance, and
  back-EMF of a motor or temperature of a lamp. First what they would be at the end of the stage
  without a rate there, then at the beginning, the middle and the end of the step; their rates at
  these; their peaks;
- `own` (B, 13): the rows of the branches' elements.
"""

from __future__ import annotations

import math

from sim.compiled import inlined
from sim.network import Floats, Ints
from sim.solver.advance import LAMP, MOTOR, eliminate, evaluate, go_back, limited, put_moving
from sim.solver.waveplan import BENT, BESIDE, CORE, EDGE, END, KIND, LAW, MOVING, SERIES

TOWARDS, SIEMENS, VOLTS, PER_LOAD, AMPS, SLOPE, POINT, BACK = 0, 1, 2, 3, 4, 5, 6, 7  # in `real`
ON, CHORD = 0, 1  # in `live`
PAST, STATE, RATE, PEAK = 0, 1, 4, 7  # in `memory`
EMF, INDUCTANCE, CAPACITANCE, WAVE, AMPLITUDE, FREQUENCY, PHASE = 1, 7, 8, 9, 10, 11, 12
SINE, SWITCHED = 1, 2
TURN = 2.0 * math.pi
D = 1.0 - math.sqrt(0.5)  # of a step, the implicit part of each stage
TRAPEZOID, DIFFERENCE, FIRST, SECOND = 0, 1, 2, 3  # stages of TR-BDF2, of Alexander's method
MAX_NEWTON = 60
MISSED_AMPS = 1e-5  # A per (1 mA + |I|) by which a law may be missed
MISSED_VOLTS = 1e-6  # V per (1 V + |V|), the same
CHORD_STEP = 0.3  # relative step above which a lamp is taken as its chord


@inlined
def set_conductances(branches: Ints, live: Ints, own: Floats, real: Floats, dh: float) -> None:
    """Set what depends on the length of a stage alone."""
    for b in range(branches.shape[1]):
        siemens, real[PER_LOAD, b] = own[b, 0], 0.0
        if live[ON, b] == 0:
            siemens = 0.0
        elif branches[KIND, b] == BESIDE:
            siemens = own[b, CAPACITANCE] / dh
        elif branches[KIND, b] == SERIES or branches[LAW, b] == MOTOR:
            siemens = 1.0 / (1.0 / own[b, 0] + own[b, INDUCTANCE] / dh)
        if branches[LAW, b] in (LAMP, MOTOR) and own[b, CAPACITANCE] > 0.0:
            real[PER_LOAD, b] = dh / own[b, CAPACITANCE]
        real[SIEMENS, b] = siemens


@inlined
def set_past(kind: int, memory: Floats, dh: float) -> None:
    """Set what each memory would be at the end of the stage if it had no rate there."""
    middle, begin, rate = 0.0, 1.0, 0.0
    if kind == TRAPEZOID:
        rate = dh
    elif kind == DIFFERENCE:
        middle = 1.0 / (4.0 * D * (1.0 - D))
        begin = 1.0 - middle
    elif kind == SECOND:
        middle = (1.0 - D) / D
        begin = 1.0 - middle
    for b in range(memory.shape[1]):
        for i in range(2):
            memory[PAST, b, i] = (
                middle * memory[STATE + 1, b, i]
                + begin * memory[STATE, b, i]
                + rate * memory[RATE, b, i]
            )


@inlined
def set_sources(
    branches: Ints, own: Floats, memory: Floats, real: Floats, time: float, dh: float
) -> None:
    """Set the EMF of each branch at the end of the stage."""
    for b in range(branches.shape[1]):
        if branches[KIND, b] == BESIDE:
            real[VOLTS, b] = memory[PAST, b, 0]
            continue
        volts = own[b, EMF]
        if own[b, WAVE] == SINE:
            volts += own[b, AMPLITUDE] * math.sin(TURN * (own[b, FREQUENCY] * time + own[b, PHASE]))
        if branches[KIND, b] == SERIES or branches[LAW, b] == MOTOR:
            volts -= own[b, INDUCTANCE] / dh * memory[PAST, b, 0]
        real[VOLTS, b] = volts


@inlined
def begin_curved(
    bent: int, branches: Ints, live: Ints, own: Floats, memory: Floats, real: Floats
) -> None:
    """Evaluate each curved branch where Newton's method begins."""
    for b in range(bent, branches.shape[1]):
        live[CHORD, b] = 0
        if live[ON, b] == 0:
            real[AMPS, b] = 0.0
            real[BACK, b] = memory[STATE, b, 1]
            continue
        real[AMPS, b], real[SLOPE, b], real[BACK, b] = evaluate(
            branches[LAW, b],
            real[POINT, b],
            real[SIEMENS, b],
            own[b, 2],
            own[b, 3],
            own[b, 4],
            real[PER_LOAD, b],
            memory[PAST, b, 1],
            real[BACK, b],
        )


@inlined
def put_core(
    first: int,
    bent: int,
    branches: Ints,
    live: Ints,
    own: Floats,
    real: Floats,
    g: Floats,
    j: Floats,
    core_g: Floats,
    core_j: Floats,
) -> None:
    """Copy the core's edges and add each curved branch, straightened about its point."""
    for edge in range(first, len(g)):
        core_g[edge] = g[edge]
        core_j[edge] = j[edge]
    for b in range(bent, branches.shape[1]):
        if live[ON, b] == 0:
            continue
        point = real[POINT, b]
        if live[CHORD, b] == 1:
            real[SLOPE, b] = 1.0 / (own[b, 2] + own[b, 3] * abs(point) ** own[b, 4])
            real[AMPS, b] = real[SLOPE, b] * point
        slope = real[SLOPE, b]
        edge = branches[EDGE, b]
        core_g[edge] += slope
        core_j[edge] += real[TOWARDS, b] * (slope * (real[VOLTS, b] + point) - real[AMPS, b])


@inlined
def settle(
    bent: int,
    branches: Ints,
    live: Ints,
    own: Floats,
    memory: Floats,
    real: Floats,
    d: Floats,
) -> bool:
    """Move the curved branches to the straightened solution; True if all obey their laws there.

    Current and slope belong to the point, before and after.
    """
    lawful = True
    for b in range(bent, branches.shape[1]):
        if live[ON, b] == 0:
            continue
        law, old, g, k = branches[LAW, b], real[POINT, b], real[SIEMENS, b], real[PER_LOAD, b]
        one, two, three, past = own[b, 2], own[b, 3], own[b, 4], memory[PAST, b, 1]
        new = real[TOWARDS, b] * d[branches[EDGE, b]] - real[VOLTS, b]
        flowing = real[AMPS, b] + real[SLOPE, b] * (new - old)
        amps, slope, back = evaluate(law, new, g, one, two, three, k, past, real[BACK, b])
        missing = abs(flowing - amps)
        live[CHORD, b] = 0
        if not (
            missing <= MISSED_AMPS * (1e-3 + abs(amps))
            and missing <= MISSED_VOLTS * slope * (1.0 + abs(new))
        ):
            lawful = False
            if law == LAMP and k == 0.0 and abs(new - old) > CHORD_STEP * abs(new):
                live[CHORD, b] = 1
            elif k == 0.0:
                near = limited(law, g, one, two, new, old)
                if near != new:
                    new = near
                    amps, slope, back = evaluate(law, new, g, one, two, three, k, past, 0.0)
        real[POINT, b], real[AMPS, b], real[SLOPE, b], real[BACK, b] = new, amps, slope, back
    return lawful


@inlined
def read_states(
    into: int, bent: int, branches: Ints, live: Ints, memory: Floats, real: Floats, d: Floats
) -> None:
    """Write the states at the end of the stage to the middle (1) or end (2) of the step."""
    for b in range(branches.shape[1]):
        if b >= bent:
            memory[STATE + into, b, 0] = real[AMPS, b]
            memory[STATE + into, b, 1] = real[BACK, b]
            continue
        volts = real[TOWARDS, b] * d[branches[EDGE, b]]
        amps = real[SIEMENS, b] * (volts - real[VOLTS, b])
        real[AMPS, b] = amps
        if branches[KIND, b] == SERIES:
            memory[STATE + into, b, 0] = amps
        else:
            memory[STATE + into, b, 0] = volts if live[ON, b] == 1 else memory[STATE, b, 0]


@inlined
def read_rates(into: int, live: Ints, memory: Floats, dh: float) -> None:
    """Write the rates at the end of the stage; what cannot move has none."""
    for b in range(memory.shape[1]):
        for i in range(2):
            change = memory[STATE + into, b, i] - memory[PAST, b, i]
            memory[RATE + into, b, i] = change / dh if live[ON, b] == 1 else 0.0


@inlined
def stage(
    start: Ints,
    pair_start: Ints,
    pair_edge: Ints,
    bounds: Ints,
    branches: Ints,
    live: Ints,
    own: Floats,
    memory: Floats,
    real: Floats,
    edges: Floats,
    share: Floats,
    kind: int,
    time: float,
    dh: float,
    fresh: bool,  # noqa: FBT001 -- compiled code takes what it is given
) -> bool:
    """Go through one stage, which ends at `time`; False if no solution is found.

    Parameters
    ----------
    edges : float array (7, edges)
        g and j without the still nodes, without the moving ones either, without any; drops.
    dh : float
        D times the step.
    fresh : bool
        Whether conductances differ from the last stage's.
    """
    kept_g, kept_j, g, j = edges[0], edges[1], edges[2], edges[3]
    core_g, core_j, d = edges[4], edges[5], edges[6]
    moving, core, end, bent = bounds[MOVING], bounds[CORE], bounds[END], bounds[BENT]
    renewed = fresh and kind % 2 == 0  # the first of either pair
    if renewed:
        set_conductances(branches, live, own, real, dh)
    set_past(kind, memory, dh)
    set_sources(branches, own, memory, real, time, dh)
    put_moving(
        moving,
        core,
        bent,
        start,
        pair_start,
        pair_edge,
        branches,
        real,
        kept_g,
        kept_j,
        g,
        j,
        share,
        renewed,
    )
    begin_curved(bent, branches, live, own, memory, real)
    made = 0
    solved = False
    while made < MAX_NEWTON and not solved:
        put_core(start[core], bent, branches, live, own, real, g, j, core_g, core_j)
        eliminate(core, end, start, pair_start, pair_edge, core_g, core_j, share)
        go_back(core, end, start, pair_start, pair_edge, core_g, core_j, share, d)
        solved = settle(bent, branches, live, own, memory, real, d)
        made += 1
    go_back(moving, core, start, pair_start, pair_edge, g, j, share, d)
    into = 1 + kind % 2
    read_states(into, bent, branches, live, memory, real, d)
    read_rates(into, live, memory, dh)
    return solved
