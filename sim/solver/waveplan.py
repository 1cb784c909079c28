"""The order of elimination for a waveform: what stays, what moves with time, what is curved.

The star-mesh transformation of `sim.solver.program` once more, with each edge as (g, j): current
``g (v_i - v_k) - j`` from the later to the earlier eliminated end, j = g e. Eliminating k with S
the sum of its g_i:

    g_il += g_i g_l / S        j_il += (g_l j_i - g_i j_l) / S
    v_i - v_k = (sum_l g_l (v_i - v_l) + sum_l j_l) / S

The j of an edge errs by no more than its g times the largest EMF, so that islands behind exact
opens keep their precision here too; and there is one division a node.

Nodes are eliminated in three groups. *Still* ones touch only elements that keep their numbers as
long as no contact, fuse or key moves; *moving* ones touch inductances, capacitances and waves,
whose conductances change with the time step; the *core* (nodes of lamps, diodes, motors, and hubs
of many neighbours, which would fill the rest if they went first) is done again in each iteration.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from sim.network import LEADS, Ints, Network

SERIES, BESIDE, CURVED = 0, 1, 2  # kinds of branches that are no still element
ELEMENT, KIND, EDGE, SIGN, LAW = 0, 1, 2, 3, 4  # rows of `Plan.branches`
STILL, MOVING, CORE, END, BENT = 0, 1, 2, 3, 4  # places in `Plan.bounds`
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
    later : int array
        The later node of each edge; M for the body.
    bounds : int array (5,)
        Where in the order the still, the moving and the core nodes begin, where they end; where
        in the branches the curved ones begin.
    position : int array (N,)
        Place of each node in the order; -1 for the body and loose leads.
    elements : int array (2, E)
        Edge of each element (-1: not in circuit), and -1 if it runs the other way, else 1.
    still : int array
        Elements that are no branch.
    lead_edge : int array
        Edges of the leads that are put on.
    branches : int array (5, B)
        Element, kind, edge, sign and law of each branch: a series one (resistance, inductance,
        EMF, gate), a capacitance beside its element, or, last, a curved one.
    """

    start: Ints
    pair_start: Ints
    pair_edge: Ints
    later: Ints
    bounds: Ints
    position: Ints
    elements: Ints
    still: Ints
    lead_edge: Ints
    branches: Ints


def build_plan(
    network: Network, attached: Sequence[int], branches: Iterable[tuple[int, int]]
) -> Plan:
    """Return the plan for leads on the nodes `attached` (-1: loose).

    Parameters
    ----------
    branches : pairs of int
        (element, kind) of what is no still element, sorted by kind.
    """
    first_lead = len(network.nodes) - len(LEADS)
    loose = {first_lead + which for which in range(len(LEADS)) if attached[which] < 0}
    leads = [(first_lead + which, node) for which, node in enumerate(attached) if node >= 0]
    ends = [
        (-1, -1) if a == b or a in loose or b in loose else (a, b) for a, b in network.ends.tolist()
    ]
    kept = [(element, kind) for element, kind in branches if ends[element][0] >= 0]
    inside = [node for node in range(1, len(network.nodes)) if node not in loose]
    graph = [pair for pair in ends if pair[0] >= 0] + leads
    touched = {node for element, _ in kept for node in ends[element]}
    bent = {node for element, kind in kept if kind == CURVED for node in ends[element]}
    order, begins = _order(inside, graph, touched, bent)
    position = np.full(len(network.nodes), -1, dtype=np.int64)
    position[order] = np.arange(len(order))
    filled = _Filled(position, order, graph)
    elements = np.array([filled.edge(a, b) for a, b in ends], dtype=np.int64).T.copy()
    number = np.array([element for element, _ in kept], dtype=np.int64)
    kinds = np.array([kind for _, kind in kept], dtype=np.int64)
    moved = {element for element, kind in kept if kind != BESIDE}
    still = [n for n, pair in enumerate(ends) if n not in moved and pair[0] >= 0]
    return Plan(
        np.array(filled.start, dtype=np.int64),
        np.array(filled.pair_start, dtype=np.int64),
        np.array([filled.number[pair] for pair in filled.pairs], dtype=np.int64),
        np.array([later for _, later in filled.number], dtype=np.int64),
        np.array([*begins, len(order), np.count_nonzero(kinds != CURVED)], dtype=np.int64),
        position,
        elements,
        np.array(still, dtype=np.int64),
        np.array([filled.edge(a, b)[0] for a, b in leads], dtype=np.int64),
        np.stack([number, kinds, *elements[:, number], network.laws[number]]),
    )


def _order(
    inside: list[int], graph: list[tuple[int, int]], touched: set[int], bent: set[int]
) -> tuple[list[int], list[int]]:
    """Return the nodes in order of elimination, and where each of the three groups begins."""
    around: dict[int, set[int]] = {node: set() for node in inside}
    for a, b in graph:
        if a and b:
            around[a].add(b)
            around[b].add(a)
    order: list[int] = []
    begins = []
    nobody: set[int] = set()
    for kept, few in ((touched, FEW), (bent, FEW), (nobody, len(inside))):
        begins.append(len(order))
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
    return order, begins


class _Filled:
    """The filled graph: edges numbered by (earlier, later) place; the body comes last."""

    def __init__(self, position: Ints, order: list[int], graph: list[tuple[int, int]]) -> None:
        self.position, self.body = position, len(order)
        around: list[set[int]] = [{self.body} for _ in order]
        for a, b in graph:
            low, high = sorted((self.place(a), self.place(b)))
            around[low].add(high)
        self.number: dict[tuple[int, int], int] = {}
        self.start, self.pair_start = [0], []
        self.pairs: list[tuple[int, int]] = []
        for k in range(self.body):
            others = sorted(around[k], reverse=True)
            self.number.update({(k, other): len(self.number) + i for i, other in enumerate(others)})
            self.start.append(len(self.number))
            self.pair_start.append(len(self.pairs))
            for i, high in enumerate(others):
                for low in others[i + 1 :]:
                    around[low].add(high)
                    self.pairs.append((low, high))

    def place(self, node: int) -> int:
        return int(self.position[node]) if node else self.body

    def edge(self, a: int, b: int) -> tuple[int, int]:
        """Return (edge, sign) between two nodes, sign +1 if a is eliminated later than b."""
        if a < 0:
            return -1, 1
        one, two = self.place(a), self.place(b)
        return (self.number[two, one], 1) if one > two else (self.number[one, two], -1)
