"""Which tests are worth taking in a state: how each splits what is left, without the dominated.

A test *dominates* another if it splits at least as finely and costs no more wherever the two could
be taken, now or further down. Written with the other's places visited right after it (a detour,
which only makes it dearer), test a dominates test b if ::

    minutes(a) + price of coming to a's places that b does not touch
               + again(b's places that a does not touch)  <=  minutes(b)

Proof. Let a be taken instead of b, then the hands moved to b's places. For a place of both, the
price is the same. A place of a only costs at most its price from here. A place of b only costs the
same as it does for b, unless the hands were there: then b had it for nothing and a's way back costs
`again`. Now hands and opened places are at least as good as after b, and the parts are smaller or
equal: whatever policy follows b follows a at no higher cost. And moving hands without a test never
pays: doing so when they are needed costs no more. If a touches no place, the hands stay and b's own
price covers the move; if only b touches none, coming back to anywhere is counted.
`opened` only grows further down, so what is dominated stays dominated there.

A unit's own places are reached for nothing the first time, and come back to for `again`; so having
reached a place of a's can cost later what b had for nothing. The price of a's own places is taken
in full here, the first way included, and that is at least one `again`: it covers the first coming
back, and every further one costs the same after b.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sim.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from grader.tables import Tables


@compiled
def merge_classes(
    tables: Tables, suspects: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]:
    """Merge the suspects that no test separates and that one repair mends.

    Returns
    -------
    first : array of int
        One suspect of each class.
    weight : array of float
        Weight of each class.
    number : array of int
        Class of each suspect, as an index of the other two.
    """
    first = np.empty(suspects.size, np.int64)
    weight = np.zeros(suspects.size, np.float64)
    number = np.empty(suspects.size, np.int64)
    count = 0
    for index in range(suspects.size):
        suspect = suspects[index]
        if count == 0 or tables.kind[suspect] != tables.kind[first[count - 1]]:
            first[count] = suspect
            count += 1
        weight[count - 1] += tables.weight[suspect]
        number[index] = count - 1
    return first[:count], weight[:count], number


@compiled
def price_of_place(tables: Tables, place: int, opened: int, unit: int) -> float:
    """Minutes of coming to a place from somewhere else, where a unit holds the cause.

    `unit` -1 stands for a unit that is nowhere near: the most that coming there can cost.
    """
    if opened >> place & 1:
        return float(tables.again[place])
    if unit >= 0 and tables.home[unit, place]:
        return 0.0
    return float(tables.reach[place])


@compiled
def _number_outcomes(
    outcome: NDArray[np.uint8],
    first: NDArray[np.int64],
    names: NDArray[np.int64],
    labels: NDArray[np.uint8],
) -> int:
    """Give a test's outcomes over the classes numbers by first appearance; return how many.

    `names` has room for every outcome and holds -1 throughout, before and after.
    """
    parts = 0
    for index in range(first.size):
        name = outcome[first[index]]
        if names[name] < 0:
            names[name] = parts
            parts += 1
        labels[index] = names[name]
    for index in range(first.size):
        names[outcome[first[index]]] = -1
    return parts


@compiled
def make_detours(tables: Tables, opened: int, tests: NDArray[np.int64]) -> NDArray[np.float64]:
    """Minutes at most of taking a test at one set of places, then going to the other, see above.

    Returns
    -------
    array of float
        Shape (sets of places, sets of places); only what lies between the tests' sets is filled in.
    """
    spots, again = tables.spots, tables.again
    coming = np.empty(again.size, np.float64)
    for place in range(again.size):
        coming[place] = price_of_place(tables, place, opened, -1)
    detours = np.empty((spots.size, spots.size), np.float64)
    wanted = np.zeros(spots.size, np.bool_)
    for test in tests:
        wanted[tables.spot[test]] = True
    between = np.flatnonzero(wanted)
    for one in between:
        for other in between:
            minutes = 0.0
            for place in range(again.size):
                there = spots[other] >> place & 1
                if spots[one] >> place & 1:
                    minutes += 0.0 if there else coming[place]
                elif there and spots[one] != 0:
                    minutes += again[place]
            if spots[other] == 0 and spots[one] != 0:
                minutes += tables.back
            detours[one, other] = minutes
    return detours


@compiled
def _splits_as_finely(
    fine: NDArray[np.uint8], coarse: NDArray[np.uint8], parts: int, held: NDArray[np.int64]
) -> bool:
    """Tell whether each of the `parts` of the fine split lies within one of the coarse.

    `held` is room for one number a part.
    """
    held[:parts] = -1
    for index in range(fine.size):
        part = fine[index]
        if held[part] < 0:
            held[part] = coarse[index]
        elif held[part] != coarse[index]:
            return False
    return True


@compiled
def _same(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> bool:
    for index in range(one.size):  # noqa: SIM110 - a loop compiles to less
        if one[index] != other[index]:
            return False
    return True


@compiled
def tests_worth_taking(
    tables: Tables, first: NDArray[np.int64], candidates: NDArray[np.int64], opened: int
) -> tuple[NDArray[np.int64], NDArray[np.uint8]]:
    """Give the candidates that split the classes and that no other dominates.

    Parameters
    ----------
    tables : Tables
    first : array of int
        One suspect of each class, ascending.
    candidates : array of int
        Tests, ascending.
    opened : int
        Places reached, as bits.

    Returns
    -------
    tests : array of int
        Ascending.
    labels : array of uint8
        Shape (tests, classes): part of each class, numbered by first appearance.
    """
    tests, labels, parts = _telling_tests(tables, first, candidates)
    detours = make_detours(tables, opened, tests)
    count = _drop_alike(tables, tests, labels, parts, detours)
    tests, labels, parts = tests[:count], labels[:count], parts[:count]
    kept = _undominated(tables.minutes[tests], tables.spot[tests], labels, parts, detours)
    return tests[kept], labels[kept]


@compiled
def _telling_tests(
    tables: Tables, first: NDArray[np.int64], candidates: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.uint8], NDArray[np.int64]]:
    """Split the classes by each candidate; leave out those that do not."""
    tests = np.empty(candidates.size + 1, np.int64)
    labels = np.empty((candidates.size + 1, first.size), np.uint8)
    parts = np.empty(candidates.size + 1, np.int64)
    names = np.full(256, -1, np.int64)
    count = 0
    for test in candidates:
        tests[count] = test
        parts[count] = _number_outcomes(tables.outcome[test], first, names, labels[count])
        count += parts[count] > 1
    return tests[:count], labels[:count], parts[:count]


@compiled
def _drop_alike(
    tables: Tables,
    tests: NDArray[np.int64],
    labels: NDArray[np.uint8],
    parts: NDArray[np.int64],
    detours: NDArray[np.float64],
) -> int:
    """Drop, of tests with one split, the dominated; move the rest to the front and count them."""
    size = 16
    while size < 2 * tests.size:
        size *= 2
    table = np.full(size, -1, np.int64)
    minutes, spot = tables.minutes, tables.spot
    count = 0
    for row in range(tests.size):
        if row > count:
            tests[count], parts[count], labels[count] = tests[row], parts[row], labels[row]
        count += _enter(labels, tests, table, count, minutes, spot, detours)
    return count


@compiled
def _enter(
    labels: NDArray[np.uint8],
    tests: NDArray[np.int64],
    table: NDArray[np.int64],
    count: int,
    minutes: NDArray[np.float64],
    spot: NDArray[np.int64],
    detours: NDArray[np.float64],
) -> bool:
    """Enter the test of row `count`, unless one with the same split dominates it."""
    test = tests[count]
    mixed = 0
    for label in labels[count]:
        mixed = ((mixed ^ int(np.int64(label))) * 0x2545F491 + (mixed >> 17)) & 0x3FFFFFFF
    slot = (mixed ^ (mixed >> 11)) & (table.size - 1)
    while table[slot] >= 0:
        row = table[slot]
        known = tests[row]
        cost = minutes[known] + detours[spot[known], spot[test]]
        if cost <= minutes[test] and _same(labels[row], labels[count]):
            return False
        slot = (slot + 1) & (table.size - 1)
    table[slot] = count
    return True


@compiled
def _undominated(
    minutes: NDArray[np.float64],
    spot: NDArray[np.int64],
    labels: NDArray[np.uint8],
    parts: NDArray[np.int64],
    detours: NDArray[np.float64],
) -> NDArray[np.int64]:
    """Give the rows of the tests that no other dominates; `minutes` ascend."""
    kept = np.empty(minutes.size, np.int64)
    count = 0
    held = np.empty(256, np.int64)
    out = np.zeros(minutes.size, np.bool_)
    for row in range(minutes.size):
        for other in range(minutes.size):
            if minutes[other] > minutes[row]:
                break
            cost = minutes[other] + detours[spot[other], spot[row]]
            if cost > minutes[row] or other == row or out[other] or parts[other] < parts[row]:
                continue
            if _splits_as_finely(labels[other], labels[row], parts[other], held):
                out[row] = True
                break
        if not out[row]:
            kept[count] = row
            count += 1
    return kept[:count]
