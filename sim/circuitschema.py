"""JSON Schema of a circuit file, for editors: every kind of part with its parameters and units."""

from __future__ import annotations

import re

from sim.circuitentries import (
    EFFECT_SHAPE,
    FORMAT,
    RAIL_SHAPE,
    VERSION,
    WIRE_SHAPE,
    CircuitEntry,
)
from sim.circuitparts import kinds
from sim.parts import FAMILIES
from sim.schema import NUMBER, Schema, described, finished, parameter, quantity, scalar

POWER_AT = rf"^\s*{NUMBER}\s*(W|kW|mW)( at {NUMBER}\s*(V|mV|kV))?\s*$"
LAMP = rf"^\s*{NUMBER} (V|mV|kV) {NUMBER} (W|kW|mW)\s*$"


def circuit_schema() -> Schema:
    """Return the JSON Schema of a circuit file."""
    schema = finished(CircuitEntry.model_json_schema(by_alias=True), "circuit", FORMAT, VERSION)
    properties = schema["properties"]
    for section, entry in (
        ("parts", {"$ref": "#/$defs/Part"}),
        ("controls", _control()),
        ("rails", _text_like(r"^\S+(\s+through a [\d.]+ A link)?$", RAIL_SHAPE)),
        ("effects", _text_like(r"^\S+ (changes|hears|carries|power|current) .+$", EFFECT_SHAPE)),
    ):
        properties[section]["additionalProperties"] = entry
    properties["parts"]["propertyNames"] = {"pattern": r"^[^. ]+$"}
    definitions = schema["$defs"]
    definitions["Part"] = _part()
    definitions["PlaceEntry"]["properties"].update(
        reach=quantity("time", "labour to get there the first time, such as 6 min"),
        again=quantity("time", "labour to come back later, such as 1 min"),
    )
    definitions["FaultEntry"]["properties"]["likelihood"] = quantity(
        "number", "relative to the other faults; above 0; 1 if not given"
    )
    definitions["WireEntry"] = _wire(definitions["WireEntry"])
    return schema


def _text_like(pattern: str, description: str) -> Schema:
    return {"type": "string", "pattern": pattern, "description": description}


def _wire(long: Schema) -> Schema:
    """Return the schema of a wire in its long form or its short one."""
    area = quantity("area", "cross-section of the copper, such as 2.5 mm2")
    length = quantity("length", "length along the loom, such as 1.4 m")
    long["properties"].update(area=area, length=length)
    ends = [scalar("from: PART.PIN, a rail or body"), scalar("to: PART.PIN, a rail or body")]
    colour = scalar("colour, the tracer after a slash")
    items = [*ends, colour, area, length]
    count = {"minItems": len(items), "additionalItems": False}
    short = {"type": "array", "items": items, **count}
    return {"oneOf": [described(short, WIRE_SHAPE), long]}


def _control() -> Schema:
    """Return the schema of a control: positions without values, and what they set."""
    sets = {"type": "string", "description": "the part it sets, or several with commas"}
    empty = {"enum": [None, ""], "description": "a position; the first is the resting one"}
    return {
        "type": "object",
        "properties": {"sets": sets},
        "required": ["sets"],
        "minProperties": 3,
        "additionalProperties": empty,
    }


def _part() -> Schema:
    """Return the schema of a part: its kind, and for each kind its keys."""
    known = list(kinds())
    return {
        "type": "object",
        "properties": {"kind": {"enum": known, "description": f"one of {', '.join(known)}"}},
        "required": ["kind", "at"],
        "allOf": [_keys_of(kind) for kind in known],
    }


def _keys_of(kind: str) -> Schema:
    parameters, free = FAMILIES[kind].parameters, FAMILIES[kind].free
    keys: Schema = {
        "kind": {"const": kind},
        "at": scalar("the place where it is"),
        "felt at": scalar("a place from which hand and eye get at it more easily"),
    }
    keys |= {key: parameter(key, one) for key, one in parameters.items()}
    needed = [key for key, one in parameters.items() if one.default is None]
    if "power" in parameters and "voltage" in parameters:
        keys["power"] = _text_like(POWER_AT, "power, with the voltage it is for: 21 W at 12 V")
        needed = [key for key in needed if key != "voltage"]
    if "lamp voltage" in parameters:
        keys["lamp"] = _text_like(LAMP, "its indicator lamp, such as 12 V 1.2 W")
    more: Schema = {}
    if free is not None:
        more = {"patternProperties": {f"^{re.escape(free.prefix)}.+$": scalar(free.description)}}
    return {
        "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
        "then": {"properties": keys, "required": needed, "additionalProperties": False, **more},
    }
