"""Every wire, rail and link of a plan, routed on the lattice.

Straight wires and their codes are there first; then the risers of the rails, the other wires (the
near ones first) and the mechanical links.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from sim.circuit import BODY
from sim.diagram.frame import Link, Run
from sim.diagram.geometry import Box, Line, Point, between, tidy
from sim.diagram.heights import TOP_RAIL
from sim.diagram.layout import MARGIN, Placed, Plan
from sim.diagram.routing import PITCH, Cell, Lattice, cell_at

WALL = 4.0  # px that routes keep clear of symbols and writing


class NoRoomError(Exception):
    """There is no room for a route or a code; wider gaps are needed."""


def stubs(placed: Placed) -> list[Box]:
    """Return what the stubs at the pins of a symbol cover, without their ends."""
    boxes = []
    for pin in placed.symbol.pins:
        if pin.inner is not None:
            (x, y), (u, v) = placed.at(pin.outer), placed.at(pin.inner)
            third = (2 * x + u) / 3, (2 * y + v) / 3
            boxes.append(between(third, ((x + 2 * u) / 3, (y + 2 * v) / 3), 3.0))
    return boxes


def _aprons(placed: Placed) -> list[Box]:
    """Return the stubs at the pins on the axis, as wide as the symbol, and the other stubs."""
    main, axis = placed.bodies[0], placed.origin[0]
    return [
        Box(main.x, box.y, main.width, box.height) if box.x < axis < box.right else box
        for box in stubs(placed)
    ]


class Routes:
    """Routes wires one after the other; what is drawn is in the way of what follows.

    Attributes
    ----------
    wires, risers : dict
        Wire or rail -> its line.
    links : list of (part, line)
    """

    def __init__(
        self, plan: Plan, points: Mapping[str, Point], starts: Mapping[str, float], width: float
    ) -> None:
        self.plan, self.points, self.starts, self.width = plan, points, starts, width
        self.ground = plan.heights.ground
        self.wires: dict[str, Line] = dict(plan.straight)
        self.risers: dict[str, Line] = {}
        self.links: list[tuple[str, Line]] = []
        self.lattice = self.obstacles()

    def obstacles(self) -> Lattice:
        """Return everything that a route has to keep clear of, writing excepted."""
        lattice = Lattice(int(self.width // PITCH), int(self.ground // PITCH))
        lattice.wall(Box(0.0, 0.0, self.width, TOP_RAIL - PITCH))  # nothing above the rails
        for placed in self.plan.placed.values():
            for box in [*placed.bodies, *_aprons(placed)]:
                lattice.wall(box.grown(WALL))
        for name, at in self.points.items():
            lattice.guard(name, at)
        for name, y in self.plan.heights.rails.items():
            lattice.rail(y, self.starts[name], self.width - MARGIN)
        lattice.rail(self.ground, MARGIN, self.width - MARGIN)
        for line in self.wires.values():
            lattice.occupy(line)
        return lattice

    def keep_clear(self, boxes: Iterable[Box]) -> None:
        """Keep routes out of writing."""
        for box in boxes:
            self.lattice.wall(box.grown(WALL))

    def run_all(self) -> None:
        """Route everything that does not run straight.

        Raises
        ------
        NoRoomError
            Something finds no way.
        """
        for name in self.plan.heights.rails:
            self.route_riser(name)
        for run in sorted(self.plan.frame.runs, key=self.distance):
            if run.wire.name not in self.wires:
                self.route_wire(run)
        for link in self.plan.frame.links:
            self.route_link(link)

    def rail_cells(self, name: str) -> set[Cell]:
        """Return the cells at which a wire may meet a rail."""
        y = self.ground if name == BODY else self.plan.heights.rails[name]
        start = MARGIN if name == BODY else self.starts[name] + 3 * PITCH
        row = cell_at((0.0, y))[1]
        columns = range(cell_at((start, y))[0], cell_at((self.width - 2 * MARGIN, y))[0])
        return {(column, row) for column in columns if self.lattice.crossable((column, row))}

    def distance(self, run: Run) -> tuple[float, str]:
        """Return how far apart the ends of a wire are; the near ones are routed first."""
        ends = [self.points[end.point] for end in run.ends if not end.rail]
        if len(ends) < len(run.ends):
            return sum(self.ground - at[1] for at in ends), run.wire.name
        (x, y), (u, v) = ends
        return abs(x - u) + abs(y - v), run.wire.name

    def route(self, ends: Sequence[Iterable[Cell]], names: Iterable[str], what: str) -> Line:
        """Return a route between two sets of cells, and note it as drawn."""
        line = self.lattice.route(ends[0], ends[1], names)
        if line is None:
            raise NoRoomError(what)
        self.lattice.occupy(line)
        return line

    def route_wire(self, run: Run) -> None:
        """Route a wire, from its first end to its last."""
        cells = [
            self.rail_cells(end.rail) if end.rail else {cell_at(self.points[end.point])}
            for end in run.ends
        ]
        name = run.wire.name
        self.wires[name] = self.route(cells, [end.point for end in run.ends], name)

    def route_riser(self, name: str) -> None:
        """Join a supply rail to the point it is fed from, unless it begins there."""
        point = self.plan.frame.circuit.rails[name]
        at = self.points[point]
        if at[1] != self.plan.heights.rails[name]:
            cells = [{cell_at(at)}, self.rail_cells(name)]
            self.risers[name] = self.route(cells, [point], f"rail {name}")

    def route_link(self, link: Link) -> None:
        """Draw a mechanical link, from the side of one symbol to the side of the other."""
        first, last = (self.plan.placed[key] for key in link)
        right = self.plan.frame.sides(link)
        ends = _grip(first, right=right[0]), _grip(last, right=right[1])
        cells = [{self.beside(at, right=side)} for at, side in zip(ends, right, strict=True)]
        line = self.route(cells, (), " to ".join(link))
        self.links.append((first.item.part.name, tidy((ends[0], *line, ends[1]))))

    def beside(self, at: Point, *, right: bool) -> Cell:
        """Return the nearest free cell to the right (or left) of a symbol's side."""
        column, row = cell_at(at)
        while not self.lattice.free((column, row)):
            column += 1 if right else -1
        return column, row


def _grip(placed: Placed, *, right: bool) -> Point:
    """Return where a link arrives at a symbol."""
    return placed.at((placed.symbol.grip[1 if right else 0], placed.symbol.middle))
