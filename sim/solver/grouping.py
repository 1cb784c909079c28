"""Nodes in rounds: which may be eliminated together, and the filled edges between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import count

import numpy as np

from sim.network import Ints


@dataclass(frozen=True, slots=True)
class Group:
    """Nodes of one round with as many neighbours each, none of which writes to the same edge.

    Attributes
    ----------
    round : int
    count : int
        Number of neighbours n, the body included.
    live : bool
        Whether an EMF can be on one of the edges.
    nodes : int array (m,)
    edges : int array (n, m)
        To the neighbours, in their order of elimination.
    pairs : int array (n (n - 1) / 2, m)
        Between the neighbours: 0-1, 0-2, 1-2, 0-3 and so on.
    """

    round: int
    count: int
    live: bool
    nodes: Ints
    edges: Ints
    pairs: Ints

    def among(self, some: Ints) -> Group:
        """Return the group with edges numbered by their place in a sorted selection."""
        edges, pairs = np.searchsorted(some, self.edges), np.searchsorted(some, self.pairs)
        return replace(self, edges=edges, pairs=pairs)


def eliminated_in_rounds(
    nodes: int,
    branches: Iterable[Sequence[int]],
    present: Sequence[int],
    late: set[int],
    most: int,
) -> tuple[list[list[int]], int]:
    """Return the nodes in rounds, each of nodes that do not touch each other, and the tail's first.

    Parameters
    ----------
    nodes : int
        How many there are; 0 is the body and never eliminated.
    branches : pairs of int
    present : sequence of int
        Nodes to eliminate.
    late : set of int
        Nodes that belong to the tail.
    most : int
        A node with more neighbours (the body not counted) belongs to the tail too.
    """
    around: list[set[int]] = [set() for _ in range(nodes)]
    for a, b in branches:
        if a != b and a and b:
            around[a].add(b)
            around[b].add(a)
    left = set(present) - late
    rounds: list[list[int]] = []
    while left:
        batch = _next_round(around, left)
        if max(len(around[node]) for node in batch) > most:
            break
        _eliminate(around, batch)
        left.difference_update(batch)
        rounds.append(batch)
    tail = len(rounds)
    left |= late & set(present)
    while left:
        batch = _next_round(around, left)
        _eliminate(around, batch)
        left.difference_update(batch)
        rounds.append(batch)
    return rounds, tail


def _next_round(around: list[set[int]], left: set[int]) -> list[int]:
    """Return nodes of few neighbours that are no neighbours of each other, least degree first.

    Two neighbours beside the body are few (a link in a chain costs no new edge); else the least.
    """
    degrees = [(len(around[node]), node) for node in left]
    most = max(2, min(degrees)[0])
    batch: list[int] = []
    taken: set[int] = set()
    for _degree, node in sorted(one for one in degrees if one[0] <= most):
        if node not in taken:
            batch.append(node)
            taken |= around[node]
    return batch


def _eliminate(around: list[set[int]], batch: Iterable[int]) -> None:
    for node in batch:
        neighbours = around[node]
        for other in neighbours:
            around[other] |= neighbours
            around[other] -= {other, node}


class Edges:
    """The filled edges, numbered, each kept from the node eliminated first to the other."""

    def __init__(self, rounds: list[list[int]], nodes: int) -> None:
        self.rounds = rounds
        order = [node for batch in rounds for node in batch]
        self.place = [len(order)] * nodes  # the body, and what is not there, come last
        for place, node in enumerate(order):
            self.place[node] = place
        self._at = np.array(self.place, dtype=np.int64)  # as it was before `groups`
        self._size = len(order) + 1
        self._numbers: defaultdict[int, int] = defaultdict(count().__next__)

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._numbers)

    def signs(self, ends: Ints) -> np.ndarray:
        """Return 1.0 where the edge between two nodes (n, 2) is kept from the first, else -1.0."""
        at = np.array(self.place, dtype=np.int64)[ends]
        return np.where(at[:, 0] < at[:, 1], 1.0, -1.0)

    def numbers(self, ends: Ints) -> Ints:
        """Return the numbers of the edges between two nodes (n, 2), made where they are new."""
        at = self._at[ends]
        keys = at.min(axis=1) * self._size + at.max(axis=1)
        return np.array([self._numbers[key] for key in keys.tolist()], dtype=np.int64)

    def far_ends(self, groups: Sequence[Group]) -> Ints:
        """Return the place of the far end of every edge of every node of groups, node by node."""
        far = np.fromiter(self._numbers, np.int64, len(self)) % self._size
        moved = np.empty(self._size, dtype=np.int64)
        moved[self._at] = self.place
        flat = [group.edges.T.ravel() for group in groups]
        ends: Ints = moved[far][np.concatenate([np.zeros(0, dtype=np.int64), *flat])]
        return ends

    def groups(self, branches: Iterable[Sequence[int]], live: set[int]) -> list[Group]:
        """Eliminate symbolically; return the groups in order. `live` gains the edges with EMFs."""
        beyond = self._beyond(branches)
        found: list[Group] = []
        for number, batch in enumerate(self.rounds):
            sorted_out: list[tuple[tuple[int, bool], set[int], list[_Star]]] = []
            for node in batch:
                star = self._star(node, beyond, live)
                key, written = (len(star.edges), star.live), set(star.pairs)
                for other, taken, stars in sorted_out:
                    if other == key and taken.isdisjoint(written):
                        taken.update(written)
                        stars.append(star)
                        break
                else:
                    sorted_out.append((key, written, [star]))
            found += [_group(number, key, stars) for key, _taken, stars in sorted_out]
        for place, node in enumerate(node for group in found for node in group.nodes.tolist()):
            self.place[node] = place  # within a round only: no edge runs the other way for it
        return found

    def _beyond(self, branches: Iterable[Sequence[int]]) -> list[set[int]]:
        """Return the neighbours of every place that are eliminated after it, as places."""
        body = self._size - 1
        beyond: list[set[int]] = [{body} for _ in range(self._size)]
        for a, b in branches:
            near, far = self.place[a], self.place[b]
            if near != far:
                beyond[min(near, far)].add(max(near, far))
        return beyond

    def _star(self, node: int, beyond: list[set[int]], live: set[int]) -> _Star:
        place, size, numbers = self.place[node], self._size, self._numbers
        others = sorted(beyond[place])
        edges = [numbers[place * size + other] for other in others]
        pairs = [
            numbers[first * size + later] for j, later in enumerate(others) for first in others[:j]
        ]
        for i, other in enumerate(others, start=1):
            beyond[other].update(others[i:])
        pushed = [edge in live for edge in edges]
        if any(pushed):
            either = (one or later for j, later in enumerate(pushed) for one in pushed[:j])
            live.update(pair for pair, pushes in zip(pairs, either, strict=True) if pushes)
        return _Star(node, edges, pairs, live=any(pushed))


@dataclass(frozen=True, slots=True)
class _Star:
    node: int
    edges: list[int]
    pairs: list[int]
    live: bool


def _group(number: int, key: tuple[int, bool], stars: list[_Star]) -> Group:
    count, live = key
    pairs = np.array([star.pairs for star in stars], dtype=np.int64)
    return Group(
        number,
        count,
        live,
        np.array([star.node for star in stars], dtype=np.int64),
        np.array([star.edges for star in stars], dtype=np.int64).T.copy(),
        pairs.reshape(len(stars), count * (count - 1) // 2).T.copy(),
    )
