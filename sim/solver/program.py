"""The order of elimination, once per topology, as flat integer arrays.

A node with incident edges of conductance g_i and EMF e_i (current into the node: g_i (v_i - v_k -
e_i)) is replaced by edges between each two of its neighbours:

    S = sum g_i,   g_ij = g_i g_j / S,   e_ij = e_i - e_j          (star-mesh transformation)

and parallel edges merge as ``g = g1 + g2``, ``e = e1 + (e2 - e1) g2 / g``. Only positive numbers
are ever added, so islands behind exact opens and micro-ohm joints keep full relative precision
(the argument is that of Grassmann, Taksar & Heyman, Operations Research 33(5), 1985, for Markov
chains). Going back,

    d_ik = sum_j (g_j / S) (d_ij + e_j)

gives the *drop* across each edge rather than a difference of two node voltages.

Order: least degree first; nodes that touch a curved element, and the loose leads, last of all, and
the body never. Every node keeps an edge to the body (a leak of 1 Tohm), so the last drop is the
node's voltage.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sim.network import LEADS, Ints, Network
from sim.parts.family import CURVED


class Program(NamedTuple):
    """Flat arrays for the kernel (a named tuple, because compiled code takes those).

    Attributes
    ----------
    order : int array (N-1,)
        Nodes in order of elimination.
    start : int array (N,)
        Where the edges of the k-th eliminated node begin in `edge` and `sign`.
    edge, sign : int arrays
        Filled edges from the eliminated node to its later neighbours; sign is +1 if the edge is
        kept as (neighbour -> node), -1 if (node -> neighbour).
    other_lead : int array
        For each of those, which loose lead (0 to 3) the neighbour is, -1 if none.
    pair_start, pair_edge, pair_sign : int arrays
        For the k-th node, at ``pair_start[k] + i * n + j`` (n neighbours, i < j), the edge between
        neighbours i and j; sign +1 if it is kept as (i -> j).
    element_edge, element_sign : int arrays (E,)
        The filled edge an element lies on; sign +1 if both run the same way.
    ground_edge, ground_sign : int arrays (N,)
        The edge between each node and the body, sign +1 if kept as (node -> body); -1 for the body.
    lead_edge : int array (4, N)
        The edge between a loose lead and each node; -1 where there is none.
    laws, relays, fuses : int arrays (E,)
        As in `sim.network.Network`.
    tail : int
        Where in `order` the nodes begin that touch a lamp, a diode or a lead.
    tail_edges : int array
        The filled edges among those nodes and the body.
    edges : int
        Number of filled edges.
    """

    order: Ints
    start: Ints
    edge: Ints
    sign: Ints
    other_lead: Ints
    pair_start: Ints
    pair_edge: Ints
    pair_sign: Ints
    element_edge: Ints
    element_sign: Ints
    ground_edge: Ints
    ground_sign: Ints
    lead_edge: Ints
    laws: Ints
    relays: Ints
    fuses: Ints
    tail: int
    tail_edges: Ints
    edges: int


class _Graph:
    """The filled graph: undirected edges with a kept direction and a number."""

    def __init__(self) -> None:
        self.number: dict[tuple[int, int], int] = {}

    def add(self, a: int, b: int) -> tuple[int, int]:
        """Return (number, sign) of the edge a -> b, made if it is new."""
        if (a, b) in self.number:
            return self.number[a, b], 1
        if (b, a) in self.number:
            return self.number[b, a], -1
        self.number[a, b] = len(self.number)
        return self.number[a, b], 1


def _elimination_order(network: Network) -> tuple[list[int], int]:
    """Return the nodes in order of elimination, and where the tail begins."""
    nodes = len(network.nodes)
    neighbours: list[set[int]] = [set() for _ in range(nodes)]
    for a, b in network.ends.tolist():
        neighbours[a].add(b)
        neighbours[b].add(a)
    leads = set(range(nodes - len(LEADS), nodes))
    curved = (
        {
            int(node)
            for law, ends in zip(network.laws, network.ends, strict=True)
            if law in CURVED
            for node in ends
        }
        - leads
        - {0}
    )
    order: list[int] = []
    straight = set(range(1, nodes)) - curved - leads
    for group in (straight, curved, leads):
        left = set(group)
        while left:
            node = min(left, key=lambda n: (len(neighbours[n] - {0}), n))
            left.remove(node)
            order.append(node)
            around = neighbours[node] - {0}
            for other in around:
                neighbours[other] |= around - {other}
                neighbours[other].discard(node)
    return order, len(straight)


def build_program(network: Network) -> Program:
    """Return the elimination program of a network."""
    nodes = len(network.nodes)
    graph = _Graph()
    element = [graph.add(a, b) for a, b in network.ends.tolist()]
    ground = [(-1, 0)] + [graph.add(node, 0) for node in range(1, nodes)]
    first_lead = nodes - len(LEADS)
    lead_edge = np.full((len(LEADS), nodes), -1, dtype=np.int64)
    for lead in range(len(LEADS)):
        for node in range(first_lead):
            lead_edge[lead, node] = graph.add(first_lead + lead, node)[0]
    around: list[dict[int, None]] = [{} for _ in range(nodes)]
    for a, b in graph.number:
        around[a][b] = around[b][a] = None
    order, tail = _elimination_order(network)
    start, edges, signs, other_leads = [0], [], [], []
    pair_start: list[int] = []
    pair_edges: list[int] = []
    pair_signs: list[int] = []
    for node in order:
        others = list(around[node])
        for other in others:
            del around[other][node]
            number, sign = graph.add(other, node)
            edges.append(number)
            signs.append(sign)
            other_leads.append(other - first_lead if other >= first_lead else -1)
        start.append(len(edges))
        pair_start.append(len(pair_edges))
        block = np.zeros((len(others), len(others), 2), dtype=np.int64)
        for i, one in enumerate(others):
            for j in range(i + 1, len(others)):
                two = others[j]
                block[i, j] = graph.add(one, two)
                around[one][two] = around[two][one] = None
        pair_edges += block[:, :, 0].ravel().tolist()
        pair_signs += block[:, :, 1].ravel().tolist()
    return Program(
        order=np.array(order, dtype=np.int64),
        start=np.array(start, dtype=np.int64),
        edge=np.array(edges, dtype=np.int64),
        sign=np.array(signs, dtype=np.int64),
        other_lead=np.array(other_leads, dtype=np.int64),
        pair_start=np.array(pair_start, dtype=np.int64),
        pair_edge=np.array(pair_edges, dtype=np.int64),
        pair_sign=np.array(pair_signs, dtype=np.int64),
        element_edge=np.array([number for number, _ in element], dtype=np.int64),
        element_sign=np.array([sign for _, sign in element], dtype=np.int64),
        ground_edge=np.array([number for number, _ in ground], dtype=np.int64),
        ground_sign=np.array([sign for _, sign in ground], dtype=np.int64),
        lead_edge=lead_edge,
        laws=network.laws,
        relays=network.relays,
        fuses=network.fuses,
        tail=tail,
        tail_edges=np.array(sorted(edges[start[tail] :]), dtype=np.int64),
        edges=len(graph.number),
    )
