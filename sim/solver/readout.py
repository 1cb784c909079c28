"""Voltages and currents of still elements as straight functions of the nodes that are left.

While no contact, fuse or key moves, everything among the eliminated still nodes follows from the
voltages of the others: ``y = W v + c``. W and c are found by going back once for each of those
nodes, and once for the sources, after each such change; each stage then takes a few products.
"""

from __future__ import annotations

from sim.compiled import compiled, inlined
from sim.network import Floats, Ints
from sim.solver.advance import go_back
from sim.solver.stage import AMPS, EMF
from sim.solver.waveplan import BESIDE, ELEMENT, KIND

AT_NODE, STILL_AMPS, BRANCH_AMPS, SERIES_AMPS = 0, 1, 2, 3  # kinds of outputs
WHAT, WHICH = 0, 1  # rows of `outputs` (2, Q): kind; place in the order or element (-1: reads 0)


@compiled
def read_still(
    column: int,
    start: Ints,
    elements: Ints,
    outputs: Ints,
    siemens: Floats,
    row: Floats,
    d: Floats,
    weight: Floats,
) -> None:
    """Write one column of W, or in the last one c, from the drops d.

    `siemens` are the elements' conductances as contacts and fuses stand.
    """
    constant = column == weight.shape[1] - 1
    for q in range(outputs.shape[1]):
        which, value = outputs[WHICH, q], 0.0
        if which >= 0 and outputs[WHAT, q] == AT_NODE:
            value = -d[start[which]]
        elif which >= 0 and outputs[WHAT, q] == STILL_AMPS:
            drop = elements[1, which] * d[elements[0, which]]
            if constant:
                drop -= row[which, EMF]
            value = siemens[which] * drop
        weight[q, column] = value


@compiled
def weigh(
    moving: int,
    start: Ints,
    pair_start: Ints,
    pair_edge: Ints,
    later: Ints,
    elements: Ints,
    outputs: Ints,
    siemens: Floats,
    row: Floats,
    kept_g: Floats,
    kept_j: Floats,
    share: Floats,
    d: Floats,
    weight: Floats,
) -> None:
    """Find W anew (Q, M - moving + 1), c being its last column."""
    nodes, none, still = len(start) - 1, 0.0 * kept_j, moving - moving
    for k in range(moving, nodes + 1):
        for i in range(moving, nodes):
            for edge in range(start[i], start[i + 1]):
                d[edge] = 0.0
                if i == k:
                    d[edge] = -1.0
                elif later[edge] == k and k < nodes:
                    d[edge] = 1.0
        sources = kept_j if k == nodes else none
        go_back(still, moving, start, pair_start, pair_edge, kept_g, sources, share, d)
        read_still(k - moving, start, elements, outputs, siemens, row, d, weight)


@inlined
def branch_amps(what: int, which: int, branches: Ints, real: Floats) -> float:
    """Return the current of an element that is one branch or two."""
    total = 0.0
    for b in range(branches.shape[1]):
        if branches[ELEMENT, b] == which and (what == BRANCH_AMPS or branches[KIND, b] != BESIDE):
            total += real[AMPS, b]
    return total


@inlined
def read_out(
    moving: int,
    start: Ints,
    branches: Ints,
    outputs: Ints,
    weight: Floats,
    real: Floats,
    d: Floats,
    volts: Floats,
    out: Floats,
) -> None:
    """Write the outputs at the end of a stage; `volts` is scratch."""
    left = len(start) - 1 - moving
    for k in range(left):
        volts[k] = -d[start[moving + k]]
    for q in range(outputs.shape[1]):
        what = outputs[WHAT, q]
        if what >= BRANCH_AMPS:
            out[q] = branch_amps(what, outputs[WHICH, q], branches, real)
            continue
        value = weight[q, left]
        for k in range(left):
            value += weight[q, k] * volts[k]
        out[q] = value
