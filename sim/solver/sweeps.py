"""Eliminate and go back in whole arrays, a row of lanes an edge; see `sim.solver.program`.

An edge on which nothing has come to be yet is None, so that no zeros are filled in, added or
spread: adding 0, or 0 times a share, changes no bit but the sign of a zero, which nothing reads.
What is written over here is never the caller's.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.compiled import Number
from sim.solver.grouping import Star

Edgewise = Number  # a list by edge (or element) of rows of lanes, or an array of few lanes


def eliminate(stars: Sequence[Star], g: Edgewise, j: Edgewise) -> Edgewise:
    """Eliminate nodes in order; g of their own edges becomes the share w = g / S.

    Returns the sum of j / S of each node, None where no EMF can be.
    """
    lifted: Edgewise = []
    for star in stars:
        mine = [g[edge] for edge in star.edges]
        total = mine[0]
        if len(mine) > 1:
            total = total + mine[1]
            for one in mine[2:]:
                total += one
        inverse = 1.0 / total
        share = [one * inverse for one in mine]
        for pair, a, b in star.pairs:
            more = mine[a] * share[b]
            if g[pair] is not None:
                more += g[pair]
            g[pair] = more
        for edge, one in zip(star.edges, share, strict=True):
            g[edge] = one
        lifted.append(_push(star, j, share, inverse))
    return lifted


def _push(star: Star, j: Edgewise, share: Edgewise, inverse: Number) -> Number:
    """Spread the EMFs to the edges between the neighbours; return the sum of j / S."""
    mine = [j[edge] for edge in star.edges]
    live = [one for one in mine if one is not None]
    if not live:
        return None
    for pair, a, b in star.pairs:
        one, other = mine[a], mine[b]
        if other is not None:
            more = share[a] * other
            if one is not None:
                more -= share[b] * one
        elif one is not None:
            more = -(share[b] * one)
        else:
            continue
        if j[pair] is not None:
            more += j[pair]
        j[pair] = more
    total = live[0]
    for one in live[1:]:
        total = total + one
    return total * inverse


def go_back(stars: Sequence[Star], g: Edgewise, lifted: Edgewise, d: Edgewise) -> None:
    """Fill in the drops across the edges of the nodes, last first."""
    for star, up in zip(reversed(stars), reversed(lifted), strict=True):
        for edge, plus, minus in star.back:
            drop = up
            for other, pair in plus:
                more = g[other] * d[pair]
                if drop is not None:
                    more += drop
                drop = more
            for other, pair in minus:
                more = g[other] * d[pair]
                drop = -more if drop is None else drop - more
            d[edge] = np.zeros(g[edge].shape) if drop is None else drop
