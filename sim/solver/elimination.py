"""Compiled: eliminate nodes of eight lanes, and go back; see `sim.solver.program`.

A row of every array is one edge (or node), a column one lane; each row is worked on at once (see
`sim.eights`). Lanes never mix, so that one lane and eight give the same bits. Measured: as loops
over 32 lanes, which the compiler made vectors of where it could, the same took three times as long,
most of it spent on finding out whether two rows are one.
"""

from __future__ import annotations

from sim.compiled import compiled
from sim.eights import all_eight, eight, put_eight
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
    one = all_eight(1.0)
    for k in range(first, last):
        n, e, p = count[k], edge_at[k], pair_at[k]
        total = eight(g, edge[e])
        for i in range(1, n):
            total = total + eight(g, edge[e + i])
        upside_down = one / total
        put_eight(inverse, k, upside_down)
        for b in range(n - 1, 0, -1):
            share = eight(g, edge[e + b]) * upside_down
            put_eight(g, edge[e + b], share)
            at = p + b * (b - 1) // 2
            for a in range(b):
                put_eight(g, pair[at + a], eight(g, pair[at + a]) + eight(g, edge[e + a]) * share)
        put_eight(g, edge[e], eight(g, edge[e]) * upside_down)
        if live[k]:
            push(k, n, e, p, edge, pair, g, j, lifted)
            put_eight(lifted, k, eight(lifted, k) * upside_down)


@compiled
def push(
    k: int, n: int, e: int, p: int, edge: Ints, pair: Ints, g: Floats, j: Floats, lifted: Floats
) -> None:
    """Spread the EMFs of an eliminated node to the edges between its neighbours, and add them up.

    Row k of `lifted` becomes the sum of j.
    """
    total = eight(j, edge[e])
    for b in range(1, n):
        share, pushed = eight(g, edge[e + b]), eight(j, edge[e + b])
        total = total + pushed
        at = p + b * (b - 1) // 2
        for a in range(b):
            across = eight(g, edge[e + a]) * pushed - share * eight(j, edge[e + a])
            put_eight(j, pair[at + a], eight(j, pair[at + a]) + across)
    put_eight(lifted, k, total)


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
        up = eight(lifted, k)
        for i in range(n):
            drop, at = up, p + i * (i - 1) // 2
            for other in range(i):
                drop = drop + eight(g, edge[e + other]) * eight(d, pair[at + other])
            for other in range(i + 1, n):
                between = pair[p + other * (other - 1) // 2 + i]
                drop = drop - eight(g, edge[e + other]) * eight(d, between)
            put_eight(d, edge[e + i], drop)
