"""What the layout of a diagram works on: tracks with their symbols, wires with their ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from sim.circuit import BODY, Circuit, Part
from sim.diagram.symbol import Symbol
from sim.diagram.symbols import symbol_of
from sim.diagram.tracks import Item, Track, wire_ends, wires_of

Link = tuple[str, str]


@dataclass(frozen=True, slots=True)
class End:
    """An end of a wire: its point, and the rail it is drawn to (`body` for ground) if any."""

    point: str
    rail: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """A wire with its two ends, in the order of the circuit file."""

    wire: Part
    ends: tuple[End, End]

    @property
    def points(self) -> set[str]:
        """The points it lies between, a rail's name for an end at a rail."""
        return {end.rail or end.point for end in self.ends}


@dataclass(frozen=True, slots=True)
class Frame:
    """Everything about a diagram but where things stand.

    Attributes
    ----------
    columns : mapping
        Item's key -> number of its track.
    symbols : mapping
        Item's key -> its symbol.
    owners : mapping
        Point at which a wire ends -> item it belongs to.
    links : tuple
        Pairs of items joined mechanically: a relay's coil and contact, the pins of a connector.
    spread : int
        How much wider than usual the gaps are, in steps.
    """

    circuit: Circuit
    tracks: tuple[Track, ...]
    runs: tuple[Run, ...]
    columns: Mapping[str, int]
    symbols: Mapping[str, Symbol]
    owners: Mapping[str, Item]
    links: tuple[Link, ...]
    spread: int

    @property
    def gap(self) -> float:
        """Room for a wire between two items of a track, in px."""
        return 32.0 + 16.0 * self.spread

    @property
    def items(self) -> tuple[Item, ...]:
        """All items, track by track."""
        return tuple(item for track in self.tracks for item in track.items)

    def sides(self, link: Link) -> tuple[bool, bool]:
        """Tell for both ends of a link whether it leaves to the right."""
        return _rightward(self.columns, self.kind_of(link), link)

    def kind_of(self, link: Link) -> str:
        """Return the kind of the part whose items a link joins."""
        return next(item.part.kind for item in self.items if item.key == link[0])

    def linked_right(self, key: str) -> bool:
        """Tell whether a link leaves an item to the right."""
        return any(
            right
            for link in self.links
            for end, right in zip(link, self.sides(link), strict=True)
            if end == key
        )

    def feed(self, track: Track) -> tuple[Run, str] | None:
        """Return the wire, and its rail, that leads to the uppermost terminal of a track."""
        first = track.items[0].points[0]
        for run in self.runs:
            for end, other in (run.ends, run.ends[::-1]):
                if end.point == first and not end.rail and other.rail not in {"", BODY}:
                    return run, other.rail
        return None


def _rightward(columns: Mapping[str, int], kind: str, link: Link) -> tuple[bool, bool]:
    """Tell for both ends of a link whether it leaves to the right.

    Within one track it does, but for the pins of a connector: wires leave them to the right.
    """
    first, last = (columns[key] for key in link)
    if first == last:
        return (kind != "connector",) * 2
    return first < last, last < first


def _find_links(items: list[Item]) -> tuple[Link, ...]:
    pairs: list[Link] = []
    for part in dict.fromkeys(item.part.name for item in items):
        keys = [item.key for item in items if item.part.name == part]
        pairs += list(pairwise(keys))
    return tuple(pairs)


def _run(circuit: Circuit, wire: Part) -> Run:
    written = str(wire.values["from"]), str(wire.values["to"])
    first, last = (
        End(point, BODY if point == BODY else name if name in circuit.rails else "")
        for name, point in zip(written, wire_ends(circuit, wire), strict=True)
    )
    return Run(wire, (first, last))


def frame_of(circuit: Circuit, tracks: tuple[Track, ...], spread: int) -> Frame:
    """Return the frame of a circuit; every step of `spread` makes the gaps wider."""
    items = [item for track in tracks for item in track.items]
    columns = {item.key: n for n, track in enumerate(tracks) for item in track.items}
    links = _find_links(items)
    kinds = {item.key: item.part.kind for item in items}
    left = {
        key
        for link in links
        for key, right in zip(link, _rightward(columns, kinds[link[0]], link), strict=True)
        if not right
    }
    return Frame(
        circuit=circuit,
        tracks=tracks,
        runs=tuple(_run(circuit, wire) for wire in wires_of(circuit)),
        columns=columns,
        symbols={i.key: symbol_of(i.part, i.key, i.names, link_left=i.key in left) for i in items},
        owners={point: item for item in items for point in item.points},
        links=links,
        spread=spread,
    )
