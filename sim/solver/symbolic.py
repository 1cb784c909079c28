"""Elimination on paper, compiled: who goes in which round, which edges come of it.

`sim.solver.grouping` says what it means. Everything is a matrix of flags here, as a network has a
hundred nodes or two: `near` (N, N) who touches whom, `beyond` (P, P) which places each place has an
edge to, `number` (P, P) that edge's number, -1 for none.
"""

from __future__ import annotations

from sim.compiled import compiled
from sim.modules.conditions import Flags
from sim.network import Ints

LINK = 2  # neighbours beside the body of a link in a chain, which costs no new edge


@compiled
def next_round(near: Flags, degree: Ints, left: Flags, batch: Ints) -> int:
    """Set a round of nodes of few neighbours that do not touch each other; return how many."""
    least = len(left)
    for node in range(len(left)):
        if left[node] and degree[node] < least:
            least = degree[node]
    taken = left.copy()
    taken[:] = False
    found = 0
    for few in range(max(LINK, least) + 1):
        for node in range(len(left)):
            if left[node] and degree[node] == few and not taken[node]:
                batch[found] = node
                found += 1
                for other in range(len(left)):
                    if near[node, other]:
                        taken[other] = True
    return found


@compiled
def eliminate_node(near: Flags, degree: Ints, node: int) -> None:
    """Join all neighbours of a node, and take it away from them."""
    for other in range(len(degree)):
        if not near[node, other]:
            continue
        many = 0
        for third in range(len(degree)):
            if near[node, third]:
                near[other, third] = True
            if third in (other, node):
                near[other, third] = False
            if near[other, third]:
                many += 1
        degree[other] = many


@compiled
def order_in_rounds(
    near: Flags, left: Flags, late: Flags, most: int, order: Ints, around: Ints, ends: Ints
) -> tuple[int, int, int]:
    """Set the order of elimination, how many are around each, and where each round ends.

    Parameters
    ----------
    near : bool array (N, N)
        Written over, as is `left` (N,), who is not late.
    late : bool array (N,)
        Who belongs to the tail; so does whoever is left once all have more than `most` neighbours.
    order, around, ends : int arrays (N,)
        Set.

    Returns
    -------
    int, int, int
        Nodes, rounds, and the first round of the tail.
    """
    degree = near.sum(axis=1)
    batch = order.copy()
    done, rounds, tail = 0, 0, -1
    while True:
        if not left.any():
            if tail >= 0:
                return done, rounds, tail
            tail = rounds
            left[:] = late
            continue
        found = next_round(near, degree, left, batch)
        if tail < 0 and degree[batch[:found]].max() > most:
            tail = rounds
            left[:] = left | late
            continue
        for node in batch[:found]:
            eliminate_node(near, degree, node)
            left[node] = False
            order[done], around[done] = node, degree[node]
            done += 1
        ends[rounds] = done
        rounds += 1


@compiled
def numbered(number: Ints, one: int, other: int, known: int) -> int:
    """Give the edge between two places the next number if it has none; return how many have."""
    if number[one, other] < 0:
        number[one, other] = known
        return known + 1
    return known


@compiled
def star(
    place: int, beyond: Flags, number: Ints, known: int, others: Ints, edges: Ints, pairs: Ints
) -> tuple[int, int]:
    """Eliminate a place: set its edges and those between its neighbours.

    Returns
    -------
    int, int
        How many neighbours it has, and how many edges there are by now.
    """
    many = 0
    for other in range(place + 1, len(number)):
        if beyond[place, other]:
            others[many] = other
            many += 1
    for i in range(many):
        known = numbered(number, place, others[i], known)
        edges[i] = number[place, others[i]]
    at = 0
    for j in range(many):
        for i in range(j):
            known = numbered(number, others[i], others[j], known)
            pairs[at] = number[others[i], others[j]]
            beyond[others[i], others[j]] = True
            at += 1
    return many, known


@compiled
def spread(many: int, edges: Ints, pairs: Ints, live: Flags) -> bool:
    """Mark edges on which an EMF comes to be as a place goes; tell whether it had any."""
    at, found = 0, False
    for j in range(many):
        found = found or live[edges[j]]
        for i in range(j):
            if live[edges[i]] or live[edges[j]]:
                live[pairs[at]] = True
            at += 1
    return found


@compiled
def meets(one: Ints, other: Ints) -> bool:
    """Tell whether two lists of edges have one in common."""
    for mine in one:
        for theirs in other:
            if mine == theirs:
                return True
    return False


@compiled
def group_of(
    place: int, first: int, groups: int, count: Ints, alive: Flags, at: Ints, pair: Ints, mine: Ints
) -> int:
    """Return the first group of a round that a place may join: as many edges, none written twice.

    `first` is the round's first place, `mine` (P,) the group of every place before; `groups`, a new
    one, if there is none.
    """
    low = mine[first] if place > first else groups
    for group in range(low, groups):
        fits = True
        for other in range(first, place):
            if mine[other] != group:
                continue
            alike = count[other] == count[place] and alive[other] == alive[place]
            written, new = pair[at[other] : at[other + 1]], pair[at[place] : at[place + 1]]
            if not alike or meets(written, new):
                fits = False
                break
        if fits:
            return group
    return groups


@compiled
def eliminate_all(
    ends: Ints,
    beyond: Flags,
    number: Ints,
    known: int,
    live: Flags,
    _nodes: Ints,
    count: Ints,
    alive: Flags,
    mine: Ints,
    edge_at: Ints,
    pair_at: Ints,
    edge: Ints,
    pair: Ints,
) -> int:
    """Eliminate place after place; return how many edges there are then.

    Parameters
    ----------
    ends : int array (R,)
        Where each round ends.
    known : int
        How many edges have a number; `live` (more than there can be,) tells on which an EMF can be.
    count, edge_at, pair_at : int arrays (P,), (P + 1,), (P + 1,)
        Neighbours of every place, and where its edges and pairs begin.
    alive, mine : arrays (P,)
        Set: whether an EMF is on one of the edges, and group.
    edge, pair : int arrays
        Set.
    """
    others, first, groups = count.copy(), 0, 0
    for end in ends:
        for place in range(first, end):
            edges, pairs = edge[edge_at[place] :], pair[pair_at[place] :]
            many, known = star(place, beyond, number, known, others, edges, pairs)
            alive[place] = spread(many, edges, pairs, live)
            mine[place] = group_of(place, first, groups, count, alive, pair_at, pair, mine)
            groups = max(groups, mine[place] + 1)
        first = end
    return known
