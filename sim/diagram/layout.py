"""Where everything stands on a diagram: columns as narrow as symbols and writing let them be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from sim.circuit import BODY
from sim.diagram.frame import Frame, Run
from sim.diagram.geometry import Box, Point, round_about
from sim.diagram.heights import STEP, Heights, set_heights
from sim.diagram.lettering import SMALL, text_width, wire_code
from sim.diagram.symbol import Symbol
from sim.diagram.tracks import Item, Track
from sim.diagram.writing import Text, item_texts

MARGIN = 24.0
COLUMN_GAP = 16.0
LANE = 16.0  # px for a wire or link that runs between two columns
CODE_ASIDE = 11.0  # px from a wire to its code
NUMBER_BELOW = 40.0  # px from the ground rail to the numbers of the tracks


@dataclass(frozen=True, slots=True)
class Placed:
    """An item on the diagram: the origin of its symbol and what is written beside it."""

    item: Item
    symbol: Symbol
    origin: Point
    texts: tuple[Text, ...] = ()

    def at(self, point: Point) -> Point:
        """Return where a point of the symbol is."""
        return self.origin[0] + point[0], self.origin[1] + point[1]

    @property
    def bodies(self) -> list[Box]:
        """What the symbol covers, without its stubs."""
        return [body.moved(self.origin) for body in self.symbol.bodies]

    @property
    def box(self) -> Box:
        """What the symbol covers, from wire end to wire end."""
        ends = [Box(*self.at(pin.outer), 0.0, 0.0) for pin in self.symbol.pins]
        return round_about([*self.bodies, *ends])


@dataclass(frozen=True, slots=True)
class Plan:
    """Where everything stands.

    Attributes
    ----------
    placed : mapping
        Item's key -> item in its place.
    axes : tuple of float
        x of every track.
    straight : mapping
        Wires that run down inside a track -> (upper, lower) end.
    right : float
        How far to the right anything reaches, in px.
    """

    frame: Frame
    heights: Heights
    placed: Mapping[str, Placed]
    axes: tuple[float, ...]
    straight: Mapping[str, tuple[Point, Point]]
    right: float


def _straight(frame: Frame, heights: Heights, track: Track) -> dict[str, tuple[float, float]]:
    """Return the wires that run down inside a track: wire -> upper and lower y."""
    found: dict[str, tuple[float, float]] = {}
    feed = frame.feed(track)
    if feed is not None:
        found[feed[0].wire.name] = heights.rails[feed[1]], heights.items[track.items[0].key]
    steps = [(i, n.points[0], heights.items[n.key]) for i, n in pairwise(track.items)]
    for upper, target, low in [*steps, (track.items[-1], BODY, heights.ground)]:
        if len(upper.names) == 1 or upper.part.kind == "key switch":
            continue
        high = heights.items[upper.key] + frame.symbols[upper.key].height
        for run in frame.runs:
            if run.points == {upper.points[1], target} and run.wire.name not in found:
                found[run.wire.name] = high, low
                break
    return found


def _covered(
    frame: Frame,
    heights: Heights,
    track: Track,
    texts: Mapping[str, list[Text]],
    straight: Mapping[str, tuple[float, float]],
) -> list[Box]:
    """Return what a track covers, x from its axis."""
    boxes = [Box(-6.0, heights.ground + NUMBER_BELOW - 10.0, 12.0, 13.0)]
    for item in track.items:
        symbol, down = frame.symbols[item.key], (0.0, heights.items[item.key])
        boxes += [body.moved(down) for body in symbol.bodies]
        boxes += [Box(*pin.outer, 0.0, 0.0).grown(STEP).moved(down) for pin in symbol.pins]
        boxes += [text.box.moved(down) for text in texts[item.key]]
    for name, (top, low) in straight.items():
        width = text_width(wire_code(frame.circuit.parts[name]), SMALL, mono=True)
        boxes.append(Box(CODE_ASIDE, (top + low) / 2 - 7.0, width, 13.0))
    return boxes


def _lanes(frame: Frame, straight: set[str]) -> list[int]:
    """Return how many wires and links need room in the gap left of each column."""
    counts = [0] * len(frame.tracks)
    pairs = [(frame.columns[a], frame.columns[b]) for a, b in frame.links]
    for run in frame.runs:
        ends = [frame.columns[frame.owners[end.point].key] for end in run.ends if not end.rail]
        if run.wire.name not in straight and len(ends) == len(run.ends):
            pairs.append((ends[0], ends[1]))
    for pair in pairs:
        if min(pair) < max(pair):
            counts[min(pair) + 1] += 1
    for link in frame.links:
        column = frame.columns[link[0]]
        if column == frame.columns[link[1]] and not any(frame.sides(link)):
            counts[column] += 1
    return counts


def _axes(frame: Frame, covered: list[list[Box]], lanes: list[int]) -> tuple[list[float], float]:
    """Return the axis of every track, and how far right the last one reaches.

    Tracks without a number may reach below or above each other; the others keep clear columns.
    """
    axes: list[float] = []
    tucked: list[Box] = []
    right = 0.0
    for track, boxes, lane in zip(frame.tracks, covered, lanes, strict=True):
        gap = COLUMN_GAP + LANE * (lane + frame.spread)
        x = max(MARGIN, right + gap if track.number else 0.0) - min(box.x for box in boxes)
        for other in tucked:
            near = other.grown(12.0)
            level = [box for box in boxes if near.y < box.bottom and box.y < near.bottom]
            x = max([x, *(other.right + gap - box.x for box in level)])
        axes.append(STEP * -(-x // STEP))
        moved = [box.moved((axes[-1], 0.0)) for box in boxes]
        if track.number:
            right = max(box.right for box in moved)
        else:
            tucked += moved
    return axes, max([right, *(box.right for box in tucked)])


def _runs_down(frame: Frame, run: Run, heights: Heights, top: float) -> bool:
    """Tell whether the first end of a straight wire is its upper one."""
    first = run.ends[0]
    if first.rail:
        return first.rail != BODY
    item = frame.owners[first.point]
    pin = next(p for p in frame.symbols[item.key].pins if item.point(p.name) == first.point)
    return heights.items[item.key] + pin.outer[1] == top


def lay_out(frame: Frame) -> Plan:
    """Return where everything stands."""
    heights = set_heights(frame)
    texts = {
        item.key: item_texts(
            frame.circuit, item, frame.symbols[item.key], linked=frame.linked_right(item.key)
        )
        for item in frame.items
    }
    straight = [_straight(frame, heights, track) for track in frame.tracks]
    covered = [
        _covered(frame, heights, track, texts, wires)
        for track, wires in zip(frame.tracks, straight, strict=True)
    ]
    lanes = _lanes(frame, {name for wires in straight for name in wires})
    axes, right = _axes(frame, covered, lanes)
    placed = {}
    for item in frame.items:
        origin = axes[frame.columns[item.key]], heights.items[item.key]
        written = tuple(text.moved(origin) for text in texts[item.key])
        placed[item.key] = Placed(item, frame.symbols[item.key], origin, written)
    runs = {run.wire.name: run for run in frame.runs}
    ends: dict[str, tuple[Point, Point]] = {}
    for x, wires in zip(axes, straight, strict=True):
        for name, (top, low) in wires.items():
            ends[name] = (x, top), (x, low)
            if not _runs_down(frame, runs[name], heights, top):
                ends[name] = (x, low), (x, top)
    return Plan(frame, heights, placed, tuple(axes), ends, right)
