"""Families of parts, by kind. A new family joins by being listed in `FAMILIES`."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from sim.parts import (
    alternator,
    battery,
    can,
    driver,
    fuse,
    lamp,
    load,
    motor,
    potentiometer,
    pressure,
    relay,
    rotation,
    sensorswitch,
    sleeper,
    solenoid,
    starter,
    switch,
    thermistor,
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
    motor.FAMILY,
    solenoid.FAMILY,
    solenoid.INJECTOR,
    starter.FAMILY,
    alternator.FAMILY,
    driver.LOW,
    driver.HIGH,
    thermistor.FAMILY,
    potentiometer.FAMILY,
    pressure.FAMILY,
    rotation.HALL,
    rotation.RELUCTANCE,
    sensorswitch.FAMILY,
    can.TRANSCEIVER,
    can.TERMINATOR,
    sleeper.FAMILY,
)

FAMILIES: Mapping[str, Family] = MappingProxyType({family.kind: family for family in _ALL})
