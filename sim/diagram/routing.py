"""Routes of wires and links between columns: level and upright pieces on a lattice of 8 px.

The cheapest route by A*: length counts, bends and crossings count more, running close beside
another wire a little, and beside a symbol least. Symbols and writing are walls; a point is in the
way of every wire that does not end there; no two wires share a piece, and they cross only at right
angles.
"""

from __future__ import annotations

import heapq
from array import array
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain, pairwise
from typing import TYPE_CHECKING

import numpy as np

from sim.diagram.geometry import Box, Line, Point

if TYPE_CHECKING:
    from numpy.typing import NDArray

PITCH = 8.0  # px
BEND, CROSSING, BESIDE, NEAR = 6.0, 4.0, 2.0, 0.25  # in steps
POINT_MARGIN = 1  # steps around a point that other wires keep clear of

Cell = tuple[int, int]
Way = tuple[int, int]
_WAYS: tuple[Way, ...] = ((1, 0), (0, 1), (-1, 0), (0, -1))
_LEVEL, _UPRIGHT, _FULL = "level", "upright", "full"
_NEVER = float("inf")


def cell_at(point: Point) -> Cell:
    """Return the cell of the lattice at a point."""
    return round(point[0] / PITCH), round(point[1] / PITCH)


@dataclass(slots=True)
class Lattice:
    """What is in the way: walls, points, and pieces of wires already drawn."""

    columns: int
    rows: int
    walls: set[Cell] = field(default_factory=set)
    guards: dict[Cell, set[str]] = field(default_factory=dict)
    taken: dict[Cell, str] = field(default_factory=dict)

    def wall(self, box: Box) -> None:
        """Keep routes out of a box."""
        left, top = int(-(-box.x // PITCH)), int(-(-box.y // PITCH))
        for i in range(left, int(box.right // PITCH) + 1):
            for j in range(top, int(box.bottom // PITCH) + 1):
                self.walls.add((i, j))

    def guard(self, name: str, at: Point) -> None:
        """Keep routes that do not end at a point away from it."""
        column, row = cell_at(at)
        reach = range(-POINT_MARGIN, POINT_MARGIN + 1)
        for cell in ((column + i, row + j) for i in reach for j in reach):
            self.guards.setdefault(cell, set()).add(name)

    def occupy(self, line: Line) -> None:
        """Note a wire that is drawn."""
        cells = [cell_at(point) for point in line]
        for first, last in pairwise(cells):
            kind = _LEVEL if first[1] == last[1] else _UPRIGHT
            for cell in _piece(first, last):
                self.taken[cell] = _FULL if cell in self.taken else kind
        for cell in cells:
            self.taken[cell] = _FULL

    def free(self, cell: Cell) -> bool:
        """Tell whether nothing at all is in a cell."""
        return cell not in self.walls and cell not in self.guards and cell not in self.taken

    def crossable(self, cell: Cell) -> bool:
        """Tell whether a level piece runs through a cell, and nothing else does."""
        return self.taken.get(cell) == _LEVEL

    def rail(self, y: float, left: float, right: float) -> None:
        """Note a rail: wires may cross it and end on it."""
        row = cell_at((0.0, y))[1]
        for column in range(cell_at((left, y))[0], cell_at((right, y))[0] + 1):
            self.taken[column, row] = _LEVEL

    def route(
        self, starts: Iterable[Cell], goals: Iterable[Cell], names: Iterable[str]
    ) -> Line | None:
        """Return the cheapest route as a polyline, or None; `names` are the points it ends at."""
        return _Search(self, frozenset(starts), frozenset(goals), frozenset(names)).run()


def _piece(first: Cell, last: Cell) -> Iterator[Cell]:
    """Give the cells from first to last, both included, of a level or upright piece."""
    length = max(abs(last[0] - first[0]), abs(last[1] - first[1]))
    for step in range(length + 1):
        share = step / length if length else 0.0
        i = first[0] + round(share * (last[0] - first[0]))
        yield i, first[1] + round(share * (last[1] - first[1]))


State = int  # five times the number of a cell, plus that of the way it was entered by (4: a start)
_LEVEL_MARK, _UPRIGHT_MARK, _FULL_MARK = 1, 2, 3
_MARKS = {_LEVEL: _LEVEL_MARK, _UPRIGHT: _UPRIGHT_MARK, _FULL: _FULL_MARK}
_NO_WAY = len(_WAYS)
_WAYS_IN = _NO_WAY + 1


class _Search:
    """One search on a lattice.

    What a step costs and whether it can be taken is worked out for all cells at once; the search
    itself looks it up in flat arrays by number of cell (column by column, with a margin of one cell
    all round). That takes a tenth of what asking the lattice cell by cell did.
    """

    def __init__(
        self,
        lattice: Lattice,
        starts: frozenset[Cell],
        goals: frozenset[Cell],
        names: frozenset[str],
    ) -> None:
        self.lattice, self.names = lattice, names
        self.shape = lattice.columns + 3, lattice.rows + 3
        self.starts = [self.number(cell) for cell in sorted(starts)]
        self.goals = frozenset(self.number(cell) for cell in goals)
        columns, rows = [cell[0] for cell in goals], [cell[1] for cell in goals]
        self.span = min(columns), max(columns), min(rows), max(rows)

    def number(self, cell: Cell) -> int:
        """Return the number of a cell; those beyond the margin count as the margin's corner."""
        i, j = cell[0] + 1, cell[1] + 1
        inside = 0 <= i < self.shape[0] and 0 <= j < self.shape[1]
        return i * self.shape[1] + j if inside else 0

    def numbers(self, cells: Iterable[Cell]) -> NDArray[np.int64]:
        """Return the numbers of many cells, in their order."""
        places = np.fromiter(chain.from_iterable(cells), dtype=np.int64).reshape(-1, 2) + 1
        inside = ((places >= 0) & (places < self.shape)).all(axis=1)
        return np.where(inside, places[:, 0] * self.shape[1] + places[:, 1], 0)

    def filled(self, cells: Iterable[Cell]) -> NDArray[np.bool_]:
        """Return where these cells are."""
        found = np.zeros(self.shape[0] * self.shape[1], dtype=np.bool_)
        found[self.numbers(cells)] = True
        return found

    def left_to_go(self) -> NDArray[np.int64]:
        """Return for every cell the least number of steps to the box around the goals."""
        left, right, top, bottom = self.span
        i = np.arange(self.shape[0])[:, None] - 1
        j = np.arange(self.shape[1])[None, :] - 1
        across = np.maximum(np.maximum(left - i, i - right), 0)
        down = np.maximum(np.maximum(top - j, j - bottom), 0)
        return np.asarray(across + down, dtype=np.int64).ravel()

    def lists(self) -> tuple[bytes, tuple[bytes, ...], tuple[array[float], ...]]:
        """Return where wires are crossed, which cells are open and what they cost, by way.

        Bytes and arrays: most cells are never looked at, and a list would make an object of each.
        """
        lattice = self.lattice
        taken = np.zeros(self.shape[0] * self.shape[1], dtype=np.int64)
        marks = np.fromiter((_MARKS[kind] for kind in lattice.taken.values()), dtype=np.int64)
        taken[self.numbers(lattice.taken)] = marks
        walls = self.filled(lattice.walls)
        taken[0] = walls[0] = 0
        guarded = self.filled(c for c, held in lattice.guards.items() if not held <= self.names)
        goal = np.zeros_like(walls)
        goal[list(self.goals)] = True
        margin = np.ones(self.shape, dtype=np.bool_)
        margin[1:-1, 1:-1] = False
        shut = margin.ravel() | guarded
        opened, costs = [], []
        for mark, side in ((_LEVEL_MARK, 1), (_UPRIGHT_MARK, self.shape[1])):
            blocked = walls | (taken == _FULL_MARK)
            opened.append((~shut & (taken != mark) & (goal | ~blocked)).tobytes())
            cost = 1.0 + CROSSING * ((taken != 0) & ~goal)
            for beside in (side, -side):  # the margin keeps the ends of the roll out of it
                cost += BESIDE * np.roll(taken == mark, beside) + NEAR * np.roll(walls, beside)
            costs.append(array("d", cost.tobytes()))
        crossed = taken != 0
        crossed[self.starts] = False
        return crossed.tobytes(), tuple(opened), tuple(costs)

    def run(self) -> Line | None:
        """Return the cheapest route, of equal ones that found first; None where there is none."""
        crossed, opened, prices = self.lists()
        ahead = array("q", self.left_to_go().tobytes())
        height, goals = self.shape[1], self.goals
        steps = tuple(
            (way, i * height + j, opened[way % 2], prices[way % 2])
            for way, (i, j) in enumerate(_WAYS)
        )
        # where a route can go on to: not back, and straight on where it crosses a wire
        onward = [tuple(s for s in steps if s[0] != (way + 2) % 4) for way in range(_NO_WAY)]
        straight = [*((step,) for step in steps), steps]
        onward.append(steps)
        states = _WAYS_IN * len(crossed)
        costs = array("d", [_NEVER]) * states
        origin = array("q", [-1]) * states
        done = bytearray(states)
        begun = [_WAYS_IN * cell + _NO_WAY for cell in self.starts]
        queue = [(float(ahead[state // _WAYS_IN]), n, state) for n, state in enumerate(begun)]
        for state in begun:
            costs[state] = 0.0
        heapq.heapify(queue)
        count = len(queue)
        while queue:
            state = heapq.heappop(queue)[2]
            cell, way = divmod(state, _WAYS_IN)
            if cell in goals and way != _NO_WAY:
                return self.corners(origin, state)
            if done[state]:
                continue
            done[state] = True
            spent = costs[state]
            for following, offset, is_open, price in (straight if crossed[cell] else onward)[way]:
                there = cell + offset
                if is_open[there]:
                    cost = spent + price[there]
                    if following != way != _NO_WAY:
                        cost += BEND
                    reached = _WAYS_IN * there + following
                    if cost < costs[reached]:
                        costs[reached], origin[reached] = cost, state
                        count += 1
                        heapq.heappush(queue, (cost + ahead[there], count, reached))
        return None

    def corners(self, origin: array[int], state: State) -> Line:
        """Return a route as a polyline, from its start, without points between corners."""
        cells, ways = [state // _WAYS_IN], [state % _WAYS_IN]
        while origin[state] >= 0:
            state = origin[state]
            if state % _WAYS_IN != ways[-1]:
                cells.append(state // _WAYS_IN)
            ways.append(state % _WAYS_IN)
        numbered = (divmod(cell, self.shape[1]) for cell in reversed(cells))
        return tuple(((i - 1) * PITCH, (j - 1) * PITCH) for i, j in numbered)
