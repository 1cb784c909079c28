"""Units that answer a scan tool the same: what they measure differs by less than a byte carries.

Live data and maker data come in steps of the standard's scalings, so that units of two vehicles
with a few millivolts between them send the same frames. They are asked once. What a request does to
a unit (its session, when it was last heard) does not depend on what it measures; what it measures
and remembers stays each unit's own.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import fields, replace

from sim.diagnosis.generic import MONITOR_STATUS, parameter_data
from sim.diagnosis.unit import UnitState

Units = tuple[UnitState, ...]
OWN = ("values", "data", "outputs", "memory")  # what each unit measures and remembers


def to_the_byte(units: Units, request: bytes = b"") -> Hashable:
    """Return a key of units as requests for data see them, or as just one request does."""
    return request, tuple(_to_the_byte(unit, request) for unit in units)


def _to_the_byte(unit: UnitState, request: bytes) -> Hashable:
    bare = [getattr(unit, one.name) for one in fields(unit) if one.name not in OWN]
    asked, readable = (MONITOR_STATUS, *unit.values), unit.readable
    if request:
        asked = tuple(one for one in asked if one in request[1:])
        readable = tuple(one for one in readable if one.identifier.to_bytes(2) == request[1:])
    measured = [(one, parameter_data(unit, one)) for one in asked]
    shown = [(replace(one, value=0.0), one.scaling.encode(one.value)) for one in readable]
    has = (*unit.values, *(one.identifier for one in unit.readable))
    return repr((bare, has, measured, shown))


def like(units: Units, asked: Units, after: Units) -> Units | None:
    """Return units after a request that others, the same to the byte, have been `asked`.

    None where it has changed more than when they were heard: then each is asked by itself.
    """
    found = []
    for mine, old, new in zip(units, asked, after, strict=True):
        kept = (old.values, old.data, old.outputs, old.memory)
        if kept != (new.values, new.data, new.outputs, new.memory):
            return None
        own = {name: getattr(mine, name) for name in OWN}
        found.append(replace(new, **own))
    return tuple(found)
