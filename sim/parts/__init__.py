"""Families of parts, by kind. A new family joins by being listed in `FAMILIES`."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from sim.parts import battery, fuse, lamp, load, relay, switch, wiring
from sim.parts.family import Family

_ALL = (
    battery.FAMILY,
    fuse.FAMILY,
    fuse.LINK,
    relay.FAMILY,
    switch.FAMILY,
    switch.KEY,
    lamp.FAMILY,
    load.GRID,
    load.HORN,
    wiring.WIRE,
    wiring.CONNECTOR,
    wiring.STUD,
)

FAMILIES: Mapping[str, Family] = MappingProxyType({family.kind: family for family in _ALL})
