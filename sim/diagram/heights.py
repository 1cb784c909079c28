"""How high everything stands on a diagram.

In every track items follow each other from the same height down. An item fed from another track
stands no higher than where its feed leaves, and the pins of one connector stand level, as far as
the order of the tracks allows. Studs stand on the ground rail.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from sim.circuit import BODY, Part
from sim.diagram.frame import Frame
from sim.diagram.symbol import REACH
from sim.diagram.tracks import Track

STEP = 8.0  # px, to which everything on a diagram is aligned
TOP_RAIL, RAIL_PITCH, KEY_DROP, HEAD = 32.0, 32.0, 56.0, 32.0  # px
CLEAR = 16.0  # px below a symbol

Rule = tuple[str, str, float]  # upper item, lower item, least distance


@dataclass(frozen=True, slots=True)
class Heights:
    """y of every rail, of every item (its upper wire's end), and of the ground rail."""

    rails: Mapping[str, float]
    switched: frozenset[str]
    items: Mapping[str, float]
    ground: float


def set_heights(frame: Frame) -> Heights:
    """Return how high everything stands."""
    plain, switched = _rails(frame)
    rails = plain | switched
    start = max(rails.values(), default=TOP_RAIL) + HEAD
    lowest = max(plain.values(), default=TOP_RAIL)
    heights = {i.key: _first(t, start, lowest) for t in frame.tracks for i in t.items}
    orders = list(_orders(frame))
    attempts = ([*orders, *_feeds(frame), *_levels(frame)], [*orders, *_feeds(frame)], orders)
    heights = next(found for rules in attempts if (found := _settle(heights, rules)))
    ground = _ground(frame, heights, start)
    return Heights(rails, _switched(frame), _sunk(frame, heights, ground), ground)


def _switched(frame: Frame) -> frozenset[str]:
    """Return the rails that are not fed straight from a battery."""
    return frozenset(
        name
        for name, point in frame.circuit.rails.items()
        if point != BODY and not _direct(frame, frame.owners[point].part)
    )


def _direct(frame: Frame, part: Part) -> bool:
    """Tell whether a part is a battery, its link, or a main fuse that is wired to one."""
    if part.kind != "blade fuse":
        return part.kind in {"battery", "fusible link"}
    ends = [
        {
            frame.owners[end.point].part.name: frame.owners[end.point].part
            for end in run.ends
            if not end.rail
        }
        for run in frame.runs
    ]
    return any(
        part.name in pair and any(p.kind == "battery" for p in pair.values()) for pair in ends
    )


def _rails(frame: Frame) -> tuple[dict[str, float], dict[str, float]]:
    """Return the heights of the rails above everything, and of those level with a key switch."""
    keys = [item for item in frame.items if item.part.kind == "key switch"][:1]
    drops = {i.point(pin.name): pin.outer[1] for i in keys for pin in frame.symbols[i.key].pins}
    rails = {name: point for name, point in frame.circuit.rails.items() if point != BODY}
    plain = [name for name, point in rails.items() if point not in drops]
    heights = {name: TOP_RAIL + RAIL_PITCH * place for place, name in enumerate(plain)}
    feed = max(heights.values(), default=TOP_RAIL) + KEY_DROP
    level = {name: feed + drops[point] for name, point in rails.items() if point in drops}
    return heights, level


def _first(track: Track, start: float, lowest: float) -> float:
    """Return where the uppermost item of a track stands if nothing pushes it down."""
    if track.items[0].part.kind == "key switch":
        return lowest + KEY_DROP
    return start if track.number else lowest + REACH


def _orders(frame: Frame) -> Iterator[Rule]:
    """Give the rules that items follow each other in a track."""
    for track in frame.tracks:
        for upper, lower in pairwise(track.items):
            symbol = frame.symbols[upper.key]
            room = max(symbol.height + frame.gap, symbol.bottom + CLEAR)
            yield upper.key, lower.key, room


def _feeds(frame: Frame) -> Iterator[Rule]:
    """Give the rules for items that are fed from another track."""
    headless = {t.items[0].key for t in frame.tracks if t.number and frame.feed(t) is None}
    for run in frame.runs:
        for end, other in (run.ends, run.ends[::-1]):
            source, sink = frame.owners.get(end.point), frame.owners.get(other.point)
            if end.rail or other.rail or source is None or sink is None:
                continue
            apart = frame.columns[source.key] != frame.columns[sink.key]
            fixed = sink.part.kind in {"ground stud", "key switch"}  # at a rail
            if not apart or other.point != sink.points[0] or fixed:
                continue
            if end.point != source.points[0]:
                yield source.key, sink.key, frame.symbols[source.key].bottom + CLEAR
            elif sink.key in headless and source.key not in headless:
                yield source.key, sink.key, 0.0


def _levels(frame: Frame) -> Iterator[Rule]:
    """Give the rules that keep the pins of one connector level."""
    kinds = {item.key: item.part.kind for item in frame.items}
    for first, last in frame.links:
        if kinds[first] == "connector":
            yield first, last, 0.0
            yield last, first, 0.0


def _settle(least: Mapping[str, float], rules: list[Rule]) -> dict[str, float]:
    """Return the least heights that keep all rules; empty if they go round in a circle."""
    heights = dict(least)
    for _ in range(len(heights) + 1):
        moved = False
        for upper, lower, room in rules:
            least_here = STEP * -(-(heights[upper] + room) // STEP)
            if heights[lower] < least_here:
                heights[lower] = least_here
                moved = True
        if not moved:
            return heights
    return {}


def _ground(frame: Frame, heights: Mapping[str, float], start: float) -> float:
    """Return where the ground rail runs: below everything, with room for a wire."""
    low = start
    for item in frame.items:
        symbol = frame.symbols[item.key]
        stud = item.part.kind == "ground stud"
        room = REACH if stud else max(symbol.height + frame.gap, symbol.bottom + CLEAR)
        low = max(low, heights[item.key] + room)
    return STEP * -(-low // STEP)


def _sunk(frame: Frame, heights: Mapping[str, float], ground: float) -> dict[str, float]:
    """Return the heights with studs on the ground rail and batteries half-way down to them."""
    sunk = dict(heights)
    for track in frame.tracks:
        for item in track.items:
            if item.part.kind == "ground stud":
                sunk[item.key] = ground - REACH
            elif item.part.kind == "battery" and not track.number:
                room = ground - REACH - frame.gap - frame.symbols[item.key].height
                sunk[item.key] += max(0.0, STEP * ((room - sunk[item.key]) // 2 // STEP))
    return sunk
