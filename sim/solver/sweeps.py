"""Eliminate and go back in whole arrays; see `sim.solver.program`.

Few lanes: a group of nodes by one operation. Many lanes: node by node, which spares copies. The
bits are the same.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.network import Floats, Ints
from sim.solver.grouping import Group

MANY = 256  # lanes from which single nodes are quicker than groups; ours, measured

Lifted = list[Floats | None]


def eliminate(groups: Sequence[Group], g: Floats, j: Floats) -> Lifted:
    """Eliminate the groups in order; g of their own edges becomes the share w = g / S.

    Returns the sum of j / S of each group's nodes (or of each node), None where no EMF can be.
    """
    if g.shape[1] >= MANY:
        return _eliminate_nodes(groups, g, j)
    lifted: Lifted = []
    for group in groups:
        n, edges, pairs = group.count, group.edges, group.pairs
        mine = [g[edges[i]] for i in range(n)]
        total = mine[0]
        for one in mine[1:]:
            total = total + one
        inverse = 1.0 / total
        share = [one * inverse for one in mine]
        for b in range(1, n):
            for a in range(b):
                g[pairs[b * (b - 1) // 2 + a]] += mine[a] * share[b]
        for i in range(n):
            g[edges[i]] = share[i]
        lifted.append(_push(edges, pairs, j, share, inverse) if group.live else None)
    return lifted


def _eliminate_nodes(groups: Sequence[Group], g: Floats, j: Floats) -> Lifted:
    lifted: Lifted = []
    inverse, product = np.empty(g.shape[1]), np.empty(g.shape[1])
    for group in groups:
        for edges, pairs in zip(group.edges.T.tolist(), group.pairs.T.tolist(), strict=True):
            mine = [g[edge] for edge in edges]
            np.copyto(inverse, mine[0])
            for one in mine[1:]:
                inverse += one
            np.divide(1.0, inverse, out=inverse)
            for b in range(len(mine) - 1, 0, -1):
                mine[b] *= inverse
                for a in range(b):
                    g[pairs[b * (b - 1) // 2 + a]] += np.multiply(mine[a], mine[b], out=product)
            mine[0] *= inverse
            lifted.append(_push(edges, pairs, j, mine, inverse) if group.live else None)
    return lifted


def _push(
    edges: Ints | list[int],
    pairs: Ints | list[int],
    j: Floats,
    share: list[Floats],
    inverse: Floats,
) -> Floats:
    """Spread the EMFs to the edges between the neighbours; return the sum of j / S."""
    mine = [j[edge] for edge in edges]
    for b in range(1, len(mine)):
        for a in range(b):
            j[pairs[b * (b - 1) // 2 + a]] += share[a] * mine[b] - share[b] * mine[a]
    total = mine[0]
    for one in mine[1:]:
        total = total + one
    lifted: Floats = total * inverse
    return lifted


def go_back(groups: Sequence[Group], g: Floats, lifted: Lifted, d: Floats) -> None:
    """Fill in the drops across the edges of the groups, last first."""
    if g.shape[1] >= MANY:
        _go_back_nodes(groups, g, lifted, d)
        return
    for group, up in zip(reversed(groups), reversed(lifted), strict=True):
        n, edges, pairs = group.count, group.edges, group.pairs
        share = [g[edges[i]] for i in range(n)]
        between = [d[pair] for pair in pairs]
        for i in range(n):
            drop = np.zeros(share[0].shape) if up is None else up
            for other in range(n):
                if other < i:
                    drop = drop + share[other] * between[i * (i - 1) // 2 + other]
                elif other > i:
                    drop = drop - share[other] * between[other * (other - 1) // 2 + i]
            d[edges[i]] = drop


def _go_back_nodes(groups: Sequence[Group], g: Floats, lifted: Lifted, d: Floats) -> None:
    product, place = np.empty(g.shape[1]), len(lifted)
    for group in reversed(groups):
        stars = list(zip(group.edges.T.tolist(), group.pairs.T.tolist(), strict=True))
        for edges, pairs in reversed(stars):
            place -= 1
            up = lifted[place]
            share = [g[edge] for edge in edges]
            for i, edge in enumerate(edges):
                drop = d[edge]
                drop[:] = 0.0 if up is None else up
                for other in range(i):
                    between = d[pairs[i * (i - 1) // 2 + other]]
                    drop += np.multiply(share[other], between, out=product)
                for other in range(i + 1, len(edges)):
                    between = d[pairs[other * (other - 1) // 2 + i]]
                    drop -= np.multiply(share[other], between, out=product)
