"""Eliminate and go back in plain numbers of Python, for a lane by itself.

Numpy takes as long to begin an operation as Python for ten numbers. The operations are those of
`sim.solver.sweeps`, in their order; edges on which nothing is have 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from sim.solver.grouping import Star

WIRE = 3  # edges of a node with two neighbours and the body


def eliminate_numbers(stars: Sequence[Star], g: list[float], j: list[float]) -> list[float]:
    """Eliminate nodes in order; g of their own edges becomes the share w = g / S.

    Returns the sum of j / S of each node.
    """
    lifted = []
    for edges, pairs, _back, live in stars:
        if len(edges) == WIRE and not live:
            _eliminate_in_wire(edges, pairs, g)
            lifted.append(0.0)
            continue
        mine = [g[edge] for edge in edges]
        total = 0.0
        for one in mine:
            total += one
        inverse = 1.0 / total if total else math.inf
        share = [one * inverse for one in mine]
        for pair, a, b in pairs:
            g[pair] += mine[a] * share[b]
        for edge, one in zip(edges, share, strict=True):
            g[edge] = one
        up = 0.0
        if live:
            push = [j[edge] for edge in edges]
            for pair, a, b in pairs:
                j[pair] += share[a] * push[b] - share[b] * push[a]
            for one in push:
                up += one
            up *= inverse
        lifted.append(up)
    return lifted


def _eliminate_in_wire(edges: list[int], pairs: list[tuple[int, int, int]], g: list[float]) -> None:
    """Do the same for a node with two neighbours and the body, which most are, without loops."""
    one, two, three = edges
    a, b, c = g[one], g[two], g[three]
    total = a + b + c
    inverse = 1.0 / total if total else math.inf
    (ab, _, _), (ac, _, _), (bc, _, _) = pairs
    g[one], g[two], g[three] = a * inverse, b * inverse, c * inverse
    g[ab] += a * g[two]
    g[ac] += a * g[three]
    g[bc] += b * g[three]


def go_back_numbers(
    stars: Sequence[Star], g: list[float], lifted: list[float], d: list[float]
) -> None:
    """Fill in the drops across the edges of the nodes, last first."""
    for (_edges, _pairs, back, _live), up in zip(reversed(stars), reversed(lifted), strict=True):
        for edge, plus, minus in back:
            drop = up
            for other, pair in plus:
                drop += g[other] * d[pair]
            for other, pair in minus:
                drop -= g[other] * d[pair]
            d[edge] = drop
