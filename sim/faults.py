"""Faults by name: ``PART[.PIN]=way[:severity]``, several joined by `` + ``; applying one.

Applying a fault to a circuit gives another circuit with the same topology.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from sim.circuit import Circuit, Fault, Part
from sim.errors import FaultError, QuantityError
from sim.mistakes import with_article
from sim.parts import FAMILIES
from sim.parts.family import Way
from sim.quantity import parse, write

_NAME = re.compile(r"(?P<point>[^=]+?)\s*=\s*(?P<way>[^:=]+?)\s*(?::\s*(?P<severity>.+?))?\s*")


def part_and_pin(circuit: Circuit, point: str) -> tuple[Part, str | None]:
    """Return the part and terminal that a point names.

    Raises
    ------
    FaultError
        No such part.
    """
    if point in circuit.parts:
        return circuit.parts[point], None
    name, _, pin = point.rpartition(".")
    if name in circuit.parts:
        return circuit.parts[name], pin
    message = f"{point!r}: no such part in {circuit.name}; parts are {', '.join(circuit.parts)}"
    raise FaultError(message)


def find_way(part: Part, way: str, pin: str | None) -> Way:
    """Return the way of failing of a part, refusing those it does not have."""
    ways = FAMILIES[part.kind].ways(part)
    for known in ways:
        if known.name == way and known.pin == pin:
            return known
    shown = f"{part.name}.{pin}" if pin else part.name
    kind = with_article(part.kind)
    here = [known.name for known in ways if known.pin == pin]
    if here:
        where = f" at {shown}" if pin else ""
        message = f"{shown}: got {way!r}, {kind} fails{where} by {', '.join(here)}"
        others = {f"{part.name}.{known.pin}" for known in ways if known.pin and not pin}
        message += f"; and at {', '.join(sorted(others))}" if others else ""
        raise FaultError(message)
    points = dict.fromkeys(f"{part.name}.{w.pin}" if w.pin else part.name for w in ways)
    raise FaultError(f"{shown}: got {way!r}, but {kind} fails at {', '.join(points)}")


def parse_fault(circuit: Circuit, text: str) -> Fault:
    """Read one fault, such as ``C41.1=high resistance:0.8 ohm``."""
    found = _NAME.fullmatch(text.strip())
    if found is None:
        message = f"fault {text!r}: expected PART[.PIN]=way[:severity]"
        raise FaultError(message)
    part, pin = part_and_pin(circuit, found["point"].strip())
    way = find_way(part, found["way"], pin)
    written = found["severity"]
    if not way.severities:
        if written is not None:
            message = f"fault {text!r}: {way.name!r} takes no severity, got {written!r}"
            raise FaultError(message)
        return Fault(part.name, way.name, pin)
    if written is None:
        return Fault(part.name, way.name, pin, way.severities[0])
    try:
        severity = parse(written.removesuffix(" lines"), way.quantity)
    except QuantityError as error:
        message = f"fault {text!r}: {error}"
        raise FaultError(message) from error
    if severity <= 0:
        message = f"fault {text!r}: severity must be above 0, got {written}"
        raise FaultError(message)
    if severity > way.most or (way.quantity == "number" and severity != round(severity)):
        message = f"fault {text!r}: expected a whole number up to {way.most:g}, got {written}"
        raise FaultError(message)
    return Fault(part.name, way.name, pin, severity)


def parse_faults(circuit: Circuit, text: str) -> tuple[Fault, ...]:
    """Read several faults joined by `` + ``."""
    return tuple(parse_fault(circuit, single) for single in text.split(" + "))


def write_fault(circuit: Circuit, fault: Fault) -> str:
    """Write a fault by its name."""
    text = f"{fault.point}={fault.way}"
    if fault.severity is None:
        return text
    way = find_way(circuit.parts[fault.part], fault.way, fault.pin)
    return f"{text}:{write(fault.severity, way.quantity)}"


def write_faults(circuit: Circuit, faults: Iterable[Fault]) -> str:
    """Write several faults, joined by `` + ``."""
    return " + ".join(write_fault(circuit, fault) for fault in faults)


def with_faults(circuit: Circuit, faults: Sequence[Fault]) -> Circuit:
    """Return the circuit with exactly these faults added to what it already has."""
    parts = dict(circuit.parts)
    for fault in faults:
        old = parts[fault.part]
        parts[fault.part] = replace(old, faults=(*old.faults, fault))
    return replace(circuit, parts=parts)


def without_faults(circuit: Circuit, faults: Iterable[Fault]) -> Circuit:
    """Return the circuit with these faults mended."""
    mended = set(faults)
    parts = {
        name: replace(part, faults=tuple(f for f in part.faults if f not in mended))
        for name, part in circuit.parts.items()
    }
    return replace(circuit, parts=parts)


def possible_faults(circuit: Circuit) -> tuple[tuple[tuple[Fault, ...], float], ...]:
    """Return every fault the circuit can have, compound ones too, with its relative likelihood.

    Each severity of a way is one fault, sharing the way's likelihood; a note in the circuit file
    replaces the family's own likelihood and severities of that part, terminal and way. Ways of
    likelihood 0 are left out, unless noted.
    """
    noted = {
        (f.part, f.pin, f.way)
        for note in circuit.notes
        for f in note.faults[:1]
        if len(note.faults) == 1
    }
    found: list[tuple[tuple[Fault, ...], float]] = []
    for part in circuit.parts.values():
        for way in FAMILIES[part.kind].ways(part):
            if way.likelihood == 0 or (part.name, way.pin, way.name) in noted:
                continue
            severities = way.severities or (None,)
            share = way.likelihood / len(severities)
            found += [((Fault(part.name, way.name, way.pin, s),), share) for s in severities]
    found += [(note.faults, note.likelihood) for note in circuit.notes]
    return tuple(found)
