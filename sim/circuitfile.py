"""Circuit file -> Circuit. Every mistake is one line: file:line, what is wrong, what is right.

The format is described in DEVELOPERS.md, "How to add a circuit"; it is YAML in which every value is
text until the parameter that holds it says which quantity it is.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from sim.circuit import BODY, Circuit, Control, Effect, Fault, FaultNote, Part, Place
from sim.errors import CircuitFileError, FaultError, QuantityError
from sim.faults import find_way, parse_fault, part_and_pin
from sim.parts import FAMILIES
from sim.parts.family import Parameter, settings
from sim.parts.values import check_values, read_value
from sim.quantity import parse
from sim.yamltext import Document, TextError, read_document, validation_text

FORMAT, VERSION = "circuit", 1
RAIL = re.compile(r"(?P<point>\S+)(?:\s+through a (?P<link>[\d.]+ A) link)?")
EFFECT = re.compile(
    r"(?P<part>\S+?)(?:\.lamp)? (?:(?P<state>changes state)|carries (?P<no>no )?current"
    r"|(?P<quantity>power|current) (?P<sign>>=|<=) (?P<limit>\S+ \S+?)(?P<nominal> of nominal)?"
    r"(?: for (?P<hold>\S+ [^\s,]+))?)(?:, at (?P<place>.+))?"
)
CARRIES = 0.05  # A, below this a load is said to carry no current


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid")


class PlaceEntry(_Strict):
    """A place: labour to reach it."""

    reach: str
    again: str
    note: str = ""


class FaultEntry(_Strict):
    """What differs for one fault on this vehicle."""

    likelihood: str
    severity: list[str] = Field(default_factory=list)
    cause: str = ""
    note: str = ""
    seen: dict[str, str] = Field(default_factory=dict)


class CircuitEntry(_Strict):
    """The whole file."""

    format: str
    version: str
    id: str
    title: str
    vehicle: str
    places: dict[str, PlaceEntry]
    parts: dict[str, dict[str, str]]
    rails: dict[str, str]
    controls: dict[str, dict[str, str]]
    wires: dict[str, list[str]]
    effects: dict[str, str]
    diagram: dict[str, list[str]] = Field(default_factory=dict)
    faults: dict[str, FaultEntry] = Field(default_factory=dict)


def check_header(document: Document, form: str, version: int) -> None:
    """Refuse a file of another format or version."""
    got = document.data.get("format")
    if got != form:
        message = f"{document.at('format')}: format must be {form!r}, got {got!r}"
        raise TextError(message)
    written = str(document.data.get("version", ""))
    if not written.isdigit():
        message = f"{document.at('version')}: version must be a whole number, got {written!r}"
        raise TextError(message)
    if int(written) != version:
        word = "new: update halfsplit" if int(written) > version else "old: see README, Changes"
        message = (
            f"{document.at('version')}: {form} version {written} is too {word} (reads {version})"
        )
        raise TextError(message)


def read_circuit(path: Path) -> Circuit:
    """Read a circuit file.

    Raises
    ------
    CircuitFileError
        One line that names file and line, what is wrong and what would be right.
    """
    try:
        document = read_document(path)
        check_header(document, FORMAT, VERSION)
        entry = CircuitEntry.model_validate(document.data)
    except TextError as error:
        raise CircuitFileError(str(error)) from error
    except ValidationError as error:
        raise CircuitFileError(validation_text(document, error)) from error
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    return _Reader(document, entry).circuit(digest)


class _Reader:
    """Turns a validated file into a Circuit, keeping hold of the lines for messages."""

    def __init__(self, document: Document, entry: CircuitEntry) -> None:
        self.document = document
        self.entry = entry

    def fail(self, where: tuple[str | int, ...], text: str) -> CircuitFileError:
        return CircuitFileError(f"{self.document.at(*where)}: {text}")

    def quantity(self, text: str, kind: str, *where: str | int) -> float:
        try:
            return parse(text, kind)
        except QuantityError as error:
            raise self.fail(where, str(error)) from error

    def circuit(self, digest: str) -> Circuit:
        entry = self.entry
        places = {name: self.place(name, place) for name, place in entry.places.items()}
        parts = {name: self.part(name, dict(values)) for name, values in entry.parts.items()}
        rails, links = self.rails(parts)
        controls = {name: self.control(name, keys, parts) for name, keys in entry.controls.items()}
        parts = self.with_settings(parts, controls)
        wires = {f"wire {name}": self.wire(name, ends) for name, ends in entry.wires.items()}
        whole = {**parts, **links, **wires}
        circuit = Circuit(
            name=entry.id,
            title=entry.title,
            vehicle=entry.vehicle,
            places=places,
            parts=whole,
            rails=rails,
            controls=controls,
            effects={name: self.effect(name, text, parts) for name, text in entry.effects.items()},
            diagram={name: tuple(items) for name, items in entry.diagram.items()},
            sha256=digest,
        )
        self.check_ends(circuit)
        notes = tuple(note for name in entry.faults for note in self.notes(circuit, name))
        return Circuit(**{**{k: getattr(circuit, k) for k in Circuit.__slots__}, "notes": notes})

    def place(self, name: str, entry: PlaceEntry) -> Place:
        reach = self.quantity(entry.reach, "time", "places", name, "reach") / 60
        again = self.quantity(entry.again, "time", "places", name, "again") / 60
        if not 0 <= again <= reach:
            text = f"again must lie between 0 and reach, got {entry.again} and {entry.reach}"
            raise self.fail(("places", name), text)
        return Place(name, reach, again, entry.note)

    def part(self, name: str, values: dict[str, str]) -> Part:
        where = ("parts", name)
        if name == BODY or "." in name or " " in name:
            raise self.fail(where, f"part name {name!r}: no dots, no spaces, not {BODY!r}")
        kind = values.pop("kind", "")
        if kind not in FAMILIES or kind in {"wire", "fusible link"}:
            known = ", ".join(k for k in FAMILIES if k not in {"wire", "fusible link"})
            raise self.fail((*where, "kind"), f"{name}: kind {kind!r} unknown; kinds are {known}")
        at = values.pop("at", "")
        if at not in self.entry.places:
            known = ", ".join(self.entry.places)
            raise self.fail((*where, "at"), f"{name}: place {at!r} unknown; places are {known}")
        felt_at = values.pop("felt at", "")
        if felt_at and felt_at not in self.entry.places:
            raise self.fail((*where, "felt at"), f"{name}: place {felt_at!r} unknown")
        _rewrite_rating(values)
        part = Part(name, kind, at, self.values(name, kind, values), felt_at=felt_at)
        try:
            check_values(part)
        except QuantityError as error:
            raise self.fail(where, str(error)) from error
        return part

    def with_settings(
        self, parts: dict[str, Part], controls: dict[str, Control]
    ) -> dict[str, Part]:
        """Tell every part the positions of the control that sets it."""
        found = dict(parts)
        for control in controls.values():
            for name in control.sets:
                if found[name].settings:
                    raise self.fail(("controls", control.name, "sets"), f"{name} is set twice")
                part = replace(found[name], settings=control.positions)
                try:
                    settings(part, FAMILIES[part.kind].setting or "number")
                    check_values(part)
                except QuantityError as error:
                    if FAMILIES[part.kind].setting:
                        raise self.fail(("controls", control.name), str(error)) from error
                found[name] = part
        return found

    def values(
        self, name: str, kind: str, written: dict[str, str]
    ) -> dict[str, float | str | bool]:
        family, found = FAMILIES[kind], {}
        for key, parameter in family.parameters.items():
            where = ("parts", name, key)
            if key in written:
                found[key] = self.value(parameter, written.pop(key), where)
            elif parameter.default is None:
                raise self.fail(("parts", name), f"{name}: a {kind} needs {key!r}")
            else:
                found[key] = parameter.default
        for key in written:
            allowed = ", ".join(["kind", "at", *family.parameters])
            raise self.fail(
                ("parts", name, key), f"{name}: {key!r} unknown; a {kind} has {allowed}"
            )
        return found

    def value(
        self, parameter: Parameter, text: str, where: tuple[str | int, ...]
    ) -> float | str | bool:
        try:
            return read_value(parameter, str(where[-1]), text)
        except QuantityError as error:
            raise self.fail(where, str(error)) from error

    def rails(self, parts: dict[str, Part]) -> tuple[dict[str, str], dict[str, Part]]:
        rails, links = {}, {}
        for name, text in self.entry.rails.items():
            where = ("rails", name)
            found = RAIL.fullmatch(text)
            if found is None:
                raise self.fail(
                    where,
                    f"rail {name}: expected `POINT` or `POINT through a N A link`, got {text!r}",
                )
            point = found["point"]
            self.check_point(parts, point, where)
            if found["link"] is None:
                rails[name] = point
                continue
            rating = self.quantity(found["link"], "current", *where)
            link = f"link{name}"
            source = parts[point.partition(".")[0]]
            links[link] = Part(link, "fusible link", source.at, {"rating": rating})
            wire = {"from": point, "to": f"{link}.1"}
            links[f"strap {name}"] = Part(
                f"strap {name}",
                "wire",
                source.at,
                {**wire, "colour": "red", "area": 16e-6, "length": 0.3},
            )
            rails[name] = f"{link}.2"
        return rails, links

    def check_point(self, parts: dict[str, Part], point: str, where: tuple[str | int, ...]) -> None:
        if point == BODY:
            return
        name, _, pin = point.partition(".")
        if name not in parts:
            raise self.fail(where, f"{point!r}: no part {name!r}; parts are {', '.join(parts)}")
        part = parts[name]
        pins = FAMILIES[part.kind].pins(part)
        if part.kind == "connector":
            pins = tuple(f"{p}{half}" for p in pins for half in "ab")
        if pin not in pins:
            names = ", ".join(f"{name}.{p}" for p in pins)
            raise self.fail(where, f"{point!r}: a {part.kind} has {names}")

    def wire(self, name: str, ends: list[str]) -> Part:
        where: tuple[str | int, ...] = ("wires", name)
        if len(ends) != 5:  # noqa: PLR2004 -- from, to, colour, cross-section, length
            shape = "[from, to, colour, cross-section, length]"
            text = f"wire {name}: expected {shape}, got {len(ends)} items"
            raise self.fail(where, text)
        start, end, colour = ends[:3]
        area = self.quantity(ends[3], "area", *where, 3)
        length = self.quantity(ends[4], "length", *where, 4)
        if min(area, length) <= 0:
            raise self.fail(where, f"wire {name}: cross-section and length must be above 0")
        values: dict[str, float | str | bool] = {
            "from": start,
            "to": end,
            "colour": colour,
            "area": area,
            "length": length,
        }
        return Part(f"wire {name}", "wire", "", values)

    def check_ends(self, circuit: Circuit) -> None:
        parts = {n: p for n, p in circuit.parts.items() if p.kind != "wire"}
        for name, part in circuit.parts.items():
            if part.kind != "wire" or name.startswith("strap "):
                continue
            where = ("wires", name.removeprefix("wire "))
            for index, key in enumerate(("from", "to")):
                end = str(part.values[key])
                if end in circuit.rails:
                    continue
                self.check_point(parts, end, (*where, index))

    def control(self, name: str, keys: dict[str, str], parts: dict[str, Part]) -> Control:
        where = ("controls", name)
        sets = tuple(part.strip() for part in keys.get("sets", "").split(",") if part.strip())
        positions = tuple(key for key in keys if key != "sets")
        for key in positions:
            if keys[key]:
                raise self.fail((*where, key), f"{name}: position {key!r} takes no value")
        for part in sets:
            if part not in parts:
                raise self.fail((*where, "sets"), f"{name}: sets unknown part {part!r}")
        if len(positions) < 2 or not sets:  # noqa: PLR2004 -- a control that cannot move is none
            raise self.fail(where, f"{name}: needs at least two positions and `sets: PART`")
        return Control(name, positions, sets)

    def effect(self, name: str, text: str, parts: dict[str, Part]) -> Effect:
        where = ("effects", name)
        found = EFFECT.fullmatch(text)
        if found is None or found["part"] not in parts:
            shape = (
                "PART changes state | PART carries [no] current | "
                "PART power|current >= LIMIT [of nominal] [for TIME], each with [, at PLACE]"
            )
            raise self.fail(where, f"effect {text!r}: expected {shape}")
        part, place = found["part"], found["place"] or ""
        if place and place not in self.entry.places:
            raise self.fail(where, f"{name}: place {place!r} unknown")
        if found["state"]:
            return Effect(name, part, "state", place=place)
        if found["quantity"] is None:
            return Effect(name, part, "current", CARRIES, below=bool(found["no"]), place=place)
        kind = "fraction" if found["nominal"] else found["quantity"]
        hold = self.quantity(found["hold"], "time", *where) if found["hold"] else 0.0
        limit = self.quantity(found["limit"], kind, *where)
        nominal = bool(found["nominal"])
        below = found["sign"] == "<="
        return Effect(name, part, found["quantity"], limit, nominal, below, hold, place)

    def notes(self, circuit: Circuit, name: str) -> list[FaultNote]:
        entry, where = self.entry.faults[name], ("faults", name)
        likelihood = self.quantity(entry.likelihood, "number", *where, "likelihood")
        if likelihood <= 0:
            raise self.fail((*where, "likelihood"), f"{name}: likelihood must be above 0")
        for place in entry.seen:
            if place not in circuit.places:
                raise self.fail((*where, "seen"), f"{name}: place {place!r} unknown")
        seen_at, seen = next(iter(entry.seen.items()), ("", ""))
        cause = entry.cause or entry.note
        try:
            groups = self.severities(circuit, name, entry)
        except (FaultError, QuantityError) as error:
            raise self.fail(where, str(error)) from error
        share = likelihood / len(groups)
        return [FaultNote(group, share, cause, seen_at, seen) for group in groups]

    def severities(self, circuit: Circuit, name: str, entry: FaultEntry) -> list[tuple[Fault, ...]]:
        singles = name.split(" + ")
        if len(singles) > 1 or not entry.severity:
            faults = tuple(parse_fault(circuit, single) for single in singles)
            if len(singles) == 1 and ":" not in name and faults[0].severity is not None:
                part = circuit.parts[faults[0].part]
                way = find_way(part, faults[0].way, faults[0].pin)
                return [(Fault(part.name, way.name, way.pin, s),) for s in way.severities]
            return [faults]
        point = name.partition("=")[0].strip()
        part_and_pin(circuit, point)
        return [(parse_fault(circuit, f"{name}:{severity}"),) for severity in entry.severity]


def _rewrite_rating(values: dict[str, Any]) -> None:
    """Split the trade's "160 W at 12 V" and "12 V 1.2 W" into voltage and power."""
    if " at " in values.get("power", ""):
        values["power"], _, values["voltage"] = values["power"].partition(" at ")
    lamp = values.pop("lamp", None)
    if lamp is not None:
        volts, watts = " ".join(lamp.split()[:2]), " ".join(lamp.split()[2:])
        values["lamp voltage"], values["lamp power"] = volts, watts
