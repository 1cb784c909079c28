"""What the constraints of `grader.bounds` have left, and where that is nothing, as bits.

Most pairs come when a test that separates them has nothing left; a few operations on bits tell so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from grader.split import Split
from grader.tables import WORD
from sim.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

NOTHING = 1e-13  # minutes; what rounding leaves of room that is used up


class Room(NamedTuple):
    """What the constraints have left."""

    test: NDArray[np.float64]  #: (N, T)
    place: NDArray[np.float64]  #: (N, G)
    repair: NDArray[np.float64]  #: (U, N)


class Used(NamedTuple):
    """Where a class has no room left, as bits."""

    plane: NDArray[np.int64]  #: (planes, N, words) labels, one binary digit a plane
    test: NDArray[np.int64]  #: (N, words) tests used up
    place: NDArray[np.int64]  #: (N,) places used up


@compiled
def nothing_used(split: Split, room: Room) -> Used:
    """Begin: only what costs nothing is used up."""
    classes, tests = split.label.shape
    plane = _planes_of(split.label)
    used = Used(plane, np.zeros((classes, plane.shape[2]), np.int64), np.zeros(classes, np.int64))
    for index in range(classes):
        nothing = nothing_of(split, index)
        for test in range(tests):
            if room.test[index, test] <= nothing:
                used.test[index, test // WORD] |= 1 << (test % WORD)
        note_places(room, used, index, nothing)
    return used


@compiled
def _planes_of(label: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Write labels as bits, one plane a binary digit."""
    classes, tests = label.shape
    digits = 1
    for row in label:
        for value in row:
            while np.int64(value) >> digits:
                digits += 1
    plane = np.zeros((digits, classes, (tests + WORD - 1) // WORD), np.int64)
    for index in range(classes):
        for test in range(tests):
            value = np.int64(label[index, test])
            for digit in range(digits):
                plane[digit, index, test // WORD] |= (value >> digit & 1) << (test % WORD)
    return plane


@compiled
def nothing_of(split: Split, index: int) -> float:
    """Half of what counts as nothing for a pair: two such halves are nothing together."""
    return 0.5 * NOTHING * float(split.weight[index])


@compiled
def note_places(room: Room, used: Used, index: int, nothing: float) -> None:
    """Note the places where a class has no room left."""
    for place in range(room.place.shape[1]):
        if room.place[index, place] <= nothing:
            used.place[index] |= 1 << place


@compiled
def used_up(split: Split, used: Used, i: int, j: int) -> bool:
    """Tell whether a test that separates a pair has no room left, its closed places included."""
    places = ~(used.place[i] & used.place[j])
    for word in range(used.test.shape[1]):
        bits = used.test[i, word] & used.test[j, word]
        if bits:
            apart = 0
            for plane in used.plane:
                apart |= plane[i, word] ^ plane[j, word]
            bits &= apart
            test = word * WORD
            while bits:
                if bits & 1 and not split.closed[split.group[test]] & places:
                    return True
                bits >>= 1
                test += 1
    return False
