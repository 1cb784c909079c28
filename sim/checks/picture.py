"""What is wrong with a circuit's diagram: items, colours, room, things that lie over each other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from sim.checks.finding import Finding, where_of
from sim.circuit import Circuit
from sim.diagram import draw, overlaps
from sim.diagram.lettering import wire_colours
from sim.diagram.tracks import lay_tracks
from sim.errors import CircuitFileError, DiagramError
from sim.mistakes import perhaps


def diagram(circuit: Circuit, broken: frozenset[str]) -> Iterator[Finding]:
    """Find what is wrong with the diagram's entries, and colours that have no code.

    Where a part is missing because its entry is `broken`, the tracks cannot be looked at.
    """
    yield from _colours(circuit)
    if all(name in circuit.parts or name.startswith("wire ") for name in broken):
        yield from _tracks(circuit)


def drawn(circuit: Circuit) -> Iterator[Finding]:
    """Draw a circuit that is sound, and find what has no room or lies over something else."""
    try:
        drawing = draw(circuit)
    except DiagramError:
        return  # parts in no track: said already
    except CircuitFileError as error:
        yield Finding(("diagram",), str(error).removeprefix(f"{circuit.name}: "))
        return
    for text in overlaps(drawing):
        yield Finding(("diagram",), f"{text}; move one of them to another track")


def _colours(circuit: Circuit) -> Iterator[Finding]:
    for wire in circuit.parts.values():
        if wire.kind == "wire":
            try:
                wire_colours(wire)
            except CircuitFileError as error:
                where = where_of(circuit, wire.name)
                yield Finding(where, str(error))


def _tracks(circuit: Circuit) -> Iterator[Finding]:
    """Give every complaint about the tracks: what one is about is left out, then the next."""
    written = circuit.diagram
    dropped: set[str] = set()
    for _ in range(sum(len(items) for items in written.values()) + 1):
        try:
            lay_tracks(replace(circuit, diagram=written))
        except DiagramError as error:
            if not error.track:
                yield from _left_out(error, dropped)
                return
            (item,) = error.items
            yield _at_item(circuit, error.track, item, error.reason)
            dropped |= {item, item.partition(" ")[0], item.partition(".")[0]}
            written = {**written, error.track: _without_last(written[error.track], item)}
        else:
            return


def _at_item(circuit: Circuit, track: str, item: str, reason: str) -> Finding:
    items = circuit.diagram[track]
    index = len(items) - 1 - items[::-1].index(item)
    near = perhaps(item, [*circuit.parts, *circuit.rails]) if "unknown" in reason else ""
    return Finding(("diagram", track, index), f"track {track}: {reason}{near}")


def _without_last(items: tuple[str, ...], item: str) -> tuple[str, ...]:
    index = len(items) - 1 - items[::-1].index(item)
    return items[:index] + items[index + 1 :]


def _left_out(error: DiagramError, dropped: set[str]) -> Iterator[Finding]:
    missing = [i for i in error.items if i not in dropped and i.partition(" ")[0] not in dropped]
    if missing:
        text = f"{', '.join(missing)} in no track, so that the circuit cannot be drawn"
        yield Finding(
            ("diagram",),
            f"{text}; list every part in one track, from supply to ground",
            warning=True,
            follows=True,
        )
