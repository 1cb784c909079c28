"""Parts tied to nothing, terminals that lead nowhere, points that no lead can ever be put on.

A part needs two ways for current, in and out: terminals that are wired, or its body on ground.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from sim.access import probe_points
from sim.checks.finding import Finding, listed, where_of
from sim.circuit import BODY, Circuit, Part
from sim.circuitpad import wire_pins
from sim.network import part_elements
from sim.parts import FAMILIES

#: Kinds of which some terminals may stay free, and which; one of these has to be wired,
ONE_OF = {
    "key switch": re.compile("accessory|run|crank"),
    "selector switch": re.compile(r"\d+"),
    "relay": re.compile("87[ab]?"),
    "resistor pack": re.compile(r"\d+"),
    "splice": re.compile(r"\d+"),
}
#: and of these none.
FREE = {"sleeping unit": re.compile("wake"), "alternator": re.compile("L")}
HIDDEN = "hidden"  # what nobody is meant to probe: a splice under tape
TWO_WAYS = 2


def wired_points(circuit: Circuit) -> dict[str, list[str]]:
    """Return every point at which wires end -> those wires."""
    found: dict[str, list[str]] = {}
    for name, part in circuit.parts.items():
        if part.kind == "wire":
            for key in ("from", "to"):
                found.setdefault(circuit.point(str(part.values[key])), []).append(name)
    return found


def untied_parts(circuit: Circuit, perhaps_tied: frozenset[str]) -> Iterator[Finding]:
    """Find parts that nothing is wired to, but those that a broken wire may be meant for."""
    wired = wired_points(circuit)
    for part in circuit.parts.values():
        if part.kind == "wire" or part.name in perhaps_tied:
            continue
        pins = wire_pins(part)
        if not any(f"{part.name}.{pin}" in wired for pin in pins):
            text = f"{part.name} is tied to nothing; wire {_ends(part, pins)}, or leave it out"
            yield Finding(where_of(circuit, part.name), text)


def loose_terminals(circuit: Circuit) -> Iterator[Finding]:
    """Find terminals that nothing is wired to, of parts that are wired."""
    wired = wired_points(circuit)
    for part in circuit.parts.values():
        if part.kind == "wire":
            continue
        pins = wire_pins(part)
        tied = [pin for pin in pins if f"{part.name}.{pin}" in wired]
        if part.kind == "connector":
            yield from _halves(part, tied)
        elif tied:
            free = [pin for pin in pins if pin not in tied]
            yield from _free(circuit, part, tied, free)


def _ends(part: Part, pins: tuple[str, ...] | list[str]) -> str:
    return listed([f"{part.name}.{pin}" for pin in pins])


def _halves(part: Part, tied: list[str]) -> Iterator[Finding]:
    for end in tied:
        other = end[:-1] + ("b" if end.endswith("a") else "a")
        if other not in tied:
            text = f"{part.name}.{end} is wired, {part.name}.{other} is not: current ends there"
            yield Finding(("parts", part.name), f"{text}; wire it on from {part.name}.{other}")


def _free(circuit: Circuit, part: Part, tied: list[str], free: list[str]) -> Iterator[Finding]:
    where, spare = where_of(circuit, part.name), ONE_OF.get(part.kind)
    grounded = any(
        BODY in (e.a, e.b) and e.conductance > 0 for e in part_elements(part, circuit.temperature)
    )
    if len(tied) + grounded < TWO_WAYS:
        text = f"{part.name}: only {_ends(part, tied)} is wired; no current can pass"
        yield Finding(where, f"{text}; wire {_ends(part, free)} too")
        return
    if spare is not None:
        may = [pin for pin in free if spare.fullmatch(pin)]
        if not any(spare.fullmatch(pin) for pin in tied) and may:
            text = f"{part.name}: none of {_ends(part, may)} is wired; wire one of them"
            yield Finding(where, text, warning=True)
        free = [pin for pin in free if pin not in may]
    never = FREE.get(part.kind)
    for pin in (pin for pin in free if never is None or not never.fullmatch(pin)):
        text = f"{part.name}.{pin}: no wire ends there; wire it, or look whether it is meant so"
        yield Finding(where, text, warning=True)


def unreachable(circuit: Circuit) -> Iterator[Finding]:
    """Find ends of wires that no lead reaches even with everything apart, and wires on no part."""
    points = probe_points(circuit, circuit.parts)
    for point, wires in wired_points(circuit).items():
        part = circuit.parts.get(point.partition(".")[0])
        if point in points or part is None or FAMILIES[part.kind].probing == HIDDEN:
            continue
        text = f"no lead can ever be put on {point} (wired by {listed(wires)})"
        yield Finding(where_of(circuit, part.name), f"{text}; give {part.name} a place with `at`")
    for name, part in circuit.parts.items():
        if part.kind == "wire" and all(
            circuit.point(str(part.values[key])) == BODY for key in ("from", "to")
        ):
            text = f"{name}: both ends are on the body; it carries nothing and nobody can clamp it"
            yield Finding(where_of(circuit, name), f"{text}; leave it out")
