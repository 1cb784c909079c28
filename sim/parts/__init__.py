"""Families of parts, by kind. A new family joins by being listed in `FAMILIES`."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from sim.parts import (
    battery,
    breaker,
    diode,
    fuse,
    glow,
    lamp,
    led,
    load,
    relay,
    resistor,
    selector,
    splice,
    switch,
    twin_lamp,
    wiring,
)
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
    splice.FAMILY,
    breaker.FAMILY,
    selector.FAMILY,
    twin_lamp.FAMILY,
    led.FAMILY,
    glow.FAMILY,
    resistor.RESISTOR,
    resistor.PACK,
    diode.DIODE,
    diode.ZENER,
    diode.SUPPRESSOR,
)

FAMILIES: Mapping[str, Family] = MappingProxyType({family.kind: family for family in _ALL})
