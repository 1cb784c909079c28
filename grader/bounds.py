"""Lower bounds on the least expected minutes: the pair dual, raised by one greedy pass.

What is left are classes with weights p_i. A *pair* is two classes of different units. Every policy
resolves every pair at exactly one node: a test that shows the two different outcomes, or a
replacement of the unit of one of them while the other is left. Give every pair an amount
a_ij >= 0 such that ::

    1. test t that separates i and j:   a_ij <= e^t_ij + sum of b^g_ij over t's closed places g;
       all e^t_ij are shared between i and j so that i's load is at most  minutes(t) p_i
    2. closed place g:                  b^g_ij, one amount for all its tests, shared likewise,
                                        i's load at most  price(g, i) p_i
    3. unit u, class j outside it:      sum over i in u of a_ij  <=  repair(u) p_j

*Closed* is every place where the hands are not and coming to which costs something: `again` if it
has been reached before, `minutes` if not. Then the sum of all a_ij is a lower bound on minutes
times weight. Proof, adding up what a policy pays from here on:

- A test node with what is left S' pays minutes(t) P(S'), at least the e^t of all pairs it
  separates, by 1.
- Coming to a closed place for the first time from here, with S'' left, pays the sum of price(g, i)
  p_i over S'', at least the b^g of all pairs within S'', by 2 (the price is nothing where the unit
  of i is mended at g anyway and g has not been reached yet). First arrivals on different branches
  have nothing in common, so no pair is counted twice. A test that touches several closed places
  pays for each of them, and each has its own amounts, so their sum may be used for its pairs. A
  pair resolved by t is still together when t's places are first come to, at t or before. (Coming
  back later is paid once more; the bound leaves that out.)
- Replacing u with S' left pays repair(u) times the weight outside u, at least the a_ij between u
  and the rest, by 3.

The amounts left over after one action are feasible for the states behind it, which bounds what each
action costs (*quality*, Q)::

    Q(t)         >= sum a + price(t) P - sum a over pairs separated
                          - sum b^g over pairs not separated and closed places g of t
    Q(replace u) >= sum a + repair(u) P(outside u) - sum a between u and the rest

(the places of t are open behind it, where the hands were may be closed: that only relaxes 1 and 2).
The value is the least Q, so the least of these bounds it once more.

Raising: pairs in ascending order of the sum over separating tests of 1 / price plus 2 / repair of
either unit; each by all that its constraints have left; tests are charged first, places only for
the rest, shared in proportion to what is left. What orders the pairs is counted in whole numbers,
and every other sum is taken in one fixed order, so that the same search in whole arrays
(`grader.boundarrays`, where nothing is compiled) gives the same bits. Most pairs come when a test
that separates them has nothing left; sets of such tests, as bits, tell so at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from grader.pairorder import ordered_pairs
from grader.split import Split, sum_of_places, total_of
from grader.usedup import (
    NOTHING,
    Room,
    Used,
    note_places,
    note_tests,
    nothing_of,
    nothing_used,
    used_up,
)
from sim.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray


class Raised(NamedTuple):
    """Sums of the amounts given to pairs."""

    total: NDArray[np.float64]  #: (1,) all a
    cut: NDArray[np.float64]  #: (T,) a of the pairs a test separates
    kept: NDArray[np.float64]  #: (T,) b of those pairs at the test's closed places
    place: NDArray[np.float64]  #: (G,) all b of a place
    unit: NDArray[np.float64]  #: (U,) a between a unit and the rest


class Scratch(NamedTuple):
    """Working space for one pair, and the closed places of each group as a list."""

    set_up: NDArray[np.float64]  #: (G,)
    at_places: NDArray[np.float64]  #: (groups,)
    cheapest: NDArray[np.float64]  #: (groups,)
    left: NDArray[np.float64]  #: (T,) room of the tests that separate the pair, else infinite
    start: NDArray[np.int64]  #: (groups + 1,) where a group's tests begin
    begin: NDArray[np.int64]  #: (groups + 1,) where a group's places begin in the next
    member: NDArray[np.int64]  #: places, group after group, ascending within each


@compiled
def pair_dual(split: Split) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    """Bound a state and every action in it, in minutes times weight.

    Parameters
    ----------
    split : Split

    Returns
    -------
    lower : float
        Lower bound on the state's value.
    tests : array of float
        Lower bound on the quality of each test.
    repairs : array of float
        The same for replacing each unit.
    """
    by_group = np.argsort(split.group, kind="mergesort")
    split = _in_order(split, by_group)
    room = _all_room(split)
    raised = _nothing_raised(split)
    used = nothing_used(split, room)
    scratch = _make_scratch(split)
    one, other, order = ordered_pairs(split)
    for index in order:
        i, j = one[index], other[index]
        amount = min(room.repair[split.unit[i], j], room.repair[split.unit[j], i])
        nothing = NOTHING * (split.weight[i] + split.weight[j])
        if amount > nothing and not used_up(split, used, i, j):
            _raise_pair(split, room, raised, used, (i, j), amount, scratch)
    lower, sorted_tests, repairs = _qualities(split, raised)
    tests = np.empty(by_group.size, np.float64)
    tests[by_group] = sorted_tests
    return lower, tests, repairs


@compiled
def _in_order(split: Split, order: NDArray[np.int64]) -> Split:
    """Put the tests into another order."""
    return Split(
        split.weight,
        split.unit,
        split.repair,
        np.ascontiguousarray(split.label.T[order].T),
        split.minutes[order],
        split.price[order],
        split.group[order],
        split.closed,
        split.place,
    )


@compiled
def _make_scratch(split: Split) -> Scratch:
    groups, places = split.closed.size, split.place.shape[1]
    begin = np.zeros(groups + 1, np.int64)
    member = np.empty(groups * places, np.int64)
    count = 0
    for group in range(groups):
        for place in range(places):
            if split.closed[group] >> place & 1:
                member[count] = place
                count += 1
        begin[group + 1] = count
    set_up = np.zeros(places, np.float64)
    at_places, cheapest = np.empty(groups, np.float64), np.empty(groups, np.float64)
    left = np.empty(split.group.size, np.float64)
    start = np.searchsorted(split.group, np.arange(groups + 1))
    return Scratch(set_up, at_places, cheapest, left, start, begin, member)


@compiled
def _all_room(split: Split) -> Room:
    weight = split.weight
    test = np.empty(split.label.shape, np.float64)
    place = np.empty(split.place.shape, np.float64)
    repair = np.empty((split.repair.size, weight.size), np.float64)
    for index in range(weight.size):
        test[index] = split.minutes * weight[index]
        place[index] = split.place[index] * weight[index]
        repair[:, index] = split.repair * weight[index]
    return Room(test, place, repair)


@compiled
def _nothing_raised(split: Split) -> Raised:
    return Raised(
        np.zeros(1, np.float64),
        np.zeros(split.price.size, np.float64),
        np.zeros(split.price.size, np.float64),
        np.zeros(split.place.shape[1], np.float64),
        np.zeros(split.repair.size, np.float64),
    )


@compiled
def _raise_pair(
    split: Split,
    room: Room,
    raised: Raised,
    used: Used,
    pair: tuple[int, int],
    amount: float,
    scratch: Scratch,
) -> None:
    """Give a pair all that is left for it, at most `amount`, and charge it."""
    i, j = pair
    set_up = scratch.set_up
    nothing = NOTHING * (split.weight[i] + split.weight[j])
    for place in range(set_up.size):
        set_up[place] = room.place[i, place] + room.place[j, place]
    _sums_of_places(scratch)
    amount = min(amount, _find_cheapest(split, room, pair, scratch))
    if amount <= nothing:
        return
    unit_i, unit_j = split.unit[i], split.unit[j]
    raised.total[0] += amount
    raised.unit[unit_i] += amount
    raised.unit[unit_j] += amount
    room.repair[unit_i, j] -= amount
    room.repair[unit_j, i] -= amount
    _share_places(room, pair, amount, scratch)
    _sums_of_places(scratch)
    _charge_tests(split, room, raised, used, pair, amount, scratch)
    _charge_places(room.place[i], room.place[j], raised.place, set_up)
    note_places(room, used, i, nothing_of(split, i))
    note_places(room, used, j, nothing_of(split, j))


@compiled
def _find_cheapest(split: Split, room: Room, pair: tuple[int, int], scratch: Scratch) -> float:
    """Find the least that a separating test has left, its places included.

    `left` is set to what each test has without places, `cheapest` to the least of each group.
    """
    i, j = pair
    _room_left(split.label[i], split.label[j], room.test[i], room.test[j], scratch.left)
    # numbers that are not negative stand in the order of their bits; whole ones compare faster
    bits = scratch.left.view(np.int64)
    least = np.inf
    for group in range(scratch.cheapest.size):
        first = scratch.start[group]
        lowest = bits[first]
        for test in range(first + 1, scratch.start[group + 1]):
            lowest = min(lowest, bits[test])
        scratch.cheapest.view(np.int64)[group] = lowest
        least = min(least, scratch.cheapest[group] + scratch.at_places[group])
    return least


@compiled
def _room_left(
    label_i: NDArray[np.uint8],
    label_j: NDArray[np.uint8],
    room_i: NDArray[np.float64],
    room_j: NDArray[np.float64],
    left: NDArray[np.float64],
) -> None:
    for test in range(left.size):
        left[test] = room_i[test] + room_j[test] if label_i[test] != label_j[test] else np.inf


@compiled
def _share_places(room: Room, pair: tuple[int, int], amount: float, scratch: Scratch) -> None:
    """Choose b^g: what the tests have no room for; groups with few places first."""
    i, j = pair
    set_up, begin, member = scratch.set_up, scratch.begin, scratch.member
    set_up[:] = 0.0
    for group in range(scratch.cheapest.size):
        needed = amount - scratch.cheapest[group]
        for index in range(begin[group], begin[group + 1]):
            needed -= set_up[member[index]]
        if needed > 0.0:
            for index in range(begin[group], begin[group + 1]):
                place = member[index]
                more = min(needed, room.place[i, place] + room.place[j, place] - set_up[place])
                set_up[place] += more
                needed -= more


@compiled
def _sums_of_places(scratch: Scratch) -> None:
    begin = scratch.begin
    for group in range(scratch.at_places.size):
        total = 0.0
        for index in range(begin[group], begin[group + 1]):
            total += scratch.set_up[scratch.member[index]]
        scratch.at_places[group] = total


@compiled
def _charge_tests(
    split: Split,
    room: Room,
    raised: Raised,
    used: Used,
    pair: tuple[int, int],
    amount: float,
    scratch: Scratch,
) -> None:
    """Charge every separating test what the places of its group do not bear.

    `left` is infinite where a test does not separate the pair, so that it keeps its room.
    """
    i, j = pair
    for group in range(scratch.cheapest.size):
        if scratch.cheapest[group] == np.inf:
            continue
        borne = scratch.at_places[group]
        first, last = scratch.start[group], scratch.start[group + 1]
        left = scratch.left[first:last]
        _add_where_apart(raised.cut[first:last], left, amount)
        if borne > 0.0:
            _add_where_apart(raised.kept[first:last], left, borne)
        if amount > borne:
            _charge_group(room.test[i, first:last], room.test[j, first:last], left, amount - borne)
    note_tests(room.test[i], nothing_of(split, i), used.test[i])
    note_tests(room.test[j], nothing_of(split, j), used.test[j])


@compiled
def _add_where_apart(total: NDArray[np.float64], left: NDArray[np.float64], amount: float) -> None:
    for test in range(total.size):
        total[test] += amount if left[test] < np.inf else 0.0


@compiled
def _charge_group(
    room_i: NDArray[np.float64],
    room_j: NDArray[np.float64],
    left: NDArray[np.float64],
    amount: float,
) -> None:
    for test in range(left.size):
        rest = 1.0 - amount / left[test]
        rest = rest if rest > 0.0 else 0.0  # noqa: FURB136 - compiles to less than max
        room_i[test] *= rest
        room_j[test] *= rest


@compiled
def _charge_places(
    room_i: NDArray[np.float64],
    room_j: NDArray[np.float64],
    raised: NDArray[np.float64],
    set_up: NDArray[np.float64],
) -> None:
    for place in range(set_up.size):
        if set_up[place] > 0.0:
            raised[place] += set_up[place]
            rest = max(0.0, 1.0 - set_up[place] / (room_i[place] + room_j[place]))
            room_i[place] *= rest
            room_j[place] *= rest


@compiled
def _qualities(
    split: Split, raised: Raised
) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    total = raised.total[0]
    everything = total_of(split.weight)
    tests = total + split.price * everything - raised.cut + raised.kept
    for test in range(tests.size):
        tests[test] -= sum_of_places(raised.place, split.closed[split.group[test]])
    repairs = np.empty(split.repair.size, np.float64)
    for unit in range(repairs.size):
        outside = 0.0
        for index in range(split.weight.size):
            if split.unit[index] != unit:
                outside += split.weight[index]
        repairs[unit] = total + split.repair[unit] * outside - raised.unit[unit]
    least = np.inf
    for quality in tests:
        least = min(least, quality)
    for quality in repairs:
        least = min(least, quality)
    return max(total, least), tests, repairs
