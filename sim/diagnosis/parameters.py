"""Parameters of SAE J1979 / ISO 15031-5 that carry one number: ids, scalings, our own names.

Scalings of 04 to 11, 42 and 46 as published and checked with two decoders that are not ours; the
others from memory and checked with one. Values are in SI, temperatures in degrees Celsius; angles
in turns. Bit-coded parameters (00, 01, 02) are in `sim.diagnosis.generic`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.diagnosis.scaling import Scaling
from sim.language import msg

PERCENT = Scaling(1, 100 / 255, 0.0, "%", 0.01, 1)
TRIM = Scaling(1, 100 / 128, -100.0, "%", 0.01, 1)
CELSIUS = Scaling(1, 1.0, -40.0, "°C")
KILOPASCAL = Scaling(1, 1.0, 0.0, "kPa", 1e3)
SPEED = Scaling(1, 1.0, 0.0, "km/h", 1 / 3.6)
REVOLUTIONS = Scaling(2, 0.25, 0.0, "1/min", math.tau / 60, 2)
ADVANCE = Scaling(1, 0.5, -64.0, "°", 1 / 360, 1)
AIR_FLOW = Scaling(2, 0.01, 0.0, "g/s", 1e-3, 2)
MILLIVOLT = Scaling(2, 0.001, 0.0, "V", 1.0, 3)
SECONDS = Scaling(2, 1.0, 0.0, "s")
MINUTES = Scaling(2, 1.0, 0.0, "min", 60.0)
KILOMETRES = Scaling(2, 1.0, 0.0, "km", 1e3)
COUNT = Scaling(1)
WIDE_PERCENT = Scaling(2, 100 / 255, 0.0, "%", 0.01, 1)
LITRES_PER_HOUR = Scaling(2, 0.05, 0.0, "l/h", 1e-3 / 3600, 2)


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter: its id in service 01, our name, its scaling."""

    identifier: int
    name: str
    scaling: Scaling


#: Parameters by id; SAE J1979.
PARAMETERS = {
    parameter.identifier: parameter
    for parameter in (
        Parameter(0x04, msg("calculated load"), PERCENT),
        Parameter(0x05, msg("coolant temperature"), CELSIUS),
        Parameter(0x06, msg("short-term fuel trim, bank 1"), TRIM),
        Parameter(0x07, msg("long-term fuel trim, bank 1"), TRIM),
        Parameter(0x0B, msg("intake manifold pressure, absolute"), KILOPASCAL),
        Parameter(0x0C, msg("engine speed"), REVOLUTIONS),
        Parameter(0x0D, msg("vehicle speed"), SPEED),
        Parameter(0x0E, msg("ignition advance, cylinder 1"), ADVANCE),
        Parameter(0x0F, msg("intake air temperature"), CELSIUS),
        Parameter(0x10, msg("air mass flow"), AIR_FLOW),
        Parameter(0x11, msg("throttle position"), PERCENT),
        Parameter(0x1C, msg("requirements it was designed to (number)"), COUNT),
        Parameter(0x1F, msg("time since engine start"), SECONDS),
        Parameter(0x21, msg("distance with warning lamp on"), KILOMETRES),
        Parameter(0x2F, msg("fuel level"), PERCENT),
        Parameter(0x30, msg("warm-ups since codes were cleared"), COUNT),
        Parameter(0x31, msg("distance since codes were cleared"), KILOMETRES),
        Parameter(0x33, msg("barometric pressure"), KILOPASCAL),
        Parameter(0x42, msg("supply voltage at the unit"), MILLIVOLT),
        Parameter(0x43, msg("absolute load"), WIDE_PERCENT),
        Parameter(0x45, msg("throttle position, relative"), PERCENT),
        Parameter(0x46, msg("outside air temperature"), CELSIUS),
        Parameter(0x47, msg("throttle position B"), PERCENT),
        Parameter(0x49, msg("accelerator pedal position D"), PERCENT),
        Parameter(0x4A, msg("accelerator pedal position E"), PERCENT),
        Parameter(0x4C, msg("throttle, commanded"), PERCENT),
        Parameter(0x4D, msg("time with warning lamp on"), MINUTES),
        Parameter(0x4E, msg("time since codes were cleared"), MINUTES),
        Parameter(0x5C, msg("engine oil temperature"), CELSIUS),
        Parameter(0x5E, msg("fuel rate"), LITRES_PER_HOUR),
    )
}

#: Kind of quantity (see `sim.quantity`) by the unit on the screen.
KINDS = {
    "%": "fraction",
    "°C": "temperature",
    "kPa": "pressure",
    "km/h": "speed",
    "1/min": "rotation",
    "°": "angle",
    "V": "voltage",
    "s": "time",
    "min": "time",
}


def kind_of(identifier: int) -> str:
    """Return the kind of quantity of a parameter; empty where no input measures such a thing."""
    return KINDS.get(PARAMETERS[identifier].scaling.unit, "")
