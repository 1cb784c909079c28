"""One operating point after another, compiled, eight lanes at a time.

A lane is one variant of the circuit with its leads put on. For every lane: set conductances by the
present states, eliminate the straight nodes once, iterate lamps and diodes on the tail, go back,
then let relays and fuses judge the currents; repeat until nothing changes. A lane that has come to
rest makes room for the next one, so that the eight slots stay full whatever their lanes take; in a
state, a lane whose laws are obeyed is worked out again with the others, from the same numbers to
the same bits.
"""

from __future__ import annotations

import numpy as np

from sim.compiled import compiled
from sim.eights import LANES, all_eight, eight, put_eight
from sim.network import Floats, Ints
from sim.solver.elimination import eliminate, go_back
from sim.solver.filling import LIMITS, SHIFTS, gather, put_straight, set_switches
from sim.solver.judging import judge_lanes
from sim.solver.laws import SOLVED, WORKING
from sim.solver.newton import CALM, KEPT, MAX_NEWTON, PUSH, SLOPE
from sim.solver.stepping import begin, go_on, search, step_all
from sim.solver.writing import write_lanes

EMPTY = -1  # a slot without a lane


@compiled
def iterate_tail(
    width: int,
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
    edges = len(tail_edges)
    for row in range(edges):
        put_eight(held, row, eight(g, tail_edges[row]))
        put_eight(held, edges + row, eight(j, tail_edges[row]))
    made = 0
    for step in range(MAX_NEWTON):
        for row in range(edges):
            put_eight(g, tail_edges[row], eight(held, row))
            put_eight(j, tail_edges[row], eight(held, edges + row))
        for c in range(len(curved_law)):
            base, on, sign = c * KEPT, curved_edge[c], all_eight(curved_sign[c])
            put_eight(g, on, eight(g, on) + eight(kept, base + SLOPE))
            put_eight(j, on, eight(j, on) + sign * eight(kept, base + PUSH))
        eliminate(tail, last, count, live, edge_at, pair_at, edge, pair, g, j, lifted, inverse)
        go_back(tail, last, count, edge_at, pair_at, edge, pair, g, lifted, d)
        for at in range(LANES):
            missed[at] = 0
            made += 1 - rest[at]
        if step < CALM:
            step_all(width, curved_edge, curved_sign, curved_law, d, kept, missed)
        else:
            whole = step == CALM
            search(curved_edge, curved_sign, curved_law, d, kept, rest, missed, whole)
        working = 0
        for at in range(LANES):
            if missed[at] == 0:
                rest[at] = 1
            working += 1 - rest[at]
        if working == 0:
            return made
        go_on(width, curved_law, kept, rest)
    return made


@compiled
def take(
    which: Ints, taken: int, who: Ints, age: Ints, settled: Ints, some: Ints, slots: Ints
) -> int:
    """Give empty slots the next lanes; return how many, listed in `some` with their `slots`."""
    new = 0
    for at in range(LANES):
        if who[at] == EMPTY and taken + new < len(which):
            who[at] = which[taken + new]
            some[new], slots[new] = who[at], at
            age[at], settled[at] = 0, WORKING
            new += 1
    return new


@compiled
def having(who: Ints, settled: Ints, some: Ints, slots: Ints, working: int) -> int:
    """List the lanes that are working (1), or those that have settled (0); return how many."""
    found = 0
    for at in range(LANES):
        if who[at] != EMPTY and (settled[at] == WORKING) == (working == 1):
            some[found], slots[found] = who[at], at
            found += 1
    return found


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
    switching: Ints,
    judged: Ints,
    pushed: Ints,
    quiet: Ints,
    shifting: Ints,
    limited: Ints,
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
    states = 8 + 4 * (closed.shape[1] + blown.shape[1])
    last, solutions, taken, width = len(count), 0, 0, min(LANES, len(which))
    first = tail - tail  # 0; a literal one would be a type, compiled for once more
    g, j, d = (
        np.empty((edges + 1, LANES)),
        np.empty((edges + 1, LANES)),
        np.zeros((edges + 1, LANES)),
    )
    lifted, inverse = np.zeros((last, LANES)), np.empty((last, LANES))
    held, kept = np.empty((2 * len(tail_edges), LANES)), np.zeros((len(curved) * KEPT, LANES))
    now, emf = np.zeros((len(straight), LANES)), np.zeros((len(pushing), LANES))
    shifts = np.zeros((len(switching) * SHIFTS, LANES))
    limits = np.zeros((len(judged) * LIMITS, LANES))
    who, some, slots = np.full(LANES, EMPTY), np.empty(LANES, np.int64), np.empty(LANES, np.int64)
    age, settled = np.zeros(LANES, np.int64), np.full(LANES, SOLVED)
    rest, missed, sums = np.empty(LANES, np.int64), np.empty(LANES, np.int64), np.empty(LANES)
    changed, blowing = np.empty(LANES, np.int64), np.empty(LANES, np.int64)
    marked = np.zeros((LANES, 1 + closed.shape[1] + blown.shape[1]), np.int64)
    while True:
        new = take(which, taken, who, age, settled, some, slots)
        taken += new
        strange = gather(
            rows, variant, instruments, some[:new], slots[:new], straight, quiet, pushed,
            shifting, limited, curved, now, emf, shifts, limits, kept,
        )  # fmt: skip
        if strange >= 0:
            return solutions, strange
        busy = having(who, settled, some, slots, 1)
        if busy == 0:
            return solutions, -1
        set_switches(
            some[:busy], slots[:busy], straight, switching, laws, relays, fuses, closed, blown,
            shifts, now,
        )  # fmt: skip
        put_straight(
            straight_edge, straight_sign, pushing, lead_edge, leak_edge, lead, leak, now, emf, g, j
        )
        eliminate(first, tail, count, live, edge_at, pair_at, edge, pair, g, j, lifted, inverse)
        begin(width, curved_law, kept, settled, age)
        for at in range(LANES):
            rest[at] = 1 if settled[at] != WORKING else 0
        solutions += iterate_tail(
            width, tail, last, count, live, edge_at, pair_at, edge, pair, tail_edges, curved_edge,
            curved_sign, curved_law, g, j, d, lifted, inverse, held, kept, rest, missed,
        )  # fmt: skip
        go_back(first, tail, count, edge_at, pair_at, edge, pair, g, lifted, d)
        judge_lanes(
            some[:busy], slots[:busy], states, straight_edge, straight_sign, judged, limited, laws,
            relays, fuses, limits, now, d, rest, age, settled, closed, blown, curved, missed, worst,
            changed, blowing, sums, marked,
        )  # fmt: skip
        done = having(who, settled, some, slots, 0)
        write_lanes(
            ground_edge, element_edge, element_sign, straight, pushing, curved, curved_law,
            owed, owed_row, owed_at, owed_by, owed_sign, owed_node, leak, now, emf, kept, d, sums,
            some[:done], slots[:done], settled, volts, drop, current, status,
        )  # fmt: skip
        for place in range(done):
            who[slots[place]] = EMPTY
