"""One operating point after another: elimination, Newton on the tail, discrete states.

A lane is one variant of the circuit with its leads put on. For every lane: set conductances by the
present states, eliminate the straight nodes once, iterate lamps and diodes on the tail, go back,
then let relays and fuses judge the currents; repeat until nothing changes. Lanes never mix, so a
batch of one and a batch of thousands give the same bits.

Relays are judged by coil *current*, before fuses; of several fuses above their limit the one that
is furthest above it blows, once.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

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
from sim.solver.program import Program

LINEAR, LAMP, DIODE, CONTACT, FUSE, COIL, MOTOR, LIMITER = 0, 1, 2, 3, 4, 5, 6, 7
SOLVED, NOT_CONVERGED, OSCILLATING = 0, 1, 2
MAX_NEWTON = 200
TOLERANCE = 1e-11  # A per (1 A + |I|)
STILL = 1e-9  # V per (1 V + |V|); where a leak of 1 pS counts, 1e-11 A is a great deal
CHORD_STEP = 0.3  # relative voltage step above which a lamp is taken as its chord
LEADS = 4


class Work(NamedTuple):
    """Scratch of one call: filled edges (g, e, d), node sums, and the curved elements."""

    g: Floats
    e: Floats
    d: Floats
    kept_g: Floats
    kept_e: Floats
    total: Floats
    row: Floats
    curved: Ints
    chord: Ints
    point: Floats
    slope: Floats
    emf: Floats
    loose: Ints


@compiled
def merge(g: Floats, e: Floats, edge: int, siemens: float, emf: float) -> None:
    """Put a branch in parallel with a filled edge."""
    total = g[edge] + siemens
    e[edge] += (emf - e[edge]) * siemens / total
    g[edge] = total


@compiled
def eliminate(p: Program, work: Work, first: int, last: int) -> None:
    """Eliminate nodes first to last-1 of the order (star-mesh, see `sim.solver.program`)."""
    g, e = work.g, work.e
    for k in range(first, last):
        begin, n = p.start[k], p.start[k + 1] - p.start[k]
        total = 0.0
        for i in range(n):
            total += g[p.edge[begin + i]]
        work.total[k] = total
        for i in range(n):
            gi = g[p.edge[begin + i]]
            if gi == 0.0:
                continue
            ei = p.sign[begin + i] * e[p.edge[begin + i]]
            for j in range(i + 1, n):
                gj = g[p.edge[begin + j]]
                if gj != 0.0:
                    at = p.pair_start[k] + i * n + j
                    emf = ei - p.sign[begin + j] * e[p.edge[begin + j]]
                    merge(g, e, p.pair_edge[at], gi * gj / total, p.pair_sign[at] * emf)


@compiled
def go_back(p: Program, work: Work, first: int, last: int) -> None:
    """Fill in the drops across the edges of nodes last-1 down to first."""
    g, e, d = work.g, work.e, work.d
    for k in range(last - 1, first - 1, -1):
        begin, n = p.start[k], p.start[k + 1] - p.start[k]
        for i in range(n):
            which = p.other_lead[begin + i]
            if which >= 0 and work.loose[which] == 1:
                continue
            drop = 0.0
            for j in range(n):
                gj = g[p.edge[begin + j]]
                if gj == 0.0:
                    continue
                between = 0.0
                if i < j:
                    at = p.pair_start[k] + i * n + j
                    between = p.pair_sign[at] * d[p.pair_edge[at]]
                elif i > j:
                    at = p.pair_start[k] + j * n + i
                    between = -p.pair_sign[at] * d[p.pair_edge[at]]
                ej = p.sign[begin + j] * e[p.edge[begin + j]]
                drop += gj / work.total[k] * (between + ej)
            d[p.edge[begin + i]] = p.sign[begin + i] * drop


@compiled
def live_conductance(
    number: int, laws: Ints, relays: Ints, fuses: Ints, row: Floats, closed: Ints, blown: Ints
) -> float:
    """Return the conductance in S of a straight element in the present discrete state.

    Takes arrays one by one: handing over the whole program here made a solve three times slower.
    """
    law = laws[number]
    if law == CONTACT:
        stuck = row[number, 3]
        shut = (closed[relays[number]] == 1) != (row[number, 2] == 1.0)
        if stuck == 1.0 or (shut and stuck == 0.0):
            return float(row[number, 0])
        return 0.0
    if law == FUSE and blown[fuses[number]] == 1:
        return 0.0
    return float(row[number, 0])


@compiled
def law_current(law: int, row: Floats, volts: float) -> tuple[float, float]:
    """Return (I in A, dI/dV in S) of a curved element by its own law, at volts beyond its EMF."""
    if law == LAMP:
        return lamp_current(volts, row[2], row[3], row[4])
    if law == DIODE:
        return diode_current(volts, row[2], row[3])
    if law == MOTOR:
        return motor_current(volts, row[0], row[2], row[3], row[4])
    return limiter_current(volts, row[0], row[2], row[3], row[4])


@compiled
def is_curved(law: int) -> bool:
    """Tell whether a law is no straight line."""
    return law in (LAMP, DIODE, MOTOR, LIMITER)


@compiled
def limited_step(law: int, row: Floats, new: float, old: float) -> float:
    """Return the point to go to, where going all the way would be too far."""
    if law == DIODE:
        return limited_diode_step(new, old, row[2], row[3])
    if law == MOTOR:
        return limited_bend_step(new, old, row[2] / row[0], row[2] / row[0])
    if law == LIMITER:
        return limited_bend_step(new, old, row[2] / row[0], row[3] / row[0])
    return new


@compiled
def put_straight(
    p: Program, work: Work, attached: Ints, lead: float, leak: float, closed: Ints, blown: Ints
) -> None:
    """Fill the edges with leaks, straight elements and leads, and eliminate down to the tail."""
    laws, relays, fuses, row = p.laws, p.relays, p.fuses, work.row
    g, e = work.g, work.e
    g[:] = 0.0
    e[:] = 0.0
    nodes = len(p.ground_edge)
    for node in range(1, nodes - LEADS):
        g[p.ground_edge[node]] = leak
    for number in range(len(laws)):
        if not is_curved(laws[number]):
            siemens = live_conductance(number, laws, relays, fuses, row, closed, blown)
            if siemens > 0.0:
                emf = p.element_sign[number] * row[number, 1]
                merge(g, e, p.element_edge[number], siemens, emf)
    for which in range(LEADS):
        node = attached[which]
        work.loose[which] = 1 if node < 0 else 0
        if node == 0:
            merge(g, e, p.ground_edge[nodes - LEADS + which], lead, 0.0)
        elif node > 0:
            merge(g, e, p.lead_edge[which, node], lead, 0.0)
    eliminate(p, work, 0, p.tail)
    for index in range(len(p.tail_edges)):
        work.kept_g[index] = g[p.tail_edges[index]]
        work.kept_e[index] = e[p.tail_edges[index]]


@compiled
def put_curved(p: Program, work: Work, count: int) -> None:
    """Restore the tail and add lamps and diodes, each straightened about its point."""
    for index in range(len(p.tail_edges)):
        work.g[p.tail_edges[index]] = work.kept_g[index]
        work.e[p.tail_edges[index]] = work.kept_e[index]
    for index in range(count):
        number = work.curved[index]
        row, volts = work.row[number], work.point[index]
        current, slope = law_current(p.laws[number], row, volts)
        emf = row[1] + volts - current / slope
        if work.chord[index] == 1:
            slope, emf = 1.0 / (row[2] + row[3] * abs(volts) ** row[4]), row[1]
        work.slope[index], work.emf[index] = slope, emf
        merge(work.g, work.e, p.element_edge[number], slope, p.element_sign[number] * emf)


@compiled
def step_curved(p: Program, work: Work, count: int) -> bool:
    """Move every lamp and diode to its new point; True if all of them obey their laws there."""
    lawful = True
    for index in range(count):
        number = work.curved[index]
        row, old = work.row[number], work.point[index]
        new = p.element_sign[number] * work.d[p.element_edge[number]] - row[1]
        flowing = work.slope[index] * (new + row[1] - work.emf[index])
        current, slope = law_current(p.laws[number], row, new)
        missing = abs(flowing - current)
        if missing > TOLERANCE * (1.0 + abs(current)) or missing > STILL * slope * (1.0 + abs(new)):
            lawful = False
        work.point[index] = limited_step(p.laws[number], row, new, old)
        if p.laws[number] == LAMP:
            work.chord[index] = 1 if abs(new - old) > CHORD_STEP * abs(new) else 0
    return lawful


@compiled
def iterate_tail(p: Program, work: Work, count: int) -> int:
    """Iterate the tail (Newton); return the number of solutions made, negative if not converged."""
    last = len(p.order)
    for step in range(MAX_NEWTON):
        put_curved(p, work, count)
        eliminate(p, work, p.tail, last)
        go_back(p, work, p.tail, last)
        if step_curved(p, work, count):
            return step + 1
    return -MAX_NEWTON


@compiled
def read_elements(
    p: Program, work: Work, closed: Ints, blown: Ints, drop: Floats, current: Floats
) -> None:
    """Write the drop in V and the current in A of every element, by its own law."""
    laws, relays, fuses, row, d = p.laws, p.relays, p.fuses, work.row, work.d
    edge, sign = p.element_edge, p.element_sign
    for number in range(len(laws)):
        across = sign[number] * d[edge[number]]
        drop[number] = across
        if is_curved(laws[number]):
            if row[number, 0] == 0.0:
                current[number] = 0.0
                continue
            amps, _slope = law_current(laws[number], row[number], across - row[number, 1])
            current[number] = amps
        else:
            siemens = live_conductance(number, laws, relays, fuses, row, closed, blown)
            current[number] = siemens * (across - row[number, 1])


@compiled
def judge_relays(p: Program, row: Floats, current: Floats, closed: Ints) -> bool:
    """Let relays follow their coil currents; True if one changed."""
    changed = False
    for number in range(len(p.laws)):
        if p.laws[number] == COIL:
            amps, relay = abs(current[number]), p.relays[number]
            if closed[relay] == 0 and amps >= row[number, 2]:
                closed[relay] = 1
                changed = True
            elif closed[relay] == 1 and amps <= row[number, 3]:
                closed[relay] = 0
                changed = True
    return changed


@compiled
def judge_fuses(p: Program, row: Floats, current: Floats, blown: Ints) -> bool:
    """Blow the fuse that is furthest above its limit; True if one blew."""
    worst, worst_ratio = -1, 1.0
    for number in range(len(p.laws)):
        if p.laws[number] == FUSE and row[number, 0] > 0.0 and blown[p.fuses[number]] == 0:
            ratio = abs(current[number]) / row[number, 2]
            if ratio > worst_ratio:
                worst, worst_ratio = number, ratio
    if worst >= 0:
        blown[p.fuses[worst]] = 1
    return worst >= 0


@compiled
def solve_lane(
    p: Program,
    work: Work,
    attached: Ints,
    lead: float,
    leak: float,
    closed: Ints,
    blown: Ints,
    drop: Floats,
    current: Floats,
) -> tuple[int, int]:
    """Bring one lane to a consistent state; return (status, linear solutions made)."""
    count = 0
    for number in range(len(p.laws)):
        if is_curved(p.laws[number]) and work.row[number, 0] > 0.0:
            work.curved[count] = number
            work.point[count] = 0.0
            count += 1
    solutions = 0
    for _state in range(8 + 4 * (len(closed) + len(blown))):
        for index in range(count):
            work.chord[index] = 1 if p.laws[work.curved[index]] == LAMP else 0
        put_straight(p, work, attached, lead, leak, closed, blown)
        made = iterate_tail(p, work, count)
        solutions += abs(made)
        if made < 0:
            return NOT_CONVERGED, solutions
        go_back(p, work, 0, p.tail)
        read_elements(p, work, closed, blown, drop, current)
        if judge_relays(p, work.row, current, closed):
            continue
        if judge_fuses(p, work.row, current, blown):
            continue
        return SOLVED, solutions
    return OSCILLATING, solutions


@compiled
def solve_lanes(
    p: Program,
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    attached: Ints,
    lead: float,
    leak: float,
    closed: Ints,
    blown: Ints,
    drop: Floats,
    current: Floats,
    volts: Floats,
    status: Ints,
) -> int:
    """Solve all lanes in place; return the number of linear solutions made.

    Parameters
    ----------
    rows : (V, E, 5); variant : (L,) row of each lane; instruments : (L, 4, 5) rows that replace the
        last four elements; attached : (L, 4) node of each lead or -1
    lead, leak : conductance in S of a lead, and of the leak from every node to the body
    closed : (L, R), blown : (L, F) states, before and after
    drop, current : (L, E) V and A from a to b; volts : (L, N) against the body; status : (L,)
    """
    count, nodes = len(p.laws), len(p.ground_edge)
    tail = len(p.tail_edges)
    work = Work(
        np.zeros(p.edges),
        np.zeros(p.edges),
        np.zeros(p.edges),
        np.zeros(tail),
        np.zeros(tail),
        np.zeros(nodes),
        np.zeros((count, 5)),
        np.zeros(count, dtype=np.int64),
        np.zeros(count, dtype=np.int64),
        np.zeros(count),
        np.zeros(count),
        np.zeros(count),
        np.zeros(LEADS, dtype=np.int64),
    )
    solutions = 0
    for lane in range(len(variant)):
        work.row[:, :] = rows[variant[lane]]
        work.row[count - LEADS :, :] = instruments[lane]
        for which in range(0, LEADS, 2):  # nothing flows between leads of which one is loose
            if attached[lane, which] < 0 or attached[lane, which + 1] < 0:
                first, last = (count - 4, count - 1) if which == 0 else (count - 1, count)
                work.row[first:last, 0] = 0.0
        status[lane], made = solve_lane(
            p,
            work,
            attached[lane],
            lead,
            leak,
            closed[lane],
            blown[lane],
            drop[lane],
            current[lane],
        )
        solutions += made
        for node in range(1, nodes):
            volts[lane, node] = p.ground_sign[node] * work.d[p.ground_edge[node]]
        volts[lane, 0] = 0.0
    return solutions
