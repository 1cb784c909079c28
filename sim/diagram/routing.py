"""Routes of wires and links between columns: level and upright pieces on a lattice of 8 px.

The cheapest route by A*: length counts, bends and crossings count more, running close beside
another wire a little, and beside a symbol least. Symbols and writing are walls; a point is in the
way of every wire that does not end there; no two wires share a piece, and they cross only at right
angles.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from sim.diagram.geometry import Box, Line, Point

PITCH = 8.0  # px
BEND, CROSSING, BESIDE, NEAR = 6.0, 4.0, 2.0, 0.25  # in steps
POINT_MARGIN = 1  # steps around a point that other wires keep clear of

Cell = tuple[int, int]
Way = tuple[int, int]
_WAYS: tuple[Way, ...] = ((1, 0), (0, 1), (-1, 0), (0, -1))
_LEVEL, _UPRIGHT, _FULL = "level", "upright", "full"


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


State = tuple[Cell, Way | None]


class _Search:
    """One search on a lattice."""

    def __init__(
        self,
        lattice: Lattice,
        starts: frozenset[Cell],
        goals: frozenset[Cell],
        names: frozenset[str],
    ) -> None:
        self.lattice, self.starts, self.goals, self.names = lattice, starts, goals, names
        columns, rows = [cell[0] for cell in goals], [cell[1] for cell in goals]
        self.span = min(columns), max(columns), min(rows), max(rows)

    def left_to_go(self, cell: Cell) -> int:
        """Return the least number of steps to the box around the goals."""
        left, right, top, bottom = self.span
        return max(left - cell[0], 0, cell[0] - right) + max(top - cell[1], 0, cell[1] - bottom)

    def open(self, cell: Cell, way: Way) -> bool:
        """Tell whether a cell can be entered in a direction."""
        lattice = self.lattice
        if not (0 <= cell[0] <= lattice.columns and 0 <= cell[1] <= lattice.rows):
            return False
        if not lattice.guards.get(cell, set()) <= self.names:
            return False
        taken = lattice.taken.get(cell)
        along = _LEVEL if way[0] else _UPRIGHT
        if cell in self.goals:
            return taken != along
        return cell not in lattice.walls and taken not in {_FULL, along}

    def cost(self, cell: Cell, way: Way, before: Way | None) -> float:
        """Return what a step into a cell costs."""
        lattice, cost = self.lattice, 1.0
        if before not in {None, way}:
            cost += BEND
        if cell in lattice.taken and cell not in self.goals:
            cost += CROSSING
        along = _LEVEL if way[0] else _UPRIGHT
        for side in (1, -1):
            beside = cell[0] + side * way[1], cell[1] + side * way[0]
            if lattice.taken.get(beside) == along:
                cost += BESIDE
            if beside in lattice.walls:
                cost += NEAR
        return cost

    def steps(self, state: State) -> Iterator[State]:
        """Give where a route can go on to."""
        cell, way = state
        crossing = cell in self.lattice.taken and cell not in self.starts
        for following in _WAYS:
            if way is not None and (
                following == (-way[0], -way[1]) or (crossing and following != way)
            ):
                continue
            onward = cell[0] + following[0], cell[1] + following[1]
            if self.open(onward, following):
                yield onward, following

    def run(self) -> Line | None:
        costs: dict[State, float] = {(cell, None): 0.0 for cell in self.starts}
        origin: dict[State, State] = {}
        queue = [(float(self.left_to_go(c)), n, (c, w)) for n, (c, w) in enumerate(sorted(costs))]
        heapq.heapify(queue)
        count = len(queue)
        done: set[State] = set()
        while queue:
            state = heapq.heappop(queue)[2]
            if state[0] in self.goals and state[1] is not None:
                return _corners(origin, state)
            if state in done:
                continue
            done.add(state)
            for onward in self.steps(state):
                cost = costs[state] + self.cost(onward[0], onward[1] or (0, 0), state[1])
                if cost < costs.get(onward, float("inf")):
                    costs[onward], origin[onward] = cost, state
                    count += 1
                    heapq.heappush(queue, (cost + self.left_to_go(onward[0]), count, onward))
        return None


def _corners(origin: dict[State, State], state: State) -> Line:
    """Return a route as a polyline, from its start, without points between corners."""
    cells = [state[0]]
    ways = [state[1]]
    while state in origin:
        state = origin[state]
        if state[1] != ways[-1]:
            cells.append(state[0])
        ways.append(state[1])
    return tuple((i * PITCH, j * PITCH) for i, j in reversed(cells))
