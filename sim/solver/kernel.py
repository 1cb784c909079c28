"""One operating point after another, compiled, in blocks of lanes.

A lane is one variant of the circuit with its leads put on. For every lane: set conductances by the
present states, eliminate the straight nodes once, iterate lamps and diodes on the tail, go back,
then let relays and fuses judge the currents; repeat until nothing changes. A lane that has come to
rest is worked out again with the others of its block, from the same numbers to the same bits.
"""

from __future__ import annotations

import numpy as np

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.elimination import eliminate, go_back
from sim.solver.filling import begin_block, gather, put_straight, set_switches
from sim.solver.judging import judge_block, write_block
from sim.solver.laws import WORKING
from sim.solver.newton import CALM, KEPT, MAX_NEWTON, PUSH, SLOPE
from sim.solver.stepping import begin, go_on, search, step_all

BLOCK = 32  # lanes at once; ours, measured: what a loop takes to begin then counts less


@compiled
def iterate_tail(
    tail: int,
    last: int,
    count: Ints,
    live: Ints,
    edge_at: Ints,
    pair_at: Ints,
    edge: Ints,
    pair: Ints,
    tail_edges: Ints,
    curved_edge: Ints,
    curved_sign: Floats,
    curved_law: Ints,
    g: Floats,
    j: Floats,
    d: Floats,
    lifted: Floats,
    inverse: Floats,
    held: Floats,
    kept: Floats,
    rest: Ints,
    missed: Ints,
) -> int:
    """Iterate the tail until every lane rests, or `MAX_NEWTON` times; return the solutions made."""
    edges, lanes = len(tail_edges), g.shape[1]
    for row in range(edges):
        for at in range(lanes):
            held[row, at] = g[tail_edges[row], at]
            held[edges + row, at] = j[tail_edges[row], at]
    made = 0
    for step in range(MAX_NEWTON):
        for row in range(edges):
            for at in range(lanes):
                g[tail_edges[row], at] = held[row, at]
                j[tail_edges[row], at] = held[edges + row, at]
        for c in range(len(curved_law)):
            base, at_edge, sign = c * KEPT, curved_edge[c], curved_sign[c]
            for at in range(lanes):
                g[at_edge, at] += kept[base + SLOPE, at]
                j[at_edge, at] += sign * kept[base + PUSH, at]
        eliminate(tail, last, count, live, edge_at, pair_at, edge, pair, g, j, lifted, inverse)
        go_back(tail, last, count, edge_at, pair_at, edge, pair, g, lifted, d)
        for at in range(lanes):
            missed[at] = 0
            made += 1 - rest[at]
        if step < CALM:
            step_all(curved_edge, curved_sign, curved_law, d, kept, rest, missed)
        else:
            whole = step == CALM
            search(curved_edge, curved_sign, curved_law, d, kept, rest, missed, whole)
        working = 0
        for at in range(lanes):
            if missed[at] == 0:
                rest[at] = 1
            working += 1 - rest[at]
        if working == 0:
            return made
        go_on(curved_law, kept, rest)
    return made


@compiled
def solve_lanes(
    count: Ints,
    live: Ints,
    edge_at: Ints,
    pair_at: Ints,
    edge: Ints,
    pair: Ints,
    tail: int,
    edges: int,
    tail_edges: Ints,
    straight: Ints,
    straight_edge: Ints,
    straight_sign: Floats,
    pushing: Ints,
    quiet: Ints,
    switching: Ints,
    judged: Ints,
    curved: Ints,
    curved_edge: Ints,
    curved_sign: Floats,
    curved_law: Ints,
    lead_edge: Ints,
    leak_edge: Ints,
    ground_edge: Ints,
    element_edge: Ints,
    element_sign: Floats,
    owed: Ints,
    owed_row: Ints,
    owed_at: Ints,
    owed_by: Ints,
    owed_sign: Floats,
    owed_node: Ints,
    laws: Ints,
    relays: Ints,
    fuses: Ints,
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    which: Ints,
    lead: float,
    leak: float,
    closed: Ints,
    blown: Ints,
    drop: Floats,
    current: Floats,
    volts: Floats,
    status: Ints,
    worst: Ints,
) -> tuple[int, int]:
    """Solve lanes `which` in place; return (linear solutions made, element in the way or -1).

    An element in the way has an EMF that the program does not provide for: nothing is solved.

    Parameters
    ----------
    rows : (V, E, 5 or more); variant : (L,) row of each lane; instruments : (L, 4, 5) rows that
        replace the last four elements
    lead, leak : conductance in S of a lead, and of the leak from every node to the body
    closed : (L, R), blown : (L, F) states, before and after
    drop, current : (L, E) V and A from a to b; volts : (L, N) against the body; status : (L,)
    """
    last, states = len(count), 8 + 4 * (closed.shape[1] + blown.shape[1])
    first = tail - tail  # 0; a literal one would be a type, compiled for once more
    solutions, width = 0, 0
    for start in range(0, len(which), BLOCK):
        lanes = which[start : start + BLOCK]
        if len(lanes) != width:
            width = len(lanes)
            g, j = np.empty((edges + 1, width)), np.empty((edges + 1, width))
            d = np.zeros((edges + 1, width))
            lifted, inverse = np.zeros((last, width)), np.empty((last, width))
            held = np.empty((2 * len(tail_edges), width))
            row, now = np.empty((3 * len(straight), width)), np.empty((len(straight), width))
            kept = np.zeros((len(curved) * KEPT, width))
            rest, missed = np.empty(width, np.int64), np.empty(width, np.int64)
            settled, sums = np.empty(width, np.int64), np.empty(width)
        strange = gather(rows, variant, instruments, lanes, straight, quiet, curved, row, kept)
        if strange >= 0:
            return solutions, strange
        begin_block(row, now, settled)
        for state in range(states):
            set_switches(
                rows, variant, lanes, straight, switching, laws, relays, fuses, closed, blown,
                row, now,
            )  # fmt: skip
            put_straight(
                straight_edge, straight_sign, pushing, lead_edge, leak_edge, lead, leak, row, now,
                g, j,
            )  # fmt: skip
            eliminate(first, tail, count, live, edge_at, pair_at, edge, pair, g, j, lifted, inverse)
            begin(curved_law, kept, settled, state)
            for at in range(width):
                rest[at] = 1 if settled[at] != WORKING else 0
            made = iterate_tail(
                tail, last, count, live, edge_at, pair_at, edge, pair, tail_edges, curved_edge,
                curved_sign, curved_law, g, j, d, lifted, inverse, held, kept, rest, missed,
            )  # fmt: skip
            solutions += made
            go_back(first, tail, count, edge_at, pair_at, edge, pair, g, lifted, d)
            working = judge_block(
                rows, variant, lanes, straight, straight_edge, straight_sign, judged, laws, relays,
                fuses, row, now, d, rest, settled, closed, blown, curved, missed, worst,
            )  # fmt: skip
            if working == 0:
                break
        write_block(
            ground_edge, element_edge, element_sign, straight, curved, curved_law,
            owed, owed_row, owed_at, owed_by, owed_sign, owed_node, leak, row, now, kept, d, sums,
            lanes, settled, volts, drop, current, status,
        )  # fmt: skip
    return solutions, -1
