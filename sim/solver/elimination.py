"""Compiled: eliminate nodes of a block of lanes, and go back; see `sim.solver.program`.

A row of every array is one edge (or node), a column one lane. Lanes never mix, so that a block of
one and a block of many give the same bits.
"""

from __future__ import annotations

from sim.compiled import compiled
from sim.network import Floats, Ints


@compiled
def eliminate(
    first: int,
    last: int,
    count: Ints,
    live: Ints,
    edge_at: Ints,
    pair_at: Ints,
    edge: Ints,
    pair: Ints,
    g: Floats,
    j: Floats,
    lifted: Floats,
    inverse: Floats,
) -> None:
    """Eliminate nodes first to last-1; g of their own edges becomes the share w = g / S.

    `lifted` (nodes, lanes) becomes the sum of j / S; `inverse` becomes 1 / S.
    """
    lanes = g.shape[1]
    for k in range(first, last):
        n, e, p = count[k], edge_at[k], pair_at[k]
        for lane in range(lanes):
            inverse[k, lane] = g[edge[e], lane]
        for i in range(1, n):
            for lane in range(lanes):
                inverse[k, lane] += g[edge[e + i], lane]
        for lane in range(lanes):
            inverse[k, lane] = 1.0 / inverse[k, lane]
        for b in range(n - 1, 0, -1):
            at = edge[e + b]
            for lane in range(lanes):
                g[at, lane] *= inverse[k, lane]
            for a in range(b):
                to, of = pair[p + b * (b - 1) // 2 + a], edge[e + a]
                for lane in range(lanes):
                    g[to, lane] += g[of, lane] * g[at, lane]
        for lane in range(lanes):
            g[edge[e], lane] *= inverse[k, lane]
        if live[k]:
            push(n, e, p, edge, pair, g, j)
            for lane in range(lanes):
                lifted[k, lane] = j[edge[e], lane]
            for i in range(1, n):
                for lane in range(lanes):
                    lifted[k, lane] += j[edge[e + i], lane]
            for lane in range(lanes):
                lifted[k, lane] *= inverse[k, lane]


@compiled
def push(n: int, e: int, p: int, edge: Ints, pair: Ints, g: Floats, j: Floats) -> None:
    """Spread the EMFs of an eliminated node to the edges between its neighbours."""
    for b in range(1, n):
        for a in range(b):
            to, one, two = pair[p + b * (b - 1) // 2 + a], edge[e + a], edge[e + b]
            for lane in range(g.shape[1]):
                j[to, lane] += g[one, lane] * j[two, lane] - g[two, lane] * j[one, lane]


@compiled
def go_back(
    first: int,
    last: int,
    count: Ints,
    edge_at: Ints,
    pair_at: Ints,
    edge: Ints,
    pair: Ints,
    g: Floats,
    lifted: Floats,
    d: Floats,
) -> None:
    """Fill in the drops across the edges of nodes last-1 down to first."""
    for k in range(last - 1, first - 1, -1):
        n, e, p = count[k], edge_at[k], pair_at[k]
        for i in range(n):
            to = edge[e + i]
            for lane in range(d.shape[1]):
                d[to, lane] = lifted[k, lane]
            for other in range(n):
                of = edge[e + other]
                if other < i:
                    between = pair[p + i * (i - 1) // 2 + other]
                    for lane in range(d.shape[1]):
                        d[to, lane] += g[of, lane] * d[between, lane]
                elif other > i:
                    between = pair[p + other * (other - 1) // 2 + i]
                    for lane in range(d.shape[1]):
                        d[to, lane] -= g[of, lane] * d[between, lane]
