"""What `grader.outlook`, `grader.partition` and `grader.states` do, in whole arrays.

Used where nothing is compiled: same answers, same bits. States are found by a dictionary here, and
the tests of a state are compared all at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from grader.boundarrays import pair_dual, places_of
from grader.outlook import Outlook, close_pair, close_without_tests
from grader.split import Split
from grader.states import States

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from grader.tables import Tables

#: Pairs of classes that are compared at once; beyond it two tests are compared in full.
SAMPLED = 62


class ArrayLooker:
    """Looks at states, without compiled code.

    Parameters
    ----------
    tables : Tables
    """

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self._row: dict[tuple[bytes, int, int], int] = {}
        self._state: list[tuple[NDArray[np.int64], int, int]] = []
        self._detours: dict[int, NDArray[np.float64]] = {}
        touched = tables.spots[:, None] >> np.arange(tables.reach.size) & 1
        self._touched: NDArray[np.bool_] = touched.astype(np.bool_)
        self._bits = [1 << place for place in range(tables.reach.size)]

    def enter(self, states: States, suspects: NDArray[np.int64], opened: int, here: int) -> int:
        """Give the row of a state, as `grader.outlook.enter_state` does."""
        tables = self.tables
        if (opened or here) and self._bits:
            marks = tables.mark[:, suspects]
            matters = (marks != marks[:, :1]).any(axis=1)
            home = tables.home[tables.unit[suspects]].any(axis=0)
            cheaper = (tables.again < tables.reach) | home
            kept = sum(
                b for b, k in zip(self._bits, (matters & cheaper).tolist(), strict=True) if k
            )
            stay = matters & (tables.again > 0.0)
            held = sum(b for b, k in zip(self._bits, stay.tolist(), strict=True) if k)
            opened, here = (opened | here) & kept, here & held
        key = (suspects.tobytes(), opened, here)
        row = self._row.get(key)
        if row is None:
            row = self._row[key] = len(self._state)
            self._state.append((suspects, opened, here))
            states.used[0] = row + 1
            unit = tables.unit[suspects]
            if (unit == unit[0]).all():
                states.lower[row] = states.upper[row] = 0.0
        return row

    def look(self, states: States, row: int, candidates: NDArray[np.int64]) -> Outlook:
        """Bound a state by itself, as `grader.outlook.look` does."""
        suspects, opened, here = self._state[row]
        first, weight, number = self._merged(suspects)
        tests, labels = self._worth_taking(first, candidates, opened)
        split, units = self._split(first, weight, tests, labels, (opened, here))
        everything = float(np.cumsum(weight)[-1])
        held = _summed(split.unit, weight)
        step = np.concatenate([split.price * everything, split.repair * (everything - held)])
        bound = step.copy()
        outlook = Outlook(everything, suspects, number, first, tests, labels, units, step, bound)
        if tests.size == 0:
            close_without_tests(states, row, outlook, split.repair, held)
            return outlook
        lower, bound[: tests.size], bound[tests.size :] = pair_dual(split)
        states.lower[row] = max(states.lower[row], min(lower, states.upper[row]))
        if first.size == 2:  # noqa: PLR2004 - a pair: every action is the last one
            close_pair(states, row, outlook)
        return outlook

    def children(self, states: States, row: int, outlook: Outlook, action: int) -> list[int]:
        """Give the rows of the states that an action of a state leads to."""
        _, opened, here = self._state[row]
        tests = outlook.tests.size
        if action < tests:
            touched = int(self.tables.touches[outlook.tests[action]])
            if touched:
                opened, here = opened | touched, touched
            part = outlook.labels[action][outlook.number]
        else:
            unit = outlook.units[action - tests]
            part = np.where(self.tables.unit[outlook.suspects] == unit, 1, 0)
            return [self.enter(states, outlook.suspects[part == 0], opened, here)]
        return [
            self.enter(states, outlook.suspects[part == value], opened, here)
            for value in range(int(part.max()) + 1)
        ]

    def _merged(
        self, suspects: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]:
        kind = self.tables.kind[suspects]
        new = np.ones(suspects.size, np.bool_)
        new[1:] = kind[1:] != kind[:-1]
        number = np.cumsum(new) - 1
        return suspects[new], _summed(number, self.tables.weight[suspects]), number

    def _worth_taking(
        self, first: NDArray[np.int64], candidates: NDArray[np.int64], opened: int
    ) -> tuple[NDArray[np.int64], NDArray[np.uint8]]:
        tables = self.tables
        labels, parts = _numbered(tables.outcome[candidates[:, None], first])
        telling = parts > 1
        tests, labels, parts = candidates[telling], labels[telling], parts[telling]
        if not tests.size:
            return tests, labels
        spot = tables.spot[tests]
        detours = self._detours_from(opened)
        minutes = tables.minutes[tests]
        betters = minutes + detours[spot[:, None], spot].T <= minutes[:, None]
        kept = self._distinct(labels, betters)
        tests, labels, parts = tests[kept], labels[kept], parts[kept]
        better = betters[np.ix_(kept, kept)] & (parts >= parts[:, None])
        kept = np.array(_undominated(labels, parts, better), dtype=np.int64)
        return tests[kept], labels[kept]

    @staticmethod
    def _distinct(labels: NDArray[np.uint8], betters: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Of tests with one split drop those that an earlier one dominates."""
        known: dict[bytes, list[int]] = {}
        kept = []
        for row, split in enumerate(labels):
            alike = known.setdefault(split.tobytes(), [])
            if not any(betters[row, other] for other in alike):
                alike.append(row)
                kept.append(row)
        return np.array(kept, dtype=np.int64)

    def _detours_from(self, opened: int) -> NDArray[np.float64]:
        """Give `grader.partition.make_detours`, remembered by what has been reached."""
        found = self._detours.get(opened)
        if found is None:
            tables, there = self.tables, self._touched
            away = tables.spots != 0
            found = np.zeros((away.size, away.size))
            for place, bit in enumerate(self._bits):
                coming = tables.again[place] if opened & bit else tables.reach[place]
                one, other = there[:, place, None], there[:, place]
                found += np.where(one & ~other, coming, 0.0)
                found += np.where(~one & other & away[:, None], tables.again[place], 0.0)
            found += np.where(away[:, None] & ~away, tables.back, 0.0)
            self._detours[opened] = found
        return found

    def _split(
        self,
        first: NDArray[np.int64],
        weight: NDArray[np.float64],
        tests: NDArray[np.int64],
        labels: NDArray[np.uint8],
        places: tuple[int, int],
    ) -> tuple[Split, NDArray[np.int64]]:
        """Do what `grader.split.make_split` does."""
        tables, (opened, here) = self.tables, places
        count = tables.reach.size
        reached = np.array([bool(opened & bit) for bit in self._bits], dtype=np.bool_)
        named = tables.unit[first]
        unopened = np.where(tables.home[named], 0.0, tables.reach)
        place = np.where(reached, tables.again, unopened)
        mean = np.cumsum((weight / np.cumsum(weight)[-1])[:, None] * place, axis=0)[-1]
        paid = sum(b for b, m in zip(self._bits, mean, strict=True) if m > 0.0 and not here & b)
        away = tables.touches[tests] & paid
        sets = sorted(set(away.tolist()), key=lambda s: (s.bit_count(), s))
        number = {bits: index for index, bits in enumerate(sets)}
        group = np.array([number[bits] for bits in away.tolist()], dtype=np.int64)
        costs = mean.tolist()
        at_places = np.array([_added(costs, places_of(bits, count)) for bits in sets])
        minutes = tables.minutes[tests]
        price = minutes + at_places[group] if sets else minutes.copy()
        seen: dict[int, int] = {}
        unit = np.array([seen.setdefault(u, len(seen)) for u in named.tolist()], dtype=np.int64)
        units = np.array(list(seen), dtype=np.int64)
        label = np.ascontiguousarray(labels.T)
        closed = np.array(sets, dtype=np.int64)
        repair = tables.repair[units]
        return Split(weight, unit, repair, label, minutes, price, group, closed, place), units


def _summed(number: NDArray[np.int64], values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Add up, one after the other, the values that have one number."""
    sums: NDArray[np.float64] = np.bincount(number, values).astype(np.float64)
    return sums


def _added(values: list[float], places: list[int]) -> float:
    total = 0.0
    for place in places:
        total += values[place]
    return total


def _numbered(
    outcome: NDArray[np.uint8],
) -> tuple[NDArray[np.uint8], NDArray[np.int64]]:
    """Give each test's outcomes numbers by first appearance; count them."""
    tests, classes = outcome.shape
    most = int(outcome.max(initial=0)) + 1
    first = np.full((tests, most), classes)
    for value in range(most):
        there = outcome == value
        first[:, value] = np.where(there.any(axis=1), there.argmax(axis=1), classes)
    order = first.argsort(axis=1, kind="stable")
    rank = np.empty_like(order)
    rows = np.arange(tests)[:, None]
    rank[rows, order] = np.arange(most)
    return rank[rows, outcome].astype(np.uint8), (first < classes).sum(axis=1)


def _undominated(
    labels: NDArray[np.uint8], parts: NDArray[np.int64], better: NDArray[np.bool_]
) -> list[int]:
    """Give the rows of the tests that no other dominates; their minutes ascend.

    `better[row, other]`: other costs no more and has as many parts. What is apart for a test and
    together for another among some pairs of classes rules the other out; with few classes those are
    all the pairs there are.
    """
    one, other = np.triu_indices(labels.shape[1], 1)
    chosen = np.linspace(0, one.size - 1, min(one.size, SAMPLED)).astype(np.int64)
    apart = labels[:, one[chosen]] != labels[:, other[chosen]]
    sample = apart @ (1 << np.arange(chosen.size, dtype=np.int64))
    better &= (sample[:, None] & ~sample) == 0
    np.fill_diagonal(better, val=False)
    exact = one.size <= SAMPLED
    out = np.zeros(parts.size, np.bool_)
    for row in np.flatnonzero(better.any(axis=1)).tolist():
        for rival in np.flatnonzero(better[row]).tolist():
            if out[rival]:
                continue
            if exact or _as_fine(labels[rival], labels[row], int(parts[rival])):
                out[row] = True
                break
    return np.flatnonzero(~out).tolist()


def _as_fine(fine: NDArray[np.uint8], coarse: NDArray[np.uint8], parts: int) -> bool:
    together = fine.astype(np.int64) * 256 + coarse
    return len(set(together.tolist())) == parts
