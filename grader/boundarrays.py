"""The pair dual of `grader.bounds` in whole arrays: what is used where nothing is compiled.

Same equations, same order of every sum, same bits. A pair is looked at in sets held as bits of one
Python number, and only what it charges is worked out, test beside test, in arrays. Tests stand
group after group here, so that the least of each group is one call.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from grader.bounds import PAIRS, steps_of
from grader.usedup import NOTHING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from grader.split import Split


def rows_as_bits(flags: NDArray[np.bool_]) -> list[int]:
    """Give each row of flags as the bits of one number, the first the lowest."""
    text = np.packbits(flags, axis=1, bitorder="little").tobytes()
    width = -(-flags.shape[1] // 8)
    return [int.from_bytes(text[k : k + width], "little") for k in range(0, len(text), width)]


def places_of(bits: int, places: int) -> list[int]:
    """List the places set as bits, ascending."""
    return [place for place in range(places) if bits >> place & 1]


class Dual:
    """One greedy pass over the pairs of a state.

    Parameters
    ----------
    split : Split
    """

    def __init__(self, split: Split) -> None:
        self.split = split
        self.by_group = np.argsort(split.group, kind="stable")
        self.group = split.group[self.by_group]
        self.label = np.ascontiguousarray(split.label[:, self.by_group])
        self.start = np.searchsorted(self.group, np.arange(split.closed.size))
        weight = split.weight
        self.half = (0.5 * NOTHING * weight).tolist()
        self.nothing = weight.tolist()
        self.test = weight[:, None] * split.minutes[self.by_group]
        self.place = (weight[:, None] * split.place).tolist()
        self.repair = (split.repair[:, None] * weight).tolist()
        self.groups = [places_of(int(c), split.place.shape[1]) for c in split.closed]
        self.members = self._members()
        self.test_of, self.label_of = list(self.test), list(self.label)
        width = -(-self.group.size // 8) * 8
        self.both = np.zeros(2 * width, np.bool_)
        self.flags = self.both[: self.group.size], self.both[width : width + self.group.size]
        self.used = rows_as_bits(self.test <= 0.5 * NOTHING * weight[:, None])
        self.used_places = [self._spent(index) for index in range(weight.size)]
        self.planes, self.copies = self._planes()
        self.whole_group = rows_as_bits(self.group == np.arange(split.closed.size)[:, None])
        self.closing: dict[int, int] = {}
        self.total = 0.0
        self.unit = split.unit.tolist()
        self.raised: list[tuple[NDArray[np.bool_], float, NDArray[np.float64]]] = []
        self.no_place = np.zeros(len(self.groups))
        self.at_place = [0.0] * split.place.shape[1]
        self.at_unit = [0.0] * split.repair.size

    def _members(self) -> list[NDArray[np.int64]]:
        """List the first closed place of every group, the second ones and so on; none: the last."""
        most, none = max(map(len, self.groups)), self.split.place.shape[1]
        rows = [places + [none] * (most - len(places)) for places in self.groups]
        return list(np.array(rows, dtype=np.int64).reshape(len(rows), most).T)

    def _spent(self, index: int) -> int:
        """Give the places where a class has no room left, as bits."""
        half = self.half[index]
        return sum(1 << place for place, room in enumerate(self.place[index]) if room <= half)

    def _planes(self) -> tuple[list[int], int]:
        """Write labels as bits, one plane a binary digit, all of a class in one number.

        Returns
        -------
        planes : list of int
            For each class.
        copies : int
            Tests as bits times this are tests as bits in every plane.
        """
        digits, tests = int(self.label.max(initial=1)).bit_length(), self.group.size
        flags = [self.label >> digit & 1 > 0 for digit in range(digits)]
        return rows_as_bits(np.hstack(flags)), sum(1 << digit * tests for digit in range(digits))

    def _close(self, places: int) -> int:
        """Give the tests all whose closed places are among these, as bits."""
        pairs = zip(self.split.closed.tolist(), self.whole_group, strict=True)
        closing = sum(tests for closed, tests in pairs if not closed & ~places)
        self.closing[places] = closing
        return closing

    def _used_up(self, i: int, j: int) -> bool:
        """Tell whether a separating test has no room left, its closed places included."""
        bits = self.used[i] & self.used[j]
        if not bits:
            return False
        places = self.used_places[i] & self.used_places[j]
        closing = self.closing.get(places)
        bits &= self._close(places) if closing is None else closing
        return (self.planes[i] ^ self.planes[j]) & bits * self.copies != 0

    def pairs(self) -> Iterator[tuple[int, int]]:
        """Give the pairs in order."""
        split = self.split
        inverse = steps_of(split.price)[self.by_group].astype(np.float64)
        same = np.zeros((split.weight.size, split.weight.size))
        last = self.label.max(axis=0)
        for value in range(int(last.max(initial=0)) + 1):
            has = last >= value  # most tests have two parts, a few have many
            there = (self.label[:, has] == value).astype(np.float64)
            same += (there * inverse[has]) @ there.T  # whole numbers below 2**42: no rounding
        repair = 2 * steps_of(split.repair)[split.unit]
        ways = (inverse.sum() - same).astype(np.int64) + repair[:, None] + repair
        one, other = np.triu_indices(split.weight.size, 1)
        apart = split.unit[one] != split.unit[other]
        one, other = one[apart], other[apart]
        order = np.sort(ways[one, other] * PAIRS + np.arange(one.size)) % PAIRS
        yield from zip(one[order].tolist(), other[order].tolist(), strict=True)

    def run(self) -> None:
        """Raise every pair as far as it goes."""
        unit, weight, repair = self.unit, self.nothing, self.repair
        for i, j in self.pairs():
            amount = min(repair[unit[i]][j], repair[unit[j]][i])
            nothing = NOTHING * (weight[i] + weight[j])
            if amount <= nothing or self._used_up(i, j):
                continue
            self._raise(i, j, amount, nothing)

    def _raise(self, i: int, j: int, amount: float, nothing: float) -> None:
        together = self.label_of[i] == self.label_of[j]
        left = self.test_of[i] + self.test_of[j]
        np.copyto(left, np.inf, where=together)
        cheapest = np.minimum.reduceat(left, self.start).tolist()
        mine, yours = self.place[i], self.place[j]
        room = [one + other for one, other in zip(mine, yours, strict=True)]
        for bare, places in zip(cheapest, self.groups, strict=True):
            if bare < amount:
                amount = min(amount, bare + _sum(room, places))
        if amount <= nothing:
            return
        unit_i, unit_j = self.unit[i], self.unit[j]
        self.total += amount
        self.at_unit[unit_i] += amount
        self.at_unit[unit_j] += amount
        self.repair[unit_i][j] -= amount
        self.repair[unit_j][i] -= amount
        set_up = self._share(room, amount, cheapest)
        if not any(set_up):
            self._charge((i, j), np.subtract(1.0, amount / left, out=left))
            self.raised.append((together, amount, self.no_place))
            return
        borne = self._borne(set_up)
        np.subtract(1.0, (amount - borne)[self.group] / left, out=left)
        self._charge((i, j), np.fmin(left, 1.0, out=left))
        self.raised.append((together, amount, borne))
        for place, more in enumerate(set_up):
            if more > 0.0:
                self.at_place[place] += more
                rest = max(0.0, 1.0 - more / room[place])
                mine[place] *= rest
                yours[place] *= rest
        self.used_places[i], self.used_places[j] = self._spent(i), self._spent(j)

    def _share(self, room: list[float], amount: float, cheapest: list[float]) -> list[float]:
        """Choose b^g: what the tests have no room for; groups with few places first."""
        set_up = [0.0] * len(room)
        for bare, places in zip(cheapest, self.groups, strict=True):
            if bare >= amount:
                continue
            needed = amount - bare
            for place in places:
                needed -= set_up[place]
            if needed > 0.0:
                for place in places:
                    more = min(needed, room[place] - set_up[place])
                    set_up[place] += more
                    needed -= more
        return set_up

    def _borne(self, set_up: list[float]) -> NDArray[np.float64]:
        """Give what the places bear of each group's tests, place after place, ascending."""
        values = np.array([*set_up, 0.0])
        borne = np.zeros(len(self.groups))
        for members in self.members:
            borne += values[members]
        return borne

    def _charge(self, pair: tuple[int, int], rest: NDArray[np.float64]) -> None:
        """Leave every test its share of the room that the pair has left there.

        A test that does not separate the pair has infinite room and keeps it; one that is asked for
        more than it has keeps nothing.
        """
        np.fmax(rest, 0.0, out=rest)
        for index, flags in zip(pair, self.flags, strict=True):
            test = self.test_of[index]
            test *= rest
            np.less_equal(test, self.half[index], out=flags)
        text = np.packbits(self.both, bitorder="little").tobytes()
        middle = len(text) // 2
        i, j = pair
        self.used[i] = int.from_bytes(text[:middle], "little")
        self.used[j] = int.from_bytes(text[middle:], "little")

    def sums(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Add up, test by test, what was given to the pairs apart, and what places bear of it."""
        if not self.raised:
            return np.zeros(self.group.size), np.zeros(self.group.size)
        together = np.array([one for one, _, _ in self.raised])
        amount = np.array([one for _, one, _ in self.raised])
        borne = np.array([one for _, _, one in self.raised])[:, self.group]
        cut = np.cumsum(np.where(together, 0.0, amount[:, None]), axis=0)
        return cut[-1], np.cumsum(np.where(together, 0.0, borne), axis=0)[-1]


def _sum(values: list[float], places: list[int]) -> float:
    total = 0.0
    for place in places:
        total += values[place]
    return total


def pair_dual(split: Split) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    """Bound a state and every action in it; see `grader.bounds.pair_dual`."""
    dual = Dual(split)
    with np.errstate(divide="ignore", invalid="ignore"):
        dual.run()
    weight = split.weight
    everything = np.cumsum(weight)[-1]
    cut, kept = np.empty(split.price.size), np.empty(split.price.size)
    cut[dual.by_group], kept[dual.by_group] = dual.sums()
    tests = dual.total + split.price * everything - cut + kept
    tests -= np.array([_sum(dual.at_place, places) for places in dual.groups])[split.group]
    outside = split.unit != np.arange(split.repair.size)[:, None]
    away = np.cumsum(np.where(outside, weight, 0.0), axis=1)[:, -1]
    repairs = dual.total + split.repair * away - np.array(dual.at_unit)
    least = min(tests.min(), repairs.min(initial=np.inf))
    return max(dual.total, float(least)), tests, repairs
