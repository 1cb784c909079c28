"""The shape of a circuit file: which sections and keys, all of them text, nothing unknown."""

from __future__ import annotations

import re

from pydantic import Field, model_validator

from sim.modules.fileshape import ModuleEntry
from sim.shapes import Strict

FORMAT, VERSION = "circuit", 1
WIRE_KEYS = ("from", "to", "colour", "area", "length")
WIRE_SHAPE = "[from, to, colour, cross-section, length]"
RAIL = re.compile(r"(?P<point>\S+)(?:\s+through a (?P<link>[\d.]+ A) link)?")
RAIL_SHAPE = "`POINT` or `POINT through a N A link`"
EFFECT = re.compile(
    r"(?P<part>\S+?)(?:\.lamp)? (?:(?P<state>changes state)|hears (?P<other>[^\s,]+)"
    r"|carries (?P<no>no )?current"
    r"|(?P<quantity>power|current) (?P<sign>>=|<=) (?P<limit>\S+ \S+?)(?P<nominal> of nominal)?"
    r"(?: for (?P<hold>\S+ [^\s,]+))?)(?:, at (?P<place>.+))?"
)
EFFECT_SHAPE = (
    "PART changes state | PART hears PART | PART carries [no] current | "
    "PART power|current >= LIMIT [of nominal] [for TIME], each with [, at PLACE]"
)


class PlaceEntry(Strict):
    """A place: labour to reach it."""

    reach: str = Field(description="labour to get there the first time, such as 6 min")
    again: str = Field(description="labour to come back later, such as 1 min")
    note: str = Field("", description="what is in the way, such as: trim panel, four clips")


class WireEntry(Strict):
    """A wire; as a list: [from, to, colour, cross-section, length]."""

    start: str = Field(alias="from", description="terminal PART.PIN, a rail's name, or body")
    end: str = Field(alias="to", description="terminal PART.PIN, a rail's name, or body")
    colour: str = Field(description="colour of the insulation, the tracer after a slash")
    area: str = Field(description="cross-section of the copper, such as 2.5 mm2")
    length: str = Field(description="length along the loom, such as 1.4 m")
    supply_beside: str = Field(
        "", alias="supply beside", description="a live point that it may chafe through to"
    )

    @model_validator(mode="before")
    @classmethod
    def _from_list(cls, written: object) -> object:
        """Take the short form, a list."""
        if not isinstance(written, list):
            return written
        if len(written) != len(WIRE_KEYS):
            comma = "" if len(written) < len(WIRE_KEYS) else "; decimals have a point: 1.5 mm2"
            raise ValueError(f"expected {WIRE_SHAPE}, got {len(written)} items{comma}")
        return dict(zip(WIRE_KEYS, written, strict=True))


class FaultEntry(Strict):
    """What differs for one fault on this vehicle."""

    likelihood: str = Field("1", description="relative to the other faults; above 0")
    severity: list[str] = Field(default_factory=list, description="such as 0.4 ohm, 2 ohm")
    cause: str = Field("", description="what did it, in a few words")
    note: str = Field("", description="a remark; stands for the cause if there is none")
    seen: dict[str, str] = Field(
        default_factory=dict, description="place: what eyes find there (one place)"
    )


class CircuitEntry(Strict):
    """A circuit file."""

    format: str = Field(description="always: circuit")
    version: str = Field(description="version of the format")
    id: str = Field(description="name of the circuit; the file is called ID.circuit.yaml")
    title: str = Field(description="what the circuit does, in a few words")
    vehicle: str = Field(description="which vehicle it is in")
    places: dict[str, PlaceEntry] = Field(description="where hands have to go")
    parts: dict[str, dict[str, str]] = Field(description="every part but wires, by its name")
    rails: dict[str, str] = Field(description=f"what 30, 15 and 31 are: {RAIL_SHAPE}")
    controls: dict[str, dict[str, str]] = Field(
        description="what can be operated: positions, the resting one first, and sets: PART"
    )
    wires: dict[str, WireEntry] = Field(description="every wire, by its number")
    effects: dict[str, str] = Field(description=f"what can be noticed: {EFFECT_SHAPE}")
    diagram: dict[str, list[str]] = Field(
        default_factory=dict,
        description="current-flow grid: track, then its parts from supply to ground",
    )
    looms: dict[str, list[str]] = Field(
        default_factory=dict, description="wires that run together and may chafe through"
    )
    modules: dict[str, ModuleEntry] = Field(
        default_factory=dict, description="what each control unit does: PART, then its rules"
    )
    faults: dict[str, FaultEntry] = Field(
        default_factory=dict, description="PART[.PIN]=way[:severity]: what differs here"
    )
