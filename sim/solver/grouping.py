"""Nodes in rounds: which may be eliminated together, and the filled edges between them."""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

import numpy as np

from sim.modules.conditions import Flags
from sim.network import Ints
from sim.solver.symbolic import eliminate_all, order_in_rounds


class Star(NamedTuple):
    """A node with its edges, where nothing is compiled; a tuple, which is taken apart soonest.

    Attributes
    ----------
    edges : list of int
        To the neighbours, in their order of elimination.
    pairs : list of (int, int, int)
        Edges between two neighbours, and which ones: 0-1, 0-2, 1-2, 0-3 and so on.
    back : list of (int, list of (int, int), list of (int, int))
        For each edge, those of the edges (and the edges between their ends and its own) whose share
        of the drop there adds to its own, and those whose share is taken off.
    live : bool
        Whether an EMF can be on one of the edges.
    """

    edges: list[int]
    pairs: list[tuple[int, int, int]]
    back: list[tuple[int, list[tuple[int, int]], list[tuple[int, int]]]]
    live: bool


class Stars:
    """Nodes in order of elimination, gathered in groups, each with its edges and pairs.

    Attributes
    ----------
    nodes, count, live : int arrays (P,)
        Each node, the number of its neighbours (the body included), and 1 if an EMF can be on one
        of its edges.
    edge_at, pair_at : int arrays (P + 1,)
        Where its edges, and those between its neighbours, begin.
    edge, pair : int arrays
    tail : int
        How many nodes come before the tail.
    """

    def __init__(self, paper: _Paper, tail: int) -> None:
        order = np.argsort(paper.group, kind="stable")
        self.nodes = paper.nodes[order]
        self.count, self.live = paper.counts[order], paper.alive[order].astype(np.int64)
        self.edge_at, self.edge = _moved(paper.edge_at, paper.edge, order)
        self.pair_at, self.pair = _moved(paper.pair_at, paper.pair, order)
        self.tail = tail

    @cached_property
    def early(self) -> tuple[Star, ...]:
        """Those before the tail by themselves, for where nothing is compiled."""
        return tuple(map(self._star, range(self.tail)))

    @cached_property
    def late(self) -> tuple[Star, ...]:
        """Those of the tail."""
        return tuple(map(self._star, range(self.tail, len(self.nodes))))

    @cached_property
    def tail_edges(self) -> Ints:
        """The edges of the tail's nodes, sorted."""
        return np.unique(self.edge[self.edge_at[self.tail] :])

    def _star(self, place: int) -> Star:
        edges = self.edge[self.edge_at[place] : self.edge_at[place + 1]].tolist()
        pairs = self.pair[self.pair_at[place] : self.pair_at[place + 1]].tolist()
        between = [(a, b) for b in range(len(edges)) for a in range(b)]
        plus: list[list[tuple[int, int]]] = [[] for _edge in edges]
        minus: list[list[tuple[int, int]]] = [[] for _edge in edges]
        for pair, (a, b) in zip(pairs, between, strict=True):
            plus[b].append((edges[a], pair))
            minus[a].append((edges[b], pair))
        ends = [(pair, a, b) for pair, (a, b) in zip(pairs, between, strict=True)]
        back = list(zip(edges, plus, minus, strict=True))
        return Star(edges, ends, back, live=bool(self.live[place]))


class Edges:
    """The filled edges, numbered, each kept from the node eliminated first to the other.

    Parameters
    ----------
    nodes : int
        How many there are; 0 is the body and never eliminated.
    branches : int array (B, 2)
        Nodes that touch.
    present, late : bool arrays (N,)
        Nodes to eliminate, and which of them belong to the tail.
    most : int
        A node with more neighbours (the body not counted) belongs to the tail too.
    pushed : int array (n, 2)
        Nodes between which there is an EMF.
    """

    def __init__(
        self, nodes: int, branches: Ints, present: Flags, late: Flags, most: int, pushed: Ints
    ) -> None:
        paper, ends, tail = _ordered(nodes, branches, present, late, most)
        size = len(paper.nodes) + 1
        self._at = np.full(nodes, size - 1)  # the body, and what is not there, come last
        self._at[paper.nodes] = np.arange(size - 1)
        self._number = np.full((size, size), -1)
        self._known = 0
        live = np.zeros(len(paper.edge) + len(pushed), dtype=bool)
        live[self.numbers(pushed)] = True
        self._known = eliminate_all(
            ends, self._beyond(branches), self._number, self._known, live, *paper
        )
        self.stars = Stars(paper, int(ends[tail - 1]) if tail else 0)
        self.place = np.full(nodes, size - 1)  # within a round only: no edge runs the other way
        self.place[self.stars.nodes] = np.arange(size - 1)

    def __len__(self) -> int:
        """Return how many there are."""
        return self._known

    def signs(self, ends: Ints) -> np.ndarray:
        """Return 1.0 where the edge between two nodes (n, 2) is kept from the first, else -1.0."""
        at = self.place[ends]
        return np.where(at[:, 0] < at[:, 1], 1.0, -1.0)

    def numbers(self, ends: Ints) -> Ints:
        """Return the numbers of the edges between two nodes (n, 2), made where they are new."""
        at = self._at[ends]
        low, high = at.min(axis=1), at.max(axis=1)
        found: Ints = self._number[low, high]
        for new in np.flatnonzero(found < 0).tolist():
            if self._number[low[new], high[new]] < 0:
                self._number[low[new], high[new]] = self._known
                self._known += 1
            found[new] = self._number[low[new], high[new]]
        return found

    def far_ends(self) -> Ints:
        """Return the place of the far end of every edge of every node, node by node."""
        low, high = np.nonzero(self._number >= 0)
        far = np.empty(self._known, dtype=np.int64)
        far[self._number[low, high]] = high
        moved = np.empty(len(self._number), dtype=np.int64)
        moved[self._at] = self.place
        ends: Ints = moved[far][self.stars.edge]
        return ends

    def _beyond(self, branches: Ints) -> Flags:
        """Return which places every place has an edge to that are eliminated after it."""
        beyond = np.zeros(self._number.shape, dtype=bool)
        beyond[:, -1] = True
        near, far = np.sort(self._at[branches], axis=1).T
        beyond[near, far] = True
        beyond[np.diag_indices(len(beyond) - 1)] = False
        return beyond


class _Paper(NamedTuple):
    """What elimination on paper works on; see `sim.solver.symbolic.eliminate_all`."""

    nodes: Ints
    counts: Ints
    alive: Flags
    group: Ints
    edge_at: Ints
    pair_at: Ints
    edge: Ints
    pair: Ints


def _ordered(
    nodes: int, branches: Ints, present: Flags, late: Flags, most: int
) -> tuple[_Paper, Ints, int]:
    """Return the nodes in rounds that do not touch each other, each round's end, and the tail's."""
    near = np.zeros((nodes, nodes), dtype=bool)
    one, other = branches.T
    near[one, other] = near[other, one] = True
    near[0] = near[:, 0] = False
    near[np.diag_indices(nodes)] = False
    order, around, ends = (np.zeros(nodes, dtype=np.int64) for _ in range(3))
    late = late & present
    count, rounds, tail = order_in_rounds(near, present & ~late, late, most, order, around, ends)
    counts = around[:count] + 1
    edge_at = np.concatenate([[0], np.cumsum(counts)])
    pair_at = np.concatenate([[0], np.cumsum(counts * (counts - 1) // 2)])
    edge, pair = (np.zeros(at[-1], dtype=np.int64) for at in (edge_at, pair_at))
    group = np.zeros(count, dtype=np.int64)
    alive = np.zeros(count, dtype=bool)
    paper = _Paper(order[:count], counts, alive, group, edge_at, pair_at, edge, pair)
    return paper, ends[:rounds], tail


def _moved(at: Ints, values: Ints, order: Ints) -> tuple[Ints, Ints]:
    """Return where lists begin once they are in another order, and their values."""
    lengths = np.diff(at)[order]
    begins = np.concatenate([[0], np.cumsum(lengths)])
    from_ = np.repeat(at[:-1][order] - begins[:-1], lengths) + np.arange(begins[-1])
    return begins, values[from_]
