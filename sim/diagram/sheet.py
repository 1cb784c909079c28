"""Plan -> sheet: wires and links routed, rails as long as need be, every wire's code placed.

A sheet for which there is no room (a wire without a route, a code without a free spot) is given up;
`sim.diagram.draw` then tries again with wider gaps.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from sim.circuit import BODY
from sim.diagram.codes import WIRE_WIDTH, free_spot
from sim.diagram.geometry import Box, Line, Point, strokes
from sim.diagram.heights import STEP, TOP_RAIL
from sim.diagram.layout import MARGIN, NUMBER_BELOW, Plan
from sim.diagram.lettering import wire_code
from sim.diagram.routes import NoRoomError, Routes
from sim.diagram.writing import Text, rail_words, write_line
from sim.language import say
from sim.parts import FAMILIES
from sim.parts.family import own_side

POINT_RADIUS = 6.0
BODY_ROOM = 32.0  # px on the right of everything for the symbol of the body
GROUND = "31"


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
        self.points = self.all_points()
        self.starts = self.rail_starts()
        self.notes = self.all_notes()
        self.rail_texts = {name: self.rail_text(name) for name in plan.heights.rails}
        self.rail_texts[GROUND] = self.clear_text(GROUND, MARGIN, self.ground + 18.0)
        self.codes: dict[str, Text] = {}
        self.routes = Routes(plan, self.points, self.starts, self.width)

    def sheet(self) -> Sheet:
        """Return the sheet."""
        self.place_codes(self.plan.straight)
        self.routes.keep_clear(text.box for text in self.texts())
        self.routes.run_all()
        names = [run.wire.name for run in self.plan.frame.runs]
        self.place_codes(name for name in names if name not in self.plan.straight)
        return Sheet(
            plan=self.plan,
            points=self.points,
            wires={name: self.routes.wires[name] for name in names},
            links=tuple(self.routes.links),
            rails=tuple(self.rails()),
            codes={name: self.codes[name] for name in names},
            notes=tuple(self.notes),
            width=self.width,
            height=self.ground + NUMBER_BELOW + 14.0,
        )

    def all_points(self) -> dict[str, Point]:
        found = {BODY: (self.width - MARGIN - 12.0, self.ground)}
        for placed in self.plan.placed.values():
            part = placed.item.part
            pins = FAMILIES[part.kind].pins(part)
            for pin in placed.symbol.pins:
                found[placed.item.point(pin.name)] = placed.at(pin.outer)
                if pin.inner is not None:
                    found[own_side(part, pin.name, pins)] = placed.at(pin.inner)
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
        body = say(BODY)
        return [
            *notes,
            write_line(((body, "text"),), (self.points[BODY][0], self.ground - 12.0), "middle"),
        ]

    def rail_text(self, name: str) -> Text:
        """Return what is written above a supply rail."""
        start, y = self.starts[name], self.plan.heights.rails[name]
        x = start + 14.0
        if start == MARGIN:  # and clear of the risers of higher rails
            x = MARGIN if y == TOP_RAIL else max(self.plan.axes[0], MARGIN) + 14.0
        return self.clear_text(name, x, y - 7.0)

    def clear_text(self, rail: str, x: float, y: float) -> Text:
        """Return what is written at a rail, so far to the right that it is clear of all else."""
        boxes = [body for placed in self.plan.placed.values() for body in placed.bodies]
        boxes += [text.box for placed in self.plan.placed.values() for text in placed.texts]
        for line in self.plan.straight.values():
            boxes += strokes(line, WIRE_WIDTH)
        while True:
            text = write_line(((rail_words(rail), "text"),), (x, y))
            if not any(_apart(text.box).meets(box) for box in boxes):
                return text
            x += STEP

    def texts(self) -> list[Text]:
        """Return everything written so far."""
        beside = [text for placed in self.plan.placed.values() for text in placed.texts]
        return [*beside, *self.notes, *self.rail_texts.values(), *self.codes.values()]

    def place_codes(self, names: Iterable[str]) -> None:
        """Write every wire's code beside it where nothing else is."""
        taken = self.covered()
        lines = [*self.routes.wires.items(), *self.routes.risers.items()]
        pieces = {name: strokes(line, WIRE_WIDTH) for name, line in lines}
        for name in names:
            others = [box for other, boxes in pieces.items() if other != name for box in boxes]
            words = wire_code(self.plan.frame.circuit.parts[name])
            text = free_spot(words, self.routes.wires[name], taken, others)
            if text is None or text.box.x < 0.0 or text.box.right > self.width:
                raise NoRoomError(f"the code of {name}")
            self.codes[name] = text
            taken.append(_apart(text.box))

    def covered(self) -> list[Box]:
        """Return everything that a code must not touch, wires excepted."""
        taken = [_apart(text.box) for text in self.texts()]
        taken += [placed.box for placed in self.plan.placed.values()]
        taken += [Box(*at, 0.0, 0.0).grown(POINT_RADIUS + 1.0) for at in self.points.values()]
        taken += [box for _, line in self.routes.links for box in strokes(line, 3.0)]
        for name, y in self.plan.heights.rails.items():
            taken.append(Box(self.starts[name], y, self.width, 0.0).grown(4.0))
        return taken

    def rails(self) -> Iterator[Rail]:
        """Give the rails, each as long as what hangs on it."""
        ends: dict[str, list[float]] = {name: [] for name in (BODY, *self.plan.heights.rails)}
        for run in self.plan.frame.runs:
            line = self.routes.wires[run.wire.name]
            for end, at in zip(run.ends, (line[0], line[-1]), strict=True):
                if end.rail:
                    ends[end.rail].append(at[0])
        for name, y in self.plan.heights.rails.items():
            riser, text = self.routes.risers.get(name, ()), self.rail_texts[name]
            reach = [*ends[name], *(at[0] for at in riser[-1:])]
            right = max([text.box.right, *(x + MARGIN for x in reach)])  # reach may be empty
            line = (self.starts[name], y), (right, y)
            yield Rail(name, line, name in self.plan.heights.switched, text, riser)
        line = (MARGIN, self.ground), (self.width - MARGIN, self.ground)
        yield Rail(GROUND, line, switched=False, text=self.rail_texts[GROUND])


def _apart(box: Box) -> Box:
    """Return the box of a writing with the room that keeps the next one from running into it."""
    return Box(box.x - 6.0, box.y, box.width + 12.0, box.height)
