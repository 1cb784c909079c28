"""The order of elimination, once per topology, as flat integer arrays.

A node k with incident edges of conductance g_i and EMF e_i, kept as j_i = g_i e_i (current into
edge i: ``g_i (v_k - v_i) - j_i``), is replaced by edges between each two of its neighbours:

    S = sum g_i,   w_i = g_i / S,   g_ij += g_i w_j,   j_ij += w_i j_j - w_j j_i     (star-mesh)

Only positive conductances are ever added, so islands behind exact opens and micro-ohm joints keep
full relative precision (the argument is that of Grassmann, Taksar & Heyman, Operations Research
33(5), 1985, for Markov chains). Going back,

    d_ki = sum_j w_j d_ji + sum_j j_j / S,   d_ji = -d_ij

gives the *drop* across each edge rather than a difference of two node voltages. Every edge is kept
from the node that is eliminated first to the other, so that no signs are needed. Every node keeps
an edge to the body, which is never eliminated; its drop is the node's voltage.

Order: in rounds; a round takes nodes of least degree that are no neighbours of each other, so that
the order within it changes nothing but roundings. Nodes that touch a curved element come last, and
with them straight nodes of more than `MOST_NEIGHBOURS` neighbours: together they are the tail,
which is done again in every step of the iteration. Edges that can never carry an EMF are known as
such.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.modules.conditions import Flags
from sim.network import LEADS, Ints, Network
from sim.parts.family import CURVED, Law
from sim.solver.grouping import Edges, Stars

NOWHERE = -1
INSTRUMENTS_BETWEEN = ((-4, -3, -2), (-1,))  # elements between red and black; of the jumper
METER_LAMP = -3
MOST_NEIGHBOURS = 6


@dataclass(frozen=True, slots=True)
class Program:
    """What the two executors follow; numbers of edges are rows of their arrays.

    Attributes
    ----------
    edges : int
        How many filled edges; one more row stands for "no edge", whose drop is 0.
    stars : Stars
        The nodes in order of elimination, tail last, gathered by round and number of neighbours.
    count, live, edge_at, pair_at, edge, pair : int arrays
        All groups, node by node: number of neighbours (the body included), 1 if an EMF can be on
        one of the edges, where its edges and pairs begin, and the edges and pairs themselves.
    neighbour : int array
        Place in the order of the other end of each of `edge`; that of the body is after all.
    place : int array (N,)
        Place in the order of every node.
    tail : int
        How many nodes come before the tail.
    tail_edges : int array
        The filled edges among the nodes of the tail and the body.
    straight, straight_edge, straight_sign : int arrays
        Numbers of the straight elements in circuit, the edges they lie on, and 1.0 or -1.0.
    pushing : int array
        Those of `straight` (as positions in it) that may carry an EMF.
    switching, judged : int arrays
        Positions in `straight` of contacts and fuses, and of coils and fuses.
    pushed, quiet, shifting, limited : int arrays
        Elements: those of `pushing`, those of `straight` that may carry no EMF, those of
        `switching` and of `judged`.
    curved, curved_edge, curved_sign, curved_law : int arrays
        The same for the curved elements.
    lead_edge : int array
        Edges of the leads that are put on.
    leak_edge : int array
        Edges of the leaks.
    ground_edge : int array (N,)
        The edge whose drop is the node's voltage.
    element_edge : int array (E,), element_sign : float array (E,)
        The filled edge of every element; +1 if both run the same way.
    owed, owed_row, owed_at, owed_by, owed_sign, owed_node : int arrays
        For element ``owed[i]``, which has an EMF: its position in `straight`, the other elements
        ``owed_by[owed_at[i]:]`` at one of its nodes, with the sign with which their currents add
        up to its own, and that node (by whose leak the sum is completed), with the element's sign.
    """

    edges: int
    stars: Stars
    count: Ints
    live: Ints
    edge_at: Ints
    pair_at: Ints
    edge: Ints
    pair: Ints
    neighbour: Ints
    place: Ints
    tail: int
    tail_edges: Ints
    straight: Ints
    straight_edge: Ints
    straight_sign: np.ndarray
    pushing: Ints
    switching: Ints
    judged: Ints
    pushed: Ints
    quiet: Ints
    shifting: Ints
    limited: Ints
    curved: Ints
    curved_edge: Ints
    curved_sign: np.ndarray
    curved_law: Ints
    lead_edge: Ints
    leak_edge: Ints
    ground_edge: Ints
    element_edge: Ints
    element_sign: np.ndarray
    owed: Ints
    owed_row: Ints
    owed_at: Ints
    owed_by: Ints
    owed_sign: np.ndarray
    owed_node: Ints


def build_program(
    network: Network,
    attached: tuple[int, ...] = (NOWHERE,) * 4,
    *,
    lamp: bool = False,
    pushing: frozenset[int] = frozenset(),
) -> Program:
    """Return the elimination program of a network with its leads on four points.

    Parameters
    ----------
    network : Network
    attached : four int
        Node of red, black, jumper from and jumper to, in pairs: both of a pair, or -1 for both.
    lamp : bool
        Whether the test lamp is between red and black.
    pushing : set of int
        Elements that may carry an EMF, beyond those that do in the network.
    """
    return _Builder(network, attached, lamp=lamp, pushing=pushing).program()


class _Builder:
    def __init__(
        self, network: Network, attached: tuple[int, ...], *, lamp: bool, pushing: frozenset[int]
    ) -> None:
        self.network, self.attached, self.lamp = network, attached, lamp
        self.elements, self.nodes = len(network.elements), len(network.nodes)
        self.first_lead = self.nodes - len(LEADS)
        self.out = self._out_of_circuit()
        self.on = [which for which, node in enumerate(attached) if node != NOWHERE]
        self.pushing = np.array([element.emf != 0.0 for element in network.elements])
        self.pushing[[*pushing, -4, -1]] = True

    def _out_of_circuit(self) -> Flags:
        """Return which elements carry nothing: across one node, or between loose leads."""
        ends = self.network.ends
        out: Flags = ends[:, 0] == ends[:, 1]
        for pair, numbers in enumerate(INSTRUMENTS_BETWEEN):
            if self.attached[2 * pair] == NOWHERE:
                out[list(numbers)] = True
        if not self.lamp:
            out[METER_LAMP] = True
        return out

    def program(self) -> Program:
        """Return the program."""
        network = self.network
        inside = np.flatnonzero(~self.out)
        bent = np.isin(network.laws[inside], CURVED)
        curved, straight = inside[bent], inside[~bent]
        leads = _ints([(self.first_lead + which, self.attached[which]) for which in self.on])
        edges = self._eliminated(inside, curved, leads.reshape(-1, 2))
        stars = edges.stars
        return Program(
            edges=len(edges),
            stars=stars,
            count=stars.count,
            live=stars.live,
            edge_at=stars.edge_at,
            pair_at=stars.pair_at,
            edge=stars.edge,
            pair=stars.pair,
            neighbour=edges.far_ends(),
            place=edges.place,
            tail=stars.tail,
            tail_edges=stars.tail_edges,
            **self._elements("straight", straight, edges),
            **self._looked_at(straight),
            **self._elements("curved", curved, edges),
            curved_law=network.laws[curved],
            lead_edge=edges.numbers(leads.reshape(-1, 2)),
            leak_edge=edges.numbers(_to_body(np.arange(1, self.first_lead))),
            ground_edge=self._ground(edges),
            **self._all_elements(edges),
            **self._owed(straight, inside),
        )

    def _eliminated(self, inside: Ints, curved: Ints, leads: Ints) -> Edges:
        """Eliminate all nodes on paper."""
        ends = self.network.ends
        present, late = np.zeros(self.nodes, dtype=bool), np.zeros(self.nodes, dtype=bool)
        present[1 : self.first_lead] = True
        present[leads[:, 0]] = True
        late[ends[curved]] = True
        sources = self.pushing.copy()
        sources[curved] = True
        branches = np.concatenate([ends[inside], leads])
        pushed = ends[inside[sources[inside]]]
        return Edges(self.nodes, branches, present, late, MOST_NEIGHBOURS, pushed)

    def _elements(self, name: str, numbers: Ints, edges: Edges) -> dict[str, np.ndarray]:
        ends = self.network.ends[numbers]
        return {
            name: numbers,
            f"{name}_edge": edges.numbers(ends),
            f"{name}_sign": edges.signs(ends),
        }

    def _looked_at(self, straight: Ints) -> dict[str, Ints]:
        """Return which straight elements have an EMF, switch or are judged."""
        laws, pushes = self.network.laws[straight], self.pushing[straight]
        pushing = np.flatnonzero(pushes)
        switching = np.flatnonzero((laws == Law.CONTACT) | (laws == Law.FUSE))
        judged = np.flatnonzero((laws == Law.COIL) | (laws == Law.FUSE))
        return {
            "pushing": pushing,
            "switching": switching,
            "judged": judged,
            "pushed": straight[pushing],
            "quiet": straight[~pushes],
            "shifting": straight[switching],
            "limited": straight[judged],
        }

    def _all_elements(self, edges: Edges) -> dict[str, np.ndarray]:
        outside = self.out.copy()
        if self.attached[0] != NOWHERE:
            outside[METER_LAMP] = False  # idle
        there = np.flatnonzero(~outside)
        numbers, signs = np.full(self.elements, len(edges)), np.ones(self.elements)
        numbers[there] = edges.numbers(self.network.ends[there])
        signs[there] = edges.signs(self.network.ends[there])
        return {"element_edge": numbers, "element_sign": signs}

    def _ground(self, edges: Edges) -> Ints:
        ground = np.full(self.nodes, len(edges))
        leads = [self.first_lead + which for which in self.on]
        present = np.concatenate([np.arange(1, self.first_lead), _ints(leads)])
        ground[present] = edges.numbers(_to_body(present))
        return ground

    def _owed(self, straight: Ints, inside: Ints) -> dict[str, np.ndarray]:
        """Return which currents add up to that of an element with an EMF, where just one is."""
        ends = self.network.ends.tolist()
        touch = np.zeros((self.nodes, self.elements), dtype=bool)
        for side in self.network.ends[inside].T:
            touch[side, inside] = True
        found: dict[str, list[int]] = {"owed": [], "owed_by": [], "owed_sign": [], "owed_node": []}
        starts = [0]
        leaving = straight[self.pushing[straight]].tolist()
        for number in leaving:
            a, b = ends[number]
            for node, sign in ((a, 1), (b, -1)):
                others = [n for n in np.flatnonzero(touch[node]).tolist() if n != number]
                free = 0 < node < self.first_lead and node not in self.attached
                if free and not set(leaving) & set(others):
                    found["owed"].append(number)
                    found["owed_node"].append(sign * node)
                    found["owed_by"] += others
                    found["owed_sign"] += [-sign if ends[n][0] == node else sign for n in others]
                    starts.append(len(found["owed_by"]))
                    break
        arrays = {name: _ints(values) for name, values in found.items()}
        row = np.searchsorted(straight, arrays["owed"])
        starts_at = {"owed_row": row, "owed_at": _ints(starts)}
        return {**arrays, **starts_at, "owed_sign": arrays["owed_sign"].astype(float)}


def _to_body(nodes: Ints) -> Ints:
    """Return the ends (n, 2) of edges from nodes to the body."""
    return np.stack([nodes, np.zeros_like(nodes)], axis=1)


def _ints(values: Sequence[int] | Sequence[tuple[int, int]]) -> Ints:
    return np.array(values, dtype=np.int64)
