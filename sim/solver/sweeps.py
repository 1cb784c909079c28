"""Eliminate and go back without compiled code; see `sim.solver.program`.

The same source takes a row of many lanes for each edge, or one lane's number: for a lane or two,
plain numbers of Python take a tenth of the time. An edge on which nothing has come to be yet is
None, so that no zeros are filled in, added or spread: adding 0, or 0 times a share, changes no bit
but the sign of a zero, which nothing reads. Sums that are written over here are never the caller's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from sim.compiled import Number

#: A node's edges to its neighbours, and those between them: 0-1, 0-2, 1-2, 0-3 and so on.
Star = tuple[list[int], list[int]]
Edgewise = list[Number]


def eliminate(stars: Sequence[Star], g: Edgewise, j: Edgewise) -> Edgewise:
    """Eliminate nodes in order; g of their own edges becomes the share w = g / S.

    Returns the sum of j / S of each node, None where no EMF can be.
    """
    lifted: Edgewise = []
    for edges, pairs in stars:
        mine = [g[edge] for edge in edges]
        total = mine[0]
        if len(mine) > 1:
            total = total + mine[1]
            for one in mine[2:]:
                total += one
        inverse = _inverse(total)
        share = [one * inverse for one in mine]
        place = 0
        for b in range(1, len(mine)):
            for one in mine[:b]:
                more, pair = one * share[b], pairs[place]
                if g[pair] is not None:
                    more += g[pair]
                g[pair] = more
                place += 1
        for edge, one in zip(edges, share, strict=True):
            g[edge] = one
        lifted.append(_push(edges, pairs, j, share, inverse))
    return lifted


def _inverse(total: Number) -> Number:
    try:
        return 1.0 / total
    except ZeroDivisionError:  # what an array would give
        return math.inf


def _push(
    edges: list[int], pairs: list[int], j: Edgewise, share: Edgewise, inverse: Number
) -> Number:
    """Spread the EMFs to the edges between the neighbours; return the sum of j / S."""
    mine = [j[edge] for edge in edges]
    live = [one for one in mine if one is not None]
    if not live:
        return None
    place = 0
    for b in range(1, len(mine)):
        for a in range(b):
            more = _between(share[a], mine[a], share[b], mine[b])
            if more is not None:
                if j[pairs[place]] is not None:
                    more += j[pairs[place]]
                j[pairs[place]] = more
            place += 1
    total = live[0]
    for one in live[1:]:
        total = total + one
    return total * inverse


def _between(one_share: Number, one: Number, other_share: Number, other: Number) -> Number:
    """Return what two edges of a node leave on the edge between their ends."""
    if other is None:
        return None if one is None else -(other_share * one)
    more = one_share * other
    if one is not None:
        more -= other_share * one
    return more


def go_back(stars: Sequence[Star], g: Edgewise, lifted: Edgewise, d: Edgewise) -> None:
    """Fill in the drops across the edges of the nodes, last first."""
    for (edges, pairs), up in zip(reversed(stars), reversed(lifted), strict=True):
        share = [g[edge] for edge in edges]
        between = [d[pair] for pair in pairs]
        for i, edge in enumerate(edges):
            drop, place = up, i * (i - 1) // 2
            for other in range(i):
                more = share[other] * between[place + other]
                if drop is not None:
                    more += drop
                drop = more
            for other in range(i + 1, len(edges)):
                more = share[other] * between[other * (other - 1) // 2 + i]
                drop = -more if drop is None else drop - more
            d[edge] = 0.0 if drop is None else drop
