"""Symbols of what follows rules: control units, actuators, alternators that take orders.

A box with its pins by number, those of no current path on the left: an arrowhead into the box for
what a control unit measures, out of it for what it switches, both for its bus. The drawings are
ours.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.diagram.geometry import Box
from sim.diagram.symbol import (
    APART,
    REACH,
    Pin,
    Symbol,
    circle,
    letter_m,
    on_axis,
    side_pin,
    stroke,
)
from sim.diagram.symbols_machines import alternator
from sim.modules.pins import BUS, GROUND, INPUT_ROLE, OUTPUTS, SUPPLY
from sim.parts.controlunit import pins_of

FIRST = 48.0  # px, y of the uppermost pin on the left


def power_pins(part: Part) -> tuple[str, ...]:
    """Return the pins by which a control unit gets its power, supply first."""
    words = pins_of(part)
    return tuple(
        pin for role in (SUPPLY, GROUND) for pin, word in words.items() if word.role == role
    )


def control_unit(part: Part, names: tuple[str, ...]) -> Symbol:
    """Box with every pin, and on the axis a processor: a square with legs."""
    rows, words = max(1, len(names) - 2), pins_of(part)
    height = 2 * (FIRST - REACH) + APART * (rows - 1)
    middle = REACH + height / 2
    marks = stroke(f"M-24 24h44v{height:g}h-44z", "sym")
    marks += stroke(f"M-2 {middle - 7:g}h14v14h-14z", "fine")
    for leg in (-4, 0, 4):
        marks += stroke(f"M-5 {middle + leg:g}h3M12 {middle + leg:g}h3", "fine")
    sides = tuple(
        side_pin(part, name, FIRST + APART * row, 24.0) for row, name in enumerate(names[2:])
    )
    for pin in sides:
        marks += _arrows(pin, words[pin.name].role if pin.name in words else "")
    pins = (*on_axis(part, names, height), *sides)
    return Symbol(pins, (Box(-24, 24, 44, height),), marks, middle)


def _arrows(pin: Pin, role: str) -> str:
    """Return arrowheads inside the box that say which way a pin works."""
    y, marks = pin.outer[1], ""
    if role in (INPUT_ROLE, BUS):
        marks += stroke(f"M-22 {y - 3.5:g}l6 3.5l-6 3.5z", "solid")
    if role in (*OUTPUTS, BUS):
        marks += stroke(f"M-9 {y - 3.5:g}l-6 3.5l6 3.5z", "solid")
    return marks


def actuator(part: Part, names: tuple[str, ...]) -> Symbol:
    """Power stage above its motor in one housing; the command comes from the left."""
    height = 80.0
    marks = stroke(f"M-24 24h44v{height:g}h-44z", "dash")
    marks += stroke("M0 24v10h-6M-6 54h6V62M0 44h-6V54") + stroke("M-6 30v8M-6 40v8M-6 50v8")
    marks += stroke("M-11 32v24M-11 48h-13")
    marks += circle((0, 78), 16) + letter_m(0, 78) + stroke("M0 94v10")
    sides = tuple(
        side_pin(part, name, FIRST + APART * row, 24.0) for row, name in enumerate(names[2:])
    )
    pins = (*on_axis(part, names, height), *sides)
    return Symbol(pins, (Box(-24, 24, 44, height),), marks, 64.0)


def commanded_alternator(part: Part, names: tuple[str, ...]) -> Symbol:
    """Alternator whose fourth terminal takes orders: an arrowhead on its way in."""
    symbol = alternator(part, names)
    orders = next((pin.outer[1] for pin in symbol.pins if pin.name == "LIN"), None)
    if orders is None:
        return symbol
    marks = symbol.marks + stroke(f"M-24 {orders - 3.5:g}l6 3.5l-6 3.5z", "solid")
    return Symbol(symbol.pins, symbol.bodies, marks, symbol.middle)
