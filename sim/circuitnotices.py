"""Sections `effects` and `faults` of a circuit file."""

from __future__ import annotations

import re

from sim.circuit import Circuit, Effect, Fault, FaultNote, Part
from sim.circuitentries import EFFECT, EFFECT_SHAPE
from sim.circuitpad import Pad
from sim.errors import FaultError, QuantityError
from sim.faults import find_way, parse_fault, part_and_pin
from sim.mistakes import perhaps

TOUCHING = re.compile(
    r"(?P<one>wire \S+?)\s*=\s*short to (?P<other>wire [^\s:]+)\s*(?P<severity>:.+)?"
)
ON_A_BUS = frozenset({"bus unit"})
CARRIES = 0.05  # A, below this a load is said to carry no current


def read_effects(pad: Pad, parts: dict[str, Part]) -> dict[str, Effect]:
    """Return the effects."""
    found = {name: _effect(pad, name, text, parts) for name, text in pad.entry.effects.items()}
    return {name: effect for name, effect in found.items() if effect is not None}


def _effect(pad: Pad, name: str, text: str, parts: dict[str, Part]) -> Effect | None:
    where = ("effects", name)
    found = EFFECT.fullmatch(text)
    known = pad.written("parts")
    if found is None or found["part"] not in known:
        near = perhaps(found["part"], known) if found else ""
        if found:
            near = f"; no part {found['part']!r}, parts are {', '.join(known)}{near}"
        pad.note(where, f"effect {text!r}: expected {EFFECT_SHAPE}{near}")
        return None
    part, place = found["part"], found["place"] or ""
    if place and not pad.known_place(place, name, *where):
        return None
    if found["other"] or found["state"]:
        return _standing(pad, name, found, parts)
    hold, limit, quantity = 0.0, CARRIES, found["quantity"] or "current"
    if found["quantity"]:
        kind = "fraction" if found["nominal"] else quantity
        read = pad.quantity(found["hold"] or "0 s", "time", name, *where)
        least = pad.quantity(found["limit"], kind, name, *where)
        if read is None or least is None:
            return None
        hold, limit = read, least
    below = bool(found["no"]) or found["sign"] == "<="
    nominal = bool(found["nominal"])
    if part not in parts:
        return None
    return Effect(name, part, quantity, limit, nominal, below, hold, place)


def _standing(pad: Pad, name: str, found: re.Match[str], parts: dict[str, Part]) -> Effect | None:
    """Return an effect without a limit: a relay moves, or one unit on a bus hears another."""
    part, other, place = found["part"], found["other"] or "", found["place"] or ""
    if not other:
        return Effect(name, part, "state", place=place) if part in parts else None
    units = [n for n, p in parts.items() if p.kind in ON_A_BUS]
    strange = [one for one in (part, other) if one not in units and one not in pad.broken]
    if strange:
        text = f"effect {name}: {strange[0]} is on no bus; units that are: {', '.join(units)}"
        pad.note(("effects", name), text)
    known = part in units and other in units
    return Effect(name, part, "hears", place=place, other=other) if known else None


def read_notes(pad: Pad, circuit: Circuit) -> tuple[FaultNote, ...]:
    """Return what the file says about faults."""
    return tuple(note for name in pad.entry.faults for note in _notes(pad, circuit, name))


def _notes(pad: Pad, circuit: Circuit, name: str) -> list[FaultNote]:
    entry, where = pad.entry.faults[name], ("faults", name)
    before = len(pad.mistakes)
    likelihood = pad.quantity(
        entry.likelihood, "number", f"{name}: likelihood", *where, "likelihood"
    )
    if likelihood is not None and likelihood <= 0:
        text = f"{name}: likelihood must be above 0, got {entry.likelihood}"
        pad.note((*where, "likelihood"), text)
    for place in entry.seen:
        pad.known_place(place, name, *where, "seen", place)
    if len(entry.seen) > 1:
        text = f"{name}: seen at {', '.join(entry.seen)}; expected one place"
        pad.note((*where, "seen"), text)
    groups = _groups(pad, circuit, name)
    if likelihood is None or len(pad.mistakes) > before or not groups:
        return []
    seen_at, seen = next(iter(entry.seen.items()), ("", ""))
    share = likelihood / len(groups)
    cause = entry.cause or entry.note
    return [FaultNote(group, share, cause, seen_at, seen) for group in groups]


def _groups(pad: Pad, circuit: Circuit, name: str) -> list[tuple[Fault, ...]]:
    """Return the faults that a name and its severities stand for; none if there is a mistake."""
    if any(_owner(single) in pad.broken for single in name.split(" + ")):
        return []
    try:
        return _severities(circuit, name, pad.entry.faults[name].severity)
    except (FaultError, QuantityError) as error:
        owner = _owner(name)
        near = "" if owner in circuit.parts else perhaps(owner, circuit.parts)
        pad.note(("faults", name), f"{error}{near}")
        return []


def _owner(single: str) -> str:
    """Return the part (``wire 8``: both words) of a single fault's name."""
    return single.partition("=")[0].strip().partition(".")[0]


def _severities(circuit: Circuit, name: str, written: list[str]) -> list[tuple[Fault, ...]]:
    singles = name.split(" + ")
    if len(singles) > 1 or not written:
        faults = tuple(_fault(circuit, single) for single in singles)
        if len(singles) == 1 and ":" not in name and faults[0].severity is not None:
            part = circuit.parts[faults[0].part]
            way = find_way(part, faults[0].way, faults[0].pin)
            return [(Fault(part.name, way.name, way.pin, s),) for s in way.severities]
        return [faults]
    point = name.partition("=")[0].strip()
    part_and_pin(circuit, point)
    return [(_fault(circuit, f"{name}:{severity}"),) for severity in written]


def _fault(circuit: Circuit, single: str) -> Fault:
    """Read a fault; wires of a loom that touch may be named in either order."""
    try:
        return parse_fault(circuit, single)
    except FaultError:
        pair = TOUCHING.fullmatch(single.strip())
        if pair is None:
            raise
        mirrored = f"{pair['other']}=short to {pair['one']}{pair['severity'] or ''}"
        try:
            return parse_fault(circuit, mirrored)
        except FaultError:
            pass  # the order as written is what the message is about
        raise
