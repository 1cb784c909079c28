"""Sections `rails`, `wires` and `looms` of a circuit file."""

from __future__ import annotations

from dataclasses import replace

from sim.circuit import BODY, Part
from sim.circuitentries import RAIL, RAIL_SHAPE, WIRE_KEYS, WireEntry
from sim.circuitpad import Pad, Value, check_point
from sim.mistakes import perhaps
from sim.parts import FAMILIES

#: The wire from the battery to the link of a rail; common practice, no source.
STRAP_AREA, STRAP_LENGTH = 16e-6, 0.3  # m2, m
BESIDE, SUPPLY_BESIDE = "beside", "supply beside"


def read_rails(pad: Pad, parts: dict[str, Part]) -> tuple[dict[str, str], dict[str, Part]]:
    """Return what each rail is, and the links and straps that rails bring with them."""
    rails: dict[str, str] = {}
    links: dict[str, Part] = {}
    for name, text in pad.entry.rails.items():
        where = ("rails", name)
        found = RAIL.fullmatch(text)
        if found is None:
            pad.note(where, f"rail {name}: expected {RAIL_SHAPE}, got {text!r}")
            continue
        point = found["point"]
        if not check_point(pad, parts, point, where):
            continue
        if found["link"] is None:
            rails[name] = point
            continue
        rating = pad.quantity(found["link"], "current", f"rail {name}", *where)
        if point == BODY or not rating:
            if rating is not None:
                fault = "the body has no link" if point == BODY else "a link's rating is above 0"
                pad.note(where, f"rail {name}: {fault}, got {text!r}")
            continue
        links |= _link(name, point, rating, parts[point.partition(".")[0]].at)
        rails[name] = f"link{name}.2"
    return rails, links


def _link(rail: str, point: str, rating: float, place: str) -> dict[str, Part]:
    link, strap = f"link{rail}", f"strap {rail}"
    ends = {"from": point, "to": f"{link}.1"}
    values: dict[str, Value] = {**ends, "colour": "red", "area": STRAP_AREA, "length": STRAP_LENGTH}
    return {
        link: Part(link, "fusible link", place, {"rating": rating}),
        strap: Part(strap, "wire", place, _with_rest(values)),
    }


def _with_rest(values: dict[str, Value]) -> dict[str, Value]:
    """Return a wire's values with those of its family that no file writes."""
    rest = FAMILIES["wire"].parameters.items()
    return {**{key: p.default for key, p in rest if p.default is not None}, **values}


def read_wires(pad: Pad, parts: dict[str, Part]) -> dict[str, Part]:
    """Return the wires by name (`wire 8`)."""
    found = {}
    for name, entry in pad.entry.wires.items():
        wire = _wire(pad, name, entry, parts)
        if wire is None:
            pad.broken.add(f"wire {name}")
        else:
            found[wire.name] = wire
    return found


def _wire(pad: Pad, name: str, entry: WireEntry, parts: dict[str, Part]) -> Part | None:
    before = len(pad.mistakes)
    ends = {"from": entry.start, "to": entry.end}
    sound = True
    for key, point in ends.items():
        if point not in pad.written("rails"):
            sound &= check_point(pad, parts, point, _where(pad, name, key))
    if entry.start == entry.end:
        text = f"wire {name}: both ends are {entry.start!r}; a wire leads from one point to another"
        pad.note(_where(pad, name, "to"), text)
    live, where = entry.supply_beside, _where(pad, name, SUPPLY_BESIDE)
    if live and SUPPLY_BESIDE not in FAMILIES["wire"].parameters:
        pad.note(where, f"wire {name}: {SUPPLY_BESIDE!r} is not a key that this version knows")
    elif live and live not in pad.written("rails"):
        sound &= check_point(pad, parts, live, where)
    area = pad.quantity(entry.area, "area", f"wire {name}", *_where(pad, name, "area"))
    length = pad.quantity(entry.length, "length", f"wire {name}", *_where(pad, name, "length"))
    if area is None or length is None:
        return None
    if min(area, length) <= 0:
        got = f"got {entry.area} and {entry.length}"
        text = f"wire {name}: cross-section and length must be above 0, {got}"
        pad.note(("wires", name), f"{text}; a wire without resistance is none")
    if len(pad.mistakes) > before or not sound:
        return None
    values: dict[str, Value] = {**ends, "colour": entry.colour, "area": area, "length": length}
    if live:
        values[SUPPLY_BESIDE] = live
    return Part(f"wire {name}", "wire", "", _with_rest(values))


def _where(pad: Pad, name: str, key: str) -> tuple[str | int, ...]:
    """Return where a wire's value is written, in the short form or the long one."""
    written = pad.document.data["wires"][name]
    short = isinstance(written, list) and key in WIRE_KEYS
    return ("wires", name, WIRE_KEYS.index(key) if short else key)


def with_looms(pad: Pad, wires: dict[str, Part]) -> dict[str, Part]:
    """Tell every wire which others run beside it."""
    beside: dict[str, dict[str, None]] = {}
    for loom, ids in pad.entry.looms.items():
        names = _loom(pad, loom, ids)
        for name in names:
            beside.setdefault(name, {}).update(dict.fromkeys(n for n in names if n != name))
    if BESIDE not in FAMILIES["wire"].parameters:
        return wires
    return {
        name: replace(wire, values={**wire.values, BESIDE: "|".join(beside.get(name, ()))})
        for name, wire in wires.items()
    }


def _loom(pad: Pad, loom: str, ids: list[str]) -> list[str]:
    """Return the names of the wires of a loom."""
    known, names = pad.written("wires"), []
    for index, one in enumerate(ids):
        where = ("looms", loom, index)
        if one not in known:
            text = f"loom {loom}: wire {one!r} unknown; wires are {', '.join(known)}"
            pad.note(where, text + perhaps(one, known))
        elif ids.index(one) != index:
            pad.note(where, f"loom {loom}: wire {one} is named twice; keep one")
        else:
            names.append(f"wire {one}")
    if len(ids) < 2:  # noqa: PLR2004 -- one wire runs beside none
        pad.note(("looms", loom), f"loom {loom}: expected at least 2 wires, got {len(ids)}")
    return [name for name in names if name not in pad.broken]
