"""The order of elimination for a waveform: what stays, what moves with time, what is curved.

The star-mesh transformation of `sim.solver.program` once more, with each edge as (g, j): current
``g (v_i - v_k) - j`` from the later to the earlier eliminated end, j = g e. Eliminating k with S
the sum of its g_i:

    g_il += g_i g_l / S        j_il += (g_l j_i - g_i j_l) / S
    v_i - v_k = (sum_l g_l (v_i - v_l) + sum_l j_l) / S

The j of an edge errs by no more than its g times the largest EMF, so that islands behind exact
opens keep their precision here too; and there is one division a node.

Nodes are eliminated in three groups. *Still* ones touch only elements that keep their numbers as
long as no contact, fuse or key moves; *moving* ones touch inductances, capacitances and waves, whose
conductances change with the time step; the *core* (nodes of lamps, diodes, motors, and hubs of many
neighbours, which would fill the rest if they went first) is done again in each iteration.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from sim.network import LEADS, Ints, Network

SERIES, BESIDE, CURVED = 0, 1, 2  # kinds of branches that are no still element
FEW = 3  # neighbours; eliminating a node of so few adds no edges


class Plan(NamedTuple):
    """Flat arrays for the stepping kernel.

    Attributes
    ----------
    start : int array (M+1,)
        Edges of the k-th eliminated node are start[k] to start[k+1]-1, the first of them to the
        body, the others to later nodes, last eliminated first.
    pair_start : int array (M,), pair_edge : int array
        Edges between each two neighbours of the k-th node, row by row.
    other : int array
        The later node of each edge; M for the body.
    moving, core : int
        Where in the order the second and the third group begin.
    position : int array (N,)
        Place of each node in the order; -1 for the body and loose leads.
    edge, sign : int arrays (E,)
        Edge of each element, sign -1 if it runs the other way; edge -1 if not in circuit.
    still : int array
        Elements that are no branch.
    lead_edge, lead_sign : int arrays
        Of the leads that are put on.
    element, kind, branch_edge, branch_sign : int arrays (B,)
        Of each branch: a series one (resistance, inductance, EMF, gate), a capacitance beside its
        element, or a curved one; curved ones last.
    curved : int
        Where curved branches begin.
    """

    start: Ints
    pair_start: Ints
    pair_edge: Ints
    other: Ints
    moving: int
    core: int
    position: Ints
    edge: Ints
    sign: Ints
    still: Ints
    lead_edge: Ints
    lead_sign: Ints
    element: Ints
    kind: Ints
    branch_edge: Ints
    branch_sign: Ints
    curved: int


def build_plan(
    network: Network, attached: tuple[int, ...], branches: Iterable[tuple[int, int]]
) -> Plan:
    """Return the plan for leads on the nodes `attached` (-1: loose).

    Parameters
    ----------
    branches : pairs of int
        (element, kind) of what is no still element, sorted by kind.
    """
    first_lead = len(network.nodes) - len(LEADS)
    loose = {first_lead + which for which in range(len(LEADS)) if attached[which] < 0}
    leads = [(first_lead + w, n) for w, n in enumerate(attached) if n >= 0]
    ends = [
        (-1, -1) if a == b or a in loose or b in loose else (a, b) for a, b in network.ends.tolist()
    ]
    pairs = list(branches)
    kept = [(element, kind) for element, kind in pairs if ends[element][0] >= 0]
    inside = [node for node in range(1, len(network.nodes)) if node not in loose]
    graph = [pair for pair in ends if pair[0] >= 0] + leads
    order, moving, core = _order(inside, graph, _ends_of(ends, kept, False), _ends_of(ends, kept))
    position = np.full(len(network.nodes), -1, dtype=np.int64)
    position[order] = np.arange(len(order))
    number, start, pair_start, pair_edge = _fill(position, order, graph)

    def edges(some: Iterable[tuple[int, int]]) -> tuple[Ints, Ints]:
        found = [_edge(number, position, len(order), a, b) for a, b in some]
        both = np.array(found, dtype=np.int64).reshape(-1, 2)
        return both[:, 0].copy(), both[:, 1].copy()

    edge, sign = edges(ends)
    lead_edge, lead_sign = edges(leads)
    moved = {element for element, kind in pairs if kind != BESIDE}
    still = [n for n, pair in enumerate(ends) if n not in moved and pair[0] >= 0]
    element = np.array([element for element, _ in kept], dtype=np.int64)
    kind = np.array([kind for _, kind in kept], dtype=np.int64)
    return Plan(
        start,
        pair_start,
        pair_edge,
        np.array([later for _, later in number], dtype=np.int64),
        moving,
        core,
        position,
        edge,
        sign,
        np.array(still, dtype=np.int64),
        lead_edge,
        lead_sign,
        element,
        kind,
        edge[element],
        sign[element],
        int(np.count_nonzero(kind != CURVED)),
    )


def _ends_of(
    ends: list[tuple[int, int]], branches: list[tuple[int, int]], curved: bool = True  # noqa: FBT001, FBT002
) -> set[int]:
    """Return the nodes that curved branches touch, or all branches do."""
    return {
        node for element, kind in branches if kind == CURVED or not curved for node in ends[element]
    }


def _order(
    inside: list[int], graph: list[tuple[int, int]], touched: set[int], curved: set[int]
) -> tuple[list[int], int, int]:
    """Return the nodes in order of elimination, and where the second and third group begin."""
    around: dict[int, set[int]] = {node: set() for node in inside}
    for a, b in graph:
        if a and b:
            around[a].add(b)
            around[b].add(a)
    order: list[int] = []
    begins = []
    for kept, few in ((touched, FEW), (curved, FEW), (set(), len(inside))):
        left = {node for node in around if node not in kept}
        while left:
            node = min(left, key=lambda n: (len(around[n]), n))
            if len(around[node]) > few:
                break
            left.remove(node)
            order.append(node)
            others = around.pop(node)
            for other in others:
                around[other] |= others - {other}
                around[other].discard(node)
        begins.append(len(order))
    return order, begins[0], begins[1]


def _fill(
    position: Ints, order: list[int], graph: list[tuple[int, int]]
) -> tuple[dict[tuple[int, int], int], Ints, Ints, Ints]:
    """Number the edges of the filled graph by (earlier, later) place; the body comes last."""
    body = len(order)
    around: list[set[int]] = [{body} for _ in order]
    for a, b in graph:
        low, high = sorted(int(position[n]) if n else body for n in (a, b))
        around[low].add(high)
    number: dict[tuple[int, int], int] = {}
    start, pair_start, pairs = [0], [], []
    for k in range(body):
        others = sorted(around[k], reverse=True)
        number.update({(k, other): len(number) + i for i, other in enumerate(others)})
        start.append(len(number))
        pair_start.append(len(pairs))
        for i, high in enumerate(others):
            for low in others[i + 1 :]:
                around[low].add(high)
                pairs.append((low, high))
    pair_edge = np.array([number[pair] for pair in pairs], dtype=np.int64)
    return number, np.array(start), np.array(pair_start, dtype=np.int64), pair_edge


def _edge(
    number: dict[tuple[int, int], int], position: Ints, body: int, a: int, b: int
) -> tuple[int, int]:
    """Return (edge, sign) between two nodes, sign +1 if a is eliminated later than b."""
    if a < 0:
        return -1, 1
    one, two = (int(position[n]) if n else body for n in (a, b))
    return (number[two, one], 1) if one > two else (number[one, two], -1)
