"""Elimination on paper: the filled edges are those that joining neighbours by hand gives."""

import itertools

import numpy as np
import pytest

from sim.solver.grouping import Edges

NODES, MOST = 24, 4


def drawn(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Draw branches between nodes (0 is the body), who is present and late, and where EMFs are."""
    rng = np.random.default_rng(seed)
    branches = rng.integers(0, NODES - 2, (40, 2))
    branches = branches[branches[:, 0] != branches[:, 1]]
    present, late = np.zeros(NODES, dtype=bool), np.zeros(NODES, dtype=bool)
    present[1 : NODES - 2] = True  # the last two are loose
    late[rng.integers(1, NODES - 2, 5)] = True
    return branches, present, late, branches[:3]


def joined(edges: Edges, branches: np.ndarray) -> set[tuple[int, int]]:
    """Join neighbours node by node, in the order found; return the edges that come of it."""
    order = edges.stars.nodes.tolist()
    around = {node: {0} for node in order}
    for a, b in branches.tolist():
        for one, other in ((a, b), (b, a)):
            if one:
                around[one].add(other)
    found = set()
    for at, node in enumerate(order):
        later = {other for other in around[node] if other not in order[:at]}
        found |= {(node, other) for other in later}
        for one, other in itertools.permutations(later, 2):
            if one:
                around[one].add(other)
    return found


@pytest.mark.parametrize("seed", range(8))
def test_the_edges_are_those_that_joining_neighbours_gives(seed):
    branches, present, late, pushed = drawn(seed)
    edges = Edges(NODES, branches, present, late, MOST, pushed)
    expected = joined(edges, branches)
    assert sorted(edges.stars.nodes.tolist()) == np.flatnonzero(present).tolist()
    assert len(edges) == len(expected) == len(edges.stars.edge)
    ends = np.array(sorted(expected))
    assert sorted(edges.numbers(ends).tolist()) == list(range(len(edges)))
    assert (edges.signs(ends) == 1.0).all()  # kept from the node eliminated first
    assert (edges.signs(ends[:, ::-1]) == -1.0).all()


@pytest.mark.parametrize("seed", range(8))
def test_stars_tell_where_their_edges_and_pairs_run(seed):
    """Of each node the edges to its neighbours, and between each two of them the edge that is."""
    branches, present, late, pushed = drawn(seed)
    edges = Edges(NODES, branches, present, late, MOST, pushed)
    stars = edges.stars
    far = {node: sorted(b for a, b in joined(edges, branches) if a == node) for node in stars.nodes}
    body = len(stars.nodes)
    for place, star in enumerate((*stars.early, *stars.late)):
        node = int(stars.nodes[place])
        order = sorted(far[node], key=lambda other: edges.place[other] if other else body)
        ends = np.array([(node, other) for other in order])
        assert star.edges == edges.numbers(ends).tolist()
        for pair, a, b in star.pairs:
            assert a < b
            assert pair == edges.numbers(np.array([(order[a], order[b])]))[0]
        for i, (edge, plus, minus) in enumerate(star.back):
            assert edge == star.edges[i]
            assert plus == [(star.edges[a], pair) for pair, a, b in star.pairs if b == i]
            assert minus == [(star.edges[b], pair) for pair, a, b in star.pairs if a == i]
        assert star.live == bool(stars.live[place])


@pytest.mark.parametrize("seed", range(8))
def test_late_nodes_come_in_the_tail_and_emfs_spread_to_all_that_they_can_reach(seed):
    branches, present, late, pushed = drawn(seed)
    edges = Edges(NODES, branches, present, late, MOST, pushed)
    stars = edges.stars
    assert not late[stars.nodes[: stars.tail]].any()
    live = set(edges.numbers(pushed).tolist())
    for place, alive in enumerate(stars.live.tolist()):
        mine = stars.edge[stars.edge_at[place] : stars.edge_at[place + 1]].tolist()
        pairs = stars.pair[stars.pair_at[place] : stars.pair_at[place + 1]].tolist()
        assert bool(alive) == bool(live & set(mine))
        between = [(i, j) for j in range(len(mine)) for i in range(j)]
        for (i, j), pair in zip(between, pairs, strict=True):
            if {mine[i], mine[j]} & live:
                live.add(pair)
