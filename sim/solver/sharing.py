"""Lanes whose networks are equal, bit for bit, are read once.

Many faults, settings and pulled plugs of one circuit come to the same network: a wire that is open
behind a plug that is apart, a switch that moves while its supply is off. What is worked out from
equal numbers is equal, so that one of such lanes is read for all of them and no bit changes.

A lane's number is the sum of its values, each with a weight of its own. Equal lanes have equal
numbers; of lanes with equal numbers every value is compared.
"""

from __future__ import annotations

import numpy as np

from sim.compiled import compiled
from sim.network import COLUMNS, Floats, Ints
from sim.solver.lanes import Lanes, Solution

GOLDEN = 0.6180339887498949  # its multiples never come near the same fraction (Weyl); ours
LARGEST = 1e300  # what is beyond, an infinite limit say, tells no two lanes apart


@compiled
def weighed(values: Floats, row: int, columns: int, weights: Floats) -> float:
    """Return the sum of the first columns of all elements (V, E, ...) in a row, with weights."""
    total, at = 0.0, 0
    for i in range(values.shape[1]):
        for column in range(columns):
            value = values[row, i, column]
            if abs(value) < LARGEST:
                total += value * weights[at]
            at += 1
    return total


@compiled
def weigh_lanes(
    rows: Floats, variant: Ints, instruments: Floats, volts: Floats, weights: Floats, into: Floats
) -> None:
    """Write the number of every lane. `volts` is (L, N, 1)."""
    for lane in range(len(variant)):
        into[lane] = (
            weighed(rows, variant[lane], COLUMNS, weights)
            + weighed(instruments, lane, COLUMNS, weights)
            + weighed(volts, lane, 1, weights)
        )


@compiled
def are_equal(values: Floats, one: int, other: int, columns: int) -> bool:
    """Tell whether the first columns of all elements (V, E, ...) are equal in two rows."""
    for i in range(values.shape[1]):
        for column in range(columns):
            if values[one, i, column] != values[other, i, column]:
                return False
    return True


@compiled
def join_equal(
    order: Ints,
    numbers: Floats,
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    states: Floats,
    volts: Floats,
    owner: Ints,
) -> None:
    """Write for every lane the first one that is equal to it.

    Parameters
    ----------
    order : (L,) lanes by their numbers
    states : (L, S, 1) of relays and fuses, and the status
    volts : (L, N, 1)
    owner : (L,) to be filled
    """
    for place in range(len(order)):
        lane, back = order[place], place - 1
        owner[lane] = lane
        while back >= 0 and numbers[order[back]] == numbers[lane]:
            first = order[back]
            if (
                owner[first] == first
                and are_equal(rows, variant[first], variant[lane], COLUMNS)
                and are_equal(instruments, first, lane, COLUMNS)
                and are_equal(states, first, lane, 1)
                and are_equal(volts, first, lane, 1)
            ):
                owner[lane] = first
                break
            back -= 1


def equal_lanes(rows: Floats, lanes: Lanes, solution: Solution) -> tuple[Ints, Ints]:
    """Return (lanes that stand for all, which of these each lane is equal to).

    Parameters
    ----------
    rows : float array (V, E, 5 or more)
    lanes : Lanes
        Whose leads are alike.
    solution : Solution
        Of these lanes.
    """
    count = len(lanes.variant)
    states = np.concatenate([solution.closed, solution.blown, solution.status[:, None]], axis=1)
    volts = solution.volts[:, :, None]
    longest = max(rows.shape[1] * COLUMNS, volts.shape[1], lanes.instruments.shape[1] * COLUMNS)
    weights = np.arange(1.0, longest + 1.0) * GOLDEN % 1.0 + 0.5
    numbers, owner = np.empty(count), np.empty(count, dtype=np.int64)
    instruments = np.ascontiguousarray(lanes.instruments)
    weigh_lanes(rows, lanes.variant, instruments, volts, weights, numbers)
    order = np.argsort(numbers, kind="stable")
    kept = np.ascontiguousarray(states[:, :, None], dtype=np.float64)
    join_equal(order, numbers, rows, lanes.variant, instruments, kept, volts, owner)
    return np.unique(owner, return_inverse=True)
