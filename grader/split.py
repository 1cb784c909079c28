"""A state made ready for its bounds: classes, units, and tests grouped by their closed places."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from grader.partition import price_of_place
from sim.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from grader.tables import Tables


class Split(NamedTuple):
    """A state made ready: N classes, T tests in groups of the same closed places, U units."""

    weight: NDArray[np.float64]  #: (N,)
    unit: NDArray[np.int64]  #: (N,) unit, numbered within the state
    repair: NDArray[np.float64]  #: (U,) minutes of a wrong replacement
    label: NDArray[np.uint8]  #: (N, T) part in which a test puts a class
    minutes: NDArray[np.float64]  #: (T,) without places
    price: NDArray[np.float64]  #: (T,) with places, on average over what is left
    group: NDArray[np.int64]  #: (T,) group of each test
    closed: NDArray[np.int64]  #: (groups,) closed places, as bits; fewer places first
    place: NDArray[np.float64]  #: (N, G) price of coming to each place where a class is the cause


@compiled
def total_of(values: NDArray[np.float64]) -> float:
    """Add up numbers one after the other; what libraries add up in pairs has other last bits."""
    total = 0.0
    for value in values:
        total += value
    return total


@compiled
def sum_of_places(value: NDArray[np.float64], places: int) -> float:
    """Add up the values of the places that are set as bits."""
    total = 0.0
    for place in range(value.size):
        if places >> place & 1:
            total += value[place]
    return total


@compiled
def make_split(
    tables: Tables,
    first: NDArray[np.int64],
    weight: NDArray[np.float64],
    tests: NDArray[np.int64],
    labels: NDArray[np.uint8],
    places: tuple[int, int],
) -> tuple[Split, NDArray[np.int64]]:
    """Make a state ready for `pair_dual`.

    Parameters
    ----------
    tables : Tables
    first, weight : array
        One suspect and the weight of each class, from `merge_classes`.
    tests, labels : array
        From `tests_worth_taking`.
    places : tuple of int
        Opened and here, as bits.

    Returns
    -------
    split : Split
    units : array of int
        Which unit of the tables each unit of the split is.
    """
    place = np.empty((first.size, tables.reach.size), np.float64)
    mean = np.zeros(tables.reach.size, np.float64)
    paid = 0
    everything = total_of(weight)
    for index in range(mean.size):
        for one in range(first.size):
            unit_of_one = tables.unit[first[one]]
            place[one, index] = price_of_place(tables, index, places[0], unit_of_one)
            mean[index] += weight[one] / everything * place[one, index]
        if mean[index] > 0.0 and not places[1] >> index & 1:
            paid |= 1 << index
    closed, group = _group_tests(tables.touches[tests] & paid)
    units, unit = _number_units(tables, first)
    minutes = tables.minutes[tests]
    price = np.empty(tests.size, np.float64)
    for row in range(tests.size):
        price[row] = minutes[row] + sum_of_places(mean, closed[group[row]])
    label = np.ascontiguousarray(labels.T)
    repair = tables.repair[units]
    return Split(weight, unit, repair, label, minutes, price, group, closed, place), units


@compiled
def _group_tests(away: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """List the sets of closed places, those of few places first.

    Returns
    -------
    closed : array of int
        The sets, as bits.
    group : array of int
        Which of them each test has.
    """
    closed = np.unique(away)
    size = np.empty(closed.size, np.int64)
    for index in range(closed.size):
        size[index] = _count_bits(closed[index])
    closed = closed[np.argsort(size, kind="mergesort")]
    group = np.empty(away.size, np.int64)
    for row in range(away.size):
        for index in range(closed.size):
            if closed[index] == away[row]:
                group[row] = index
    return closed, group


@compiled
def _count_bits(bits: int) -> int:
    count = 0
    while bits:
        bits &= bits - 1
        count += 1
    return count


@compiled
def _number_units(
    tables: Tables, first: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """List the units that the classes are in by first appearance."""
    number = np.full(tables.repair.size, -1, np.int64)
    units = np.empty(first.size, np.int64)
    unit = np.empty(first.size, np.int64)
    count = 0
    for index in range(first.size):
        named = tables.unit[first[index]]
        if number[named] < 0:
            number[named] = count
            units[count] = named
            count += 1
        unit[index] = number[named]
    return units[:count], unit
