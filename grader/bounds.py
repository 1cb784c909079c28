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

from grader.split import Split, sum_of_places, total_of
from grader.tables import WORD
from grader.usedup import NOTHING, Room, Used, note_places, nothing_of, nothing_used, used_up
from sim.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: 1 / price is counted in steps of this, at most so much a test: sums stay below 2**42 ...
STEPS, MOST_STEPS = float(1 << 16), float(1 << 30)
#: ... so that a pair's number fits below them in one number.
PAIRS = 1 << 20


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
    apart: NDArray[np.int64]  #: (T,) tests that separate the pair
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
    room = _all_room(split)
    raised = _nothing_raised(split)
    used = nothing_used(split, room)
    scratch = _make_scratch(split)
    one, other, order = _ordered_pairs(split)
    for index in order:
        i, j = one[index], other[index]
        amount = min(room.repair[split.unit[i], j], room.repair[split.unit[j], i])
        nothing = NOTHING * (split.weight[i] + split.weight[j])
        if amount > nothing and not used_up(split, used, i, j):
            _raise_pair(split, room, raised, used, (i, j), amount, scratch)
    return _qualities(split, raised)


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
    return Scratch(
        set_up, at_places, cheapest, np.empty(split.group.size + 1, np.int64), begin, member
    )


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
def steps_of(minutes: NDArray[np.float64]) -> NDArray[np.int64]:
    """Count 1 / minutes in whole steps."""
    return np.minimum(STEPS / np.maximum(minutes, STEPS / MOST_STEPS), MOST_STEPS).astype(np.int64)


@compiled
def _ordered_pairs(
    split: Split,
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """List the pairs, and the order: those that can be resolved in few and dear ways first."""
    size = split.weight.size
    one = np.empty(size * (size - 1) // 2, np.int64)
    other = np.empty(one.size, np.int64)
    key = np.empty(one.size, np.int64)
    inverse = steps_of(split.price)
    inverse_repair = 2 * steps_of(split.repair)
    count = 0
    for i in range(size):
        for j in range(i + 1, size):
            if split.unit[i] != split.unit[j]:
                ways = inverse_repair[split.unit[i]] + inverse_repair[split.unit[j]]
                ways += _sum_where_apart(split.label[i], split.label[j], inverse)
                one[count], other[count] = i, j
                key[count] = ways * PAIRS + count
                count += 1
    return one, other, np.sort(key[:count]) % PAIRS


@compiled
def _sum_where_apart(
    one: NDArray[np.uint8], other: NDArray[np.uint8], value: NDArray[np.int64]
) -> int:
    total = 0
    for test in range(value.size):
        total += value[test] * (one[test] != other[test])
    return total


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
    count, least = _find_cheapest(split, room, pair, scratch, nothing)
    amount = min(amount, least)
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
    _charge_tests(split, room, raised, used, pair, amount, (count, scratch))
    _charge_places(room.place[i], room.place[j], raised.place, set_up)
    note_places(room, used, i, nothing_of(split, i))
    note_places(room, used, j, nothing_of(split, j))


@compiled
def _find_cheapest(
    split: Split, room: Room, pair: tuple[int, int], scratch: Scratch, nothing: float
) -> tuple[int, float]:
    """List the separating tests; find the least that one has left, its places included.

    `cheapest` is set to the least of each group without places, infinite where no test separates;
    all is left half done where it does not matter any more, a test being as good as used up.
    """
    i, j = pair
    label_i, label_j, group = split.label[i], split.label[j], split.group
    room_i, room_j, cheapest = room.test[i], room.test[j], scratch.cheapest
    cheapest[:] = np.inf
    least = np.inf
    count = 0
    for test in range(group.size):
        scratch.apart[count] = test
        count += label_i[test] != label_j[test]
    for index in range(count):
        test = scratch.apart[index]
        left = room_i[test] + room_j[test]
        if left < cheapest[group[test]]:
            cheapest[group[test]] = left
            least = min(least, left + scratch.at_places[group[test]])
            if least <= nothing:
                break
    return count, least


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
    separating: tuple[int, Scratch],
) -> None:
    """Charge every separating test what the places of its group do not bear."""
    i, j = pair
    room_i, room_j, group = room.test[i], room.test[j], split.group
    nothing_i, nothing_j = nothing_of(split, i), nothing_of(split, j)
    count, scratch = separating
    for index in range(count):
        test = scratch.apart[index]
        borne = scratch.at_places[group[test]]
        raised.cut[test] += amount
        raised.kept[test] += borne
        if amount > borne:
            rest = max(0.0, 1.0 - (amount - borne) / (room_i[test] + room_j[test]))
            room_i[test] *= rest
            room_j[test] *= rest
            bit = 1 << (test % WORD)
            if room_i[test] <= nothing_i:
                used.test[i, test // WORD] |= bit
            if room_j[test] <= nothing_j:
                used.test[j, test // WORD] |= bit


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
