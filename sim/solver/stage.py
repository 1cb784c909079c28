"""A stage from what came before it to all voltages and currents at its end.

See `sim.solver.stepping` for the equations.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.stepping import (
    CONTACT,
    FUSE,
    MAX_NEWTON,
    MOTOR,
    eliminate,
    evaluate,
    go_back,
    put_core,
    put_moving,
    settle,
)
from sim.solver.waveplan import Plan

SERIES, BESIDE = 0, 1
SINE, SWITCHED = 1, 2
EMF, INDUCTANCE, CAPACITANCE, WAVE, AMPLITUDE, FREQUENCY, PHASE = 1, 7, 8, 9, 10, 11, 12
TURN = 2.0 * math.pi
D = 1.0 - math.sqrt(0.5)  # of a step, the implicit part of each stage
TRAPEZOID, DIFFERENCE, FIRST, SECOND = 0, 1, 2, 3  # stages of TR-BDF2, of Alexander's method
ENDS = (2.0 * D, 1.0, D, 1.0)  # where in the step each stage ends


class Work(NamedTuple):
    """Arrays of one lane.

    Attributes
    ----------
    kept_g, kept_j : float arrays
        Edges after the still nodes are gone; g, j after the moving ones are; `core_g`, `core_j`
        after all are; `d` drops, `share` 1 / S of each node.
    on : int array (B,)
        1 for a branch that can carry a current.
    siemens, emf, per_amp, amps, slope, point : float arrays (B,)
        Of each branch in the present stage; `point` in V beyond the EMF, of curved ones.
    past, state, rate : float arrays (B, 2), (4, B, 2), (4, B, 2)
        Current of a series branch or motor, voltage of a capacitance; back-EMF of a motor. States
        and their rates are those at the beginning, at the end of either stage, and of the motor
        scratch.
    """

    kept_g: Floats
    kept_j: Floats
    g: Floats
    j: Floats
    core_g: Floats
    core_j: Floats
    d: Floats
    share: Floats
    on: Ints
    siemens: Floats
    emf: Floats
    per_amp: Floats
    amps: Floats
    slope: Floats
    point: Floats
    back: Floats
    chord: Ints
    past: Floats
    state: Floats
    rate: Floats


@compiled
def put_still(
    plan: Plan, w: Work, laws: Ints, row: Floats, shut: Ints, lead: float, leak: float, leaky: Ints
) -> None:
    """Fill the edges with leaks, leads and still elements; eliminate down to the moving nodes.

    `leaky` is 1 for every place in the order that leaks to the body.
    """
    g, j = w.kept_g, w.kept_j
    g[:] = 0.0
    j[:] = 0.0
    for k in range(len(leaky)):
        if leaky[k] == 1:
            g[plan.start[k]] += leak
    for edge in plan.lead_edge:
        g[edge] += lead
    for n in plan.still:
        siemens = live(n, laws, row, shut)
        g[plan.edge[n]] += siemens
        j[plan.edge[n]] += plan.sign[n] * siemens * row[n, EMF]
    eliminate(0, plan.moving, plan.start, plan.pair_start, plan.pair_edge, g, j, w.share)


@compiled
def live(number: int, laws: Ints, row: Floats, shut: Ints) -> float:
    """Return the conductance in S of a straight element; `shut` is 1 for a closed contact."""
    if (laws[number] == CONTACT or laws[number] == FUSE) and shut[number] == 0:
        return 0.0
    return float(row[number, 0])


@compiled
def gate(plan: Plan, laws: Ints, row: Floats, shut: Ints, time: float, on: Ints) -> bool:
    """Set which branches can carry a current at a time; True if one changed."""
    changed = False
    for b in range(len(plan.element)):
        n = plan.element[b]
        now = 1 if row[n, 0] > 0.0 else 0
        if plan.kind[b] != BESIDE:
            if live(n, laws, row, shut) == 0.0:
                now = 0
            if row[n, WAVE] == SWITCHED:
                turns = row[n, FREQUENCY] * time + row[n, PHASE]
                if turns - math.floor(turns) >= row[n, AMPLITUDE]:
                    now = 0
        if on[b] != now:
            on[b] = now
            changed = True
    return changed


@compiled
def set_conductances(plan: Plan, w: Work, laws: Ints, row: Floats, dh: float) -> None:
    """Set what depends on the length of a stage alone."""
    for b in range(len(plan.element)):
        n = plan.element[b]
        w.per_amp[b] = 0.0
        if w.on[b] == 0:
            w.siemens[b] = 0.0
        elif plan.kind[b] == BESIDE:
            w.siemens[b] = row[n, CAPACITANCE] / dh
        elif plan.kind[b] == SERIES or laws[n] == MOTOR:
            w.siemens[b] = 1.0 / (1.0 / row[n, 0] + row[n, INDUCTANCE] / dh)
            if laws[n] == MOTOR and row[n, CAPACITANCE] > 0.0:
                w.per_amp[b] = dh / row[n, CAPACITANCE]
        else:
            w.siemens[b] = row[n, 0]


@compiled
def set_past(w: Work, kind: int, dh: float) -> None:
    """Set what each memory would be at the end of the stage if it had no rate there."""
    begin, middle, rate, past = w.state[0], w.state[1], w.rate[0], w.past
    one, two, three = 0.0, 1.0, dh
    if kind == DIFFERENCE:
        one = 1.0 / (4.0 * D * (1.0 - D))
        two, three = 1.0 - one, 0.0
    elif kind == FIRST:
        three = 0.0
    elif kind == SECOND:
        one = (1.0 - D) / D
        two, three = 1.0 - one, 0.0
    for b in range(len(past)):
        for which in range(2):
            past[b, which] = (
                one * middle[b, which] + two * begin[b, which] + three * rate[b, which]
            )


@compiled
def set_sources(plan: Plan, w: Work, laws: Ints, row: Floats, time: float, dh: float) -> None:
    """Set the EMF of each branch at the end of the stage."""
    for b in range(len(plan.element)):
        n = plan.element[b]
        if plan.kind[b] == BESIDE:
            w.emf[b] = w.past[b, 0]
            continue
        volts = row[n, EMF]
        if row[n, WAVE] == SINE:
            turns = row[n, FREQUENCY] * time + row[n, PHASE]
            volts += row[n, AMPLITUDE] * math.sin(TURN * turns)
        if plan.kind[b] == SERIES or laws[n] == MOTOR:
            volts -= row[n, INDUCTANCE] / dh * w.past[b, 0]
        w.emf[b] = volts


@compiled
def solve_core(plan: Plan, w: Work, laws: Ints, row: Floats) -> int:
    """Solve the core by Newton's method from `point`; return the iterations, negative if failed."""
    nodes, curved, element = len(plan.start) - 1, plan.curved, plan.element
    start, pair_start, pair_edge = plan.start, plan.pair_start, plan.pair_edge
    for b in range(curved, len(element)):
        if w.on[b] == 1:
            n = element[b]
            w.amps[b], w.slope[b], w.back[b] = evaluate(
                laws[n], row[n], w.point[b], w.siemens[b], w.per_amp[b], w.past[b, 1]
            )
        else:
            w.amps[b] = 0.0
            w.back[b] = w.state[0, b, 1]
        w.chord[b] = 0
    for made in range(MAX_NEWTON):
        put_core(
            start[plan.core],
            w.g,
            w.j,
            w.core_g,
            w.core_j,
            element,
            plan.branch_edge,
            plan.branch_sign,
            curved,
            w.on,
            row,
            w.emf,
            w.point,
            w.amps,
            w.slope,
            w.chord,
        )
        eliminate(plan.core, nodes, start, pair_start, pair_edge, w.core_g, w.core_j, w.share)
        go_back(plan.core, nodes, start, pair_start, pair_edge, w.core_g, w.core_j, w.share, w.d)
        if settle(
            element,
            plan.branch_edge,
            plan.branch_sign,
            curved,
            w.on,
            laws,
            row,
            w.siemens,
            w.emf,
            w.per_amp,
            w.past,
            w.point,
            w.amps,
            w.slope,
            w.back,
            w.chord,
            w.d,
        ):
            return made + 1
    return -MAX_NEWTON


@compiled
def read_states(plan: Plan, w: Work, laws: Ints, row: Floats, dh: float, into: int) -> None:
    """Write the states at the end of the stage, and their rates, to place `into`."""
    state, rate = w.state[into], w.rate[into]
    for b in range(len(plan.element)):
        if b >= plan.curved:
            state[b, 0], state[b, 1] = w.amps[b], w.back[b]
            rate[b, 0] = (w.amps[b] - w.past[b, 0]) / dh
            rate[b, 1] = (w.back[b] - w.past[b, 1]) / dh
            continue
        volts = plan.branch_sign[b] * w.d[plan.branch_edge[b]]
        w.amps[b] = w.siemens[b] * (volts - w.emf[b])
        state[b, 0] = w.amps[b]
        if plan.kind[b] == BESIDE:
            state[b, 0] = volts if w.on[b] == 1 else w.state[0, b, 0]
        rate[b, 0] = (state[b, 0] - w.past[b, 0]) / dh if w.on[b] == 1 else 0.0


@compiled
def stage(
    plan: Plan,
    w: Work,
    laws: Ints,
    row: Floats,
    kind: int,
    time: float,
    h: float,
    fresh: bool,  # noqa: FBT001 -- compiled code takes what it is given
) -> bool:
    """Go through one stage of a step of length h from `time`; False if it has no solution found."""
    dh = D * h
    set_past(w, kind, dh)
    if fresh:
        set_conductances(plan, w, laws, row, dh)
    set_sources(plan, w, laws, row, time + ENDS[kind] * h, dh)
    put_moving(
        plan.moving,
        plan.core,
        plan.start,
        plan.pair_start,
        plan.pair_edge,
        w.kept_g,
        w.kept_j,
        w.g,
        w.j,
        w.share,
        plan.branch_edge,
        plan.branch_sign,
        plan.curved,
        w.siemens,
        w.emf,
        fresh,
    )
    if solve_core(plan, w, laws, row) < 0:
        return False
    go_back(
        plan.moving,
        plan.core,
        plan.start,
        plan.pair_start,
        plan.pair_edge,
        w.g,
        w.j,
        w.share,
        w.d,
    )
    read_states(plan, w, laws, row, dh, 1 if kind in (TRAPEZOID, FIRST) else 2)
    return True
