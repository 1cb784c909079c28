"""Which graphical symbol shows which part, and which of its terminals stand on the axis.

The symbols follow the general conventions of IEC 60617 as far as they are common knowledge, in our
own drawing. A kind without a symbol of its own is a box with all its terminals.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from sim.circuit import Part
from sim.diagram import (
    symbols_basic,
    symbols_electronic,
    symbols_machines,
    symbols_modules,
    symbols_switching,
    symbols_wiring,
)
from sim.diagram.symbol import Symbol

#: Kind -> terminals on the axis, upper and lower, where they are not the first two.
AXES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "twin lamp": ("main", "ground"),
        "resistor pack": ("in", "out"),
        "starter": ("30", "31"),
        "alternator": ("B+", "31"),
        "commanded alternator": ("B+", "31"),
        "actuator": ("30", "31"),
        "low side driver": ("out", "31"),
        "high side driver": ("30", "out"),
        "potentiometer": ("+", "-"),
        "pressure sensor": ("+", "-"),
        "Hall sensor": ("+", "-"),
        "CAN transceiver": ("+", "-"),
        "sleeping unit": ("30", "31"),
        "bus unit": ("30", "31"),
        "diagnostic socket": ("16", "4"),
    }
)
#: Kinds whose symbol can stand upside down.
TURNABLE = frozenset({"relay", "selector switch", "splice"})
#: Kinds whose upper terminal is above whatever it is wired to.
UPRIGHT = frozenset({"battery", "ground stud"})

Builder = Callable[[Part, tuple[str, ...]], Symbol]
_BUILDERS: Mapping[str, Builder] = MappingProxyType(
    {
        "blade fuse": symbols_basic.fuse,
        "fusible link": symbols_basic.link,
        "circuit breaker": symbols_basic.breaker,
        "lamp": symbols_basic.lamp,
        "twin lamp": symbols_basic.twin_lamp,
        "LED lamp": symbols_basic.led_lamp,
        "heater grid": symbols_basic.grid,
        "horn": symbols_basic.horn,
        "battery": symbols_basic.battery,
        "ground stud": symbols_basic.stud,
        "glow plug": symbols_basic.glow_plug,
        "resistor": symbols_basic.resistor,
        "CAN terminator": symbols_basic.resistor,
        "resistor pack": symbols_basic.resistor_pack,
        "diode": symbols_basic.diode,
        "Zener diode": symbols_basic.diode,
        "suppressor": symbols_basic.suppressor,
        "switch": symbols_switching.switch,
        "selector switch": symbols_switching.selector,
        "sensor switch": symbols_switching.sensor_switch,
        "key switch": symbols_switching.key,
        "connector": symbols_wiring.connector,
        "splice": symbols_wiring.splice,
        "motor": symbols_machines.motor,
        "solenoid": symbols_machines.solenoid,
        "injector": symbols_machines.injector,
        "starter": symbols_machines.starter,
        "alternator": symbols_machines.alternator,
        "commanded alternator": symbols_modules.commanded_alternator,
        "actuator": symbols_modules.actuator,
        "control unit": symbols_modules.control_unit,
        "thermistor": symbols_electronic.thermistor,
        "potentiometer": symbols_electronic.potentiometer,
        "pressure sensor": symbols_electronic.pressure_sensor,
        "Hall sensor": symbols_electronic.hall_sensor,
        "reluctance sensor": symbols_electronic.reluctance_sensor,
        "low side driver": symbols_electronic.driver,
        "high side driver": symbols_electronic.driver,
        "CAN transceiver": symbols_electronic.transceiver,
        "sleeping unit": symbols_electronic.sleeping_unit,
        "bus unit": symbols_electronic.bus_unit,
        "diagnostic socket": symbols_electronic.bus_unit,
    }
)


def on_axis_first(part: Part, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return terminals with those that stand on the axis first, upper and lower."""
    known: tuple[str, ...] = AXES.get(part.kind, ())
    if part.kind == "control unit":
        known = symbols_modules.power_pins(part)
    axis = tuple(name for name in known if name in names)
    return (*axis, *(name for name in names if name not in axis))


def symbol_of(part: Part, key: str, names: tuple[str, ...], *, link_left: bool) -> Symbol:
    """Return how an item of the diagram is drawn.

    Parameters
    ----------
    part : Part
    key : str
        The item: the part's name, for a relay followed by `coil` or `contact`.
    names : tuple of str
        Its terminals: upper, lower, further ones.
    link_left : bool
        Whether the mechanical link of a relay's coil leaves to the left.
    """
    if part.kind == "relay":
        if key.endswith(" coil"):
            return symbols_switching.coil(part, names, link_left=link_left)
        return symbols_switching.contact(part, names)
    return _BUILDERS.get(part.kind, symbols_wiring.plain)(part, names)
