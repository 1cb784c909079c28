"""Plan -> sheet: wires and links routed, rails as long as they have to be, every wire's code placed.

A sheet for which there is no room (a wire without a route, a code without a free spot) is given up;
`sim.diagram.draw` then tries again with wider gaps.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from sim.circuit import BODY
from sim.diagram.codes import WIRE_WIDTH, free_spot
from sim.diagram.frame import Link, Run
from sim.diagram.geometry import Box, Line, Point, between, strokes, tidy
from sim.diagram.layout import MARGIN, NUMBER_BELOW, Placed, Plan, Text, rail_words, write_line
from sim.diagram.lettering import wire_code
from sim.diagram.routing import PITCH, Cell, Lattice, cell_at

POINT_RADIUS = 6.0
BODY_ROOM = 32.0  # px on the right of everything for the symbol of the body
GROUND = "31"


class NoRoomError(Exception):
    """There is no room for a route or a code; wider gaps are needed."""


@dataclass(frozen=True, slots=True)
class Rail:
    """A rail as drawn; `switched` ones are dashed. `riser` leads to the point it is fed from."""

    name: str
    line: Line
    switched: bool
    text: Text
    riser: Line = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that is drawn, in px."""

    plan: Plan
    points: Mapping[str, Point]
    wires: Mapping[str, Line]
    links: tuple[tuple[str, Line], ...]
    rails: tuple[Rail, ...]
    codes: Mapping[str, Text]
    notes: tuple[Text, ...]
    width: float
    height: float


def draw_up(plan: Plan) -> Sheet:
    """Return the sheet of a plan.

    Raises
    ------
    NoRoomError
        A wire finds no way, or no spot for its code.
    """
    return _Sheet(plan).sheet()


class _Sheet:
    """Draws a plan up, step by step."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.ground = plan.heights.ground
        self.width = plan.right + MARGIN + BODY_ROOM
        self.height = self.ground + NUMBER_BELOW + 14.0
        self.points = self.all_points()
        self.starts = self.rail_starts()
        self.wires: dict[str, Line] = dict(plan.straight)
        self.risers: dict[str, Line] = {}
        self.links: list[tuple[str, Line]] = []
        self.codes: dict[str, Text] = {}
        self.notes = self.all_notes()
        self.rail_texts = {name: self.rail_text(name) for name in plan.heights.rails}
        self.rail_texts[GROUND] = self.ground_text()
        self.lattice = self.all_obstacles()

    def sheet(self) -> Sheet:
        """Return the sheet."""
        self.place_codes(self.plan.straight)
        for name in self.plan.heights.rails:
            self.route_riser(name)
        for run in sorted(self.plan.frame.runs, key=self.distance):
            if run.wire.name not in self.wires:
                self.route_wire(run)
        for link in self.plan.frame.links:
            self.route_link(link)
        self.place_codes(name for name in self.wires if name not in self.plan.straight)
        names = [run.wire.name for run in self.plan.frame.runs]
        return Sheet(
            plan=self.plan,
            points=self.points,
            wires={name: self.wires[name] for name in names},
            links=tuple(self.links),
            rails=tuple(self.rails()),
            codes={name: self.codes[name] for name in names},
            notes=tuple(self.notes),
            width=self.width,
            height=self.height,
        )

    # What is there before any wire

    def all_points(self) -> dict[str, Point]:
        found = {BODY: (self.width - MARGIN - 12.0, self.ground)}
        for placed in self.plan.placed.values():
            for pin in placed.symbol.pins:
                name = placed.item.point(pin.name)
                found[name] = placed.at(pin.outer)
                if pin.inner is not None:
                    found[f"{name}b"] = placed.at(pin.inner)
        return found

    def rail_starts(self) -> dict[str, float]:
        """Return where each supply rail begins: at a key switch's terminal, or on the left."""
        starts = {}
        for name, y in self.plan.heights.rails.items():
            at = self.points[self.plan.frame.circuit.rails[name]]
            starts[name] = at[0] if at[1] == y else MARGIN
        return starts

    def all_notes(self) -> list[Text]:
        """Return the numbers of the tracks and the name of the body's symbol."""
        y, tracks = self.ground + NUMBER_BELOW, self.plan.frame.tracks
        notes = [
            write_line(((track.number, "code"),), (x, y), "middle")
            for track, x in zip(tracks, self.plan.axes, strict=True)
            if track.number
        ]
        return [
            *notes,
            write_line(((BODY, "text"),), (self.points[BODY][0], self.ground - 12.0), "middle"),
        ]

    def rail_text(self, name: str) -> Text:
        """Return what is written above a supply rail."""
        start = self.starts[name]
        x = start if start == MARGIN else start + 14.0
        return write_line(((rail_words(name), "text"),), (x, self.plan.heights.rails[name] - 7.0))

    def ground_text(self) -> Text:
        """Return what is written below the ground rail, clear of the studs."""
        bodies = [body for placed in self.plan.placed.values() for body in placed.bodies]
        x = MARGIN
        while True:
            text = write_line(((rail_words(GROUND), "text"),), (x, self.ground + 18.0))
            if not any(text.box.grown(4.0).meets(body) for body in bodies):
                return text
            x += PITCH

    def texts(self) -> list[Text]:
        """Return everything written so far."""
        beside = [text for placed in self.plan.placed.values() for text in placed.texts]
        return [*beside, *self.notes, *self.rail_texts.values(), *self.codes.values()]

    def all_obstacles(self) -> Lattice:
        """Return everything that a route has to keep clear of."""
        lattice = Lattice(int(self.width // PITCH), int(self.ground // PITCH))
        for placed in self.plan.placed.values():
            for box in [*placed.bodies, *_stubs(placed)]:
                lattice.wall(box.grown(4.0))
        for text in self.texts():
            lattice.wall(text.box.grown(4.0))
        for name, at in self.points.items():
            lattice.guard(name, at)
        for name, y in self.plan.heights.rails.items():
            lattice.rail(y, self.starts[name], self.width - MARGIN)
        lattice.rail(self.ground, MARGIN, self.width - MARGIN)
        for line in self.wires.values():
            lattice.occupy(line)
        return lattice

    # Routes

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

    def route(
        self, starts: Iterable[Cell], goals: Iterable[Cell], names: Iterable[str], what: str
    ) -> Line:
        line = self.lattice.route(starts, goals, names)
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
        self.wires[name] = self.route(*cells, [end.point for end in run.ends], name)

    def route_riser(self, name: str) -> None:
        """Join a supply rail to the point it is fed from, unless it begins there."""
        point = self.plan.frame.circuit.rails[name]
        at = self.points[point]
        if at[1] != self.plan.heights.rails[name]:
            cells = {cell_at(at)}, self.rail_cells(name)
            self.risers[name] = self.route(*cells, [point], f"rail {name}")

    def route_link(self, link: Link) -> None:
        """Draw a mechanical link, from the side of one symbol to the side of the other."""
        first, last = (self.plan.placed[key] for key in link)
        columns = [self.plan.frame.columns[key] for key in link]
        right = columns[0] < columns[1], columns[1] <= columns[0]
        ends = _grip(first, right=right[0]), _grip(last, right=right[1])
        clear = [{self.beside(at, right=r)} for at, r in zip(ends, right, strict=True)]
        line = self.route(*clear, (), " to ".join(link))
        self.links.append((first.item.part.name, tidy((ends[0], *line, ends[1]))))

    def beside(self, at: Point, *, right: bool) -> Cell:
        """Return the nearest free cell to the right (or left) of a symbol's side."""
        column, row = cell_at(at)
        while not self.lattice.free((column, row)):
            column += 1 if right else -1
        return column, row

    # Codes and rails

    def place_codes(self, names: Iterable[str]) -> None:
        """Write every wire's code beside it where nothing else is."""
        taken = [text.box for text in self.texts()]
        for placed in self.plan.placed.values():
            taken += [*placed.bodies, *_stubs(placed)]
        taken += [Box(*at, 0.0, 0.0).grown(POINT_RADIUS + 1.0) for at in self.points.values()]
        taken += [box for _, line in self.links for box in strokes(line, 3.0)]
        taken += [Box(self.starts[n], y, self.width, 4.0) for n, y in self.plan.heights.rails.items()]
        for name in list(names):
            others = [line for other, line in self.wires.items() if other != name]
            boxes = [b for line in [*others, *self.risers.values()] for b in strokes(line, WIRE_WIDTH)]
            words = wire_code(self.plan.frame.circuit.parts[name])
            text = free_spot(words, self.wires[name], taken, boxes)
            if text is None or text.box.x < 0.0 or text.box.right > self.width:
                raise NoRoomError(f"the code of {name}")
            self.codes[name] = text
            taken.append(text.box)
            self.lattice.wall(text.box.grown(3.0))

    def rails(self) -> Iterator[Rail]:
        """Give the rails, each as long as what hangs on it."""
        ends: dict[str, list[float]] = {name: [] for name in (BODY, *self.plan.heights.rails)}
        for run in self.plan.frame.runs:
            line = self.wires[run.wire.name]
            for end, at in zip(run.ends, (line[0], line[-1]), strict=True):
                if end.rail:
                    ends[end.rail].append(at[0])
        for name, y in self.plan.heights.rails.items():
            riser, text = self.risers.get(name, ()), self.rail_texts[name]
            reach = [*ends[name], *(at[0] for at in riser[-1:])]
            right = max(text.box.right, *(x + MARGIN for x in reach))
            line = (self.starts[name], y), (right, y)
            yield Rail(name, line, name in self.plan.heights.switched, text, riser)
        line = (MARGIN, self.ground), (self.width - MARGIN, self.ground)
        yield Rail(GROUND, line, switched=False, text=self.rail_texts[GROUND])


def _stubs(placed: Placed) -> list[Box]:
    """Return what the stubs at the pins cover, without their ends."""
    boxes = []
    for pin in placed.symbol.pins:
        if pin.inner is not None:
            (x, y), (u, v) = placed.at(pin.outer), placed.at(pin.inner)
            third = (2 * x + u) / 3, (2 * y + v) / 3
            boxes.append(between(third, ((x + 2 * u) / 3, (y + 2 * v) / 3), 3.0))
    return boxes


def _grip(placed: Placed, *, right: bool) -> Point:
    """Return where a link arrives at a symbol."""
    return placed.at((placed.symbol.grip[1 if right else 0], placed.symbol.middle))
