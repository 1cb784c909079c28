"""Voltages and currents of still elements as straight functions of the nodes that are left.

While no contact, fuse or key moves, everything among the eliminated still nodes follows from the
voltages of the others: ``y = W v + c``. W and c are found by going back once for each of those
nodes, and once for the sources, after each such change; each time step then takes a few products.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.stage import BESIDE, EMF, Work, live
from sim.solver.stepping import go_back
from sim.solver.waveplan import Plan

VOLTS, AMPS, BRANCH = 0, 1, 2


class Outputs(NamedTuple):
    """What is read off after each stage.

    Attributes
    ----------
    kind : int array (Q,)
        VOLTS of a place in the order (-1: none, reads 0), AMPS of a still element (-1: none), or
        BRANCH.
    which : int array (Q,)
        The place or the element.
    beside : int array (Q,)
        Whether the current of a capacitance beside the element counts too.
    weight : float array (Q, M), constant : float array (Q,)
        Of the still ones.
    """

    kind: Ints
    which: Ints
    beside: Ints
    weight: Floats
    constant: Floats


@compiled
def read_still(
    plan: Plan, outputs: Outputs, laws: Ints, row: Floats, shut: Ints, d: Floats, column: int
) -> None:
    """Write one column of W, or c (column -1), from the drops d."""
    for q in range(len(outputs.kind)):
        kind, which = outputs.kind[q], outputs.which[q]
        value = 0.0
        if which >= 0 and kind == VOLTS:
            value = -d[plan.start[which]]
        elif which >= 0 and kind == AMPS:
            drop = plan.sign[which] * d[plan.edge[which]]
            if column < 0:
                drop -= row[which, EMF]
            value = live(which, laws, row, shut) * drop
        if column < 0:
            outputs.constant[q] = value
        else:
            outputs.weight[q, column] = value


@compiled
def weigh(
    plan: Plan, w: Work, outputs: Outputs, laws: Ints, row: Floats, shut: Ints, none: Floats
) -> None:
    """Find W and c anew; `none` is an array of zeros, as long as the edges."""
    nodes, d = len(plan.start) - 1, w.d
    for k in range(plan.moving - 1, nodes):
        sources = w.kept_j if k < plan.moving else none
        for edge in range(plan.start[plan.moving], len(d)):
            d[edge] = 0.0
        if k >= plan.moving:
            for i in range(plan.moving, nodes):
                for edge in range(plan.start[i], plan.start[i + 1]):
                    if i == k:
                        d[edge] = -1.0
                    elif plan.other[edge] == k:
                        d[edge] = 1.0
        go_back(
            0,
            plan.moving,
            plan.start,
            plan.pair_start,
            plan.pair_edge,
            w.kept_g,
            sources,
            w.share,
            d,
        )
        read_still(plan, outputs, laws, row, shut, d, k if k >= plan.moving else -1)


@compiled
def read_out(plan: Plan, w: Work, outputs: Outputs, out: Floats) -> None:
    """Write what is read off at the end of a stage to `out`."""
    nodes = len(plan.start) - 1
    for q in range(len(outputs.kind)):
        which = outputs.which[q]
        if outputs.kind[q] == BRANCH:
            out[q] = 0.0
            for b in range(len(plan.element)):
                if plan.element[b] == which and (
                    plan.kind[b] != BESIDE or outputs.beside[q] == 1
                ):
                    out[q] += w.amps[b]
        elif which >= 0:
            value = outputs.constant[q]
            for k in range(plan.moving, nodes):
                value -= outputs.weight[q, k] * w.d[plan.start[k]]
            out[q] = value
        else:
            out[q] = 0.0
            
