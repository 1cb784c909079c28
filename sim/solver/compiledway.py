"""Hands a program to the compiled kernel, array by array."""

from __future__ import annotations

from sim.network import Floats, Ints, Network
from sim.solver.kernel import solve_lanes
from sim.solver.lanes import Solution
from sim.solver.program import Program


def solve_compiled(
    p: Program,
    network: Network,
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    which: Ints,
    lead: float,
    leak: float,
    into: Solution,
) -> tuple[int, int]:
    """Solve lanes in place; see `sim.solver.kernel.solve_lanes`."""
    made, strange = solve_lanes(
        p.count,
        p.live,
        p.edge_at,
        p.pair_at,
        p.edge,
        p.pair,
        p.tail,
        p.edges,
        p.tail_edges,
        p.straight,
        p.straight_edge,
        p.straight_sign,
        p.pushing,
        p.switching,
        p.judged,
        p.pushed,
        p.quiet,
        p.shifting,
        p.limited,
        p.curved,
        p.curved_edge,
        p.curved_sign,
        p.curved_law,
        p.lead_edge,
        p.leak_edge,
        p.ground_edge,
        p.element_edge,
        p.element_sign,
        p.owed,
        p.owed_row,
        p.owed_at,
        p.owed_by,
        p.owed_sign,
        p.owed_node,
        network.laws,
        network.relays,
        network.fuses,
        rows,
        variant,
        instruments,
        which,
        lead,
        leak,
        into.closed,
        into.blown,
        into.drop,
        into.current,
        into.volts,
        into.status,
        into.worst,
    )
    return int(made), int(strange)
