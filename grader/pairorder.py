"""In which order the pairs of `grader.bounds` are raised.

Ascending in the sum over separating tests of 1 / price plus 2 / repair of either unit, counted in
whole numbers, so that a matrix product may count it too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from grader.split import Split
from sim.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: 1 / price is counted in steps of this, at most so much a test: sums stay below 2**42 ...
STEPS, MOST_STEPS = float(1 << 16), float(1 << 30)
#: ... so that a pair's number fits below them in one number.
PAIRS = 1 << 20


@compiled
def steps_of(minutes: NDArray[np.float64]) -> NDArray[np.int64]:
    """Count 1 / minutes in whole steps."""
    return np.minimum(STEPS / np.maximum(minutes, STEPS / MOST_STEPS), MOST_STEPS).astype(np.int64)


@compiled
def ordered_pairs(
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
        total += value[test] if one[test] != other[test] else 0
    return total
